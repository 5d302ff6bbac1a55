"""Loggers that lie become somebody's task with the evidence, honest ones do not; a person settles it, and readings stay as they are.

The error rates of the methods themselves are in test_loggers (run lengths of Lucas & Crosier 1982 and Vance 1986 in test_cusum); here it is
looked at what the program makes of them in a house.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from django.test import Client

from locations.climate import attention, doubts, queries, storing
from locations.climate.actions.doubts import Settled, settle, suspect, suspect_all
from locations.climate.actions.loggers import calibrate, make_logger, place_logger
from locations.climate.doubts import Doubt, look
from locations.climate.files.reading import Batch
from locations.climate.models import Logger, Reading, Suspicion, Verdict
from locations.climate.sentences import doubted as doubted_in_words
from locations.climate.tasks import doubt_loggers
from locations.places.actions import describe_place, make_place
from locations.places.models import Place
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.climate.air import Floats, logger, outdoors, room_in, store_and_hall, wandering, weather
from tests.climate.test_bringing_in import bring, text

pytestmark = pytest.mark.django_db
START = datetime(2025, 1, 1, tzinfo=UTC)
DAYS = 300
NOW = START + timedelta(days=DAYS, hours=6)


@dataclass
class House:
    """A store with loggers in it, a hall beside it with one; all honest until a test says otherwise."""

    store: Place
    hall: Place
    loggers: dict[str, Logger]
    air: dict[str, tuple[Floats, Floats]]

    def tell(self) -> None:
        """The readings of all, as files would have brought them."""
        for name, (t, rh) in self.air.items():
            at = int(START.timestamp()) + 3600 * np.arange(len(t))
            keep = ~np.isnan(rh)
            batch = Batch(at, t, rh, np.full(len(t), np.nan), np.zeros(len(t), dtype=np.int64))
            storing.add("climate_reading", self.loggers[name].number, 0, batch.some(keep))

    def looked(self) -> list[tuple[str, str, str]]:
        with clock.at(NOW):
            return [(one.kind, one.logger.name, one.other.name if one.other else "") for one in look()]


def house(names: str = "ABC") -> House:
    """A, B and what follows stand in the store, the last in the hall, which is warmer."""
    building, store, _ = stock.shelf()
    hall = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-H", name="Hall", parent_id=building.pk, use="display")
    made = {}
    for name in names:
        made[name] = make_logger(PROGRAM, logger_id=uuid7(), name=name)
        place_logger(PROGRAM, made[name].pk, place_id=(hall if name == names[-1] else store).pk, at=START)
    return House(store, hall, made, store_and_hall(np.random.default_rng(41), names, 24 * DAYS))


def ramp(begin: int, each_half_year: float = 2.0) -> Floats:
    return np.clip((np.arange(24 * DAYS) / 24 - begin) * each_half_year / 182, 0, None)


def test_honest_loggers_are_left_alone(society: Any) -> None:
    it = house()
    it.tell()
    assert it.looked() == []


def test_two_per_cent_in_half_a_year_beside_others(society: Any) -> None:
    it = house("ABCD")
    t, rh = it.air["B"]
    it.air["B"] = t, rh + ramp(100)
    it.tell()
    assert it.looked() == [("drift", "B", "")]
    with clock.at(NOW):
        (found,) = look()
    assert START + timedelta(days=90) < found.begin < START + timedelta(days=160)
    assert 100 < found.evidence["noticed"] < 160
    assert found.end == START + timedelta(days=DAYS)
    assert found.evidence["now"] == pytest.approx(2.1, abs=0.4)
    assert found.evidence["size"] > 0
    assert len(found.evidence["weeks"]) == DAYS // 7


def test_of_two_nobody_can_tell_which(society: Any) -> None:
    it = house("ABC")
    t, rh = it.air["B"]
    it.air["B"] = t, rh + ramp(100)
    it.tell()
    assert it.looked() == [("drift", "A", "B")]


def test_a_room_of_its_own_tells_nothing_of_drift(society: Any) -> None:
    it = house("ABC")
    t, rh = it.air["C"]
    it.air["C"] = t, rh + ramp(100, 6)
    it.tell()
    assert it.looked() == []


@pytest.mark.parametrize(("half_year", "suspected"), [(0.0, []), (5.0, [("drift", "A", "")])])
def test_alone_in_its_room_it_is_held_against_outdoors_and_the_other_rooms(society: Any, half_year: float, suspected: list[Any]) -> None:
    """A year tells how rooms hang together; how often and how soon is counted in test_drift_apart."""
    building, store, _ = stock.shelf()
    hall = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-H", name="Hall", parent_id=building.pk, use="display")
    yard = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Y", name="Yard wall", parent_id=building.pk)
    describe_place(PROGRAM, yard.pk, version=1, spot="outdoors")
    rng, days = np.random.default_rng(64), 640
    outside = outdoors(rng, 24 * days, 1)
    made, told = {}, {}
    for name, place, air in (("A", store, room_in(rng, *outside)), ("B", hall, room_in(rng, *outside)), ("O", yard, outside)):
        made[name] = make_logger(PROGRAM, logger_id=uuid7(), name=name)
        place_logger(PROGRAM, made[name].pk, place_id=place.pk, at=START)
        told[name] = logger(rng, air[0][:, 0], air[1][:, 0])
    t, rh = told["A"]
    told["A"] = t, np.clip(rh + np.clip((np.arange(24 * days) / 24 - 420) * half_year / 182, 0, None), 1, 100)
    it = House(store, hall, made, told)
    it.tell()
    with clock.at(START + timedelta(days=days, hours=6)):
        found = look()
        assert [(one.kind, one.logger.name, one.other.name if one.other else "") for one in found] == suspected
        for one in found:
            assert one.evidence["now"] == pytest.approx(5.5, abs=2)
            assert START + timedelta(days=380) < one.begin < START + timedelta(days=600)
            assert suspect(PROGRAM, one) is not None
            (words, lately) = doubted_in_words(one.kind, one.evidence)
            assert "than the air outdoors and 1 other rooms" in words
            assert "look for one first" in lately


def test_after_a_check_the_usual_is_learnt_anew(society: Any) -> None:
    it = house("ABCD")
    t, rh = it.air["B"]
    it.air["B"] = t, rh + ramp(100)
    it.tell()
    with clock.at(NOW):
        calibrate(PROGRAM, it.loggers["B"].pk, points=[(34.0, 33.1), (77.0, 75.5)], at=NOW - timedelta(days=30))
    assert it.looked() == []


@pytest.mark.parametrize("hours", [1, -1])
def test_a_clock_an_hour_wrong_for_three_weeks(society: Any, hours: int) -> None:
    it = house("ABCD")
    cut = 24 * (DAYS - 21)
    for name in ("C", "D"):  # in a room with others, and alone in a room
        it.air[name] = tuple(np.concatenate((values[:cut], np.roll(values, hours)[cut:])) for values in it.air[name])  # type: ignore[assignment]
        it.tell()
        assert ("clock", name, "") in it.looked()
        with clock.at(NOW):
            (found,) = (one for one in look() if (one.kind, one.logger.name) == ("clock", name))
        assert found.evidence["hours"] == pytest.approx(hours, abs=0.3)
        return_to_honest(it)


def return_to_honest(it: House) -> None:
    """The readings of this test are made anew for the next part of it."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE; SET session_replication_role = replica; DELETE FROM climate_reading; SET session_replication_role = origin")
    rng = np.random.default_rng(42)
    t, e = weather(rng, 24 * DAYS)
    for name in it.air:
        warmth = t + 2 + wandering(rng, len(t), 0.9, 0.4) if name == max(it.air) else t
        it.air[name] = logger(rng, warmth, e)


