"""Suspicions against loggers: raised by the program with their evidence, settled by a person. Readings stay as they are."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from locations.climate.actions.loggers import held, judge_readings
from locations.climate.doubts import Doubt, look
from locations.climate.models import Settlement, Suspicion, Verdict
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.people.action import Act, action
from museum.people.actor import PROGRAM


class Settled(DomainError):
    """Somebody was quicker."""

    code = "suspicion_settled"
    template = _("Somebody has settled this already. Load the page again; a later suspicion comes by itself if there is reason.")


@action("climate.suspect", may="climate.set_up")
def suspect(act: Act, doubt: Doubt) -> Suspicion | None:
    """Raises a suspicion, unless one of the kind waits for this logger, or one of this time was settled. Raises NotFound."""
    logger = held(doubt.logger.pk)
    same = Suspicion.objects.filter(logger=logger, kind=doubt.kind, other=doubt.other)
    if same.filter(Q(settlement=None) | Q(begin__lt=doubt.end, end__gt=doubt.begin)).exists():
        return None
    fact = Suspicion.objects.create(
        act_id=act.id, logger=logger, other=doubt.other, kind=doubt.kind, begin=doubt.begin, end=doubt.end, evidence=dict(doubt.evidence),
        happened_on=clock.day_of(act.now), happened_at=act.now, recorded_at=act.now,
    )  # fmt: skip
    about = [logger, *([doubt.other] if doubt.other else [])]
    act.wrote("logger.suspected", fact, after={"kind": doubt.kind, "begin": doubt.begin, "end": doubt.end, **doubt.evidence}, about=about)
    return fact


@action("climate.settle", may="climate.set_up")
def settle(
    act: Act, suspicion_id: UUID, *, says: str, reason: str, begin: datetime | None = None, end: datetime | None = None, of: UUID | None = None
) -> Settlement:
    """What came of a suspicion: the readings hold, or those from `begin` to before `end` (else of its whole time) are not to be used.

    `of`: whose, where it is of two loggers; else those of the suspected one. Raises Invalid, NotFound, Settled.
    """
    found = Suspicion.objects.filter(pk=suspicion_id).first()
    if found is None:
        raise NotFound
    logger = held(found.logger_id)
    if Settlement.objects.filter(suspicion=found).exists():
        raise Settled
    if says not in Settlement.Says.values:
        raise Invalid(_("Say whether the readings hold."), field="says")
    if not reason.strip():
        raise Invalid(_("Say what you looked at and what you saw."), field="reason")
    if of not in (None, found.logger_id, found.other_id):
        raise Invalid(_("Say which of the two loggers it is."), field="of")
    verdict = None
    if says == Settlement.Says.LEFT_OUT:
        verdict = judge_readings(act, of or logger.pk, begin=begin or found.begin, end=end or found.end, says=Verdict.Says.LEFT_OUT, reason=reason)
    fact = Settlement.objects.create(
        act_id=act.id, suspicion=found, verdict=verdict, says=says, reason=reason.strip(), by_id=act.actor.person, happened_on=clock.day_of(act.now),
        happened_at=act.now, recorded_at=act.now,
    )  # fmt: skip
    act.wrote("logger.suspicion_settled", fact, after={"says": says, "kind": found.kind}, reason=reason.strip(), about=[logger])
    return fact


def suspect_all() -> int:
    """Looks at all loggers and raises what is new; answers how many suspicions."""
    return sum(suspect(PROGRAM, doubt) is not None for doubt in look())
