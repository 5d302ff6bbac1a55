"""What each object lived through: month after month, from where it was, who spoke for that place, and the check that counted then.

Of what stood against a wall told to be colder, its coldest face is counted beside by the same steps: by the air at that wall.

From nothing and from a mark by the same steps, so the rows are equal. Readings are held for one month at a time, and a stretch of
hours in one air is worked out once for all that stood in it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Final
from uuid import UUID

import numpy as np
from django.db import connection
from django.db.models import Min

from collection.objects.models import Component, MadeOf
from locations.climate import queries
from locations.climate.hearing import HOUR, ColdWall, Heard, Hearing, Voice, hour_of, without_holes
from locations.climate.limits import Limits, limits_of
from locations.climate.models import Exposure, Logger, Reading, WallExposure
from locations.climate.science import lived, series
from locations.climate.science.mould import MouldState, Surface, surface_hours
from locations.climate.science.surfaces import air_at, air_by_quality
from locations.climate.science.values import Floats
from locations.places.models import Movement, Stay
from museum import clock

#: hours read beyond each end of a month, so that short gaps there are filled as anywhere
MARGIN: Final = 6
COLUMNS: Final = (
    "component_id", "material", "month", "known", "unknown", "over", "under", "damp", "wet", "over_longest", "over_tail", "damp_longest", "damp_tail",
    "share", "ageing_hours", "ageing_rate", "mould", "mould_dry", "mould_highest", "mould_highest_hour", "mould_hours", "mould_growth", "mould_unknown",
)  # fmt: skip
Air = tuple[Floats, Floats]
CLEAN: Final = MouldState()


@dataclass(frozen=True, slots=True)
class Going:
    """What goes on from one month to the next: hours of the runs still going on, and the mould."""

    over: int = 0
    damp: int = 0
    mould: MouldState = CLEAN


@dataclass(frozen=True, slots=True)
class Thing:
    """A component of a material, and the component with whose stays it goes."""

    component: UUID
    material: str
    carrier: UUID


Ways = dict[UUID, list[Heard]]
Goings = dict[tuple[UUID, str], Going]


class MonthAir:
    """The air of a month as each voice told it, and what stretches of it did; each worked out once."""

    def __init__(self, begin: int, end: int, loggers: Sequence[Logger]) -> None:
        self.begin, self.end = begin, end
        self._loggers = {logger.number: logger for logger in loggers}
        self._read: dict[int, Air] = {}
        self._voices: dict[Voice, Air] = {}
        self._outdoors: dict[Voice, Floats] = {}
        self._pieces: dict[tuple[Heard, Limits], lived.Piece] = {}
        self._surfaces: dict[Heard, Surface] = {}
        self._moulds: dict[tuple[Heard, str, float, int], MouldState] = {}

    def of(self, heard: Heard) -> Air:
        """t and rh of a stretch, at the wall where it tells of one; NaN where unknown."""
        if heard.voice not in self._voices:
            airs = [self._logger(number) for number in heard.voice]
            t, rh = (part.copy() for part in airs[0])
            for more_t, more_rh in airs[1:]:
                gap = np.isnan(rh)
                t[gap], rh[gap] = more_t[gap], more_rh[gap]
            self._voices[heard.voice] = t, rh
        t, rh = self._voices[heard.voice]
        part = slice(heard.begin - self.begin, heard.end - self.begin)
        return at_wall(t[part], rh[part], heard.wall, self._outside(heard.wall.outdoors)[part]) if heard.wall else (t[part], rh[part])

    def piece(self, heard: Heard, limits: Limits) -> lived.Piece:
        """What a stretch did to a material of these limits, mould apart."""
        if not heard.voice:
            return lived.unknown_piece(heard.end - heard.begin)
        key = heard, limits
        if key not in self._pieces:
            self._pieces[key] = lived.piece(*self.of(heard), limits.low, limits.high, limits.energy)
        return self._pieces[key]

    def mould(self, heard: Heard, kind: str, state: MouldState) -> MouldState:
        """The mould after a stretch; shared by all that come into it with the same index."""
        if not heard.voice:
            return lived.mould_unknown(state, heard.end - heard.begin)
        if heard not in self._surfaces:
            self._surfaces[heard] = surface_hours(*self.of(heard))
        key = heard, kind, state.index, state.dry_hours
        if key not in self._moulds:
            fresh = MouldState(index=state.index, dry_hours=state.dry_hours)
            self._moulds[key] = lived.mould_after(fresh, self._surfaces[heard], kind)
        after = self._moulds[key]
        higher = after.highest > state.highest
        return MouldState(
            after.index, after.dry_hours, after.highest if higher else state.highest,
            state.hours + after.highest_hour if higher else state.highest_hour, state.hours + after.hours,
            state.growth_hours + after.growth_hours, state.unknown_hours + after.unknown_hours,
        )  # fmt: skip

    def _outside(self, voice: Voice) -> Floats:
        """t outdoors, of the whole month; NaN where nobody tells it."""
        if voice not in self._outdoors:
            told = {number: temperatures_of(self._loggers[number], self.begin, self.end) for number in voice}
            self._outdoors[voice] = first_told([told[number] for number in voice], self.end - self.begin)
        return self._outdoors[voice]

    def _logger(self, number: int) -> Air:
        if number not in self._read:
            self._read[number] = hours_of(self._loggers[number], self.begin, self.end)
        return self._read[number]


def hours_of(logger: Logger, begin: int, end: int) -> Air:
    """t and corrected rh of a logger, hour after hour, from hour `begin` to before `end`; NaN where unknown."""
    found = queries.readings(logger, moment_of(begin - MARGIN), moment_of(end + MARGIN))
    return hours_from(found, queries.corrected_rh(logger, found), logger.interval, begin, end)


def hours_from(found: queries.Series, humidity: Floats, interval: int, begin: int, end: int) -> Air:
    """The same from readings at hand, which reach MARGIN hours beyond both ends."""
    t, rh = np.full(end - begin, np.nan), np.full(end - begin, np.nan)
    if not (~np.isnan(found.t) & ~np.isnan(humidity)).any():
        return t, rh
    hours = series.hourly(found.at, found.t, humidity, interval)
    start = hours.begin // HOUR
    low, high = max(begin, start), min(end, start + len(hours))
    if low < high:
        t[low - begin : high - begin] = hours.t[low - start : high - start]
        rh[low - begin : high - begin] = hours.rh[low - start : high - start]
    return t, rh


def temperatures_of(logger: Logger, begin: int, end: int) -> Floats:
    """t alone, hour after hour: outdoors many loggers tell no humidity."""
    return temperatures_from(queries.readings(logger, moment_of(begin - MARGIN), moment_of(end + MARGIN)), logger.interval, begin, end)


def temperatures_from(found: queries.Series, interval: int, begin: int, end: int) -> Floats:
    """The same from readings at hand, which reach MARGIN hours beyond both ends."""
    return hours_from(found, np.zeros_like(found.t), interval, begin, end)[0]


def first_told(told: Iterable[Floats], hours: int) -> Floats:
    """Hour by hour what the first tells, the next where it is silent; NaN where all are."""
    found = np.full(hours, np.nan)
    for values in told:
        found = np.where(np.isnan(found), values, found)
    return found


def at_wall(t: Floats, rh: Floats, wall: ColdWall, t_out: Floats) -> Air:
    """Hours of t and rh at a wall, from those of its room and, where it is told by its quality, outdoors; NaN where one of them is unknown."""
    return air_by_quality(t, rh, t_out, wall.quality) if wall.quality else air_at(t, rh, wall.colder)


def refresh(since: datetime | None = None, components: Iterable[UUID] | None = None) -> int:
    """Works out anew the months from that of `since` on (None: all) for these components (None: all); answers how many things."""
    only = sorted(components) if components is not None else None
    first = _first_hour()
    month = max(month_of(first), month_of(hour_of(since))) if since and first else month_of(first) if first else None
    _forget(month if since else None, only)
    if month is None or only == []:
        return 0
    things = things_of(only)
    going, faces = _marks(Exposure, month, only), _marks(WallExposure, month, only)
    ways = courses({thing.carrier for thing in things})
    at_walls = {carrier: way for carrier, way in ways.items() if any(one.wall for one in way)}
    rooms = ways | {carrier: of_rooms(way) for carrier, way in at_walls.items()}
    loggers = list(Logger.objects.all())
    for begin, end in _months(month, int(clock.now().timestamp()) // HOUR):
        air = MonthAir(begin, end, loggers)
        walled = _walled(things, at_walls, faces, going, air)
        # Whole before it is written: readings cannot be asked for while the connection is copying.
        _write("climate_exposure", COLUMNS, [row for row, _parts in _month_rows(air, things, rooms, going)])
        _write("climate_wallexposure", (*COLUMNS, "against"), [(*row, against(air, parts)) for row, parts in _month_rows(air, walled, ways, faces)])
    return len(things)


def _walled(things: Sequence[Thing], ways: Ways, faces: Goings, going: Goings, air: MonthAir) -> list[Thing]:
    """The things with a face against a wall in this month or before; one that comes to its first wall begins as its room had left it."""
    there = {carrier for carrier, way in ways.items() if any(one.wall for one in within(way, air.begin, air.end))}
    for thing in things if there else ():
        key = thing.component, thing.material
        if thing.carrier in there and key not in faces:
            faces[key] = going.get(key, Going())
    return [thing for thing in things if (thing.component, thing.material) in faces] if faces else []


def against(air: MonthAir, parts: Iterable[Heard]) -> int:
    """The hours against a colder wall of which the climate is known."""
    return sum(air.piece(one, Limits(None, None, "VS", None)).known for one in parts if one.wall)


def rebuild() -> int:
    """All of it from the facts; answers how many components of a material."""
    return refresh()


def _first_hour() -> int:
    """The hour of the first reading of all; 0 where there is none."""
    numbers = Logger.objects.values_list("number", flat=True)
    firsts = [Reading.objects.filter(logger=number).aggregate(first=Min("at"))["first"] for number in numbers]
    return min((hour_of(first) for first in firsts if first), default=0)


def things_of(only: list[UUID] | None) -> list[Thing]:
    """Every component with each of its materials."""
    rows = MadeOf.objects.filter(corrected_by=None, withdraws=False, component__object__withdrawn="")
    if only is not None:
        rows = rows.filter(component__in=only)
    pairs = sorted(set(rows.values_list("component_id", "material__code")))
    carriers = _carriers({component for component, _ in pairs})
    return [Thing(component, material, carriers[component]) for component, material in pairs]


def _carriers(wanted: set[UUID]) -> dict[UUID, UUID]:
    """The component whose stays each goes with: itself, what it is fixed to, else the whole."""
    rows = {pk: (sort, fixed, thing) for pk, sort, fixed, thing in Component.objects.values_list("pk", "sort", "fixed_to_id", "object_id")}
    mains = {thing: pk for pk, (sort, _, thing) in rows.items() if sort == Component.Sort.MAIN}
    found = {}
    for component in wanted:
        carrier, seen = component, {component}
        while rows[carrier][0] not in Component.PLACED and rows[carrier][1] not in {None, *seen}:
            carrier = rows[carrier][1] or carrier
            seen.add(carrier)
        found[component] = carrier if rows[carrier][0] in Component.PLACED else mains.get(rows[carrier][2], carrier)
    return found


def courses(carriers: set[UUID]) -> dict[UUID, list[Heard]]:
    """What each heard from its first stay on, with the walls it stood against, without holes: an empty voice where nobody spoke."""
    hearing, found = Hearing(walls=True), defaultdict[UUID, list[Heard]](list)
    rows = Stay.objects.filter(component__in=carriers) if len(carriers) < 1_000 else Stay.objects.filter(component__isnull=False)
    stays = rows.order_by("component", "during").values_list("component_id", "to", "place_id", "during")
    for component, to, place, during in stays.iterator(chunk_size=5_000):
        begin, end = hour_of(during.lower), hour_of(during.upper)
        parts = hearing.between(place, begin, end) if to == Movement.To.PLACE and place else []
        found[component].extend(without_holes(parts, begin, end))
    return found


def of_rooms(way: Sequence[Heard]) -> list[Heard]:
    """The same course by the air of the rooms, walls or not."""
    return [replace(one, wall=None) if one.wall else one for one in way]


def _month_rows(air: MonthAir, things: Sequence[Thing], courses: Ways, going: Goings) -> Iterator[tuple[tuple[object, ...], list[Heard]]]:
    month = moment_of(air.begin).date()
    parts: dict[UUID, list[Heard]] = {}
    for thing in things:
        if thing.carrier not in parts:
            parts[thing.carrier] = within(courses.get(thing.carrier, ()), air.begin, air.end)
        if not parts[thing.carrier]:
            continue
        key, limits = (thing.component, thing.material), limits_of(thing.material)
        before = going.get(key, Going())
        whole, mould = lived.Piece(), before.mould
        for part in parts[thing.carrier]:
            whole = whole.then(air.piece(part, limits))
            mould = air.mould(part, limits.mould, mould)
        over, damp = carried(before.over, whole.over_run), carried(before.damp, whole.damp_run)
        going[key] = Going(over.tail, damp.tail, mould)
        yield _row(thing, month, replace(whole, over_run=over, damp_run=damp), mould), parts[thing.carrier]


def carried(hours: int, run: lived.Run) -> lived.Run:
    """A run that was going on counts in this month only where it goes on."""
    return lived.Run(hours, hours, hours, hours).then(run) if run.head else run


def within(course: Sequence[Heard], begin: int, end: int) -> list[Heard]:
    """The part of a course from hour `begin` to before `end`."""
    return [one.between(begin, end) for one in course if one.begin < end and one.end > begin]


def _row(thing: Thing, month: date, whole: lived.Piece, mould: MouldState) -> tuple[object, ...]:
    over, damp = whole.over_run, whole.damp_run
    return (
        thing.component, thing.material, month, whole.known, whole.unknown, whole.over, whole.under, whole.damp, whole.wet,
        over.longest, over.tail, damp.longest, damp.tail,
        whole.share, whole.ageing_hours, whole.ageing_rate, mould.index, mould.dry_hours, mould.highest, mould.highest_hour,
        mould.hours, mould.growth_hours, mould.unknown_hours,
    )  # fmt: skip


def _write(table: str, columns: Sequence[str], rows: Sequence[tuple[object, ...]]) -> None:
    if not rows:
        return
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def _forget(month: int | None, only: list[UUID] | None) -> None:
    for kind in (Exposure, WallExposure):
        rows = kind._default_manager.all() if only is None else kind._default_manager.filter(component__in=only)
        if month is not None:
            rows = rows.filter(month__gte=moment_of(month).date())
        rows.delete()


def _marks(kind: type[Exposure | WallExposure], month: int, only: list[UUID] | None) -> Goings:
    """How things stood at the end of the month before."""
    rows = kind._default_manager.filter(month=moment_of(month_of(month - 1)).date())
    if only is not None:
        rows = rows.filter(component__in=only)
    return {
        (row.component_id, row.material): Going(
            row.over_tail, row.damp_tail,
            MouldState(row.mould, row.mould_dry, row.mould_highest, row.mould_highest_hour, row.mould_hours, row.mould_growth, row.mould_unknown),
        )
        for row in rows.iterator()
    }  # fmt: skip


def moment_of(hour: int) -> datetime:
    """The instant of an hour."""
    return datetime.fromtimestamp(hour * HOUR, UTC)


def month_of(hour: int) -> int:
    """The first hour of the month of an hour."""
    return hour_of(moment_of(hour).replace(day=1, hour=0))


def _months(begin: int, end: int) -> Iterator[tuple[int, int]]:
    """From the first hour of a month on, each month's hours, the last cut at `end`."""
    while begin < end:
        after = month_of(begin + 32 * 24)
        yield begin, min(after, end)
        begin = after
