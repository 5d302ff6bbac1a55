"""A wall by its thermal quality: as cold as the air outdoors makes it, hour by hour; unknown where nobody told the air outdoors."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import psychrolib
import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from collection.objects.models import Object
from locations.climate import alarming, exposure, following, storing, walls
from locations.climate.actions.alarms import standing_alarms
from locations.climate.actions.loggers import cover, place_logger
from locations.climate.actions.walls import Readings, end_wall, tell_wall, tell_wall_by_quality
from locations.climate.alarm_lines import words_of
from locations.climate.files.reading import Batch
from locations.climate.hearing import Hearing, Outdoors
from locations.climate.lives import Lived
from locations.climate.models import Logger, Wall, WallExposure
from locations.climate.science import surfaces
from locations.climate.science.values import NoValue
from locations.places.actions import describe_place, make_place, move_box
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.history.models import Change
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from tests import stock
from tests.climate.test_bringing_in import bring, text
from tests.climate.test_exposure import START, logger_at, put, rows, tell
from tests.climate.test_walls import DAY, faces, later, leather, told

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
#: 18 °C in the room, 12.6 at the wall, 0 outdoors: f_Rsi 0.7
COLD = Readings(18.0, 12.6, 0.0)


def yard(of: Place | None = None, code: str = "YARD") -> Place:
    """A place in the open air: by itself, or in a building."""
    level = "room" if of else "building"
    place = make_place(PROGRAM, place_id=uuid7(), level=level, code=code, name=code.title(), parent_id=of.pk if of else None)
    return describe_place(PROGRAM, place.pk, version=1, spot="outdoors")


def by_quality(place: Place, *, on: date = DAY, readings: Readings = COLD) -> Wall:
    return tell_wall_by_quality(PROGRAM, place.pk, readings=readings, on=on, measured_on=on, reason="three readings of a frosty morning")


def at_wall(thing: Object) -> Lived:
    """The face of its leather."""
    found = leather(thing).at_wall
    assert found
    return found


def warmth(it: Logger, t: Any, *, first: int = 0) -> None:
    """Hourly readings of a thermometer that tells no humidity."""
    t = np.asarray(t, dtype=np.float64)
    at, none = int(START.timestamp()) + 3600 * (first + np.arange(len(t))), np.full(len(t), np.nan)
    storing.add("climate_reading", it.number, 0, Batch(at, t, none, none, np.zeros(len(t), dtype=np.int64)).some(~np.isnan(t)))


def test_the_reference_and_another_library() -> None:
    """environment.md 1.2: in 18 °C/50 %, out 0 °C, f_Rsi 0.7 make 12.6 °C and 70.7 % at the wall. PsychroLib over a year's range of air."""
    assert surfaces.thermal_quality(18.0, 12.6, 0.0) == pytest.approx(0.7)
    t_s, rh_s = surfaces.air_by_quality(np.array([18.0]), np.array([50.0]), np.array([0.0]), 0.7)
    assert (t_s[0], rh_s[0]) == (pytest.approx(12.6), pytest.approx(70.7, abs=0.1))
    psychrolib.SetUnitSystem(psychrolib.SI)
    for out in (-12.0, 3.0, 17.0, 31.0):
        for t, rh in ((8.0, 60.0), (18.0, 45.0), (22.0, 65.0)):
            t_s, rh_s = surfaces.air_by_quality(np.array([t]), np.array([rh]), np.array([out]), 0.6)
            assert t_s[0] == pytest.approx(0.6 * t + 0.4 * out)
            other = psychrolib.GetVapPresFromRelHum(t, rh / 100) / psychrolib.GetSatVapPres(0.6 * t + 0.4 * out) * 100
            # below 0 °C PsychroLib saturates over ice, this over water
            assert 0.6 * t + 0.4 * out < 0 or rh_s[0] == pytest.approx(min(other, 100), abs=0.2), (t, rh, out)
            assert (rh_s[0] < rh) == (out > t), "a wall that is warmer outdoors is the drier for it"
    unknown = surfaces.air_by_quality(np.array([18.0, np.nan, 18.0]), np.array([50.0, 50.0, np.nan]), np.array([np.nan, 0.0, 0.0]), 0.7)
    assert np.isnan(unknown[1]).all()


