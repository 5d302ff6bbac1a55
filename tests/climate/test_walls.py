"""A wall colder than the room: what stands against it is counted by the air there beside that of the room, alarmed once, and told in words."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import psychrolib
import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.checks import from_climate
from conservation.checks.actions.calls import CLIMATE
from conservation.checks.models import Call
from locations.climate import alarming, exposure, following, walls
from locations.climate.actions.alarms import standing_alarms
from locations.climate.actions.loggers import cover, place_logger
from locations.climate.actions.walls import end_wall, tell_wall
from locations.climate.alarm_lines import open_lines, words_of
from locations.climate.lives import Lived, life_of
from locations.climate.models import Exposure, Wall, WallExposure
from locations.climate.science.psychrometrics import relative_humidity, vapour_pressure
from locations.climate.science.surfaces import air_at
from locations.climate.whatif.choices import Sealing, off_wall
from locations.places.actions import make_place, move_box
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.history.models import About, Change
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from tests import stock
from tests.climate.test_exposure import START, logger_at, put, rows, tell

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
DAY = START.date()


def told(place: Place, colder: float = 4.0, *, on: date = DAY, by: Actor = PROGRAM) -> Wall:
    return tell_wall(by, place.pk, colder=colder, on=on, measured_on=on, reason="surface thermometer: wall 10, air 14")


def room_rh(t: float, t_s: float, rh_s: float) -> float:
    """The humidity of a room of t in which a surface of t_s comes to rh_s, %."""
    return float(relative_humidity(float(vapour_pressure(t_s, rh_s)), t))


def later(days: float) -> Any:
    return clock.at(START + timedelta(days=days))


def faces() -> list[tuple[Any, ...]]:
    names = [field.attname for field in WallExposure._meta.fields if field.name != "id"]
    return list(WallExposure.objects.order_by("component", "material", "month").values_list(*names))


def leather(thing: Object, since: date | None = None) -> Lived:
    return next(one for one in life_of(thing, since=since, exact=True).parts if one.limits.mould == "VS" and one.limits.high == 65)


def test_air_at_a_wall_by_another_library_and_the_reference() -> None:
    """PsychroLib on a grid; environment.md 1.3: 18 °C/65 % at 14 °C is 83.9 % (PSY-083), 15 °C/70 % at 10 °C is 97.2 % (PSY-084)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for t in (4.0, 10.0, 18.0, 25.0):
        for rh in (30.0, 55.0, 70.0):
            for colder in (2.0, 4.0):
                _, (found,) = air_at(np.array([t]), np.array([rh]), colder)
                other = psychrolib.GetVapPresFromRelHum(t, rh / 100) / psychrolib.GetSatVapPres(t - colder) * 100
                assert found == pytest.approx(min(other, 100), abs=0.15), (t, rh, colder)
    assert air_at(np.array([18.0]), np.array([65.0]), 4)[1][0] == pytest.approx(83.9, abs=0.1)
    t_s, rh_s = air_at(np.array([15.0, 18.0, np.nan]), np.array([70.0, 96.0, 50.0]), 5)
    assert rh_s[0] == pytest.approx(97.2, abs=0.1)
    assert (rh_s[1], t_s[1]) == (100.0, 13.0), "dew counts as 100"
    assert np.isnan(rh_s[2])


def test_the_index_at_the_wall_is_that_of_its_air(society: Any) -> None:
    """environment.md 2.1, MLD-021: very sensitive at 10 °C/90 % for 90 days comes to 2.77; the room at 14 °C has none."""
    _, store, board = stock.shelf()
    thing, other = stock.helmet(), stock.helmet("1974.9.9")
    put(thing, board, START)
    put(other, store, START)
    tell(logger_at(store, "T-1"), [room_rh(14, 10, 90)] * (24 * 90), t=14.0)
    told(board)
    with later(90):
        exposure.refresh()
    one = leather(thing)
    assert one.at_wall
    assert one.at_wall.mould.mould == pytest.approx(2.77, abs=0.03)
    assert (one.mould.mould, one.damp) == (0, 24 * 90), "by the room 69 % is damp and no more"
    assert (one.at_wall.against, one.at_wall.wet, one.wet) == (24 * 90, 24 * 90, 0)
    assert leather(other).at_wall is None, "it stood in the room"
    assert not WallExposure.objects.filter(component__object=other).exists()