def test_a_pair_that_went_back_into_each_others_place(society: Any) -> None:
    it = house("AB")
    cut = 24 * (DAYS - 20)
    (a_t, a_rh), (b_t, b_rh) = it.air["A"], it.air["B"]
    it.air["A"] = np.concatenate((a_t[:cut], b_t[cut:])), np.concatenate((a_rh[:cut], b_rh[cut:]))
    it.air["B"] = np.concatenate((b_t[:cut], a_t[cut:])), np.concatenate((b_rh[:cut], a_rh[cut:]))
    it.tell()
    assert it.looked() == [], "nobody had them in hand"
    for n, name in enumerate("AB"):
        fetched(it, name, cut + n)
    assert ("swapped", "A", "B") in it.looked()


def fetched(it: House, name: str, until: int) -> None:
    """Its file of the two days up to that hour came in."""
    t, rh = it.air[name]
    rows = [(f"{START + timedelta(hours=n):%Y-%m-%d %H:%M}", t[n], rh[n]) for n in range(until - 48, until)]
    bring(text(rows), it.loggers[name], f"{name}.csv")


def test_a_humidity_that_stands_still_and_a_mirror(society: Any) -> None:
    it = house("ABC")
    t, rh = it.air["B"]
    rh = rh.copy()
    rh[-24 * 9 : -24 * 7] = rh[-24 * 9]
    it.air["B"] = t, rh
    it.air["C"] = it.air["C"][0], np.round(100 - it.air["C"][0], 1)
    it.tell()
    assert set(it.looked()) == {("stuck", "B", ""), ("mirrored", "C", "")}