@pytest.mark.parametrize(
    ("read", "code"),
    [((18.0, 15.0, 13.1), "too_alike"), ((20.0, 22.0, 30.0), "too_alike"), ((18.0, 18.5, 0.0), "not_between"), ((18.0, -1.0, 0.0), "not_between")],
)  # fmt: skip
def test_readings_that_tell_no_wall(read: tuple[float, float, float], code: str) -> None:
    with pytest.raises(NoValue, match=code):
        surfaces.thermal_quality(*read)


def test_winter_and_summer_and_a_hole_between(society: Any) -> None:
    """Ten days of frost, five of which nobody told the air outdoors, ten of heat: by the reference 70.7 %; unknown; and warmer, so drier, than the room."""
    _, store, board = stock.shelf()
    thing, outside = stock.helmet(), logger_at(yard(), "OUT")
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [50] * (24 * 25), t=18.0)
    warmth(outside, [0.0] * 240 + [np.nan] * 120 + [30.0] * 240)
    by_quality(board)
    with later(25):
        exposure.refresh()
        one, found = leather(thing), walls.beside(board)
    assert one.at_wall
    # a gap of five days is none that is filled
    assert (one.at_wall.against, one.at_wall.damp, one.at_wall.known, one.at_wall.unknown) == (480, 240, 480, 120)
    assert (one.known, one.damp, one.unknown) == (600, 0, 0), "the room is known all the while"
    assert (found.known, found.unknown) == (480, 120)
    assert found.warmth == (pytest.approx(12.6), pytest.approx(21.6))
    assert found.wall[1][np.isfinite(found.wall[1])].min() == pytest.approx(50 * psychrolib.GetSatVapPres(18) / psychrolib.GetSatVapPres(21.6), abs=0.2)


def test_hour_by_hour_as_counted_plainly(society: Any) -> None:
    """Another library, one hour at a time: hours over 65 and over 80 % at the wall in three months of weather."""
    _, store, board = stock.shelf()
    thing, outside, rng, n = stock.helmet(), logger_at(yard(), "OUT"), np.random.default_rng(8), 24 * 90
    put(thing, board, START)
    t = 14 + np.sin(np.arange(n) / 40)
    rh = np.clip(50 + 6 * np.sin(np.arange(n) / 300) + rng.normal(0, 2, n), 20, 95).round(1)
    out = (8 - 9 * np.sin(np.arange(n) / 900) + 4 * np.sin(np.arange(n) / 24 * 2 * np.pi)).round(1)
    tell(logger_at(store, "T-1"), rh, t=t.round(1))
    tell(outside, [80] * n, t=out)
    by_quality(board)
    with later(90):
        exposure.refresh()
    psychrolib.SetUnitSystem(psychrolib.SI)
    at = [
        psychrolib.GetVapPresFromRelHum(float(a), float(b) / 100) / psychrolib.GetSatVapPres(float(c + 0.7 * (a - c))) * 100
        for a, b, c in zip(t.round(1), rh, out, strict=True)
    ]
    one = leather(thing).at_wall
    assert one
    assert 200 < one.damp < n - 200
    # two libraries differ by less than 0.2 %: only hours so close to a limit may fall otherwise
    close = [sum(abs(value - limit) < 0.2 for value in at) for limit in (65, 80)]
    assert abs(one.damp - sum(value > 65 for value in at)) <= close[0]
    assert abs(one.wet - sum(value > 80 for value in at)) <= close[1]


def test_of_several_outdoors_the_nearest_tells_and_the_next_where_it_is_silent(society: Any) -> None:
    hall, store, board = stock.shelf()
    other = make_place(PROGRAM, place_id=uuid7(), level="building", code="B", name="Boat shed")
    far, near = logger_at(yard(other, "B-YARD"), "FAR"), logger_at(yard(hall, "H-YARD"), "NEAR")
    assert [one.voice for one in Outdoors().of(board.pk)] == [(near.number, far.number)]
    assert [one.voice for one in Outdoors().of(other.pk)] == [(far.number, near.number)]
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [50] * 240, t=18.0)
    warmth(near, [0.0] * 120)
    warmth(far, [30.0] * 240)
    by_quality(board)
    with later(10):
        exposure.refresh()
        assert walls.outdoors_now(board.pk) == ["NEAR", "FAR"]
    one = leather(thing).at_wall
    assert one
    assert (one.against, one.damp) == (240, 120)


