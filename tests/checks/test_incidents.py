"""Mould and insects: opened by one act, listed by a job, walked on days 7, 30 and 90, closed with evidence."""

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client

from conservation.checks import derived
from conservation.checks.actions.incidents import GROWTH_RH, IncidentOpen, NoEvidence, add_step, close_incident, open_incident
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import AtRisk, Incident, Round, Stop
from conservation.checks.tasks import list_at_risk
from conservation.checks.todo import todo_of
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.places.actions import move_object
from locations.places.models import Place
from locations.places.queries import objects_below
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.climate.test_exposure import START, logger_at, tell

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


class Silent:
    """A progress that remembers."""

    def __init__(self) -> None:
        self.told: list[int] = []

    def of(self, total: int) -> None:
        self.told.append(total)

    def step(self, done: int) -> None:
        self.told.append(done)


def room() -> Place:
    _hall, store, board = stock.shelf()
    for number, materials in (("1974.1.1", ["steel", "leather"]), ("1974.1.2", ["steel", "felt"]), ("1974.1.3", ["steel"])):
        move_object(PROGRAM, stock.helmet(number, materials=materials).pk, place_id=board.pk)
    return store


def opened(by: Person, store: Place, kind: str = "mould", **more: object) -> Incident:
    incident = open_incident(Actor.of(by), incident_id=uuid7(), kind=kind, place_id=store.pk, **more)  # type: ignore[arg-type]
    job, progress = Job.objects.get(pk=incident.job), Silent()
    list_at_risk(progress, job, incident=str(incident.pk))  # type: ignore[arg-type]
    list_at_risk(progress, job, incident=str(incident.pk))  # type: ignore[arg-type]
    incident.refresh_from_db()
    return incident


def test_what_is_at_risk_is_listed_once_by_material_and_three_rounds_are_made(volunteer: Person) -> None:
    incident = opened(volunteer, room())
    assert list(AtRisk.objects.order_by("position").values_list("material", flat=True)) == ["leather", "felt"]
    assert incident.listed_at is not None
    days = [(made.due_by - incident.opened_on).days for made in Round.objects.order_by("due_by")]
    assert days == [7, 30, 90]
    assert Stop.objects.count() == 6


def test_its_rounds_are_told_of_when_their_day_comes(volunteer: Person, curator: Person, as_person: Browser) -> None:
    """A round of day 90 walked today tells nothing of day 90."""
    opened(volunteer, room())
    page = as_person(curator).get("/").content.decode()
    assert [f"day {n}<" in page for n in (7, 30, 90)] == [True, False, False]
    assert "2 more rounds wait for their days" in page
    with clock.at(clock.now() + timedelta(days=25)):
        assert [one.name[-2:] for one in todo_of(Actor.of(curator)).rounds] == [" 7", "30"]


def test_insects_eat_fur_before_leather(volunteer: Person) -> None:
    store = room()
    thing = stock.helmet("1974.1.4", materials=["leather", "fur"])
    move_object(PROGRAM, thing.pk, place_id=store.pk)
    opened(volunteer, store, "insects")
    assert AtRisk.objects.get(object=thing).material == "fur"


def test_a_room_has_one_open_incident_of_a_kind(volunteer: Person) -> None:
    store = room()
    opened(volunteer, store)
    with pytest.raises(IncidentOpen):
        open_incident(Actor.of(volunteer), incident_id=uuid7(), kind="mould", place_id=store.pk)


def test_it_does_not_take_things_out_of_the_rounds_of_every_day(volunteer: Person, curator: Person) -> None:
    store = room()
    derived.refresh(objects_below(store.pk))
    opened(volunteer, store)
    by = clock.today() + timedelta(days=3000)
    assert make_round(Actor.of(curator), name="all", due_by=by).stops.count() == 3


@pytest.mark.parametrize("rh", [None, GROWTH_RH + 1])
def test_it_closes_only_with_a_record_below_growth_or_a_reason(volunteer: Person, curator: Person, rh: Decimal | None) -> None:
    """Growth needs more than about 65 % RH (CCI Notes 8/1)."""
    incident = opened(volunteer, room(), opened_on=clock.today() - timedelta(days=40), source="gutter")
    since = clock.today() - timedelta(days=35)
    with pytest.raises(NoEvidence):
        close_incident(Actor.of(curator), incident.pk, highest_rh=rh, record_from=since)
    with pytest.raises(Invalid):
        close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(600), record_from=since)
    close_incident(Actor.of(curator), incident.pk, highest_rh=GROWTH_RH, record_from=since)
    incident.refresh_from_db()
    assert incident.closed_on == clock.today()
    assert not Round.objects.filter(incident=incident, closed_at=None).exists()


