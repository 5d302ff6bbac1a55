"""The gate: may this person do this step on this surface of this zone today? One question, one answer with its reason.

The checks stand in a fixed order and the first that fails is the answer, with what to do instead and who can open
it. The order and the codes are ours; what a row rests on stands in its source.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from conservation.rules import contraindications, leave
from conservation.rules.contraindications import Surface
from conservation.rules.leave import Approval, Beside, Competence, House, Standing
from conservation.rules.reasons import Reason
from conservation.rules.treatment_tables import CONSERVATOR_ONLY, Prohibition, Step, TreatmentRules, Views
from conservation.rules.who import stands_below

ALLOWED: Final = "allowed"
REFUSED: Final = "refused"
STORED: Final = "stored"
WORK: Final = "work"
HOLD_LEVEL: Final = 3
CURATORS_LEVEL: Final = 2
UNDECIDED: Final = "undecided"
KEEP: Final = "keep"
KEEP_LOOSE_DUST: Final = "keep_loose_dust"
#: answers to the hazard screen that pass: given for this object, or those of its lot confirmed for it
SCREENED: Final = ("full", "confirmed")
#: pieces that may be worn once their screen is answered and left nothing open
FOR_HANDS: Final = ("handling", "prop")
WEAR: Final = "wear"
#: what is ticked where nobody has told whose it is
OWNER_ASKED: Final = "OWNER"


@dataclass(frozen=True, slots=True)
class Deposit:
    """A deposit of the zone: its kind, and the decision taken on this object (None = none yet)."""

    kind: str = ""
    decision: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """All that the gate looks at.

    `role` is the higher of role and qualification; `step` a code of the steps, or None for an act asked by its
    `agents`. `decides` = they are a curator, whom no refusal sends to one. `ours` = the object belongs to the society;
    None = nobody has told. `act` is work, place (moving, boxing, showing) or use (wearing, handling); `happened` = it has
    been done. `screen`: full, confirmed, missing or outdated.
    """

    day: date
    person: str
    role: str
    decides: bool = False
    zone: str
    surface: Surface
    zone_grade: int
    zone_activity: int
    step: str | None = None
    agents: frozenset[str] = frozenset()
    act: str = WORK
    happened: bool = False
    piece: str = "collection"
    ours: bool | None = True
    owner_consent: bool = False
    screen: str = "missing"
    deposits: Sequence[Deposit] = ()
    deposit_defaults: Mapping[str, str] = field(default_factory=dict)
    competence: Sequence[Competence] = ()
    beside: Beside | None = None
    approvals: Sequence[Approval] = ()
    standing: Sequence[Standing] = ()
    house: House = field(default_factory=House)

    @property
    def worst_hazard(self) -> int:
        """The highest level of the open hazards."""
        return max((hazard.level for hazard in self.surface.hazards), default=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the gate says.

    `code` names the gate that refuses (or the prohibition), `why` and `instead` say it in words, `opens` who can
    open it ('nobody' where nobody can); `shows` are the rows to be shown and ticked, `views` both sides of a
    disputed step; `asks_owner` = nobody has told whose it is, which is to be asked and ticked as well; `rests_on` is the
    leave that carries it: an approval of the zone, else a standing one; None where none is asked for.
    """

    result: str
    code: str | None = None
    why: Reason | None = None
    instead: Reason | None = None
    opens: str = ""
    prohibition: Prohibition | None = None
    shows: tuple[Prohibition, ...] = ()
    views: Views | None = None
    asks_owner: bool = False
    rests_on: Approval | Standing | None = None

    @property
    def allowed(self) -> bool:
        """Whether it may be done."""
        return self.result == ALLOWED


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A question with what the tables say of it."""

    question: Question
    rules: TreatmentRules
    step: Step | None
    agents: frozenset[str]
    matches: tuple[Prohibition, ...]

    @property
    def kind(self) -> str:
        """An act without a row is judged as cleaning."""
        return self.step.kind if self.step else "clean"

    @property
    def touches(self) -> bool:
        return self.kind in ("clean", "treat")

    @property
    def deed(self) -> str:
        """What an approval calls it: the step, or its agents."""
        return self.step.code if self.step else deed_of(self.agents)

    @property
    def danger(self) -> bool:
        return self.question.worst_hazard >= CURATORS_LEVEL


def deed_of(agents: frozenset[str]) -> str:
    """What an approval calls an act without a row."""
    return "+".join(sorted(agents))


def decide(question: Question, rules: TreatmentRules) -> Answer:
    """The answer to a question, by the tables given. Raises KeyError for a step that is not in the tables."""
    step = rules.steps[question.step] if question.step is not None else None
    agents = question.agents | (step.agents if step else frozenset())
    matches = contraindications.matching(question.surface, agents, rules)
    asked = _Asked(question=question, rules=rules, step=step, agents=agents, matches=_without_wear(question, matches))
    if question.act != WORK and question.happened:
        return Answer(result=STORED, shows=asked.matches)
    checks = CHECKS if question.act == WORK else PLACING_CHECKS
    for check in checks:
        if refusal := check(asked):
            return refusal
    return Answer(
        result=ALLOWED,
        shows=contraindications.cautions(asked.matches),
        views=step.disputed if step else None,
        asks_owner=question.act == WORK and asked.touches and question.ours is None and not question.owner_consent,
        rests_on=_leave_of(asked) or _standing(asked) if question.act == WORK and _asks_approval(asked) else None,
    )


def _without_wear(question: Question, matches: tuple[Prohibition, ...]) -> tuple[Prohibition, ...]:
    """A handling piece or prop may be worn once its screen is answered and left nothing open."""
    free = question.piece in FOR_HANDS and question.screen in SCREENED and not question.surface.open_hazards
    return tuple(row for row in matches if not (free and question.act != WORK and row.agents == {WEAR}))


def _refused(code: str, opens: str, /, **values: str | int) -> Answer:
    name = "gate_" + code.lower().replace("-", "_")
    return Answer(result=REFUSED, code=code, why=Reason(name, values), instead=Reason(f"{name}_instead", values), opens=opens)


def _worded(asked: _Asked, refused: Answer, /) -> Answer:
    """What a curator does instead, where others are sent to one."""
    if not asked.question.decides or refused.instead is None:
        return refused
    alone = refused.code == "APPROVAL" and leave.second_may_wait(asked.step, asked.question.day, asked.question.house, asked.rules.gate, danger=asked.danger)
    name = f"{refused.instead.code}_by_{'the_curator' if alone else 'a_curator'}"
    return replace(refused, instead=Reason(name, refused.instead.values))


def _hold(asked: _Asked) -> Answer | None:
    held = [hazard.code for hazard in asked.question.surface.hazards if hazard.level >= HOLD_LEVEL]
    if held and asked.kind != "safe":
        return _refused("HOLD", "licensed specialist", hazard=held[0])
    return None


def _owner(asked: _Asked) -> Answer | None:
    """Somebody else's thing waits for its owner. Where nobody has told whose it is, what any trained hand may do is asked about only."""
    question, step = asked.question, asked.step
    if not asked.touches or question.ours or question.owner_consent:
        return None
    if question.ours is None:
        modest = step is not None and (step.gentle or not stands_below("volunteer", step.who))
        return None if modest else replace(_refused("OWNER", "registrar"), why=Reason("gate_owner_untold"), instead=Reason("gate_owner_untold_instead"))
    return _refused("OWNER", "owner")