@pytest.mark.parametrize(("checks", "suspected"), [([0.5], False), ([3.5], True), ([0.5, 1.9], False), ([0.5, 2.9], True), ([3.5, 0.5], True)])
def test_far_off_over_salts(society: Any, checks: list[float], suspected: bool) -> None:
    it = house("A")
    with clock.at(NOW):
        for n, off in enumerate(checks):
            calibrate(PROGRAM, it.loggers["A"].pk, points=[(33.1 + off, 33.1), (75.5 + off, 75.5)], at=START + timedelta(days=50 + 100 * n))
    assert [kind for kind, _, _ in it.looked()] == ["salts"] * suspected


def test_a_record_that_breaks_the_looking_off_hides_no_other(society: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    it, ask = house(), doubts._by_itself
    t, rh = it.air["B"]
    rh = rh.copy()
    rh[-24 * 9 : -24 * 7] = rh[-24 * 9]
    it.air["B"] = t, rh
    it.tell()

    def broken(stand: doubts.Stand) -> Iterator[Doubt]:
        if stand.logger.name == "A":
            raise ZeroDivisionError
        return ask(stand)

    monkeypatch.setattr(doubts, "_by_itself", broken)
    assert ("stuck", "B", "") in it.looked()


def doubted(of: Logger, **more: Any) -> Suspicion:
    found = suspect(PROGRAM, Doubt("drift", of, NOW - timedelta(days=90), NOW - timedelta(days=30), DRIFT, **more))
    assert found
    return found


DRIFT = {"size": 2.1, "error": 0.5, "usual": 0.3, "spread": 0.3, "days": 60, "others": 2, "noticed": 130, "now": 2.4, "weeks": [0.3, 0.4, 1.9]}


@pytest.mark.parametrize(("slope", "said"), [(-0.4, "changes by 0.4 %"), (0.2, None)])
def test_a_slope_of_its_own_is_told_where_it_is_more_than_nothing(slope: float, said: str | None) -> None:
    words = doubted_in_words("drift", DRIFT | {"slope": slope})
    assert [said in sentence for sentence in words if "10 %" in sentence] == ([True] if said else [])
    assert "2.4 % away" in words[-1]


def test_what_was_found_right_of_one_is_kept_of_the_others(society: Any, curator: Person) -> None:
    """Of three in a room one was suspected and is right: of the others nothing has to be learnt anew, and none is suspected for what was before."""
    it = house("ABCD")
    t, rh = it.air["B"]
    it.air["B"] = t, rh + ramp(100)
    it.tell()
    with clock.at(START + timedelta(days=130, hours=6)):
        settle(Actor.of(curator), doubted(it.loggers["A"]).pk, says="holds", reason="right over both salts")
        assert look() == []
    with clock.at(START + timedelta(days=160, hours=6)):
        assert [(one.kind, one.logger.name) for one in look()] == [("drift", "B")]


def test_one_task_at_a_time_and_none_of_what_was_settled(society: Any, curator: Person) -> None:
    it = house("ABCD")
    t, rh = it.air["B"]
    it.air["B"] = t, rh + ramp(100)
    it.tell()
    with clock.at(NOW):
        assert doubt_loggers() == 1
        assert suspect_all() == 0
        assert attention.waiting()["doubted"] == 1
        (open_one,) = attention.to_see().doubted
        settle(Actor.of(curator), open_one.pk, says="holds", reason="both over salts, both right")
        assert suspect_all() == 0
        assert "doubted" not in attention.waiting() or attention.waiting()["doubted"] == 0


def test_a_person_settles_it_and_the_readings_stay(society: Any, curator: Person, volunteer: Person) -> None:
    it = house("AB")
    it.tell()
    before = list(Reading.objects.order_by("logger", "at").values_list("logger", "at", "rh"))
    found = doubted(it.loggers["A"])
    with pytest.raises(Forbidden):
        settle(Actor.of(volunteer), found.pk, says="left_out", reason="so it seems")
    for says, reason, wrong in (("maybe", "looked", "says"), ("holds", " ", "reason")):
        with pytest.raises(Invalid) as refused:
            settle(Actor.of(curator), found.pk, says=says, reason=reason)
        assert refused.value.field == wrong
    with pytest.raises(NotFound):
        settle(Actor.of(curator), uuid7(), says="holds", reason="looked")
    settle(Actor.of(curator), found.pk, says="left_out", reason="4 % off over salt", begin=NOW - timedelta(days=80))
    verdict = Verdict.objects.get()
    assert (verdict.begin, verdict.end, verdict.says) == (NOW - timedelta(days=80), found.end, "left_out")
    assert list(Reading.objects.order_by("logger", "at").values_list("logger", "at", "rh")) == before
    used = queries.readings(it.loggers["A"], START, NOW)
    assert int(np.isnan(used.rh).sum()) == 50 * 24
    with pytest.raises(Settled):
        settle(Actor.of(curator), found.pk, says="holds", reason="again")


def test_of_two_loggers_it_is_said_whose_readings_are_not_used(society: Any, curator: Person, as_person: Callable[[Person], Client]) -> None:
    """Nobody can tell from their difference which of two it is; who held both over salts can."""
    it = house("AB")
    it.tell()
    a, b = it.loggers["A"], it.loggers["B"]
    found = doubted(a, other=b)
    page = f"/climate/suspicions/{found.pk}/"
    with pytest.raises(Invalid) as refused:
        settle(Actor.of(curator), found.pk, says="left_out", reason="4 % off over salt", of=uuid7())
    assert refused.value.field == "of"
    assert "those of B are not to be used" in as_person(curator).get(page).content.decode()
    as_person(curator).post(f"{page}settle/", {"says": f"left_out:{b.pk}", "reason": "4 % off over salt"})
    assert Verdict.objects.get().logger == b
    assert int(np.isnan(queries.readings(b, START, NOW).rh).sum()) > 0
    assert not np.isnan(queries.readings(a, START, NOW).rh).any()
    assert "Readings of B from" in as_person(curator).get(page).content.decode()


def test_pages(society: Any, curator: Person, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    it = house("AB")
    found = doubted(it.loggers["A"], other=it.loggers["B"])
    page = f"/climate/suspicions/{found.pk}/"
    assert "1 logger may be wrong" in as_person(curator).get("/").content.decode()
    assert page in as_person(curator).get("/climate/").content.decode()
    seen = as_person(volunteer).get(page).content.decode()
    assert "2.1 % more than usual" in seen
    assert 'name="says"' not in seen
    assert as_person(volunteer).post(f"{page}settle/", {"says": "holds", "reason": "x"}).status_code == 403
    assert as_person(curator).get(f"/climate/suspicions/{uuid7()}/").status_code == 404
    says = f"left_out:{it.loggers['A'].pk}"
    refused = as_person(curator).post(f"{page}settle/", {"says": says, "reason": "splashed at the sink", "begin": "2025-09-31T10:00"})
    assert refused.status_code == 400
    assert all(kept in refused.content.decode() for kept in (f'value="{says}" required checked', 'value="splashed at the sink"', 'value="2025-09-31T10:00"'))
    assert as_person(curator).post(f"{page}settle/", {"says": "left_out", "reason": "splashed"}, follow=True).status_code == 200
    seen = as_person(curator).get(page).content.decode()
    assert "splashed" in seen
    assert "are not used" in seen
    assert page in as_person(curator).get(f"/climate/loggers/{it.loggers['A'].pk}/").content.decode()


@pytest.mark.parametrize("kind", Suspicion.Kind.values)
def test_every_kind_has_its_words(society: Any, curator: Person, as_person: Callable[[Person], Client], kind: str) -> None:
    told = {
        "drift": DRIFT, "clock": {"hours": -1.1, "correlation": 0.8, "others": 2}, "swapped": {"as_they_are": 90.1, "exchanged": 2.0, "at": "x"},
        "stuck": {"hours": 48, "value": 61.2}, "mirrored": {"readings": 400}, "salts": {"off": -3.4, "changed": -2.9, "before": True},
    }[kind]  # fmt: skip
    found = suspect(PROGRAM, Doubt(kind, house("A").loggers["A"], NOW - timedelta(days=9), NOW, dict(told)))  # type: ignore[call-overload]
    assert found
    assert as_person(curator).get(f"/climate/suspicions/{found.pk}/").status_code == 200
