"""One afternoon at the bench: a step tried on a practice piece; several signed off at once, each a record of its own, checked against the tables."""

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.dangers import DANGERS
from conservation.rules.leave import same_day_later, second_may_wait
from conservation.rules.tables import suspected, unanswered
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from conservation.treatments.asking import house_of
from conservation.treatments.models import Practice
from conservation.treatments.refusal import own_refusal
from museum.errors import Invalid, NotFound
from museum.people import actions as people
from museum.people.action import Act, action
from museum.people.models import Person


@action("treatments.sign_off", may="competence.show")
def sign_off(act: Act, person_id: UUID, steps: Sequence[str], *, shown_by: UUID, on: date, valid_to: date | None = None, evidence: str = "") -> list[str]:
    """Puts on file that a person was shown these steps. Without a last day they hold for the years of the table. Answers their keys."""
    last = valid_to or _last(on)
    rows = [people.record_shown(act, person_id, step, shown_by=shown_by, on=on, valid_to=last, evidence=evidence) for step in _known(steps)]
    return [str(row.pk) for row in rows]


@action("treatments.tell_practice", may="competence.show")
def tell_practice(
    act: Act, person_id: UUID, steps: Sequence[str], *, on: date, practice: str, valid_to: date | None = None, second_later: bool = False
) -> list[str]:
    """Puts on file what a person has long done; another person signs. Answers the keys."""
    known, last = _known(steps), valid_to or _last(on)
    if second_later:
        _demand_may_wait(known, on)
    rows = [people.record_practice(act, person_id, step, on=on, valid_to=last, practice=practice, second_later=second_later) for step in known]
    return [str(row.pk) for row in rows]


def _known(steps: Sequence[str]) -> list[str]:
    wanted = list(dict.fromkeys(steps))
    if not wanted:
        raise Invalid(_("Say what was shown: at least one line."), field="steps")
    known = {one.code for one in learning.subjects()}
    for step in wanted:
        if step not in known:
            raise Invalid(_("'%(step)s' asks for no competence; there is nothing to put on file."), field="steps", step=step)
    return wanted


def _last(on: date) -> date:
    return same_day_later(on, years=treatment_rules_in_force().gate.competence_years)


def _demand_may_wait(steps: Sequence[str], on: date) -> None:
    rules, house = treatment_rules_in_force(), house_of()
    for step in steps:
        if not second_may_wait(rules.steps.get(step), on, house, rules.gate, danger=False):
            raise Invalid(
                _("The second signature cannot wait for '%(step)s': there is another curator, or an earlier one has waited too long."),
                field="second_later", step=step,
            )  # fmt: skip


@action("treatments.tell_try", may="competence.show")
def tell_try(
    act: Act, step: str, *, practice_id: UUID, piece: str, screen: Mapping[str, str], went: str = "", beside: UUID | None = None
) -> Practice:  # fmt: skip
    """Writes down that a step was tried on a practice piece, outside the gates but for the screen: the piece answers the ten questions with 'no'.

    It is no competence: a teacher signs off afterwards. Repeatable by the act's key. Raises Invalid, Refused.
    """
    if learning.lesson_of(step) is None:
        raise Invalid(_("There is no lesson for '%(step)s'."), field="step", step=step)
    if not piece.strip():
        raise Invalid(_("Say what it was tried on."), field="piece")
    if missing := unanswered(screen):
        raise Invalid(_("Not answered yet: %(missing)s. The ten questions come before the piece is touched."), field="screen", missing=", ".join(missing))
    if dangers := suspected(screen):
        raise own_refusal("PIECE", dangers="; ".join(str(DANGERS.get(code, code)) for code in dangers))
    row = Practice.objects.create(
        id=practice_id, act_id=act.id, person_id=act.actor.someone, step=step, piece=piece.strip(), screen=dict(screen), beside=_another(act, beside),
        went=went.strip(), recorded_at=act.now, happened_at=act.now,
    )  # fmt: skip
    act.wrote("practice.told", row, after={"step": step, "piece": row.piece}, about=[("person", act.actor.someone)])
    return row


def _another(act: Act, beside: UUID | None) -> Person | None:
    if beside is None:
        return None
    person = Person.objects.filter(pk=beside).first()
    if person is None or not person.is_active:
        raise NotFound
    if person.pk == act.actor.someone:
        raise Invalid(_("Name another person; nobody shows a step to themselves."), field="beside")
    return person
