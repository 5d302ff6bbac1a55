"""Recording a check: the first whole job of the program."""

from collections.abc import Collection, Sequence
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.actions.screens import answer_screen
from collection.objects.models import Component, Object, Screen
from collection.objects.queries import components_of, visible_thing, zones_of
from conservation.checks import derived, judging
from conservation.checks.actions.calls import answer_calls
from conservation.checks.actions.rounds import finish_stop
from conservation.checks.entry import CheckEntry, Seen, ZoneKey, check_form
from conservation.checks.facts import Facts
from conservation.checks.models import ConditionCheck, Draft, Finding, Observation
from conservation.rules.tables import suspected
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action
from museum.prepared import ANY_KEY, ANY_KEYS, Prepared

_SCREENS = Prepared(lambda key: Screen.objects.filter(object_id=key).values_list("pk", flat=True)[:1], ANY_KEY)
_FINDINGS = Prepared(lambda keys: Finding.objects.filter(pk__any_of=keys), ANY_KEYS)
_OBSERVATIONS = Prepared(lambda keys: Observation.objects.filter(pk__any_of=keys).values_list("pk", flat=True)[:1], ANY_KEYS)


@action("checks.record_check", may="check.record")
def record_check(act: Act, entry: CheckEntry) -> ConditionCheck:
    """Stores a look at an object with all it saw, judges it and says when to look again.

    Repeatable by `entry.id`, which is the act's key. A look that happened is stored whatever else was
    recorded meanwhile: two people's checks of one helmet both stand. Raises Invalid where the entry
    contradicts itself, lies in the future, leaves a zone of a full check unanswered, or lacks the first hazard screen.
    """
    check_form(entry)
    thing = _locked_object(act, entry.object_id)
    _guard(act, entry, thing)
    known = _known_findings(entry)
    if entry.screen is not None:
        answer_screen(act, thing.pk, answers=entry.screen, opens=suspected(entry.screen), happened_on=entry.happened_on, happened_at=entry.happened_at)
    check = _write(act, entry)
    _write_seen(act, entry, check, known)
    _tell(act, entry, check)
    answer_calls(act, check)
    if entry.stop is not None:
        finish_stop(act, entry.stop, check)
    facts = Facts(thing.pk)
    judging.judge(act, facts, check)
    derived.refresh_by(facts)
    Draft.objects.filter(person_id=act.actor.someone, object=thing).delete()
    return check


def _locked_object(act: Act, object_id: UUID) -> Object:
    lock(f"object:{object_id}")
    thing = visible_thing(act.actor, object_id)
    if thing is None:
        raise NotFound()
    return thing


def _guard(act: Act, entry: CheckEntry, thing: Object) -> None:
    if entry.happened_on > clock.day_of(act.now):
        raise Invalid(_("This day lies in the future, and nothing was stored. Set the clock of the device and send it again."), field="happened_on")
    components = components_of(thing.pk)
    if entry.sort == ConditionCheck.Sort.FULL:
        if entry.screen is None and not _SCREENS(thing.pk):
            raise Invalid(
                _("The ten questions about dangers to people come before the first full check. Your check is kept as a draft."),
                field="screen", reason="screen_missing",
            )  # fmt: skip
        _demand_every_zone(entry, thing, components)
    ours = {component.pk for component in components}
    for zone in [*entry.zones(), *(seen.zone for seen in entry.seen)]:
        if zone.component not in ours:
            raise Invalid(_("Zone %(zone)s is of another object."), field="looks", zone=zone.code)
    if entry.corrects is not None and not ConditionCheck.objects.filter(pk=entry.corrects, object=thing, corrected_by=None).exists():
        raise Invalid(_("The check you want to correct is not the last word on this object any more. Open it again."), field="corrects")