def test_no_figure_closes_it_against_what_was_read_in_the_room(volunteer: Person, curator: Person) -> None:
    """Journey 9: it cannot be closed while the room is still damp."""
    store, since = room(), clock.today() - timedelta(days=10)
    incident = opened(volunteer, store, opened_on=clock.today() - timedelta(days=40), source="gutter")
    read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), store.pk, rh=81)], at=clock.now() - timedelta(days=3))
    with pytest.raises(NoEvidence) as refused:
        close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(60), record_from=since)
    assert "goes up to 81 percent" in refused.value.sentence
    close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(60), record_from=clock.today() - timedelta(days=2))
    incident.refresh_from_db()
    assert incident.closed_on == clock.today()


def test_no_figure_closes_it_against_the_logger_of_the_room(volunteer: Person, curator: Person) -> None:
    store = room()
    tell(logger_at(store, "T-1"), [60.0] * 20 + [70.0] * 4 + [55.0] * 80)
    with clock.at(START + timedelta(days=3, hours=12)):
        incident = opened(volunteer, store, opened_on=START.date(), source="gutter")
        with pytest.raises(NoEvidence) as refused:
            close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(60), record_from=START.date())
        assert "goes up to 70 percent" in refused.value.sentence
        close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(60), record_from=START.date() + timedelta(days=2))


def test_the_source_is_asked_for_and_a_reason_does_instead(volunteer: Person, curator: Person) -> None:
    incident = opened(volunteer, room(), opened_on=clock.today() - timedelta(days=40))
    since = clock.today() - timedelta(days=35)
    with pytest.raises(NoEvidence):
        close_incident(Actor.of(curator), incident.pk, highest_rh=Decimal(50), record_from=since)
    with pytest.raises(Invalid):
        add_step(Actor.of(volunteer), incident.pk, kind="source")
    add_step(Actor.of(volunteer), incident.pk, kind="source", note="a cracked gutter")
    incident.refresh_from_db()
    assert incident.source == "a cracked gutter"
    close_incident(Actor.of(curator), incident.pk, reason="it was dust, as the loupe showed")
    with pytest.raises(Invalid):
        add_step(Actor.of(volunteer), incident.pk, kind="dried")


@pytest.mark.parametrize(("who", "opens", "closes"), [("volunteer", 1, 0), ("registrar", 1, 0), ("curator", 1, 1), ("reader", 0, 0), ("administrator", 0, 0)])
def test_who_may_open_and_who_may_close(request: pytest.FixtureRequest, who: str, opens: int, closes: int) -> None:
    person, store = request.getfixturevalue(who), room()
    actor, key = Actor.of(person), uuid7()
    if not opens:
        with pytest.raises(Forbidden):
            open_incident(actor, incident_id=key, kind="mould", place_id=store.pk)
        return
    open_incident(actor, incident_id=key, kind="mould", place_id=store.pk)
    if closes:
        close_incident(actor, key, reason="a drill")
    else:
        with pytest.raises(Forbidden):
            close_incident(actor, key, reason="a drill")


def test_the_pages_and_the_api(volunteer: Person, curator: Person, as_person: Browser) -> None:
    store, key = room(), uuid7()
    browser = as_person(volunteer)
    assert browser.post("/incidents/new/", {"id": str(key), "kind": "mould", "place": str(store.pk)}).status_code == 302
    page = browser.get(f"/incidents/{key}/").content.decode()
    assert "Your local codes and licensed practice come first." in page
    assert "The list is being made" in page
    step = browser.post(f"/api/incidents/{key}/steps/", {"id": str(uuid7()), "kind": "isolated", "note": "two boxes"}, content_type="application/json")
    assert step.status_code == 201
    assert browser.post(f"/api/incidents/{key}/close/", {"id": str(uuid7()), "reason": "x"}, content_type="application/json").status_code == 403
    asked = as_person(curator).post(f"/incidents/{key}/close/", {"act": str(uuid7()), "record_from": "2026-01-02", "highest_rh": "", "reason": ""})
    assert asked.status_code == 409
    assert 'value="2026-01-02"' in asked.content.decode(), "what was typed stands again"
    closing = as_person(curator).post(f"/api/incidents/{key}/close/", {"id": str(uuid7())}, content_type="application/json")
    assert (closing.status_code, closing.json()["code"]) == (409, "incident_no_evidence")
    assert as_person(curator).post(f"/incidents/{key}/close/", {"act": str(uuid7()), "reason": "a drill"}).status_code == 302
    assert browser.get(f"/api/incidents/{key}/").json()["closed_on"] == clock.today().isoformat()