def _screen(asked: _Asked) -> Answer | None:
    if asked.touches and asked.question.screen not in SCREENED:
        return _refused("SCREEN", "volunteer", screen=asked.question.screen)
    return None


def _deposit(asked: _Asked) -> Answer | None:
    if not asked.touches:
        return None
    for decision in _decisions(asked):
        if _blocks(decision, asked):
            answer = _worded(asked, _refused("DEPOSIT", "curator", decision=decision))
            return replace(answer, prohibition=_of_deposits(asked.rules))
    return None


def _of_deposits(rules: TreatmentRules) -> Prohibition | None:
    """The row that speaks of any act on a deposit: it has no agents, for this gate enforces it."""
    own = frozenset({rules.gate.deposit_term})
    return next((row for row in rules.prohibitions if not row.agents and own in row.surfaces), None)


def _decisions(asked: _Asked) -> list[str]:
    """What stands for each deposit of the zone: the decision taken, else the society's default, else undecided."""
    question, numbers = asked.question, asked.rules.gate
    deposits = [*question.deposits]
    if not deposits and numbers.deposit_term in question.surface.terms:
        deposits = [Deposit(numbers.deposit_kinds[-1])]
    counted = [deposit for deposit in deposits if deposit.kind not in numbers.never_a_deposit]
    return [deposit.decision or question.deposit_defaults.get(deposit.kind, UNDECIDED) for deposit in counted if deposit.kind or deposit.decision]


def _blocks(decision: str, asked: _Asked) -> bool:
    if decision == KEEP:
        return asked.kind == "clean" or asked.question.role != "conservator"
    if decision == KEEP_LOOSE_DUST:
        return asked.kind == "clean" and asked.deed not in asked.rules.gate.dusting
    return decision == UNDECIDED


def _prohibited(asked: _Asked) -> Answer | None:
    row = contraindications.refusing(asked.matches, asked.question.role)
    if row is None:
        return None
    opens = "conservator" if row.severity == CONSERVATOR_ONLY else "nobody"
    return Answer(
        result=REFUSED,
        code=row.code,
        why=Reason("gate_cx", {"what": row.what, "why": row.why, "material": row.material}),
        instead=Reason("gate_cx_instead", {"instead": row.instead}),
        opens=opens,
        prohibition=row,
    )


