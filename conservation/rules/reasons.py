"""Why a judgement says what it says: codes with values, and the sentence made of them when shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final


def gettext_noop(text: str) -> str:
    """Marks a template for the translators; it is translated where it is shown."""
    return text


#: code to template with named places
SENTENCES: Final[Mapping[str, str]] = {
    "no_finding": gettext_noop("no finding"),
    "finding": gettext_noop("%(zone)s %(term)s %(percent)s %%, S%(severity)s, A%(activity)s: grade %(grade)s"),
    "forced": gettext_noop("%(zone)s %(term)s counts as activity %(activity)s whatever was entered"),
    "never_below": gettext_noop("%(zone)s %(term)s is never below activity %(activity)s"),
    "floor": gettext_noop("%(zone)s %(term)s: activity %(activity)s makes it at least %(grade)s"),
    "secondary": gettext_noop("%(zone)s, grade %(grade)s, counts as %(cap)s towards the whole: a small part"),
    "base": gettext_noop("base urgency %(urgency)s"),
    "base_finding": gettext_noop("%(zone)s %(term)s, grade %(grade)s, A%(activity)s: urgency %(urgency)s"),
    "planned_use": gettext_noop("%(kind)s planned in %(days)s days"),
    "significance": gettext_noop("high significance"),
    "loose_part": gettext_noop("a loose part is not secured"),
    "escalated": gettext_noop("escalated once"),
    "hold": gettext_noop("hazard hold"),
    "forcing_term": gettext_noop("a finding that always means urgency 3"),
    "wet": gettext_noop("it is wet"),
    "loan_return": gettext_noop("new damage found on a loan's return: at least %(urgency)s"),
    "overruled": gettext_noop("overruled by a person: %(value)s in force instead of %(computed)s"),
    "not_overruled": gettext_noop("a number does not overrule this: change the finding or close the hazard"),
    "grade_days": gettext_noop("grade %(grade)s: within %(days)s days"),
    "material_days": gettext_noop("%(material)s: at most %(days)s days"),
    "activity_days": gettext_noop("activity %(activity)s: at most %(days)s days"),
    "place_days": gettext_noop("%(place)s: at most %(days)s days"),
    "hold_days": gettext_noop("hazard hold: at most %(days)s days, the container only, not opened"),
    "full_days": gettext_noop("full check every %(days)s days"),
    "ceiling_days": gettext_noop("never more than %(days)s days"),
    "mould_look": gettext_noop("mould check within %(days)s days (dose %(dose)s)"),
    "mould_presume": gettext_noop("presume mould and check the same day (dose %(dose)s)"),
    "follow_up": gettext_noop("after %(kind)s: look again on day %(days)s"),
    "asks": gettext_noop("%(zone)s %(term)s: a %(who)s decides"),
    "asks_hold": gettext_noop("hazard hold: a licensed specialist"),
    "asks_hazard": gettext_noop("an open hazard of level 2: a curator"),
    "asks_urgency": gettext_noop("urgency %(urgency)s: a %(who)s"),
    "asks_event": gettext_noop("an event asks for a look: a curator"),
    "asks_loan_return": gettext_noop("new damage on a loan's return: a curator"),
    "gate_hold": gettext_noop("a hold stands for %(hazard)s: nobody works on it"),
    "gate_hold_instead": gettext_noop("make it safe, label it, keep people away; qualified or licensed help comes next"),
    "gate_owner": gettext_noop("it is not ours, and its owner has not given leave in writing"),
    "gate_owner_instead": gettext_noop("ask the owner in writing; look, support and box it meanwhile"),
    "gate_owner_untold": gettext_noop("nobody has told whose it is, and this step goes further than any trained hand may"),
    "gate_owner_untold_instead": gettext_noop("tell on its record whose it is; look, support, box and dust it meanwhile"),
    "gate_owner_asked": gettext_noop("Nobody has told whose this is. As far as you know it is the society's own, or its owner has agreed."),
    "gate_screen": gettext_noop("the hazard screen is %(screen)s"),
    "gate_screen_instead": gettext_noop("answer the hazard screen for this object as it lies open now"),
    "gate_deposit": gettext_noop("a deposit on this zone stands at '%(decision)s'"),
    "gate_deposit_instead": gettext_noop("record it and keep it dry; a curator decides what becomes of it"),
    "gate_deposit_instead_by_a_curator": gettext_noop("decide what becomes of it, with your reason; keep it dry until then"),
    "gate_cx": gettext_noop("%(what)s on %(material)s: %(why)s"),
    "gate_cx_instead": gettext_noop("%(instead)s"),
    "gate_no_rule": gettext_noop("no step of the tables brings %(agents)s here"),
    "gate_no_rule_instead": gettext_noop("choose a step of the tables, or ask a conservator"),
    "gate_unfit": gettext_noop("%(step)s is not for this surface: %(code)s"),
    "gate_unfit_instead": gettext_noop("choose another step for this surface, or ask a conservator"),
    "gate_role": gettext_noop("%(step)s is done by a %(who)s"),
    "gate_role_instead": gettext_noop("ask a %(who)s; photograph it, support it and box it meanwhile"),
    "gate_competence": gettext_noop("nobody has shown this person %(step)s, or the record has ended"),
    "gate_competence_instead": gettext_noop("let somebody who is competent show it on a practice piece, and put it on file"),
    "gate_approval": gettext_noop("no approval in force covers %(step)s on this zone today (%(fault)s)"),
    "gate_approval_instead": gettext_noop("send a proposal to the curator; support and box it meanwhile"),
    "gate_approval_instead_by_a_curator": gettext_noop(
        "write a proposal, or let somebody else write one: of two people one proposes and another approves; support and box it meanwhile"
    ),
    "gate_approval_instead_by_the_curator": gettext_noop(
        "write a proposal and approve it; where you proposed it yourself, a second person signs later; support and box it meanwhile"
    ),
    "gate_second": gettext_noop("the approval of %(step)s waits for a second person"),
    "gate_second_instead": gettext_noop("ask another person to countersign it"),
    "placing_row": gettext_noop("%(what)s: %(why)s"),
    "placing_neighbour": gettext_noop("%(emitter)s gives off %(vapour)s, from which %(sufferer)s suffers in a closed box"),
    "placing_neighbour_instead": gettext_noop("give one of the two a box of its own, vented"),
    "placing_floor": gettext_noop("it stands less than %(least)s cm off the floor"),
    "placing_floor_instead": gettext_noop("raise it to %(least)s cm or more: a leak reaches the floor first"),
    "placing_clearance": gettext_noop("less than %(least)s mm of free air round it"),
    "placing_clearance_instead": gettext_noop("choose a box with %(least)s mm of free air all round"),
    "placing_clearance_above": gettext_noop("less than %(least)s mm of free air above it"),
    "placing_clearance_above_instead": gettext_noop("choose a box with %(least)s mm of free air above it"),
    "placing_heavy": gettext_noop("it weighs %(kilograms)s kg"),
    "placing_heavy_instead": gettext_noop("two people, or a trolley, and a base tray with hand-holds (TR57)"),
    "placing_humidity": gettext_noop("RH conflict: no humidity suits both %(one)s and %(other)s"),
    "placing_humidity_beside": gettext_noop("RH conflict in one box or case: no humidity suits both %(one)s here and %(other)s of what lies beside it"),
    "placing_humidity_beside_instead": gettext_noop(
        "give one of the two a box of its own; choose no humidity yourself: a conservator says which, and whether they may share"
    ),
    "placing_humidity_instead": gettext_noop("choose none yourself: a conservator parts them, makes a dry pocket, or accepts and watches"),
    "asks_nothing": gettext_noop("nothing asks for more than a volunteer"),
}


def as_it_is(text: str) -> str:
    """The template in English."""
    return text


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: a code of SENTENCES and its values, all plain enough for JSON."""

    code: str
    values: Mapping[str, str | int] = field(default_factory=dict)

    def sentence(self, translate: Callable[[str], str] = as_it_is, **words: str) -> str:
        """In words; `words` replaces values by what people call them, for instance zone='rim'."""
        return translate(SENTENCES[self.code]) % {**self.values, **words}