def test_the_rooms_own_figures_stay_as_they_were(society: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    rng = np.random.default_rng(5)
    tell(logger_at(store, "T-1"), np.clip(66 + rng.normal(0, 8, 24 * 70), 20, 99), t=12.0)
    with later(70):
        exposure.refresh()
        before = rows()
        told(board, on=DAY + timedelta(days=20))
        exposure.refresh()
        # a stretch is cut where the wall begins; sums of fractions may differ in the last digit
        assert rows() == [pytest.approx(was) for was in before]
    assert WallExposure.objects.filter(material="leather").count() == 3


def test_told_anew_and_ended(society: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [60] * (24 * 30), t=14.0)
    with later(31):
        told(board, 2, on=DAY + timedelta(days=5))
        told(board, 5, on=DAY + timedelta(days=10))
        end_wall(PROGRAM, board.pk, on=DAY + timedelta(days=14), reason="moved off")
        exposure.refresh()
    one = leather(thing).at_wall
    assert one
    # at 12 °C 60 % comes to 68.4, at 9 °C to 83.5 (vapour pressure over that of saturation, Magnus)
    assert (one.against, one.damp, one.wet) == (24 * 9, 24 * 9, 24 * 4)
    assert walls.walls_in(store.pk) == []
    assert [(fact.place, fact.colder) for fact in walls.walls_in(store.pk, START + timedelta(days=7))] == [(board, 2)]


def test_a_logger_at_the_wall_reads_it_already(society: Any) -> None:
    hall, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [60] * 240, t=14.0)
    at_wall = logger_at(hall, "T-2")
    place_logger(PROGRAM, at_wall.pk, place_id=board.pk, at=START + timedelta(days=4))
    tell(at_wall, [80] * 240, t=10.0)
    told(board)
    with later(10):
        exposure.refresh()
    one = leather(thing)
    assert one.at_wall
    assert one.at_wall.against == 96
    assert one.at_wall.wet == 0, "80 % as its logger says, not more for the wall"


def test_who_speaks_for_it_by_word_is_the_air_of_a_room(society: Any) -> None:
    hall, store, board = stock.shelf()
    thing, near = stock.helmet(), logger_at(store, "T-1")
    put(thing, board, START)
    tell(near, [60] * 100, t=14.0)
    far = logger_at(hall, "T-2")
    tell(far, [62] * 100, t=14.0)
    cover(PROGRAM, board.pk, logger_id=far.pk, at=START, reason="the near one stands in the draught")
    told(board)
    with later(4):
        exposure.refresh()
    assert (one := leather(thing).at_wall)
    assert one.against == 96


def test_a_box_on_the_shelf_stands_against_the_wall_while_it_is_there(society: Any) -> None:
    hall, store, board = stock.shelf()
    dry = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-D", name="Dry room", parent_id=hall.pk, use="store")
    crate = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box", mobile=True)
    tell(logger_at(store, "T-1"), [60] * 50, t=14.0)
    tell(logger_at(dry, "T-2"), [50] * 50, t=14.0)
    thing = stock.helmet()
    move_box(PROGRAM, crate.pk, place_id=board.pk, happened_at=START)
    put(thing, crate, START)
    move_box(PROGRAM, crate.pk, place_id=dry.pk, happened_at=START + timedelta(hours=10))
    told(board)
    with later(2):
        exposure.refresh()
    assert (one := leather(thing).at_wall)
    assert (one.against, one.damp) == (10, 10)