def _no_rule(asked: _Asked) -> Answer | None:
    """No row, or a row to which something was added that is not in it."""
    added = asked.agents - (asked.step.agents if asked.step else frozenset())
    if asked.question.role != "conservator" and (asked.step is None or added):
        return _refused("NO-RULE", "conservator", agents=", ".join(sorted(added)))
    return None


def _unfit(asked: _Asked) -> Answer | None:
    code = contraindications.unfit(asked.step, asked.question.surface) if asked.step else None
    return _refused("UNFIT", "conservator", step=asked.deed, code=code) if code else None


def _role(asked: _Asked) -> Answer | None:
    question, step = asked.question, asked.step
    if step is None:
        return None
    if (question.role, step.kind == "safe") in (("licensed specialist", False), ("conservator", True)):
        return _refused("ROLE", step.who, step=step.code, who=step.who)
    if stands_below(question.role, step.who) and not (step.gentle and _shown(asked, step)):
        return _refused("ROLE", step.who, step=step.code, who=step.who)
    if asked.danger and stands_below(question.role, "curator"):
        return _refused("ROLE", "curator", step=step.code, who="curator")
    return None


def _competence(asked: _Asked) -> Answer | None:
    step = asked.step
    if step is None or not step.competence or asked.question.role == "conservator" or _shown(asked, step):
        return None
    return _refused("COMPETENCE", "competent person", step=step.code)


def _shown(asked: _Asked, step: Step) -> bool:
    """Whether the person is competent for the step or, for a gentle one, has somebody beside who is."""
    question = asked.question
    is_curator = question.role == "curator"
    if any(_in_force(asked, step, record, question.person, is_curator=is_curator) for record in question.competence):
        return True
    beside = question.beside
    if beside is None or not step.gentle or beside.person in ("", question.person):
        return False
    return beside.role == "conservator" or _in_force(asked, step, beside.record, beside.person, is_curator=beside.role == "curator")


def _in_force(asked: _Asked, step: Step, record: Competence | None, person: str, *, is_curator: bool) -> bool:
    question = asked.question
    return leave.competent(record, step, person, question.day, question.house, asked.rules.gate, is_curator=is_curator, danger=asked.danger)


def _approval(asked: _Asked) -> Answer | None:
    if not _asks_approval(asked) or _standing(asked):
        return None
    faults = [_fault(asked, approval) for approval in asked.question.approvals]
    if None in faults:
        return None
    return _worded(asked, _refused("APPROVAL", "curator", step=asked.deed, fault=faults[-1] if faults and faults[-1] else "none"))


def _asks_approval(asked: _Asked) -> bool:
    """Cleaning and treating above what any volunteer may do; a step marked gentle is a curator's still."""
    return asked.touches and (asked.step is None or stands_below("volunteer", asked.step.who))


def _standing(asked: _Asked) -> Standing | None:
    """The standing approval that covers it; of several the latest."""
    question, step = asked.question, asked.step
    if step is None:
        return None

    def covers(one: Standing) -> bool:
        return leave.standing_covers(
            one, step=step, person=question.person, material=question.surface.material, grade=question.zone_grade, day=question.day, house=question.house,
            numbers=asked.rules.gate,
        )  # fmt: skip

    return max(filter(covers, question.standing), key=lambda one: (one.on, one.key), default=None)


def _fault(asked: _Asked, approval: Approval) -> str | None:
    question = asked.question
    return leave.approval_fault(
        approval,
        deed=asked.deed,
        step=asked.step,
        zone=question.zone,
        grade=question.zone_grade,
        activity=question.zone_activity,
        day=question.day,
        numbers=asked.rules.gate,
    )


def _second(asked: _Asked) -> Answer | None:
    if not _asks_approval(asked) or _standing(asked) or _leave_of(asked):
        return None
    return _refused("SECOND", "another person", step=asked.deed)


def _leave_of(asked: _Asked) -> Approval | None:
    """The approval in force with its two people, or whose second may wait; of several the latest."""
    question, numbers = asked.question, asked.rules.gate
    good = [
        approval
        for approval in question.approvals
        if _fault(asked, approval) is None
        and (leave.countersigned(approval, question.day) or leave.second_may_wait(asked.step, approval.on, question.house, numbers, danger=asked.danger))
    ]
    return max(good, key=lambda approval: (approval.on, approval.key), default=None)


#: in this order; the first that refuses is the answer
CHECKS: Final[Sequence[Callable[[_Asked], Answer | None]]] = (
    _hold,
    _owner,
    _screen,
    _deposit,
    _prohibited,
    _no_rule,
    _unfit,
    _role,
    _competence,
    _approval,
    _second,
)
#: placing and use ask for no row, role or approval
PLACING_CHECKS: Final[Sequence[Callable[[_Asked], Answer | None]]] = (_hold, _prohibited)