def test_followed_file_by_file_as_from_nothing(society: Any) -> None:
    """Files of room and outdoors in whatever order, told anew by the other way, ended, moved off: the rows are those of from nothing."""
    _, store, board = stock.shelf()
    thing, inside, outside = stock.helmet(), logger_at(store, "T-1"), logger_at(yard(), "OUT")
    put(thing, board, START)
    rng = np.random.default_rng(3)
    room, out = 60 + rng.normal(0, 5, 24 * 120), 6 + 8 * np.sin(np.arange(24 * 120) / 500)

    def send(it: Logger, values: Any, first: int, days: int, t: Any) -> None:
        hours = range(24 * first, 24 * (first + days))
        told_of = [(f"{START + timedelta(hours=n):%Y-%m-%d %H:%M}", round(float(t[n]), 1), round(float(values[n]), 1)) for n in hours]
        bring(text(told_of), it, f"{it.name}-{first}.csv")

    warm, damp = np.full(24 * 120, 16.0), np.full(24 * 120, 85.0)
    steps: list[tuple[int, Callable[[], object]]] = [
        (40, lambda: send(inside, room, 0, 40, warm)),
        (41, lambda: by_quality(board, on=DAY + timedelta(days=5))),
        (60, lambda: send(outside, damp, 20, 40, out)),
        (62, lambda: send(outside, damp, 3, 17, out)),
        (80, lambda: send(inside, room, 40, 40, warm)),
        (81, lambda: told(board, 3, on=DAY + timedelta(days=70))),
        (82, lambda: by_quality(board, on=DAY + timedelta(days=75), readings=Readings(16.0, 8.0, 0.0))),
        (100, lambda: (send(outside, damp, 60, 40, out), send(inside, room, 80, 20, warm))),
        (101, lambda: place_logger(PROGRAM, outside.pk, place_id=None, at=START + timedelta(days=95), note="broken")),
        (102, lambda: end_wall(PROGRAM, board.pk, on=DAY + timedelta(days=98), reason="moved off")),
        (119, lambda: None),
    ]
    seen = []
    for day, change in steps:
        with later(day):
            change()
            assert following.catch_up() > 0
            kept = rows(), faces()
            exposure.rebuild()
            assert (rows(), faces()) == kept, day
            seen.append(kept[1])
    assert all(one != other for one, other in pairwise(seen[1:9]))
    assert seen[0] == []


def test_a_place_described_as_outdoors_afterwards_counts_for_all_the_time(society: Any) -> None:
    hall, store, board = stock.shelf()
    place, thing = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Y", name="Yard", parent_id=hall.pk), stock.helmet()
    outside, other = logger_at(place, "OUT"), logger_at(yard(hall, "H-Z"), "FAR")
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [50] * (24 * 50), t=18.0)
    warmth(outside, [0.0] * (24 * 50))
    warmth(other, [18.0] * 24)
    by_quality(board)
    with later(50):
        following.catch_up()
        alarming.catch_up()
        assert at_wall(thing).known == 24
        describe_place(PROGRAM, place.pk, version=1, spot="outdoors")
        assert following.catch_up() > 0
        assert at_wall(thing).known == 24 * 50
        kept = faces()
        exposure.rebuild()
        assert faces() == kept
        assert following.catch_up() == 0
        describe_place(PROGRAM, place.pk, version=2, spot="")
        assert following.catch_up() > 0
        assert at_wall(thing).known == 24, "it is described as indoors again"


def test_hours_in_which_no_logger_stood_outdoors_are_unknown_and_not_the_rooms(society: Any) -> None:
    _, store, board = stock.shelf()
    thing, outside = stock.helmet(), logger_at(yard(), "OUT")
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [50] * 480, t=18.0)
    warmth(outside, [0.0] * 480)
    place_logger(PROGRAM, outside.pk, place_id=None, at=START + timedelta(days=10))
    by_quality(board)
    with later(20):
        exposure.refresh()
        one, found = at_wall(thing), walls.beside(board)
    assert (one.against, one.known, one.unknown) == (240, 240, 240)
    assert (found.known, found.unknown) == (240, 240)


