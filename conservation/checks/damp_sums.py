"""Damp that adds up since a thing was last looked at becomes a look, the second and third of a season too.

Each hour above 65 % takes its share of the days after which mould is presumed; days at or below it add nothing and take nothing away. The sum
runs from the last look that found no mould, or from when somebody said that none was needed. It is that of what the thing lived through,
wherever it stood; of what stood against a wall, of its face there too, and the worse of both counts. What was never looked at is due for that already.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any, Final, TypeVar
from uuid import UUID, uuid5

from django.db import connection
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import translation
from django.utils.translation import gettext

from conservation.checks import derived
from conservation.checks.actions.calls import CLIMATE, call_for, said_already, withdraw_calls
from conservation.checks.follow import SOME, with_each
from conservation.checks.models import Call, CallAnswer, ConditionCheck, Mark, Observation
from conservation.rules.intervals import mould_trigger
from conservation.rules.ruleset import rules_in_force
from conservation.rules.tables import EventRule, event_rules
from locations.climate import following
from locations.climate.hearing import hour_of
from locations.climate.models import ClimateAlarm, Exposure, ExposureMark, WallExposure
from locations.climate.since import Since, month_with
from museum import clock
from museum.history.record import alone
from museum.people.action import Act, action
from museum.people.actor import PROGRAM
from museum.people.models import Society

NAME: Final = "damp sums"
#: the rules that a sum calls for: half of the days to mould, all of them
RULES: Final = ("damp", "damp_long")
#: what a look must not have found, for the sum to begin anew with it
MOULDS: Final = ("MOULD_ACTIVE", "MOULD_DORMANT")
#: components whose months since their last look hold so much; the first month counts whole, so that none is missed
_CANDIDATES: Final = """
SELECT c.object_id, e.component_id, e.material FROM unnest(%(things)s::uuid[], %(months)s::date[]) AS since(thing, month)
  JOIN objects_component c ON c.object_id = since.thing JOIN climate_exposure e ON e.component_id = c.id AND e.month >= since.month
  LEFT JOIN climate_wallexposure w ON w.component_id = e.component_id AND w.material = e.material AND w.month = e.month
 WHERE e.material = ANY(%(damp)s) GROUP BY 1, 2, 3 HAVING greatest(sum(e.share), sum(coalesce(w.share, e.share))) >= %(least)s
"""
Part = tuple[UUID, str]
R = TypeVar("R", Exposure, WallExposure)


@dataclass(frozen=True, slots=True)
class Begin:
    """From when a thing's damp is added up, and the fact that says so."""

    at: datetime
    fact: UUID


@dataclass(frozen=True, slots=True)
class Damp:
    """A thing for which damp has added up to `dose` of the days to mould since `fact`, and the rule that this calls for."""

    object_id: UUID
    dose: float
    rule: EventRule
    fact: UUID

    @property
    def source(self) -> UUID:
        """By what its look is known: one of each rule since the fact."""
        return uuid5(self.fact, self.rule.code)


def catch_up() -> int:
    """Asks for what is due by its sum now, where the exposure was worked out anew since the last call; answers of how many things."""
    with alone(NAME) as mine:
        known = ExposureMark.objects.filter(name=following.NAME).first()
        mark, _made = Mark.objects.get_or_create(name=NAME)
        if not mine or known is None or known.n == mark.n:
            return 0
        found = added_up()
        told = _ask_all(found) + _take_back_all(found)
        mark.n = known.n
        mark.save(update_fields=["n"])
        return told


def added_up() -> list[Damp]:
    """The things for which so much has added up that they are to be looked at, asked for or not."""
    begins, rules = _begins(), rules_in_force()
    months = {key: month_with(hour_of(since.at)) for key, since in begins.items()}
    with connection.cursor() as cursor:
        given: dict[str, Any] = {"things": list(months), "months": list(months.values()), "damp": sorted(rules.damp_materials), "least": rules.mould_look_dose}
        cursor.execute(_CANDIDATES, given)
        candidates = cursor.fetchall()
    doses = _doses(candidates, begins)
    return [damp for key, (dose, material) in sorted(doses.items()) if (damp := _damp(key, dose, material, begins[key]))]


def _damp(key: UUID, dose: float, material: str, since: Begin) -> Damp | None:
    reason = mould_trigger(dose, [material], rules_in_force())
    if reason is None:
        return None
    rule = RULES[1] if reason.code == "mould_presume" else RULES[0]
    return Damp(key, dose, event_rules()[rule], since.fact)


def _begins(things: Collection[UUID] | None = None) -> dict[UUID, Begin]:
    """Of each of these things (None: all) that was ever looked at, when its sum begins."""
    mould = Observation.objects.filter(of_check=OuterRef("pk"), term__in=MOULDS).exclude(change=Observation.Change.GONE)
    looks = ConditionCheck.objects.filter(~Exists(mould), corrected_by=None, withdraws=False, object__withdrawn="")
    looks = looks if things is None else looks.filter(object__in=list(things))
    looks = looks.exclude(purpose=ConditionCheck.Purpose.CARD).order_by("object", "-happened_on", "-happened_at", "-recorded_at").distinct("object")
    found = {}
    for key, pk, day, at in looks.values_list("object_id", "pk", "happened_on", "happened_at"):
        found[key] = Begin(at or clock.start_of(day + timedelta(days=1)), pk)
    closed = CallAnswer.objects.filter(of_check=None, call__why=CLIMATE, call__object__in=found).order_by("recorded_at", "pk")
    for key, pk, at in closed.values_list("call__object_id", "pk", "recorded_at"):
        if at > found[key].at:
            found[key] = Begin(at, pk)
    return found


