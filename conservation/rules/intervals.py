"""When to look again: full checks, quick looks, follow-ups on opening days, and the dose of damp."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from conservation.rules.reasons import Reason
from conservation.rules.ruleset import RuleSet


@dataclass(frozen=True, slots=True)
class Interval:
    """Days from one look to the next, the smallest of what applies, and what applied."""

    days: int
    reasons: Sequence[Reason]


def full_check_days(grade: int, activity: int, materials: Collection[str], place: str, hold: bool, rules: RuleSet) -> Interval:
    """Days to the next full check, by the grade and activity in force, the materials of any zone, and the place."""
    days = rules.full_days_by_grade[grade]
    found = [
        (days, Reason("grade_days", {"grade": grade, "days": days})),
        *_by_material(materials, rules.full_days_by_material),
    ]
    if (cap := rules.full_days_by_activity.get(activity)) is not None:
        found.append((cap, Reason("activity_days", {"activity": activity, "days": cap})))
    if (cap := rules.full_days_by_place.get(place)) is not None:
        found.append((cap, Reason("place_days", {"place": place, "days": cap})))
    if hold:
        found.append((rules.full_days_on_hold, Reason("hold_days", {"days": rules.full_days_on_hold})))
    return _smallest(found)


def quick_look_days(full: int, materials: Collection[str], place: str, rules: RuleSet) -> Interval:
    """Days to the next quick look: at most the full-check interval, the ceiling, the caps of materials and place."""
    ceiling = rules.quick_days_ceiling
    found = [(full, Reason("full_days", {"days": full})), (ceiling, Reason("ceiling_days", {"days": ceiling}))]
    found += _by_material(materials, rules.quick_days_by_material)
    if (cap := rules.quick_days_by_place.get(place)) is not None:
        found.append((cap, Reason("place_days", {"place": place, "days": cap})))
    return _smallest(found)


def _by_material(materials: Collection[str], caps: Mapping[str, int]) -> list[tuple[int, Reason]]:
    return [(caps[code], Reason("material_days", {"material": code, "days": caps[code]})) for code in sorted(caps.keys() & set(materials))]


def _smallest(found: Sequence[tuple[int, Reason]]) -> Interval:
    """The smallest, with the first reason and those that lower it further."""
    days, kept = found[0][0], [found[0][1]]
    for cap, reason in found[1:]:
        if cap < days:
            days = cap
            kept.append(reason)
    return Interval(days, kept)


def due_dates(*, came_in: date, last_full: date | None, last_any: date | None, full: int, quick: int) -> tuple[date, date]:
    """Full check due, quick look due. Never checked = due the day it came in; a full check is a quick look too."""
    full_due = came_in if last_full is None else last_full + timedelta(days=full)
    quick_due = came_in if last_any is None else last_any + timedelta(days=quick)
    return full_due, quick_due


def follow_up_days(kinds: Iterable[str], rules: RuleSet) -> list[int]:
    """Days after the work by its kinds; several: all their days, each once. Raises KeyError for an unknown kind."""
    return sorted({day for kind in kinds for day in rules.follow_up_days[kind]})


def follow_ups_due(ended: date, days: Iterable[int], opening_days: Collection[int] = ()) -> list[date]:
    """The opening days on which follow-ups fall: the first on or after each, each day once.

    Day 1, where the house is closed then, is the day of the work itself. ISO weekday numbers; none = open every day.
    """
    due = {_snapped(ended, day, opening_days) for day in days}
    return sorted(due)


def _snapped(ended: date, days: int, opening_days: Collection[int]) -> date:
    wanted = ended + timedelta(days=days)
    if not opening_days or wanted.isoweekday() in opening_days:
        return wanted
    if days == 1:
        return ended
    return next(day for n in range(1, 8) if (day := wanted + timedelta(days=n)).isoweekday() in opening_days)


def mould_limit_days(humidity: float) -> float | None:
    """Days to growth at a relative humidity in percent; None at or below 65, where nothing is added.

    Interpolates CCI Notes 8/1 (about 100 days at 70, 10 at 80, 2 at 90 percent and above); below 70 it is
    extrapolated and cautious (ours). Raises ValueError outside 0 to 100.
    """
    if not 0 <= humidity <= 100:
        raise ValueError(f"{humidity} is no relative humidity")
    if humidity <= 65:
        return None
    if humidity <= 80:
        return float(100 * 10 ** (-(humidity - 70) / 10))
    return float(10 * 0.2 ** ((min(humidity, 90) - 80) / 10))


def mould_dose(spells: Iterable[tuple[float, float]]) -> float:
    """Sum of days over limit days for spells of (percent RH, days)."""
    return sum(days / limit for humidity, days in spells if (limit := mould_limit_days(humidity)) is not None)


def mould_trigger(dose: float, materials: Collection[str], rules: RuleSet) -> Reason | None:
    """What a dose calls for where mould can feed: a look within days, or the same day with mould presumed."""
    if not rules.damp_materials & set(materials) or dose < rules.mould_look_dose:
        return None
    shown = f"{dose:.2f}"
    if dose >= rules.mould_presume_dose:
        return Reason("mould_presume", {"dose": shown})
    return Reason("mould_look", {"days": rules.mould_look_days, "dose": shown})