def test_a_shelf_in_the_yard_is_in_the_open_air_and_a_box_there_was_elsewhere_before(society: Any) -> None:
    _, _store, board = stock.shelf()
    outdoors = yard()
    shelter = make_place(PROGRAM, place_id=uuid7(), level="room", code="YARD-1", name="Shelter", parent_id=outdoors.pk)
    box = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box", mobile=True)
    move_box(PROGRAM, box.pk, place_id=outdoors.pk)
    describe_place(PROGRAM, box.pk, version=1, spot="outdoors")
    hung = logger_at(shelter, "HUNG")
    logger_at(box, "BOXED")
    assert [one.voice for one in Outdoors().of(board.pk)] == [(hung.number,)]


def test_what_is_told_to_speak_for_a_place_is_not_of_the_wall_above_it(society: Any) -> None:
    _, store, _board = stock.shelf()
    rack = make_place(PROGRAM, place_id=uuid7(), level="unit", code="H-S-R", name="Rack", parent_id=store.pk)
    shelf = make_place(PROGRAM, place_id=uuid7(), level="shelf", code="H-S-R1", name="Shelf", parent_id=rack.pk)
    it = logger_at(store, "T-1")
    tell_wall(PROGRAM, rack.pk, colder=4, on=DAY, measured_on=DAY, reason="surface thermometer")
    hours = int(START.timestamp()) // 3600, int(START.timestamp()) // 3600 + 24
    assert [bool(one.wall) for one in Hearing(walls=True).between(shelf.pk, *hours)] == [True]
    cover(PROGRAM, shelf.pk, logger_id=it.pk, at=START, reason="its back is insulated")
    assert [bool(one.wall) for one in Hearing(walls=True).between(shelf.pk, *hours)] == [False]


def test_what_comes_to_its_first_wall_begins_there_as_its_room_had_left_it(society: Any) -> None:
    _, store, board = stock.shelf()
    thing, other = stock.helmet(), stock.helmet("1974.9.9")
    for one in (thing, other):
        put(one, store, START)
    tell(logger_at(store, "T-1"), [92] * (24 * 90), t=20.0)
    with later(90):
        exposure.refresh()
        grown = leather(other).mould.mould
        put(thing, board, START + timedelta(days=75))
        tell_wall(PROGRAM, board.pk, colder=1, on=DAY + timedelta(days=75), measured_on=DAY + timedelta(days=75), reason="surface thermometer")
        exposure.refresh()
    assert grown > 3
    assert at_wall(thing).mould.mould > grown, "what had grown in the room goes on growing at the wall"


def test_the_air_outdoors_raises_the_alarm_of_the_wall(society: Any) -> None:
    """A file of outdoors alone makes the room's air mouldy at the wall; the alarm says by what the wall was told."""
    _, store, board = stock.shelf()
    outside = logger_at(yard(), "OUT")
    tell(logger_at(store, "T-1"), [62] * (24 * 40), t=14.0)
    with later(40):
        by_quality(board, readings=Readings(14.0, 7.0, 0.0))
        alarming.catch_up()
        assert not standing_alarms().exists()
        bring(text([(f"{START + timedelta(hours=n):%Y-%m-%d %H:%M}", 2.0, 80.0) for n in range(24 * 40)]), outside, "out.csv")
        assert alarming.catch_up() > 0
        (one,) = (alarm for alarm in standing_alarms().filter(level="red", kind="mould") if alarm.at_wall)
        assert (one.place, one.figures["quality"], "colder" in one.figures, one.formula) == (board, 0.5, False, "walls by quality 1")
        # 14 °C/62 % at 8 °C: 62 * e_s(14)/e_s(8)
        assert one.figures["highest"] == pytest.approx(62 * psychrolib.GetSatVapPres(14) / psychrolib.GetSatVapPres(8), abs=0.2)
        assert words_of(one).startswith("at its wall (as cold as the air outdoors makes it, quality 0.5), not in the room: ")
        assert alarming.catch_up() == 0
        facts = standing_alarms().count()
        alarming.rebuild()
        assert standing_alarms().count() == facts
        assert {alarm.place for alarm in standing_alarms()} == {board}, "the open air is damp as it will, and no alarm of ours"
        by_quality(board, on=DAY + timedelta(days=1), readings=Readings(14.0, 6.3, 0.0))
        alarming.catch_up()
        assert {alarm.figures["quality"] for alarm in standing_alarms() if alarm.at_wall} == {0.45}, "as it was told last"
        for n in (0, 1):
            end_wall(PROGRAM, board.pk, on=DAY + timedelta(days=n), reason="it never stood there")
        alarming.catch_up()
        assert not standing_alarms().exists()