def _doses(candidates: Iterable[tuple[UUID, UUID, str]], begins: Mapping[UUID, Begin]) -> dict[UUID, tuple[float, str]]:
    """The highest sum of any component of each thing, with its material: exact, the month of its look from the readings."""
    parts = {(component, material): thing for thing, component, material in candidates}
    hours = {part: hour_of(begins[thing].at) for part, thing in parts.items()}
    cutting = Since(component for component, _material in parts)
    rooms, walls = _shares(Exposure, hours, cutting), _shares(WallExposure, hours, cutting)
    found = dict[UUID, tuple[float, str]]()
    for part, months in rooms.items():
        # A month of which the wall tells counts by the wall, any other by the room.
        dose = max(sum(months.values()), sum((months | walls.get(part, {})).values()))
        found[parts[part]] = max(found.get(parts[part], (0.0, "")), (dose, part[1]))
    return found


def _shares(kind: type[R], hours: Mapping[Part, int], cutting: Since) -> dict[Part, dict[date, float]]:
    """Of each component of a material what its months since an hour take of the days to mould."""
    rows = kind._default_manager.filter(component__in={component for component, _material in hours}).order_by("component", "material", "month")
    found = {}
    for part, group in groupby(rows, key=lambda row: (row.component_id, row.material)):
        if part in hours and (months := [row for row in group if row.month >= month_with(hours[part])]):
            found[part] = {row.month: row.share for row in cutting.cut(months, hours[part])}
    return found


def _ask_all(found: Sequence[Damp]) -> int:
    keys = [one.object_id for one in found]
    asked = set(_calls().filter(object__in=keys).values_list("source", flat=True))
    covered = {rule: said_already(keys, rule, _due(rule)) for rule in {one.rule for one in found}}
    wanted = {one.object_id: one for one in found if one.source not in asked and one.object_id not in covered[one.rule]}
    _in_parts(sorted(wanted), lambda part: ask_for_damp(PROGRAM, [wanted[key] for key in part]))
    return len(wanted)


def _take_back_all(found: Sequence[Damp]) -> int:
    """Looks of sums that are no longer due by them: a logger was judged wrong, a move corrected, the thing looked at or taken back meanwhile."""
    still = {one.source for one in found} | {uuid5(one.fact, RULES[0]) for one in found}
    threads = ClimateAlarm.objects.values("thread")
    back = _calls().filter(answer=None).exclude(source__in=threads).exclude(source__in=still)
    keys = sorted(set(back.values_list("object_id", flat=True)))
    _in_parts(keys, lambda part: take_back_damp(PROGRAM, list(back.filter(object__in=part).select_related("object"))))
    return len(keys)


def _due(rule: EventRule) -> date:
    return clock.today() + timedelta(days=rule.days)


def _calls() -> QuerySet[Call]:
    return Call.objects.filter(why=CLIMATE, corrected_by=None, withdraws=False)


def _in_parts(keys: Sequence[UUID], work: Callable[[Sequence[UUID]], object]) -> None:
    def done(part: Sequence[UUID]) -> None:
        work(part)
        derived.refresh(part)

    for start in range(0, len(keys), SOME):
        with_each(keys[start : start + SOME], done)


@action("checks.ask_for_damp", may="event.report")
def ask_for_damp(act: Act, found: Sequence[Damp]) -> int:
    """Asks for looks at things for which damp has added up; answers how many."""
    return sum(
        len(call_for(act, [one.object_id], why=CLIMATE, sort=one.rule.sort, due_on=_due(one.rule), reason=_reason(one), source=one.source)) for one in found
    )


@action("checks.take_back_damp", may="event.report")
def take_back_damp(act: Act, calls: Sequence[Call]) -> int:
    """Takes back looks that their sum does not ask for any more, each with its own reason; answers how many."""
    begins = _begins({call.object_id for call in calls})
    with translation.override(Society.load().language):
        for call in calls:
            withdraw_calls(act, [call], reason=_why_not(call, begins.get(call.object_id)))
    return len(calls)


def _why_not(call: Call, since: Begin | None) -> str:
    """Why a look of a sum is not asked for any more, in the language that is set."""
    if call.object.withdrawn:
        return gettext("The record of this thing was taken back.")
    if since is not None and call.source in {uuid5(since.fact, code) for code in RULES}:
        return gettext("As the readings, its places and its materials are told now, damp does not add up to so much any more.")
    if since is not None and CallAnswer.objects.filter(pk=since.fact).exists():
        return gettext("Somebody said since that no look after damp is needed; damp is added up anew since then.")
    return gettext("A look at it was told since, or told otherwise than before; damp is added up anew since then.")


def _reason(one: Damp) -> str:
    """Why, in the society's language; without places, which not everybody may read who may read the reason."""
    with translation.override(Society.load().language):
        told = {"part": f"{100 * one.dose:.0f}", "do": gettext(one.rule.reason)}
        return gettext("Since it was last looked at, damp where it stood adds up to %(part)s %% of the time after which mould is presumed; %(do)s") % told
