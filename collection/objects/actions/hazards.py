"""Dangers to people, told and closed."""

from collections.abc import Mapping
from typing import Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import visible_object
from collection.objects.dangers import DANGERS
from collection.objects.models import Hazard, Object
from collection.objects.queries import hazards_in_force
from museum.errors import Invalid
from museum.people.action import Act, action

ANSWERS: Final = ("yes", "no", "unsure")
QUESTIONS: Final = tuple(str(n) for n in range(1, 11))


def whole_answers(answers: Mapping[str, str]) -> None:
    """Raises Invalid unless all ten are answered."""
    if not set(QUESTIONS) <= set(answers) or any(answer not in ANSWERS for answer in answers.values()):
        raise Invalid(_("All ten questions need an answer; 'unsure' is one."), field="screen")


def open_suspected(act: Act, thing: Object, opens: Mapping[str, int]) -> None:
    """Opens the hazards to which answers point, within another action; one that stands at that level or above stays."""
    known = _levels(thing.pk)
    for code, level in opens.items():
        if known.get(code, 0) < level:
            _store(act, thing, code, level, note=str(_("from the screen")))


@action("objects.report_hazard", may="hazard.report")
def report_hazard(act: Act, object_id: UUID, *, code: str, level: int, zone: str = "", note: str = "") -> Hazard:
    """Tells of a danger, level 1 to 3; level 3 holds the object. It can only be lowered by settling it."""
    thing = visible_object(act, object_id)
    if code not in DANGERS:
        raise Invalid(_("Choose which danger it is."), field="code")
    if level not in (1, 2, 3):
        raise Invalid(_("A danger has a level from 1 (suspected) to 3 (held)."), field="level")
    if _levels(object_id).get(code, 0) > level:
        raise Invalid(_("It stands at a higher level. A curator lowers it, with the evidence."), field="level")
    hazard = _store(act, thing, code, level, zone=zone, note=note.strip())
    card.refresh([object_id])
    return hazard


@action("objects.settle_hazard", may="hazard.close")
def settle_hazard(act: Act, object_id: UUID, *, code: str, level: int, evidence: str) -> Hazard:
    """Closes (level 0) or lowers a danger, with the evidence: it never simply disappears."""
    thing = visible_object(act, object_id)
    if not evidence.strip():
        raise Invalid(_("Say what settles it: the analyst's finding, a test, a date."), field="evidence")
    now = _levels(object_id).get(code, 0)
    if not now:
        raise Invalid(_("There is no such danger on record here."), field="code")
    if not 0 <= level < now:
        raise Invalid(_("Settling closes a danger or lowers its level."), field="level")
    hazard = _store(act, thing, code, level, evidence=evidence.strip())
    card.refresh([object_id])
    return hazard


def _levels(object_id: UUID) -> dict[str, int]:
    return hazards_in_force([object_id]).get(object_id, {})


def _store(act: Act, thing: Object, code: str, level: int, *, zone: str = "", note: str = "", evidence: str = "") -> Hazard:
    hazard = Hazard.objects.create(
        act_id=act.id, object=thing, code=code, level=level, zone=zone, note=note, evidence=evidence,
        by_id=act.actor.person, recorded_at=act.now,
    )  # fmt: skip
    after = {"code": code, "level": level}
    act.wrote("hazard.told", hazard, after=after, reason=evidence or note, about=[("object", thing.pk)])
    return hazard
