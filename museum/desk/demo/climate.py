"""The demo's climate: loggers and where they stood, their files by the recipe of `air`, dials and tanks read by hand, two cold walls, one thing away."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from math import isnan
from typing import Any, Final

import numpy as np
from django.utils.translation import gettext

from collection.objects.models import Object
from locations.climate import alarming, following
from locations.climate.actions.doubts import suspect_all
from locations.climate.actions.files import take_file
from locations.climate.actions.loggers import calibrate, change_logger, make_logger, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.actions.walls import Readings, tell_wall, tell_wall_by_quality
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile, Logger
from locations.climate.science.calibration import salt_rh
from locations.climate.science.values import Flags, Floats
from locations.places.actions import move_object
from locations.places.models import Movement, Place
from museum import clock
from museum.desk.demo import air
from museum.desk.demo.days import ago
from museum.ids import uuid7
from museum.papers.files import Upload
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society

#: days between two rounds to fetch the files, and how many hours a file repeats of the one before
FETCHED, REPEATS = 28, 40
#: days ago of the last round
LAST: Final = 2
#: days ago between which the gallery's logger had no battery, and when the hall's began to read too damp
NO_BATTERY, DRIFTS = (256, 226), 200
#: days ago from which a second one stands in the hall
SECOND: Final = 480
#: %RH a day that it reads more: two in half a year
DRIFT: Final = 2 / 182
SALTS: Final = {"MgCl2": "magnesium chloride", "NaCl": "common salt"}
#: the air outdoors is damper than that of rooms
SALTS_OUTDOORS: Final = {"NaCl": "common salt", "K2SO4": "potassium sulphate"}
#: what the dial of each room shows too much, %
DIALS: Final = {"H-HALL": 3, "H-GAL": -2, "H-COLD": 2, "H-WORK": 5, "B-GAL": 0}
BEHIND: Final = "H-COLD-10"
#: where one hangs in the open air
YARD: Final = "YARD"
#: °C below which a morning is cold enough to read a wall
FROST: Final = 2.0
#: lx and microwatt per lumen by a meter held to the cases, and the months of whose first Saturday
LUX: Final = {"H-HALL": 110.0, "B-GAL": 160.0}
UV: Final = {"H-HALL": 60.0, "B-GAL": 95.0}
METERED: Final = (3, 9)
#: the case with its back to the gable, K that the gable is colder, days ago that somebody measured it
GABLE: Final = ("H-HALL-3", 3.5, 300)
LENT: Final = "1966.1.4"
#: days ago that it left, and days from now until it is back
AWAY, BACK = 130, 50
#: days ago, number of the logger, what it showed too much
_CHECKS: Final = (
    (722, 0, 0.4), (722, 1, -0.9), (722, 2, 0.6), (722, 3, 0.1), (722, 4, 0.8), (344, 0, 0.5), (344, 1, -1.2), (344, 2, 0.7), (344, 5, -0.4),
    (722, 6, -0.2), (344, 6, 0.1),
)  # fmt: skip
Rows = list[tuple[datetime, float, float, float]]
Writes = Callable[[Rows], bytes]


@dataclass(frozen=True)
class Kept:
    """A logger with what it saw: every hour, NaN where it wrote nothing."""

    logger: Logger
    t: Floats
    rh: Floats
    lux: Floats
    writes: Writes
    #: files left unfetched of late
    missed: int = 0


def tell(people: Mapping[str, Person], places: Mapping[str, Place], things: Mapping[str, Object]) -> None:
    """Two years up to today."""
    ivo, marit = Actor.of(people["curator"]), Actor.of(people["volunteer"])
    hours = list(air.hours_of(clock.day_of(ago(air.DAYS)), ago(LAST).astimezone(clock.zone())))
    damp = air.damp_autumn(clock.today())
    outside = air.weather(hours, damp)
    rooms = _rooms(outside, damp)
    kept = _loggers(ivo, places, hours, rooms, outside, damp)
    _gable(ivo, places)
    _north(ivo, places, rooms["H-COLD"], outside, damp)
    _lend(Actor.of(people["registrar"]), things[LENT])
    _by_hand(marit, places, hours, rooms)
    for round_ in range((air.DAYS - LAST) // FETCHED, -1, -1):
        for one in kept:
            if round_ >= one.missed:
                _fetch(one, hours, LAST + round_ * FETCHED)
    following.catch_up()
    alarming.catch_up()
    suspect_all()


def broken(today: date) -> tuple[datetime, datetime]:
    """When the machine of the cold store stood still: from before the last Christmas to the first round in January that looked behind it."""
    year = today.year if (today.month, today.day) >= (12, 24) else today.year - 1
    return datetime(year, 12, 22, 17, tzinfo=clock.zone()), datetime(year + 1, 1, 14, 9, tzinfo=clock.zone())


def _rooms(outside: air.Weather, damp: tuple[date, date]) -> dict[str, air.Room]:
    days = list(Society.load().opening_days)
    return {
        code: air.room(building, outside, days, seeps=air.SEEPS if building.machine else 0.0, off=broken(clock.today()) if building.machine else None)
        for code, building in air.ROOMS.items()
    }


def _loggers(
    ivo: Actor, places: Mapping[str, Place], hours: list[datetime], rooms: Mapping[str, air.Room], outside: air.Weather, damp: tuple[date, date]
) -> list[Kept]:
    """One in each room, a second in a case of the hall, one in the yard; when the store began to smell, that of the workroom went behind its north wall."""
    moved = _smelt(damp)
    day = np.array([(clock.now() - one).days for one in hours])
    here = np.array([one < moved for one in hours])
    wall_t, wall_rh = rooms["H-COLD"].behind(air.NORTH, air.LINGERS * outside.damp)
    work = rooms["H-WORK"]
    hall = rooms["H-HALL"]
    carried = 2.0 * np.exp(-np.maximum(np.arange(len(hours)) - int(here.sum()), 0) / 0.8) * ~here
    logger, lit = partial(_logger, ivo), partial(air.light, hours, list(Society.load().opening_days))
    found = [
        logger(1, "T-1 hall", hall, _universal, reads=DRIFT * np.maximum(DRIFTS - day, 0)),
        logger(2, "T-2 gallery", rooms["H-GAL"], _winter_time, silent=(day < NO_BATTERY[0]) & (day >= NO_BATTERY[1]), lux=lit(lamps=70, windows=45)),
        logger(3, "T-3 cold store", rooms["H-COLD"], _wall_clock),
        logger(4, "T-4", air.Room(np.where(here, work.t, wall_t) + carried, np.where(here, work.rh, wall_rh), work.wall), _universal),
        logger(5, "T-5 boat shed", rooms["B-GAL"], _winter_time, reads=0.8, missed=2),
        logger(6, "T-6 hall", air.beside(hall), _universal, reads=-0.4, silent=day > SECOND, lux=lit(lamps=45, windows=6)),
        logger(7, "T-7 yard", air.Room(*air.outside_figures(outside), outside.t), _universal, reads=0.3),
    ]
    for one, code in zip(found, [*air.ROOMS, "H-HALL-4", YARD], strict=True):
        with clock.at(ago(SECOND if code == "H-HALL-4" else air.DAYS)):
            place_logger(ivo, one.logger.pk, place_id=places[code].pk)
    with clock.at(moved):
        place_logger(
            ivo, found[3].logger.pk, place_id=places[BEHIND].pk, note="it smells of earth behind the last rack; the workroom is read at the dial meanwhile"
        )
    _care(ivo, found)
    return found


def _gable(ivo: Actor, places: Mapping[str, Place]) -> None:
    """The hall is dry and one of its cases is not: on a cold day somebody held a thermometer to the wall behind it."""
    code, colder, days = GABLE
    with clock.at(ago(days)):
        why = "surface thermometer on the gable behind the case 12.5 °C, the air of the hall 16 °C; it has stood there since the hall was hung"
        tell_wall(ivo, places[code].pk, colder=colder, on=clock.today(), measured_on=clock.today(), reason=why)


def _smelt(damp: tuple[date, date]) -> datetime:
    """When somebody smelt the damp and put a logger behind the last rack."""
    return datetime.combine(damp[0] + timedelta(days=3), datetime.min.time(), clock.zone()) + timedelta(hours=11)


def _north(ivo: Actor, places: Mapping[str, Place], store: air.Room, outside: air.Weather, damp: tuple[date, date]) -> None:
    """On a cold morning before, somebody had read store, wall and yard: by these and the logger in the yard its north wall is told until one hung there.

    It is a thick wall and little colder: not the weather made it damp behind the last rack, but the water that seeped in.
    """
    wall, _ = store.behind(air.NORTH, np.zeros(len(store.t)))
    before = _smelt(damp) - timedelta(days=30)
    cold = [n for n, at in enumerate(outside.clock) if at.hour == air.OPEN.start and at < before and outside.t[n] < min(FROST, store.t[n] - 5.5)]
    n = max(cold, key=lambda one: float(store.t[one] - wall[one]))
    read = Readings(*(round(float(one[n]), 1) for one in (store.t, wall, outside.t)))
    why = "near frost: thermometer in the middle of the store, on the north wall behind the last rack, and in the yard, ten minutes each"
    with clock.at(outside.clock[n]):
        on = clock.day_of(outside.clock[0])
        tell_wall_by_quality(ivo, places[BEHIND].pk, readings=read, on=on, measured_on=clock.today(), reason=why)


def _logger(
    ivo: Actor, number: int, name: str, room: air.Room, writes: Writes, *, reads: Floats | float = 0.0, silent: Flags | None = None, missed: int = 0,
    lux: Floats | None = None,
) -> Kept:  # fmt: skip
    with clock.at(ago(air.DAYS)):
        logger = make_logger(
            ivo, logger_id=uuid7(), name=name, serial=f"TR{number:04}", clock_kind=_CLOCKS[writes], zone="", battery_on=clock.today(),
        )  # fmt: skip
    t, rh = air.shown(room.t, room.rh, number, reads=reads)
    if silent is not None:
        t[silent], rh[silent] = np.nan, np.nan
    return Kept(logger, t, rh, np.full(len(t), np.nan) if lux is None else lux, writes, missed)


def _care(ivo: Actor, found: list[Kept]) -> None:
    """Salts and batteries a year apart, those of two forgotten since; a new battery where one was found dead."""
    for days, number, off in _CHECKS:
        salts = SALTS_OUTDOORS if found[number].logger.name == "T-7 yard" else SALTS
        points = [(round(salt_rh(salt, 20) + off * (1 + n / 2), 1), round(salt_rh(salt, 20), 1)) for n, salt in enumerate(salts)]
        with clock.at(ago(days)):
            calibrate(ivo, found[number].logger.pk, points=points, note=f"{', '.join(salts.values())}; damp slurry, 20 °C, an hour each")
    for days, number in (*((days, number) for days, number, _ in _CHECKS if days < air.DAYS // 2), (NO_BATTERY[1], 1)):
        with clock.at(ago(days)):
            _new_battery(ivo, found[number].logger)


def _new_battery(ivo: Actor, logger: Logger) -> None:
    one = Logger.objects.get(pk=logger.pk)
    change_logger(
        ivo, one.pk, version=one.version, name=one.name, serial=one.serial, clock_kind=one.clock_kind, zone=one.zone,
        interval=one.interval, silent_after=one.silent_after, battery_on=clock.today(),
    )  # fmt: skip


def _fetch(one: Kept, hours: list[datetime], days: int) -> None:
    """The file of a round, put into the watched folder: since the round before and some hours more, up to its morning."""
    end, begin = ago(days), ago(days + FETCHED) - timedelta(hours=REPEATS)
    told = zip(hours, one.t.tolist(), one.rh.tolist(), one.lux.tolist(), strict=True)
    picked = [row for row in told if begin <= row[0] < end and not isnan(row[1])]
    if not picked:
        return
    with clock.at(end):
        name = f"{one.logger.serial}-{clock.today()}.csv"
        row = take_file(PROGRAM, Upload(name, one.writes(picked)), logger_id=one.logger.pk)
        bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), _quietly)


def _quietly(done: int, total: int) -> None:
    """Nobody watches."""


def _by_hand(marit: Actor, places: Mapping[str, Place], hours: list[datetime], rooms: Mapping[str, air.Room]) -> None:
    """At the opening of the house: the tank always, the dials of all rooms on Saturdays."""
    number = {at: n for n, at in enumerate(hours)}
    stopped = broken(clock.today())
    for at, litres in rooms["H-COLD"].litres.items():
        tank = SpotEntry(id=uuid7(), place_id=places["H-COLD"].pk, litres=litres, note=_STOOD_STILL if at == stopped[1] else "")
        dials = {code: _read(places[code], rooms[code], number[at], DIALS[code]) for code in air.ROOMS} if at.isoweekday() == 6 else {}
        if at.isoweekday() == 6 and at.month in METERED and at.day <= 7:
            dials = {code: replace(dial, lux=LUX[code], uv=UV[code]) if code in LUX else dial for code, dial in dials.items()}
        if cold := dials.pop("H-COLD", None):
            tank = replace(tank, t=cold.t, rh=cold.rh)
        with clock.at(at):
            read_by_hand(marit, [tank, *dials.values()])


def _read(place: Place, room: air.Room, n: int, dial: int) -> SpotEntry:
    """To the half degree and the whole per cent."""
    return SpotEntry(id=uuid7(), place_id=place.pk, t=round(2 * float(room.t[n])) / 2, rh=float(round(float(room.rh[n]) + dial)))


_STOOD_STILL: Final = "stood still with its lamp on since before Christmas: the float was stuck; dried it and put it back"


def _lend(registrar: Actor, thing: Object) -> None:
    with clock.at(ago(AWAY)):
        reason = gettext("shown at the Saltmere lifeboat house until it is returned")
        back = clock.day_of(clock.now() + timedelta(days=AWAY + BACK))
        move_object(registrar, thing.pk, to=Movement.To.ON_LOAN, reason=reason, return_by=back)


def _universal(rows: Rows) -> bytes:
    lines = [f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ},{t:.1f},{rh:.1f}{_lit(lux, ',')}" for at, t, rh, lux in rows]
    return "\n".join([f"time utc,temperature °C,humidity %{_lit_heading(rows, ',light lux')}", *lines, ""]).encode()


def _winter_time(rows: Rows) -> bytes:
    """Decimal commas, day first, no summer time."""
    january = datetime(2025, 1, 15, tzinfo=clock.zone()).utcoffset() or timedelta()
    told = [(at.astimezone(UTC) + january, f"{t:.1f};{rh:.1f}{_lit(lux, ';')}".replace(".", ",")) for at, t, rh, lux in rows]
    return "\r\n".join(
        [f"Date;Time;Temp [°C];RH [%]{_lit_heading(rows, ';Light [lux]')}", *(f"{at:%d.%m.%Y};{at:%H:%M};{figures}" for at, figures in told), ""]
    ).encode()


def _wall_clock(rows: Rows) -> bytes:
    """With lines of its own above, and the hour that the clock on the wall shows."""
    lines = [f"{n}\t{at.astimezone(clock.zone()):%d/%m/%Y %H:%M:%S}\t{t:.1f}\t{rh:.1f}" for n, (at, t, rh, _lux) in enumerate(rows, 1)]
    return "\n".join(["Serial number: TR0003", "Interval: 60 min", "", "No.\tDate and time\tTemperature (°C)\tRelative humidity (%)", *lines, ""]).encode()


def _lit(lux: float, between: str) -> str:
    return "" if isnan(lux) else f"{between}{lux:.0f}"


def _lit_heading(rows: Rows, heading: str) -> str:
    return "" if isnan(rows[0][3]) else heading


_CLOCKS: Final[Mapping[Any, str]] = {_universal: "utc", _winter_time: "standard", _wall_clock: "follows"}