@pytest.mark.parametrize("size", ["1e309", "four", "-2", "99999"])
def test_a_size_that_is_no_figure_is_asked_about(volunteer: Person, as_person: Browser, size: str) -> None:
    sent = {"id": str(uuid7()), "kind": "mould", "place": str(room().pk), "on": "", "note": "white threads", "square_metres": size}
    answer = as_person(volunteer).post("/incidents/new/", sent)
    assert answer.status_code == 400
    assert "white threads" in answer.content.decode()
    assert not Incident.objects.exists()


def test_the_record_to_close_with_is_proposed_from_the_logger_of_the_room(volunteer: Person, curator: Person, as_person: Browser) -> None:
    """From the day after it was last above 65 %; with how much of it is known. What somebody writes over it stands again after a refusal."""
    store = room()
    tell(logger_at(store, "T-1"), [60.0] * 16 + [70.0] * 4 + [55.0] * 34 + [61.24] * 2 + [55.0] * 40)
    with clock.at(START + timedelta(days=4)):
        incident, first = opened(volunteer, store, opened_on=START.date(), source="gutter"), START.date() + timedelta(days=1)
        browser = as_person(curator)
        page = re.sub(r"\s+", " ", browser.get(f"/incidents/{incident.pk}/").content.decode())
        assert "at 70 %." in page
        assert f'name="record_from" type="date" max="{clock.today():%Y-%m-%d}" value="{first}"' in page
        assert 'value="61.3"' in page, "rounded up, never below what was read"
        assert "Told by T-1: 73 of 73 hours are known." in page
        again = browser.post(f"/incidents/{incident.pk}/close/", {"act": str(uuid7()), "record_from": START.date(), "highest_rh": "61.3", "reason": ""})
        assert f'value="{START.date()}"' in again.content.decode()
        proposed = browser.get(f"/api/incidents/{incident.pk}/").json()["on_record"]
        assert (proposed["record_from"], float(proposed["highest_rh"]), proposed["loggers"]) == (first.isoformat(), 61.3, ["T-1"])
        assert "on_record" not in as_person(volunteer).get(f"/api/incidents/{incident.pk}/").json()
        assert browser.post(f"/incidents/{incident.pk}/close/", {"act": str(uuid7()), "record_from": first, "highest_rh": "61.3"}).status_code == 302
    incident.refresh_from_db()
    assert incident.closed_on is not None
    assert incident.highest_rh == Decimal("61.3")


def test_no_record_is_proposed_while_the_room_is_damp_or_where_nobody_read(volunteer: Person, curator: Person, as_person: Browser) -> None:
    store = room()
    incident = opened(volunteer, store, opened_on=clock.today() - timedelta(days=9))
    browser = as_person(curator)
    assert "Nothing was read in the room since" in browser.get(f"/incidents/{incident.pk}/").content.decode()
    read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), store.pk, rh=64)], at=clock.now() - timedelta(days=3))
    page = browser.get(f"/incidents/{incident.pk}/").content.decode()
    assert "1 reading by hand counts too." in page
    assert 'value="64.0"' in page
    read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), store.pk, rh=81)], at=clock.now() - timedelta(minutes=1))
    page = browser.get(f"/incidents/{incident.pk}/").content.decode()
    assert "There is no record below it yet" in page
    assert 'id="rh" name="highest_rh" inputmode="decimal" value=""' in page
    with clock.at(clock.now() + timedelta(days=2)):
        read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), store.pk, rh=58)], at=clock.now() - timedelta(hours=1))
        assert 'value="58.0"' in as_person(curator).get(f"/incidents/{incident.pk}/").content.decode(), "not the 81 of the day before it begins"
    assert "Proposed" not in as_person(volunteer).get(f"/incidents/{incident.pk}/").content.decode()
