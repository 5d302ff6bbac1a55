"""Alarms as facts: what the readings of a place say now is set against what was said before, and only the difference is written."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from locations.climate.alarms import DAY, Spell
from locations.climate.hearing import HOUR, NEVER
from locations.climate.models import AT_WALL, ClimateAlarm
from locations.places.models import Place
from museum import clock
from museum.errors import NotFound
from museum.history.record import lock
from museum.ids import uuid7
from museum.people.action import Act, action

#: an alarm that goes on is told anew when its run has grown by so many hours
GROWN: Final = DAY


@dataclass(frozen=True, slots=True)
class Difference:
    """What was said (none: nothing) and what the readings say now (none: no longer)."""

    before: ClimateAlarm | None
    now: Spell | None


def standing_alarms() -> Any:
    """The alarms that stand as told, ended ones too."""
    return ClimateAlarm.objects.filter(corrected_by=None, withdraws=False)


def differences(place_id: UUID, spells: Sequence[Spell]) -> list[Difference]:
    """Where the alarms told of a place and the spells now found part; none where both say the same."""
    left = list(standing_alarms().filter(place=place_id).order_by("begin", "id"))
    pairs: list[tuple[Spell, ClimateAlarm | None]] = []
    # First those raised at the same hour: the runs of two alarms of one level may overlap, though the alarms do not.
    for alike in (_raised_alike, _of_one_time):
        for spell in spells:
            if all(spell is not one for one, _ in pairs) and (before := next((told for told in left if alike(told, spell)), None)) is not None:
                left.remove(before)
                pairs.append((spell, before))
    pairs += [(spell, None) for spell in spells if all(spell is not one for one, _ in pairs)]
    parted = [Difference(before, spell) for spell, before in pairs if before is None or _says_more(before, spell)]
    return sorted(parted, key=lambda one: one.now.raised if one.now else 0) + [Difference(one, None) for one in left]


@action("climate.tell_alarms", may="climate.set_up")
def tell_alarms(act: Act, place_id: UUID, *, spells: Sequence[Spell]) -> int:
    """Brings the alarms told of a place up to what its readings say now; answers how many facts were written. Raises NotFound."""
    lock(f"alarms:{place_id}")
    if not Place.objects.filter(pk=place_id).exists():
        raise NotFound
    parted = differences(place_id, spells)
    for one in parted:
        fact = _fact(act, place_id, one)
        fact.save(force_insert=True)
        after = {"level": fact.level, "kind": fact.kind, "from": fact.begin, "raised": fact.raised_at, "ended": fact.ended_at, "hours": fact.hours}
        act.wrote(f"alarm.{_what(one)}", fact, after=after, about=[("place", place_id)])
    return len(parted)


def _what(one: Difference) -> str:
    if one.now is None:
        return "withdrawn"
    if one.before is None:
        return "raised"
    return "ended" if one.now.ended is not None and one.before.ended_at is None else "corrected"


def _fact(act: Act, place_id: UUID, one: Difference) -> ClimateAlarm:
    key = uuid7()
    shared = {
        "id": key, "act_id": act.id, "place_id": place_id, "thread": one.before.thread if one.before else key, "corrects": one.before,
        "happened_on": clock.day_of(act.now), "happened_at": act.now, "recorded_at": act.now,
        "formula": one.now.formula if one.now else one.before.formula if one.before else "",
    }  # fmt: skip
    if one.now is not None:
        return ClimateAlarm(**shared, **_values(one.now))
    names = ("kind", "level", "begin", "raised_at", "ended_at", "hours", "at_least", "figures")
    return ClimateAlarm(**shared, withdraws=True, **{name: getattr(one.before, name) for name in names})


def _values(spell: Spell) -> dict[str, Any]:
    figures = {name: round(value, 2) for name in ("over", "highest", "index", "share", *AT_WALL) if (value := getattr(spell, name))}
    if spell.runs > 1:
        figures["runs"] = spell.runs
    return {
        "kind": spell.kind, "level": spell.level, "begin": _moment(spell.begin), "raised_at": _moment(spell.raised),
        "ended_at": None if spell.ended is None else _moment(spell.ended), "hours": spell.hours, "at_least": spell.at_least, "figures": figures,
    }  # fmt: skip


def _raised_alike(told: ClimateAlarm, spell: Spell) -> bool:
    return (told.kind, told.level, told.raised_at) == (spell.kind, spell.level, _moment(spell.raised))


def _of_one_time(told: ClimateAlarm, spell: Spell) -> bool:
    """Of its kind and level, and of a time that is shared: more readings may have changed when it was raised."""
    if (told.kind, told.level) != (spell.kind, spell.level):
        return False
    last = told.ended_at.timestamp() / HOUR if told.ended_at else NEVER
    return told.begin.timestamp() / HOUR < spell.last and spell.begin < last


def _says_more(told: ClimateAlarm, spell: Spell) -> bool:
    now = _values(spell)
    if any(told.figures.get(name) != now["figures"].get(name) for name in AT_WALL):
        return True
    if any(getattr(told, name) != now[name] for name in ("begin", "raised_at", "ended_at")):
        return True
    return told.hours != spell.hours if spell.ended is not None else abs(spell.hours - told.hours) >= GROWN


def _moment(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR, UTC)
