"""Dangers to people: the screen of ten questions, hazards told and closed."""

from collections.abc import Mapping
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.models import Hazard, Object, Screen
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action

ANSWERS = ("yes", "no", "unsure")
QUESTIONS = tuple(str(n) for n in range(1, 11))


@action("objects.answer_screen", may="hazard.report")
def answer_screen(act: Act, object_id: UUID, *, answers: Mapping[str, str], opens: Mapping[str, int] | None = None, full: bool = True) -> Screen:
    """Stores the answers and opens the hazards they point to; 'unsure' counts as suspected. Raises Invalid, NotFound.

    Answers to closer questions (1a, 9a) stand beside the ten. `opens` maps hazard code to level, as the rules read
    the answers; a hazard already at that level or above stays.
    """
    thing = _object(act, object_id)
    if not set(QUESTIONS) <= set(answers) or any(answer not in ANSWERS for answer in answers.values()):
        raise Invalid(_("All ten questions need an answer; 'unsure' is one."), field="screen")
    screen = Screen.objects.create(act_id=act.id, object=thing, answers=dict(answers), full=full, by_id=act.actor.person, recorded_at=act.now)
    act.wrote("screen.answered", screen, after={"answers": dict(answers)}, about=[("object", object_id)])
    known = _levels(object_id)
    for code, level in (opens or {}).items():
        if known.get(code, 0) < level:
            _store(act, thing, code, level, note=str(_("from the screen")))
    card.refresh([object_id])
    return screen


@action("objects.report_hazard", may="hazard.report")
def report_hazard(act: Act, object_id: UUID, *, code: str, level: int, zone: str = "", note: str = "") -> Hazard:
    """Tells of a danger, level 1 to 3; level 3 holds the object. It can only be lowered by closing it."""
    thing = _object(act, object_id)
    if level not in (1, 2, 3):
        raise Invalid(_("A danger has a level from 1 (suspected) to 3 (held)."), field="level")
    if _levels(object_id).get(code, 0) > level:
        raise Invalid(_("It stands at a higher level. A curator lowers it, with the evidence."), field="level")
    hazard = _store(act, thing, code, level, zone=zone, note=note)
    card.refresh([object_id])
    return hazard


@action("objects.settle_hazard", may="hazard.close")
def settle_hazard(act: Act, object_id: UUID, *, code: str, level: int, evidence: str) -> Hazard:
    """Closes (level 0) or lowers a danger, with the evidence: it never simply disappears."""
    thing = _object(act, object_id)
    if not evidence.strip():
        raise Invalid(_("Say what settles it: the analyst's finding, a test, a date."), field="evidence")
    if level not in (0, 1, 2) or code not in _levels(object_id):
        raise Invalid(_("There is no such danger on record here."), field="code")
    hazard = _store(act, thing, code, level, evidence=evidence.strip())
    card.refresh([object_id])
    return hazard


def _object(act: Act, object_id: UUID) -> Object:
    thing = Object.objects.visible_to(act.actor).filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    lock(f"object:{object_id}")
    return thing


def _levels(object_id: UUID) -> dict[str, int]:
    rows = Hazard.objects.filter(object_id=object_id, corrected_by=None, withdraws=False).order_by("recorded_at", "id")
    return dict(rows.values_list("code", "level"))


def _store(act: Act, thing: Object, code: str, level: int, *, zone: str = "", note: str = "", evidence: str = "") -> Hazard:
    hazard = Hazard.objects.create(
        act_id=act.id, object=thing, code=code, level=level, zone=zone, note=note, evidence=evidence, by_id=act.actor.person, recorded_at=act.now
    )
    act.wrote("hazard.told", hazard, after={"code": code, "level": level}, reason=evidence or note, about=[("object", thing.pk)])
    return hazard