def test_an_alarm_of_a_place_that_is_described_as_outdoors_is_taken_back(society: Any) -> None:
    hall, _store, _board = stock.shelf()
    porch = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-P", name="Porch", parent_id=hall.pk)
    tell(logger_at(porch, "T-1"), [80] * (24 * 10), t=14.0)
    with later(10):
        alarming.catch_up()
        assert standing_alarms().exists()
        describe_place(PROGRAM, porch.pk, version=1, spot="outdoors")
        alarming.catch_up()
        assert not standing_alarms().exists()


@pytest.mark.parametrize(
    ("readings", "field", "words"),
    [
        (Readings(18, 16, 14), "outdoors", "not 5 °C colder"), (Readings(18, 19, 2), "wall", "not between"), (Readings(18, 1, 2), "wall", "not between"),
        (Readings(18, 2, 2), "wall", "not between"), (Readings(18, 18, 2), "wall", "not between"),
        (Readings(180, 19, 2), "room", "180 °C cannot be"), (Readings(18, 12, -70), "outdoors", "−70 °C cannot be"),
    ],
)  # fmt: skip
def test_what_tells_no_quality_is_refused(society: Any, readings: Readings, field: str, words: str) -> None:
    _, _store, board = stock.shelf()
    logger_at(yard(), "OUT")
    with pytest.raises(Invalid) as refused:
        by_quality(board, readings=readings)
    assert refused.value.field == field
    assert words in refused.value.sentence
    assert not Wall.objects.exists()


@pytest.mark.parametrize(("wall", "quality"), [(17.99999, 0.9999), (2.00001, 0.0001)])
def test_a_wall_all_but_as_warm_as_the_room_or_as_cold_as_outdoors_is_still_one(society: Any, wall: float, quality: float) -> None:
    _, _store, board = stock.shelf()
    logger_at(yard(), "OUT")
    assert by_quality(board, readings=Readings(18, wall, 2)).quality == quality


def test_what_is_measured_is_not_in_the_future(society: Any) -> None:
    _, _store, board = stock.shelf()
    logger_at(yard(), "OUT")
    for on, measured_on, field in ((DAY, date(2999, 1, 1), "measured_on"), (date(2999, 1, 1), DAY, "on")):
        with pytest.raises(Invalid) as refused:
            tell_wall_by_quality(PROGRAM, board.pk, readings=COLD, on=on, measured_on=measured_on, reason="so")
        assert refused.value.field == field


def test_without_a_logger_outdoors_it_is_refused_and_the_difference_offered(society: Any) -> None:
    _, store, board = stock.shelf()
    with pytest.raises(Invalid) as refused:
        by_quality(board)
    assert "or tell by how many degrees the wall is colder" in refused.value.sentence
    outside = logger_at(yard(), "OUT")
    place_logger(PROGRAM, outside.pk, place_id=None, at=START + timedelta(days=10))
    with pytest.raises(Invalid):
        by_quality(board, on=DAY + timedelta(days=12))
    assert by_quality(board, on=DAY).quality == 0.7
    place_logger(PROGRAM, outside.pk, place_id=store.pk, at=START + timedelta(days=20))
    with pytest.raises(Invalid), transaction.atomic():
        by_quality(board, on=DAY + timedelta(days=21))