def _known_findings(entry: CheckEntry) -> set[UUID]:
    """Those of the findings told that are stored. Raises Invalid where one was first seen elsewhere, or an observation is not new."""
    known = {finding.pk: finding for finding in _FINDINGS([seen.finding for seen in entry.seen])}
    for seen in entry.seen:
        finding = known.get(seen.finding)
        if finding is not None and (finding.object_id, finding.component_id, finding.zone) != (entry.object_id, seen.zone.component, seen.zone.code):
            raise Invalid(
                _("Zone %(zone)s: this finding was first seen somewhere else. Nothing was stored. Tell it as a new finding of this zone."),
                field="finding", zone=seen.zone.code, seen=str(seen.id),
            )  # fmt: skip
    told = [seen.id for seen in entry.seen]
    if len(set(told)) != len(told) or _OBSERVATIONS(told):
        raise Invalid(_("One of these observations is stored already, or told twice. Nothing was stored. Load the check again and send it anew."), field="seen")
    return set(known)


def _demand_every_zone(entry: CheckEntry, thing: Object, components: Sequence[Component]) -> None:
    """'Nothing seen' is said, not assumed."""
    said = set(entry.zones())
    silent = [zone for zone in zones_of(thing, components) if ZoneKey(zone.component_id, zone.code) not in said]
    if silent:
        raise Invalid(
            _("These zones have no answer yet: %(zones)s. Say what you see, 'nothing seen', 'not visible' or 'not checked'."),
            field="looks", zones=", ".join(f"{zone.code} {zone.name}" for zone in silent), codes=[zone.code for zone in silent],
        )  # fmt: skip


def _write(act: Act, entry: CheckEntry) -> ConditionCheck:
    return ConditionCheck.objects.create(
        id=entry.id, act_id=act.id, object_id=entry.object_id, sort=entry.sort, purpose=entry.purpose, stage=entry.stage,
        happened_on=entry.happened_on, happened_at=entry.happened_at, recorded_at=act.now, author_id=act.actor.someone,
        looks={str(zone): answer for zone, answer in entry.zones().items()}, result=entry.result, no_treatment=entry.no_treatment,
        wet=entry.wet, unsecured_part=entry.unsecured_part, note=entry.note, limits=entry.limits, corrects_id=entry.corrects,
        suspect_clock=_doubtful(act, entry),
    )  # fmt: skip


def _doubtful(act: Act, entry: CheckEntry) -> bool:
    """Whether the clock of the device cannot be right: an instant to come, or of another day than the one that is told."""
    return entry.happened_at is not None and (entry.happened_at > act.now or clock.day_of(entry.happened_at) != entry.happened_on)


def _write_seen(act: Act, entry: CheckEntry, check: ConditionCheck, known: Collection[UUID]) -> None:
    Finding.objects.bulk_create(
        Finding(
            id=seen.finding, act_id=act.id, object_id=entry.object_id, component_id=seen.zone.component, zone=seen.zone.code,
            side=seen.side, hour=seen.hour, view=seen.view, x=seen.x, y=seen.y, recorded_at=act.now,
        )
        for seen in entry.seen
        if seen.finding not in known
    )  # fmt: skip
    Observation.objects.bulk_create(_observation(act, check, seen, n) for n, seen in enumerate(entry.seen))


def _observation(act: Act, check: ConditionCheck, seen: Seen, position: int) -> Observation:
    return Observation(
        id=seen.id, act_id=act.id, of_check=check, finding_id=seen.finding, term=seen.term, material=seen.material,
        percent=seen.percent, severity=seen.severity, activity=seen.activity, size_mm=seen.size_mm, change=seen.change,
        note=seen.note, position=position,
    )  # fmt: skip


def _tell(act: Act, entry: CheckEntry, check: ConditionCheck) -> None:
    seen = [{"zone": str(s.zone), "term": s.term, "percent": s.percent, "severity": s.severity, "activity": s.activity, "change": s.change} for s in entry.seen]
    more = {"clock": "doubtful"} if check.suspect_clock else {}
    more |= {"corrects": str(entry.corrects)} if entry.corrects else {}
    act.wrote(
        "check.recorded", check,
        after={"sort": check.sort, "on": check.happened_on, "looks": check.looks, "seen": seen, "result": check.result, "note": check.note} | more,
        about=[("object", entry.object_id)],
    )  # fmt: skip
