"""The ten questions asked beside a check: for one thing anew, for a lot once, confirmed from its lot in one act."""

from collections.abc import Mapping
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.actions.common import visible_object
from collection.objects.actions.screens import answer_lot, answer_screen, confirm_screen, open_whole
from collection.objects.models import LotScreen, Opening, Screen
from collection.objects.queries import material_words
from collection.objects.screens import ASKED_OF, denied_by
from conservation.rules.tables import contradicted, suspected, unanswered
from museum.errors import Invalid, NotFound
from museum.people.action import Act, action

#: what is answered of one thing of a lot, with the lot's answers in hand
SAME, DIFFERS, UNSURE = "same", "differs", "unsure"


@action("checks.answer_ten", may="hazard.report")
def answer_ten(act: Act, object_id: UUID, *, answers: Mapping[str, str]) -> Screen:
    """Answers the ten questions for one thing as it lies there now; what they point to is opened. Raises Invalid, NotFound.

    A 'no' to what the record tells is asked about, not stored.
    """
    demand_whole(answers)
    demand_as_recorded(visible_object(act, object_id).pk, answers)
    return answer_screen(act, object_id, answers=answers, opens=suspected(answers))


@action("checks.answer_ten_of_lot", may="hazard.report")
def answer_ten_of_lot(act: Act, lot_id: UUID, *, name: str, answers: Mapping[str, str], kind: str = "", corrects: UUID | None = None) -> LotScreen:
    """Answers them once for a lot or kind; each thing of it is then looked at and confirmed. Raises Invalid, NotFound."""
    demand_whole(answers)
    return answer_lot(act, lot_id, name=name, answers=answers, kind=kind, corrects=corrects)


@action("checks.confirm_from_lot", may="hazard.report")
def confirm_from_lot(act: Act, object_id: UUID, *, lot_id: UUID, looked: str, note: str = "") -> Screen | Opening:
    """What a look at one thing says of its lot's answers: 'same' confirms them, 'differs' and 'unsure' open the ten whole.

    Raises Invalid, NotFound.
    """
    if looked not in (SAME, DIFFERS, UNSURE):
        raise Invalid(_("Say whether it is the same as its lot, differs, or whether you are unsure."), field="looked")
    if looked != SAME:
        return open_whole(act, object_id, lot_id=lot_id, unsure=looked == UNSURE, note=note)
    lot = LotScreen.objects.filter(pk=lot_id).first()
    if lot is None:
        raise NotFound
    return confirm_screen(act, object_id, lot_id=lot_id, opens=suspected(lot.answers))


def demand_as_recorded(object_id: UUID, answers: Mapping[str, str]) -> None:
    """Raises Invalid where a 'no' speaks against a material of the thing's record."""
    if denied := denied_by(object_id, answers):
        raise Invalid(
            _(
                "Its record says %(materials)s, and the answer to question %(numbers)s is ‘no’. Look once more: ‘unsure’ is an answer. "
                "If there is none, take it off the record first, then answer."
            ),
            field="screen", materials=", ".join(material_words(denied)), numbers=", ".join(sorted({ASKED_OF[material] for material in denied}, key=int)),
        )  # fmt: skip


def demand_whole(answers: Mapping[str, str]) -> None:
    """Raises Invalid where one of the ten, or a closer one, is not answered, or a closer one speaks against its own."""
    if missing := unanswered(answers):
        raise Invalid(_("Not answered yet: %(missing)s. 'Unsure' is an answer."), field="screen", missing=", ".join(missing))
    if against := contradicted(answers):
        raise Invalid(
            _("What was answered to %(closer)s does not go with ‘no’ to the question before it: look once more. ‘Unsure’ is an answer."),
            field="screen", closer=", ".join(against),
        )  # fmt: skip