def test_the_database_keeps_walls_whole(society: Any) -> None:
    _, _store, board = stock.shelf()
    logger_at(yard(), "OUT")
    act = by_quality(board).act_id
    for wrong in ({"quality": 0.5, "colder": 3.0}, {"quality": 1.0}, {"quality": 0.5, "room_t": None}, {"colder": 3.0, "quality": None}):
        values = {"quality": None, "colder": None, "room_t": 18.0, "wall_t": 12.0, "outdoor_t": 0.0, "measured_on": DAY} | wrong
        with pytest.raises(IntegrityError), transaction.atomic():
            Wall.objects.create(act_id=act, place=board, reason="x", **values)


def test_told_on_its_page_and_by_programs(society: Any, as_person: Browser, curator: Person, volunteer: Person, reader: Person) -> None:
    _, store, board = stock.shelf()
    thing, now = stock.helmet(), clock.now()
    begin = datetime(now.year, now.month, now.day, tzinfo=UTC) - timedelta(days=20)
    put(thing, board, begin)
    client, of = as_person(curator), f"/climate/rooms/{store.pk}/walls/"
    page = client.get(of).content.decode()
    assert "no logger hangs outdoors" in page
    assert 'value="quality"' not in page
    outside = logger_at(yard(), "OUT")
    place_logger(PROGRAM, outside.pk, place_id=outside.stays.get().place_id, at=begin)
    tell(logger_at(store, "T-1"), [50] * (24 * 20), begin=begin, t=18.0)
    tell(outside, [80] * (24 * 15), begin=begin, t=0.0)
    body = {
        "do": "quality", "place": str(board.pk), "room": "18", "wall": "12,6", "outdoors": "15", "measured_on": str(begin.date()), "on": str(begin.date()),
        "reason": "held it to the bricks",
    }  # fmt: skip
    refused = client.post(f"{of}tell/", body)
    assert refused.status_code == 400
    again = refused.content.decode()
    assert "not 5 °C colder" in again
    assert 'value="12,6"' in again, "what was typed stands there still"
    assert 'value="held it to the bricks"' in again
    assert not Wall.objects.exists()
    lacking = client.post(f"{of}tell/", body | {"outdoors": ""})
    assert "How warm was it outdoors?" in lacking.content.decode()
    assert "Stored." in client.post(f"{of}tell/", body | {"outdoors": "0"}, follow=True).content.decode()
    page = as_person(volunteer).get(of).content.decode()
    for words in ("quality 0.70", "room 18 °C, wall 12.6 °C, outdoors 0 °C", "12.6 to 12.6 °C", "nobody told the air outdoors", "held it to the bricks"):
        assert words in page, words
    assert "Tell a colder wall" not in page, "a volunteer reads"
    (row,) = as_person(volunteer).get(f"/api/climate/rooms/{store.pk}/walls/").json()["walls"]
    assert (row["quality"], row["colder"], row["damp_hours"]) == (0.7, None, {"room": 0, "wall": row["known_hours"]})
    assert (row["known_hours"] + row["unknown_outdoors"], row["wall_t"]) == (480, {"lowest": 12.6, "highest": 12.6})
    told_of = Change.objects.get(what="place.wall_told")
    assert {name: told_of.after[name] for name in ("quality", "room_t", "wall_t", "outdoor_t")} == {
        "quality": "0.7", "room_t": "18.0", "wall_t": "12.6", "outdoor_t": "0.0",
    }  # fmt: skip
    door, sent = f"/api/climate/places/{board.pk}/wall/", {"id": str(uuid7()), "readings": {"room": 18, "wall": 9, "outdoors": 0}, "reason": "again"}
    assert as_person(volunteer).post(door, sent, content_type="application/json").status_code == 403
    assert as_person(reader).post(door, sent, content_type="application/json").status_code == 403
    for _again in range(2):
        said = client.post(door, sent, content_type="application/json")
        assert (said.status_code, said.json()["quality"]) == (201, 0.5)
    assert Wall.objects.count() == 2
    for wrong in ({"colder": 3}, {"readings": {"room": 18, "wall": 9}}, {"readings": {"room": 18, "wall": 20, "outdoors": 0}}):
        assert client.post(door, sent | wrong | {"id": str(uuid7())}, content_type="application/json").status_code in (400, 422), wrong
    assert Wall.objects.count() == 2