def test_followed_day_by_day_as_from_nothing(society: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    rng = np.random.default_rng(3)
    tell(logger_at(store, "T-1"), np.clip(70 + rng.normal(0, 8, 24 * 120), 20, 99), t=11.0)
    with later(60):
        following.catch_up()
        assert faces() == []
    steps: list[tuple[int, Callable[[], object]]] = [
        (61, lambda: told(board, 3, on=DAY + timedelta(days=30))),
        (62, lambda: told(board, 5, on=DAY + timedelta(days=62))),
        (95, lambda: end_wall(PROGRAM, board.pk, on=DAY + timedelta(days=90), reason="moved off")),
        (100, lambda: put(thing, store, START + timedelta(days=99))),
        (119, lambda: None),
    ]
    for day, change in steps:
        with later(day):
            change()
            assert following.catch_up() > 0
            kept = rows(), faces()
            exposure.rebuild()
            assert (rows(), faces()) == kept
            assert kept[1]
    assert leather(thing).at_wall, "what was begun at a wall is carried on"


def test_a_wall_told_touches_only_the_months_from_its_day_on(society: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [70] * (24 * 80), t=11.0)
    with later(80):
        following.catch_up()
        early = set(Exposure.objects.filter(month__lt=date(2025, 11, 1)).values_list("pk", flat=True))
        told(board, on=date(2025, 11, 10))
        following.catch_up()
        assert set(Exposure.objects.filter(month__lt=date(2025, 11, 1)).values_list("pk", flat=True)) == early
        assert set(WallExposure.objects.values_list("month", flat=True)) == {date(2025, 11, 1)}


def test_since_a_day_its_face_is_counted_from_the_readings(society: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [60] * (24 * 50), t=14.0)
    told(board)
    with later(50):
        exposure.refresh()
        one = leather(thing, DAY + timedelta(days=10)).at_wall
    assert one
    # summer time: the day begins at 23:00 of the one before
    assert (one.against, one.damp) == (24 * 40 + 1, 24 * 40 + 1)


def test_mould_at_the_wall_is_alarmed_of_the_place_and_says_that_it_is_the_wall(society: Any) -> None:
    _, store, board = stock.shelf()
    it = logger_at(store, "T-1")
    tell(it, [room_rh(14, 10, 90)] * (24 * 40), t=14.0)
    told(board)
    with later(40):
        alarming.catch_up()
        alarms = list(standing_alarms())
        assert {(one.place_id, one.kind) for one in alarms if one.kind == "mould"} == {(board.pk, "mould")}
        assert {one.place_id for one in alarms if one.kind == "damp"} == {store.pk}, "damp is asked of the room"
        wall = next(one for one in alarms if one.kind == "mould" and one.level == "red")
        assert wall.figures["colder"] == 4
        assert wall.figures["highest"] == pytest.approx(90, abs=0.1)
        assert wall.formula == "walls 1"
        assert words_of(wall).startswith("at its wall (told to be 4 °C colder), not in the room: ")
        assert {line.place for line in open_lines()} == {store, board}
        assert alarming.catch_up() == 0
        facts = standing_alarms().count()
        alarming.rebuild()
        assert standing_alarms().count() == facts
        end_wall(PROGRAM, board.pk, on=DAY + timedelta(days=39), reason="moved off the wall")
        alarming.catch_up()
        assert not standing_alarms().filter(place=board, ended_at=None).exists()


def test_one_alarm_of_mould_for_what_stands_at_the_wall(society: Any) -> None:
    """The room is mouldy too: what stands at the wall is asked for by the wall's alarm, what stands elsewhere by the room's; nothing twice."""
    _, store, board = stock.shelf()
    at_wall, in_room = stock.helmet("1974.1"), stock.helmet("1974.2")
    put(at_wall, board, START)
    put(in_room, store, START)
    tell(logger_at(store, "T-1"), [88] * (24 * 40), t=16.0)
    told(board)
    with later(40):
        alarming.catch_up()
        assert {one.place_id for one in standing_alarms().filter(kind="mould")} == {store.pk, board.pk}
        from_climate.catch_up()
        calls = {call.object_id: call for call in Call.objects.filter(why=CLIMATE, withdraws=False, corrected_by=None)}
        assert set(calls) == {at_wall.pk, in_room.pk}
        assert Call.objects.count() == 2
        place = {key: standing_alarms().get(thread=call.source).place_id for key, call in calls.items()}
        assert place == {at_wall.pk: board.pk, in_room.pk: store.pk}
        assert "at its wall" in calls[at_wall.pk].reason
        assert "wall" not in calls[in_room.pk].reason
        assert from_climate.catch_up() == 0


def test_a_place_with_a_voice_of_its_own_is_not_doubled(society: Any) -> None:
    """A logger elsewhere speaks for the shelf by word: its own alarm of mould gives way to that of the wall."""
    hall, _store, board = stock.shelf()
    far = logger_at(hall, "T-2")
    tell(far, [88] * (24 * 40), t=16.0)
    cover(PROGRAM, board.pk, logger_id=far.pk, at=START, reason="the same air")
    told(board)
    with later(40):
        alarming.catch_up()
        moulds = list(standing_alarms().filter(kind="mould", place=board))
        assert {one.level for one in moulds} == {"amber", "red"} or {one.level for one in moulds} == {"red"}
        assert all("colder" in one.figures for one in moulds)
        assert standing_alarms().filter(kind="damp", place=board).exists()


@pytest.mark.parametrize(("colder", "days", "reason", "field"), [(0.2, 0, "x", "colder"), (16, 0, "x", "colder"), (4, -1, "x", "on"), (4, 0, " ", "reason")])
def test_what_cannot_be_is_refused(society: Any, colder: float, days: int, reason: str, field: str) -> None:
    _, store, board = stock.shelf()
    on = clock.today() - timedelta(days=days)
    with pytest.raises(Invalid) as refused:
        tell_wall(PROGRAM, board.pk, colder=colder, on=on, measured_on=clock.today(), reason=reason)
    assert refused.value.field == field
    with pytest.raises(Invalid):
        tell_wall(PROGRAM, store.pk, colder=4, on=clock.today(), measured_on=clock.today(), reason="a room is what its logger reads")
    with pytest.raises(Invalid):
        end_wall(PROGRAM, board.pk, on=clock.today(), reason="none was told")
    assert not Wall.objects.exists()


def test_told_on_its_page_and_by_programs_and_shown_to_the_staff(society: Any, as_person: Browser, curator: Person, volunteer: Person) -> None:
    _, store, board = stock.shelf()
    thing, now = stock.helmet(), clock.now()
    begin = datetime(now.year, now.month, now.day, tzinfo=UTC) - timedelta(days=20)
    put(thing, board, begin)
    it = logger_at(store, "T-1")
    tell(it, [72] * (24 * 20), begin=begin, t=14.0)
    client, of = as_person(curator), f"/climate/rooms/{store.pk}/walls/"
    body = {"do": "told", "place": str(board.pk), "colder": "4,5", "measured_on": str(begin.date()), "on": str(begin.date()), "reason": "held it to the bricks"}
    assert "Stored." in client.post(f"{of}tell/", body, follow=True).content.decode()
    page = as_person(volunteer).get(of).content.decode()
    assert "Its wall is 4.5 °C colder than the room" in page
    assert "held it to the bricks" in page
    assert "an estimate" in page
    assert "does not authorise treatment" in page
    assert "Tell a colder wall" not in page, "a volunteer reads"
    assert of in as_person(volunteer).get(f"/climate/rooms/{store.pk}/").content.decode()
    (row,) = as_person(volunteer).get(f"/api/climate/rooms/{store.pk}/walls/").json()["walls"]
    assert (row["colder"], row["place"]["code"], row["hours_above_80"]["room"]) == (4.5, "H-S-1", 0)
    assert row["hours_above_80"]["wall"] == row["known_hours"] > 450
    key = str(uuid7())
    for _again in range(2):
        said = client.post(f"/api/climate/places/{board.pk}/wall/", {"id": key, "reason": "moved off"}, content_type="application/json")
        assert said.status_code == 201
    assert Wall.objects.count() == 2
    assert Wall.objects.get(colder=None).by == curator
    told_of = Change.objects.filter(what__in=("place.wall_told", "place.wall_ended")).order_by("n")
    assert [one.reason for one in told_of] == ["held it to the bricks", "moved off"]
    assert About.objects.filter(change__in=told_of, kind="place", key=board.pk).count() == 2
    line = as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()
    assert "told that its place stands against a colder wall" in line


def test_the_life_of_a_thing_tells_its_face_as_an_estimate(society: Any, as_person: Browser, curator: Person) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    tell(logger_at(store, "T-1"), [60] * (24 * 20), t=14.0)
    told(board)
    with later(20):
        exposure.refresh()
        client = as_person(curator)
        page = client.get(f"/climate/things/{thing.pk}/").content.decode()
        assert "it was worse: 480 hours above 65 %, 480 without a break at the longest." in page
        assert page.count('<figure class="leaf"><p>At its coldest face') == 1, "and drawn below the air of its rooms"
        assert "This is an estimate from a sensor, not an inspection." in page
        parts = client.get(f"/api/climate/things/{thing.pk}/").json()["parts"]
        found = next(one for one in parts if one["material"] == "leather")
        assert (found["wall_hours"], found["wall_damp_hours"], found["damp_hours"]) == (480, 480, 0)
        paper = gather(Actor.of(curator), "lived_climate", thing.pk, {}).data
        assert {one["wall"]["against"] for one in paper["parts"]} == {480}
        record = gather(Actor.of(curator), "climate_record", store.pk, {"begin": "2025-09-12", "end": "2025-09-25"}).data["walls"]
        assert [(one["colder"], one["where"]) for one in record] == [(4, "Shelf 1")]
        before = gather(Actor.of(curator), "climate_record", store.pk, {"begin": "2025-09-01", "end": "2025-09-08"}).data.get("walls", [])
        assert all(not one["where"] for one in before)


def test_a_face_no_worse_than_the_room_is_told_in_the_table_only(society: Any, as_person: Browser, curator: Person) -> None:
    """It stood at the wall for a day of dry weather, and in a damp room before."""
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, store, START)
    put(thing, board, START + timedelta(days=19))
    tell(logger_at(store, "T-1"), [80] * (24 * 19) + [40] * 24, t=14.0)
    told(board)
    with later(20):
        exposure.refresh()
        page = as_person(curator).get(f"/climate/things/{thing.pk}/").content.decode()
    assert "Climate at the wall, by part and material" in page
    assert "it was worse" not in page


