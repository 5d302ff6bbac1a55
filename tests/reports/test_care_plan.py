"""The care plan: when looks fall in a year, by room and by thing, and who may have the paper."""

from collections.abc import Callable
from datetime import date, timedelta
from io import BytesIO
from itertools import pairwise
from uuid import UUID

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from collection.objects.actions.hazards import report_hazard
from conservation.checks import derived
from conservation.checks.actions.cards import start_card
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import Due
from conservation.treatments.actions.stock import add_batch
from locations.places.actions import move_object
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from reports.actions import gather
from reports.documents.year import end_of, looks, months_from
from reports.issuing import issue
from tests import stock as house
from tests.treatments import stock
from tests.treatments.conftest import conservator

__all__ = ["conservator"]
ALL = UUID(Society.KEY)
BEGIN, END = date(2026, 12, 1), date(2027, 11, 30)


def days(sort: str, *said: tuple[date, int]) -> list[date]:
    return [look.on for look in looks(*said, BEGIN, END) if look.sort == sort]


def test_a_full_check_counts_as_a_quick_look() -> None:
    """Conservation.md 7.2 (ours): quick look due = day of the last look of either kind + days."""
    full, quick = (date(2027, 1, 10), 365), (date(2026, 12, 20), 180)
    assert days("full", full, quick) == [date(2027, 1, 10)]
    assert days("quick", full, quick) == [date(2026, 12, 20), date(2027, 7, 9)]
    assert days("quick", (date(2027, 1, 10), 90), (date(2027, 1, 10), 90)) == []


def test_what_is_overdue_falls_on_the_first_day_and_says_so() -> None:
    (first, *_rest) = looks((date(2026, 1, 1), 730), (date(2026, 6, 1), 365), BEGIN, END)
    assert (first.on, first.sort, first.overdue, first.first) == (BEGIN, "full", True, True)


@given(st.integers(-400, 400), st.integers(-400, 400), st.sampled_from([90, 180, 365, 730]), st.sampled_from([7, 30, 90, 180, 365]))
def test_no_time_between_two_looks_is_longer_than_its_interval(full_in: int, quick_in: int, full: int, quick: int) -> None:
    planned = looks((BEGIN + timedelta(full_in), full), (BEGIN + timedelta(quick_in), min(quick, full)), BEGIN, END)
    whole = [look.on for look in planned if look.sort == "full"]
    assert all(BEGIN <= look.on <= END for look in planned)
    assert all((after - before).days == full for before, after in pairwise(whole))
    assert all((after.on - before.on).days <= min(quick, full) for before, after in pairwise(planned) if before.first is False)


def test_a_year_has_twelve_months() -> None:
    assert len(set(months_from(date(2026, 2, 28)))) == 12
    assert end_of(date(2026, 2, 28)) == date(2027, 1, 31)


def text(paper: IssuedPaper) -> str:
    with open_file(paper.file) as opened:
        return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(opened.read())).pages).split())


@pytest.mark.django_db
def test_the_plan_counts_rooms_and_names_things(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, today = Actor.of(volunteer), clock.today()
    thing, _seen = stock.rusty(marit)
    *_, shelf = house.shelf()
    move_object(PROGRAM, thing.pk, place_id=shelf.pk)
    report_hazard(PROGRAM, thing.pk, code="ASBESTOS", level=3)
    never = house.helmet("1974.12.4", name="warden's helmet")
    derived.refresh([never.pk])
    start_card(marit, thing.pk, test_id=uuid7())
    add_batch(marit, supply="polyester_film", number="F-1", received_on=today, expires_on=today + timedelta(days=40))
    paper = issue(Actor.of(curator), "care_plan", ALL)
    said = text(paper)
    for word in (
        "Hose hall, Cold store",
        "1974.12.3",
        "held",
        "No place is told",
        "warden's helmet",
        "Card to be read",
        "Batch ends",
        "F-1",
        "The year at a glance",
    ):
        assert word in said, word
    first = paper.data["plan"][0]
    assert first["full"] >= 1, "what was never looked at is due at once"
    assert sum(month["card"] for month in paper.data["plan"]) == 1


@pytest.mark.django_db
def test_the_plan_is_for_those_who_know_every_place(curator: Person, volunteer: Person) -> None:
    with pytest.raises(Forbidden):
        gather(Actor.of(volunteer), "care_plan", ALL)
    issue(Actor.of(curator), "care_plan", ALL)
    assert not IssuedPaper.objects.visible_to(Actor.of(volunteer)).exists()
    with pytest.raises(NotFound):
        gather(Actor.of(curator), "care_plan", uuid7())
    for begin in ("2020-01-01", "2040-01-01", "in spring"):
        with pytest.raises(Invalid):
            gather(Actor.of(curator), "care_plan", ALL, {"begin": begin})


@pytest.mark.django_db
def test_a_plan_that_begins_later_calls_nothing_overdue_that_is_not(volunteer: Person, curator: Person) -> None:
    """A quick look due before it begins is done by then, on its day; the next one follows from that."""
    thing, _seen = stock.rusty(Actor.of(volunteer))
    (quick,) = Due.objects.filter(object=thing, sort="quick", call=None)
    begin = (quick.on.replace(day=1) + timedelta(days=32)).replace(day=1)
    now, later = (gather(Actor.of(curator), "care_plan", ALL, {"begin": day.isoformat()}).data for day in (clock.today(), begin))
    assert now["plan"][0]["overdue"] == later["plan"][0]["overdue"] == 0
    cells = {month: cell for group in now["rooms"] for row in group["things"] for month, cell in zip(now["months"], row["cells"], strict=True)}
    again = {month: cell for group in later["rooms"] for row in group["things"] for month, cell in zip(later["months"], row["cells"], strict=True)}
    both = sorted(cells.keys() & again.keys())
    assert both[0] == begin.isoformat()
    assert [cells[month] for month in both] == [again[month] for month in both]
    assert any(cell["words"] for cell in again.values())


@pytest.mark.django_db
def test_an_empty_house_has_a_plan_that_says_so(curator: Person) -> None:
    assert "Nothing is due in these months." in text(issue(Actor.of(curator), "care_plan", ALL))


@pytest.mark.django_db
def test_it_is_asked_for_where_rounds_are_planned(curator: Person, as_person: Callable[[Person], Client]) -> None:
    assert 'value="care_plan"' in as_person(curator).get("/rounds/due/").content.decode()


@pytest.mark.django_db
def test_what_else_falls_in_a_month_is_told_by_day_rounds_too(volunteer: Person, curator: Person) -> None:
    marit, today = Actor.of(volunteer), clock.today()
    thing, _seen = stock.rusty(marit)
    derived.refresh([thing.pk])
    make_round(Actor.of(curator), name="Cold store", due_by=today + timedelta(days=200))
    for number, days_on in (("F-1", 210), ("F-2", 190)):
        add_batch(marit, supply="polyester_film", number=number, received_on=today, expires_on=today + timedelta(days=days_on))
    others = gather(Actor.of(curator), "care_plan", ALL).data["others"]
    assert [(one["sort"], one["words"].split(", ")[-1]) for one in others] == [("batch ends", "F-2"), ("round", "Cold store"), ("batch ends", "F-1")]
