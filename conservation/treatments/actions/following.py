"""Looking again at finished work: what is seen closes the finding, leaves it as it is, or opens it once more."""

from typing import Final
from uuid import UUID, uuid5

from django.utils.translation import gettext_lazy as _

from conservation.checks.actions.cards import TRACE
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import ConditionCheck, Finding, Observation
from conservation.checks.queries import history_of
from conservation.treatments.actions.common import locked_work
from conservation.treatments.models import REOPENING, FollowUp, Work, WorkEnd
from museum import clock
from museum.errors import Invalid
from museum.people.action import Act, action

Reading = FollowUp.Reading
#: how active a finding is by what was seen; None = not known
ACTIVE: Final = {Reading.SOAP: 2, Reading.POWDER: 2}


@action("treatments.look_again", may="check.record")
def look_again(act: Act, work_id: UUID, *, follow_id: UUID, reading: str, note: str = "") -> FollowUp:
    """Stores what a follow-up saw of ended work, as a look at the zone that was worked on. Repeatable by the act's key.

    'gone' closes the finding; 'holds' leaves it; soap that re-formed, powder, dull wax or anything worse opens it again, so that
    approvals of the zone lapse and a new proposal is asked for. Nothing is treated again by this. Raises Invalid, NotFound.
    """
    work = locked_work(act, work_id)
    if not WorkEnd.objects.filter(work=work).exists():
        raise Invalid(_("This work is not ended yet; a follow-up looks at what is finished."), field="reading")
    if reading not in Reading.values:
        raise Invalid(_("Say what you see."), field="reading")
    if reading == Reading.WORSE and not note.strip():
        raise Invalid(_("Say what has changed."), field="note")
    if work.finding is None and reading in REOPENING:
        raise Invalid(_("This work answered no finding. Tell what you see in a check of the thing; it becomes a finding there."), field="reading")
    check = record_check(act, _look(act, work, Reading(reading), note.strip()))
    follow = FollowUp.objects.create(
        id=follow_id, act_id=act.id, work=work, of_check=check, reading=reading, note=note.strip(), by_id=act.actor.someone, recorded_at=act.now,
        happened_at=act.now,
    )  # fmt: skip
    act.wrote("work.followed", work, after={"zone": work.zone, "reading": reading}, reason=follow.note, about=[("object", work.object_id)])
    return follow


def _look(act: Act, work: Work, reading: FollowUp.Reading, note: str) -> CheckEntry:
    """The look: the finding as it is now, or, where the work answered none, nothing."""
    seen = _seen(act, work.finding, reading, note) if work.finding else None
    present = seen is not None and seen.change != Observation.Change.GONE
    return CheckEntry(
        id=uuid5(act.id, "look"), object_id=work.object_id, sort=ConditionCheck.Sort.FOLLOW_UP, happened_on=clock.day_of(act.now), happened_at=act.now,
        looks={work.zone_key: "findings" if present else "nothing"}, seen=(seen,) if seen else (), note=note,
    )  # fmt: skip


def _seen(act: Act, finding: Finding, reading: FollowUp.Reading, note: str) -> Seen:
    """The finding measured as it last was; how it changed and how active it is says the reading."""
    history = list(history_of(finding))
    last = history[-1]
    measured = next((row for row in reversed(history) if row.percent is not None), last)
    zone = ZoneKey(finding.component_id, finding.zone)
    if reading == Reading.GONE:
        return Seen(uuid5(act.id, "seen"), finding.pk, zone, last.term, Observation.Change.GONE, last.material, note=note)
    back = last.change == Observation.Change.GONE
    changed = reading in REOPENING
    change = Observation.Change.NEW if back and changed else Observation.Change.GROWN if changed else last.change if back else Observation.Change.SAME
    activity = ACTIVE.get(reading) if changed else last.activity
    return Seen(
        uuid5(act.id, "seen"), finding.pk, zone, measured.term, change, measured.material, measured.percent or TRACE, measured.severity or 2, activity,
        note=note,
    )  # fmt: skip