def test_what_moving_off_the_wall_would_do() -> None:
    """PSY-083: 18 °C/65 % beside a wall 4 K colder is 83.9 %; sealed to 60 % it would be 60/65 of that."""
    found = off_wall((18.0, 65.0), 4.0, Sealing(60.0, "lowers"))
    assert (found.there, found.off, found.verdict, found.dew) == (pytest.approx(83.9, abs=0.1), 65.0, "needed", False)
    assert found.sealed == pytest.approx(83.9 * 60 / 65, abs=0.1)
    assert off_wall((18.0, 40.0), 2.0).verdict == "fine"
    assert off_wall((18.0, 60.0), 2.0).verdict == "better"
    wet = off_wall((15.0, 80.0), 6.0)
    assert (wet.dew, wet.there, wet.sealed) == (True, 100.0, None)


def test_the_page_of_what_would_help_tells_of_the_wall(society: Any, as_person: Browser, curator: Person) -> None:
    _, store, board = stock.shelf()
    now = clock.now().replace(minute=0, second=0, microsecond=0)
    it = logger_at(store, "T-1")
    tell(it, [70] * (24 * 8), begin=now - timedelta(days=8), t=14.0)
    client, of = as_person(curator), f"/climate/rooms/{store.pk}/what-if/"
    assert "Move things off the wall" not in client.get(of).content.decode()
    told(board, on=clock.today() - timedelta(days=30))
    page = client.get(of, {"t": "2", "rh": "80"}).content.decode()
    assert "Mould on walls begins above 80 %: move things off it." in page
    assert "With half of the leaks closed, as below" in page
