"""What a thing lived through, as its page, its table and its answer to programs tell it.

Who may not know the exact place of a thing is told sums only: months and moves beside the rooms' own figures would give it away.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import groupby
from typing import Final, TypeVar
from uuid import UUID

import numpy as np
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from collection.objects.models import Component, Material, Object
from collection.objects.queries import text_of
from conservation.rules.ruleset import rules_in_force
from locations.climate.air import Air, heard_air
from locations.climate.alarms import MOST_SENSITIVE
from locations.climate.exposure import courses
from locations.climate.hearing import HOUR, Heard
from locations.climate.limits import Limits, limits_of
from locations.climate.models import Exposure, LivedMonth, WallExposure
from locations.climate.science.ageing import ageing_word
from locations.climate.science.light import LightCategory, budget_used, light_category
from locations.climate.science.series import weights
from locations.climate.since import Since, first_hour, month_with
from locations.climate.storing import moment
from locations.climate.sums import CLASSES
from locations.places.models import Movement
from museum import clock
from museum.history.models import Change

#: hours in a year
YEAR: Final = 8760
R = TypeVar("R", Exposure, WallExposure)
CATEGORIES: Final = ("high", "medium", "low")
LOOKED, MOVED = "check.recorded", "movement.recorded"


@dataclass(frozen=True, slots=True)
class Lived:
    """Of a component and a material: hours known, unknown, above and below its own band, above 65 %, wet; the longest runs; mould; ageing.

    `at_wall`: the same at its coldest face, where it ever stood against a wall told to be colder.
    """

    component: str
    material: str
    limits: Limits
    rows: Sequence[LivedMonth]
    at_wall: "Lived | None" = None

    def _sum(self, name: str) -> int:
        return sum(getattr(row, name) for row in self.rows)

    @property
    def known(self) -> int:
        return self._sum("known")

    @property
    def unknown(self) -> int:
        return self._sum("unknown")

    @property
    def over(self) -> int:
        return self._sum("over")

    @property
    def under(self) -> int:
        return self._sum("under")

    @property
    def damp(self) -> int:
        return self._sum("damp")

    @property
    def wet(self) -> int:
        return self._sum("wet")

    @property
    def over_longest(self) -> int:
        return max((row.over_longest for row in self.rows), default=0)

    @property
    def damp_longest(self) -> int:
        return max((row.damp_longest for row in self.rows), default=0)

    @property
    def against(self) -> int:
        """Hours against a colder wall; of `at_wall` only."""
        return self._sum("against")

    @property
    def presumed(self) -> float:
        """How far damp has come of the time after which mould is presumed, %."""
        return 100 * sum(row.share for row in self.rows)

    @property
    def mould(self) -> LivedMonth:
        """The month whose end tells the state now."""
        return self.rows[-1]

    @property
    def ageing(self) -> float | None:
        """How many times as long it lasts as at 20 °C and 50 %: the harmonic mean; None for what the formula is not made for."""
        rate = sum(row.ageing_rate for row in self.rows)
        return self._sum("ageing_hours") / rate if self.limits.energy and rate else None

    @property
    def ageing_word(self) -> str:
        return ageing_word(self.ageing) if self.ageing is not None else ""


@dataclass(frozen=True, slots=True)
class Event:
    """A check or a move, by its day."""

    on: date
    looked: bool


@dataclass(frozen=True)
class Life:
    """`since`: the day from whose beginning is counted; `exact`: months and moves may be told."""

    thing: Object
    since: date | None
    exact: bool
    events: Sequence[Event]
    parts: Sequence[Lived]

    @property
    def last_check(self) -> date | None:
        return _last_check(self.events)

    @property
    def first(self) -> date | None:
        return min((row.month for part in self.parts for row in part.rows), default=None)

    @cached_property
    def worst(self) -> Lived | None:
        """What suffers most by the air of its rooms: the highest mould index, then the longest run above its own band."""
        return max(self.parts, key=_suffers, default=None)

    @cached_property
    def worse_face(self) -> Lived | None:
        """What suffers most at its coldest face, against a colder wall, where that is more than by the air of the rooms."""
        face = max((part.at_wall for part in self.parts if part.at_wall), key=_suffers, default=None)
        return face if face and self.worst and _suffers(face) > _suffers(self.worst) else None

    @cached_property
    def mouldiest(self) -> Lived | None:
        """What mould takes first: the highest index, of equal ones the most sensitive surface."""
        return max(self.parts, key=lambda part: (part.mould.mould, -CLASSES.index(part.limits.mould)), default=None)

    @cached_property
    def presumed(self) -> Lived | None:
        """The part or face of it of which damp says more than the index: so far that the rules ask for a look, and the index below what a microscope shows."""
        parts = [one for part in self.parts for one in (part, part.at_wall) if one and one.limits.mould == MOST_SENSITIVE and one.mould.mould < 1]
        least = 100 * rules_in_force().mould_look_dose
        return max((one for one in parts if one.presumed >= least), key=lambda one: one.presumed, default=None)


def _suffers(part: Lived) -> tuple[float, int, int]:
    return part.mould.mould, part.over_longest, part.damp


def life_of(thing: Object, *, since: date | None, exact: bool) -> Life:
    """`since` counts from the beginning of that day on; None: since the first hour known.

    Who may not know the exact place is told of a day only since the last check; since any other, from the first of its month on.
    """
    events = _events(thing.pk)
    if since and not exact and since != _last_check(events):
        since = since.replace(day=1)
    names = {one.code: text_of(one.texts) for one in Material.objects.all()}
    walls = {(found[0].component_id, code): found for code, found in _by_part(_rows(WallExposure, thing), since)}
    parts = []
    for code, found in _by_part(_rows(Exposure, thing), since):
        one = Lived(_name(found[0].component), str(names.get(code, code)), limits_of(code), found)
        wall = walls.get((found[0].component_id, code))
        parts.append(replace(one, at_wall=replace(one, rows=wall)) if wall else one)
    return Life(thing, since, exact, events, parts)


def _rows(kind: type[R], thing: Object) -> QuerySet[R]:
    rows = kind._default_manager.filter(component__object=thing).select_related("component")
    return rows.order_by("component__position", "component", "material", "month")


def _by_part(rows: QuerySet[R], since: date | None) -> list[tuple[str, list[R]]]:
    """Material and months of each component of each material; since a day only what came after its beginning."""
    if since is None:
        return _grouped(rows)
    if since > clock.today():
        return []
    begin = first_hour(since)
    groups = _grouped(rows.filter(month__gte=month_with(begin)))
    if not groups:
        return []
    cutting = Since(found[0].component_id for _, found in groups)
    return [(code, kept) for code, found in groups if (kept := cutting.cut(found, begin))]


def _grouped(rows: QuerySet[R]) -> list[tuple[str, list[R]]]:
    return [(key[1], list(group)) for key, group in groupby(rows, key=lambda row: (row.component_id, row.material))]


def _last_check(events: Sequence[Event]) -> date | None:
    return max((one.on for one in events if one.looked), default=None)


def _name(component: Component) -> str:
    """What the part is called: its letter and name, else its sort."""
    if component.letter and not component.name:
        return _("part %(letter)s") % {"letter": component.letter}
    return f"{component.letter} {component.name}".strip() or str(component.get_sort_display())


def _events(object_id: UUID) -> list[Event]:
    """What stands: not a look that a later one corrects, nor a move that never was."""
    rows = Change.objects.filter(about__kind="object", about__key=object_id, what__in=(LOOKED, MOVED)).order_by("n")
    told = [(what, subject, after or {}, at) for what, subject, after, at in rows.values_list("what", "subject", "after", "at")]
    moves = {subject.partition(":")[2] for what, subject, _after, _at in told if what == MOVED}
    gone = {f"movement:{key}" for key in Movement.objects.filter(pk__in=moves, corrected_by__withdraws=True).values_list("pk", flat=True)}
    gone |= {f"conditioncheck:{after['corrects']}" for _what, _subject, after, _at in told if "corrects" in after}
    return [
        Event(date.fromisoformat(after["on"]) if "on" in after else clock.day_of(at), what == LOOKED)
        for what, subject, after, at in told
        if subject not in gone
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Light:
    """Light of the last 365 days: dose at least, lx h, in all and by day; hours and days of which loggers measured it; share of the year's budget used, %."""

    category: LightCategory
    hours: float
    by_day: Mapping[date, float]

    @property
    def dose(self) -> float:
        return sum(self.by_day.values())

    @property
    def days(self) -> frozenset[date]:
        return frozenset(self.by_day)

    @property
    def used(self) -> float:
        return budget_used(self.dose, self.category)

    @property
    def unknown(self) -> float:
        """Share of the year that nobody measured, %."""
        return 100 * max(0.0, 1 - self.hours / YEAR)