def test_the_papers_tell_it_by_its_quality(society: Any, curator: Person) -> None:
    _, store, board = stock.shelf()
    thing, outside = stock.helmet(), logger_at(yard(), "OUT")
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [50] * (24 * 20), t=18.0)
    warmth(outside, [0.0] * (24 * 12))
    by_quality(board)
    with later(20):
        exposure.refresh()
        (line,) = gather(Actor.of(curator), "climate_record", store.pk, {"begin": "2025-09-10", "end": "2025-09-24"}).data["walls"]
        paper = gather(Actor.of(curator), "lived_climate", thing.pk, {}).data
    assert (line["quality"], line["colder"], line["where"], line["mean"]) == ("0.70", "", "Shelf 1", "71")
    # the society's days end an hour before those of universal time
    assert (line["damp"], line["unknown"]) == (24 * 12, 24 * 3 - 1)
    assert {(one["wall"]["against"], one["wall"]["unknown"]) for one in paper["parts"]} == {(24 * 12, 24 * 8)}


def test_what_moving_off_would_do_goes_by_the_weather(society: Any, as_person: Browser, curator: Person) -> None:
    _, store, board = stock.shelf()
    now = clock.now().replace(minute=0, second=0, microsecond=0)
    tell(logger_at(store, "T-1"), [60] * (24 * 8), begin=now - timedelta(days=8), t=18.0)
    outside = logger_at(yard(), "OUT")
    by_quality(board, on=clock.today() - timedelta(days=30))
    client, of = as_person(curator), f"/climate/rooms/{store.pk}/what-if/"
    page = client.get(of).content.decode()
    assert "Move things off the wall" in page
    assert "Nothing is known of the air outdoors, and this wall goes by it" in page
    cold = client.get(of, {"t": "0", "rh": "80"}).content.decode()
    assert "its wall is 5.4 °C colder" in cold
    assert "Mould on walls begins above 80 %: move things off it." in cold
    warm = client.get(of, {"t": "30", "rh": "40"}).content.decode()
    assert "these days its wall is no colder than the room" in warm
    tell(outside, [80] * (24 * 8), begin=now - timedelta(days=8), t=8.0)
    assert "its wall is 3 °C colder" in client.get(of).content.decode()


def test_both_ways_are_told_side_by_side(society: Any) -> None:
    _, store, board = stock.shelf()
    case = make_place(PROGRAM, place_id=uuid7(), level="shelf", code="H-S-2", name="Shelf 2", parent_id=store.pk)
    logger_at(yard(), "OUT")
    by_quality(board)
    tell_wall(PROGRAM, case.pk, colder=3, on=DAY, measured_on=DAY, reason="x")
    assert [(one.quality, one.colder) for one in walls.walls_in(store.pk)] == [(0.7, None), (None, 3)]
    assert not WallExposure.objects.exists()


def test_a_low_index_beside_an_alarm_of_mould_is_explained_where_the_thing_is_read(society: Any, as_person: Browser, curator: Person) -> None:
    """CCI by its points: 100 days at 70 % are mould presumed; the model of the index begins at 80 %."""
    _, store, board = stock.shelf()
    damp, dry = stock.helmet("1974.1"), stock.helmet("1974.2", materials=["steel"])
    put(damp, board, START)
    put(dry, board, START)
    tell(logger_at(store, "T-1"), [69.9] * (24 * 110), t=15.0)
    with later(110):
        exposure.refresh()
        client, words = as_person(curator), "adds up to 107 % of the time after which mould must be presumed"
        assert words in client.get(f"/climate/things/{damp.pk}/").content.decode()
        assert "must be presumed" not in client.get(f"/climate/things/{dry.pk}/").content.decode()
        since = (START + timedelta(days=80)).date()
        assert "must be presumed" not in client.get(f"/climate/things/{damp.pk}/", {"since": since}).content.decode(), "30 days are a third of them"
        assert gather(Actor.of(curator), "lived_climate", damp.pk, {}).data["presumed"] == {"material": "leather", "part": "107"}