def light_of(thing: Object) -> Light | None:
    """By the loggers that measure light, wherever it stood; None for what light does not fade."""
    return lights_of([thing]).get(thing.pk)


def lights_of(things: Sequence[Object]) -> dict[UUID, Light]:
    """The same of several, by their keys, without those that light does not fade; air that some lived through alike is read once."""
    told = Component.objects.filter(object__in=things, made_of__corrected_by=None, made_of__withdraws=False)
    codes = defaultdict[UUID, set[str]](set)
    for key, code in told.values_list("object_id", "made_of__material__code"):
        codes[key].add(limits_of(code).light)
    mains = dict(Component.objects.filter(object__in=codes, sort=Component.Sort.MAIN).values_list("object_id", "pk"))
    categories = {key: next((one for one in CATEGORIES if one in codes[key]), None) for key in mains}
    ways, end = courses({mains[key] for key, category in categories.items() if category}), int(clock.now().timestamp()) // HOUR
    airs: dict[tuple[Heard, ...], Air] = {}
    found = {}
    for key, category in categories.items():
        if category:
            way = _clipped(ways[mains[key]], end - YEAR, end)
            airs[way] = airs[way] if way in airs else heard_air(way, end - YEAR, end)
            found[key] = _dosed(light_category(category), airs[way])
    return found


def _clipped(way: Sequence[Heard], begin: int, end: int) -> tuple[Heard, ...]:
    heard = [one for one in way if one.voice and one.begin < end and one.end > begin]
    return tuple(one.between(begin, end) for one in heard)


def _dosed(category: LightCategory, air: Air) -> Light:
    """Each reading counts for the time it stands for, never longer than one and a half intervals."""
    if not len(air.lux):
        return Light(category, 0.0, {})
    weight = weights(air.lit_at, int(air.widest / 1.5))
    hours, which = np.unique(air.lit_at // HOUR, return_inverse=True)
    by_day = defaultdict[date, float](float)
    for hour, dose in zip(hours.tolist(), np.bincount(which, weight * air.lux).tolist(), strict=True):
        by_day[clock.day_of(moment(hour * HOUR))] += dose
    return Light(category, float(weight.sum()), by_day)
