"""The gate thrown about: whatever is asked, what it lets pass has its leave. The rules are stated here once more, apart."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conservation.rules.contraindications import Found, Surface
from conservation.rules.gate import Deposit, Question, decide
from conservation.rules.grading import Hazard
from conservation.rules.leave import Approval, Beside, Competence, House, Standing, same_day_later
from conservation.rules.treatment_tables import Step, shipped

RULES = shipped()
DAY = date(2025, 6, 1)
PEOPLE = ("ines", "karl", "mina")
ROLES = ("volunteer", "registrar", "curator", "conservator", "licensed specialist")
NEVER = ("house_dust", "rust_powder", "pest_remains", "mould", "copper_soap")
CODES = sorted(RULES.steps)
TOUCHING = [code for code in CODES if RULES.steps[code].touches and RULES.steps[code].who != "volunteer"]
DAYS = st.integers(-800, 400).map(lambda days: DAY + timedelta(days=days))
MATERIALS = st.frozensets(st.sampled_from(["steel", "paint", "leather", "copper_alloy", "decal", "felt", "glass"]), max_size=3)


def mostly(good: Any, other: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """What lets pass, and about every eighth time anything."""
    return st.integers(0, 7).flatmap(lambda n: other if n == 0 else st.just(good))


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """Anything that can be asked; most of it comes near to being let through, else the gate would hardly be tried."""
    code = draw(mostly(draw(st.sampled_from(TOUCHING)), st.none() | st.sampled_from(CODES)))
    step = RULES.steps[str(code)] if code else None
    material = draw(st.sampled_from(sorted(step.surfaces) if step and step.surfaces else ["glass", "leather", "steel"]))
    zone = draw(mostly(frozenset(), MATERIALS)) | {material}
    likely = sorted(step.terms) if step and step.terms else ["DUST"]
    finding = st.builds(Found, st.sampled_from([*likely, "SIGNIF_DEPOSIT", "RED_ROT"]), st.none() | st.integers(0, 3))
    hazard = st.builds(Hazard, st.sampled_from(["LEAD_PAINT", "PESTICIDE", "RADIOACTIVE"]), st.integers(0, 3))
    named = str(code or "wax")
    question = Question(
        day=DAY,
        person="mina",
        role=step.who if step else "conservator",
        zone="SH",
        surface=Surface(
            material=material,
            zone_materials=zone,
            object_materials=zone | draw(mostly(frozenset(), MATERIALS)),
            findings=tuple(draw(mostly((Found(likely[0], 0),), st.lists(finding, max_size=2)))),
            hazards=tuple(draw(mostly((), st.lists(hazard, max_size=1)))),
        ),
        zone_grade=1,
        zone_activity=0,
        step=str(code) if code else None,
        agents=frozenset() if code else draw(mostly(frozenset({"wax"}), st.frozensets(st.sampled_from(sorted(RULES.agents)), min_size=1, max_size=2))),
        screen="full",
        competence=[Competence(step=named, person="mina", shown_by="karl", on=date(2025, 1, 5))],
        approvals=[replace(APPROVED, step=named, zone="SH", zone_grade=1, zone_activity=0, conservator_proposal=True, reason="because")],
    )
    others: dict[str, st.SearchStrategy[Any]] = {
        "person": st.sampled_from(PEOPLE),
        "role": st.sampled_from(ROLES),
        "zone_grade": st.integers(0, 3),
        "zone_activity": st.integers(0, 1),
        "ours": st.sampled_from([True, False, None]),
        "owner_consent": st.booleans(),
        "screen": st.sampled_from(["confirmed", "missing", "outdated"]),
        "deposits": st.lists(deposits(), max_size=1),
        "deposit_defaults": st.sampled_from([{"mud": "remove"}, {"mud": "keep"}]),
        "competence": st.lists(competences(named), max_size=2),
        "beside": st.builds(Beside, person=st.sampled_from(PEOPLE), role=st.sampled_from(ROLES), record=st.none() | competences(named)),
        "approvals": st.lists(approvals(named), max_size=2),
        "standing": st.lists(standings(named, material), min_size=1, max_size=1),
        "house": st.builds(House, curators=st.integers(1, 2), open_second=st.lists(DAYS, max_size=1)),
    }
    changed = draw(st.lists(st.sampled_from(sorted(others)), max_size=3, unique=True))
    return replace(question, **{name: draw(others[name]) for name in changed})


def deposits() -> st.SearchStrategy[Deposit]:
    decisions = st.sampled_from([None, "undecided", "keep", "keep_loose_dust", "sample_and_remove", "remove"])
    return st.builds(Deposit, st.sampled_from(["", "mud", "coal_dust", "rust_powder"]), decisions)


def competences(code: str) -> st.SearchStrategy[Competence]:
    return st.builds(
        Competence,
        step=st.sampled_from([code, code, "TR99"]),
        person=st.sampled_from(PEOPLE),
        on=DAYS,
        shown_by=st.sampled_from(["", *PEOPLE]),
        prior_practice=st.sampled_from(["", "six years"]),
        signed_by=st.sampled_from(["", *PEOPLE]),
        second_later=st.booleans(),
    )


@st.composite
def approvals(draw: st.DrawFn, code: str) -> Approval:
    """A good one with up to three things about it otherwise."""
    good = replace(APPROVED, step=code, zone="SH", zone_grade=1, zone_activity=0, conservator_proposal=True, reason="because")
    others: dict[str, st.SearchStrategy[Any]] = {
        "step": st.just("TR99"),
        "zone": st.just("BR"),
        "proposed_by": st.just("karl"),
        "approver_role": st.sampled_from(["volunteer", "board"]),
        "on": st.sampled_from([date(2024, 1, 10), date(2025, 6, 2)]),
        "valid_to": st.sampled_from([date(2025, 5, 31), date(2026, 1, 11)]),
        "zone_grade": st.integers(0, 3),
        "zone_activity": st.integers(0, 1),
        "conservator_proposal": st.just(False),
        "reason": st.just(""),
        "countersigned_by": st.sampled_from(PEOPLE),
        "countersigned_on": st.sampled_from([date(2025, 2, 1), date(2025, 7, 1)]),
    }
    changed = draw(st.lists(st.sampled_from(sorted(others)), max_size=3, unique=True))
    return replace(good, second_later=draw(st.booleans()), **{name: draw(others[name]) for name in changed})


def standings(code: str, material: str) -> st.SearchStrategy[Standing]:
    return st.builds(
        Standing,
        person=st.sampled_from(PEOPLE),
        step=st.sampled_from([code, code, "TR99"]),
        material=st.sampled_from([material, material, "felt"]),
        given_by=st.sampled_from(PEOPLE),
        giver_role=st.sampled_from(["curator", "board", "volunteer"]),
        on=st.sampled_from([date(2025, 2, 1), date(2024, 2, 1)]),
        valid_to=st.sampled_from([date(2026, 1, 31), date(2025, 5, 31)]),
    )


@settings(max_examples=1500, deadline=None)
@given(questions())
def test_what_is_let_pass_has_its_leave(question: Question) -> None:
    answer = decide(question, RULES)
    if not answer.allowed:
        assert answer.code
        assert answer.opens
        return
    step = RULES.steps[question.step] if question.step else None
    worst = max((hazard.level for hazard in question.surface.hazards), default=0)
    assert worst < 3 or (step is not None and step.kind == "safe"), "a hold stands"
    if worst == 2:
        assert question.role not in ("volunteer", "registrar")
    assert_may_do_it(question, step)
    if step is None or step.kind in ("clean", "treat"):
        modest = step is not None and (step.gentle or step.who == "volunteer")
        assert question.ours or question.owner_consent or (question.ours is None and modest)
        assert answer.asks_owner == (question.ours is None and not question.owner_consent)
        assert question.screen in ("full", "confirmed")
        assert_deposits_decided(question, step.kind if step else "clean", step.code if step else "")
        if step is None or step.who != "volunteer":
            assert by_standing(question) or any(is_leave(question, one, worst) for one in question.approvals), "no leave"


def assert_may_do_it(question: Question, step: Step | None) -> None:
    """High enough, or shown, or beside somebody who was; an act without a row is a conservator's."""
    if step is None:
        assert question.role == "conservator"
        return
    own = [record for record in question.competence if record.person == question.person]
    beside = question.beside if question.beside and question.beside.person != question.person and step.gentle else None
    records = [record for record in [*own, beside.record if beside else None] if record and record.step == step.code]
    shown = bool(records) or (beside is not None and beside.role == "conservator")
    above = {"volunteer": ROLES, "curator": ROLES[2:], "conservator": ROLES[3:]}[step.who]
    assert question.role in above or (step.gentle and shown)
    assert not step.competence or shown or question.role == "conservator"
    assert (question.role == "licensed specialist") <= (step.kind == "safe") <= (question.role != "conservator")


def assert_deposits_decided(question: Question, kind: str, code: str) -> None:
    for deposit in question.deposits:
        if deposit.kind not in NEVER and (deposit.kind or deposit.decision):
            decision = deposit.decision or question.deposit_defaults.get(deposit.kind, "undecided")
            assert decision != "undecided"
            assert decision != "keep" or (kind == "treat" and question.role == "conservator")
            assert decision != "keep_loose_dust" or kind == "treat" or code in ("TR03", "TR04")
    assert question.deposits or "SIGNIF_DEPOSIT" not in question.surface.terms


def by_standing(question: Question) -> bool:
    step = RULES.steps[question.step] if question.step else None
    return any(
        step is not None
        and step.gentle
        and not step.disputed
        and question.zone_grade <= 2
        and one.person == question.person != one.given_by
        and (one.step, one.material) == (step.code, question.surface.material)
        and (one.giver_role == "curator" or (one.giver_role == "board" and question.house.curators == 1))
        and one.on <= DAY <= one.valid_to
        for one in question.standing
    )


def is_leave(question: Question, one: Approval, worst: int) -> bool:
    """An approval in force: two people, or 'second person later' where it may be."""
    step = RULES.steps[question.step] if question.step else None
    in_force = (
        one.zone == question.zone
        and one.step == (question.step or "+".join(sorted(question.agents)))
        and one.approver_role == "curator"
        and one.on <= DAY <= one.valid_to <= date(one.on.year + 1, one.on.month, one.on.day)
        and (one.zone_grade, one.zone_activity) == (question.zone_grade, question.zone_activity)
        and (one.conservator_proposal or (step is not None and step.who != "conservator"))
        and (bool(one.reason) or step is None or not step.disputed)
    )
    if not one.second_later:
        return in_force and one.proposed_by != one.approved_by
    signed = one.countersigned_by not in ("", one.approved_by) and one.countersigned_on is not None and one.countersigned_on <= DAY
    waiting = any((one.on - day).days > 90 for day in question.house.open_second)
    may_wait = question.house.curators == 1 and step is not None and step.who == "curator" and worst < 2 and not waiting
    return in_force and (signed or may_wait)


# The edges in words


def asking(**more: Any) -> Question:
    """Loose rust by the curator ines, proposed by her and approved by karl."""
    steel = Surface(material="steel", zone_materials=frozenset({"steel"}), object_materials=frozenset({"steel"}), findings=(Found("RUST_SPOT", 2),))
    question = Question(
        day=DAY,
        person="ines",
        role="curator",
        zone="RB",
        surface=steel,
        zone_grade=2,
        zone_activity=2,
        step="TR14",
        screen="full",
        competence=[Competence(step="TR14", person="ines", shown_by="karl", on=date(2025, 1, 5))],
        approvals=[APPROVED],
    )
    return replace(question, **more)


APPROVED = Approval(
    step="TR14",
    zone="RB",
    proposed_by="ines",
    approved_by="karl",
    approver_role="curator",
    on=date(2024, 6, 1),
    valid_to=date(2025, 6, 1),
    zone_grade=2,
    zone_activity=2,
)
SOLO = replace(APPROVED, approved_by="ines", second_later=True)
ONE_CURATOR = House(curators=1)


@pytest.mark.parametrize(
    ("approval", "code"),
    [
        (APPROVED, None),
        (replace(APPROVED, valid_to=date(2025, 5, 31)), "APPROVAL"),
        (replace(APPROVED, on=date(2024, 5, 31)), "APPROVAL"),
        (replace(APPROVED, on=date(2025, 6, 2), valid_to=date(2025, 7, 1)), "APPROVAL"),
        (replace(APPROVED, approved_by="ines"), "APPROVAL"),
        (replace(APPROVED, approver_role="board"), "APPROVAL"),
        (replace(APPROVED, zone="SH"), "APPROVAL"),
        (replace(APPROVED, zone_grade=1), "APPROVAL"),
        (replace(APPROVED, zone_activity=1), "APPROVAL"),
        (SOLO, "SECOND"),
        (replace(SOLO, countersigned_by="karl", countersigned_on=DAY), None),
        (replace(SOLO, countersigned_by="ines", countersigned_on=DAY), "SECOND"),
        (replace(SOLO, countersigned_by="karl", countersigned_on=date(2025, 6, 2)), "SECOND"),
    ],
)
def test_an_approval_in_a_society_of_two_curators(approval: Approval, code: str | None) -> None:
    assert decide(asking(approvals=[approval]), RULES).code == code


def test_one_good_approval_among_lapsed_ones_is_enough() -> None:
    assert decide(asking(approvals=[replace(APPROVED, zone_grade=1), APPROVED, SOLO]), RULES).allowed


@pytest.mark.parametrize(("waiting_days", "code"), [(90, None), (91, "SECOND")])
def test_second_person_later_where_there_is_one_curator(waiting_days: int, code: str | None) -> None:
    house = House(curators=1, open_second=[SOLO.on - timedelta(days=waiting_days)])
    assert decide(asking(approvals=[SOLO], house=house), RULES).code == code


def test_second_person_later_is_not_for_danger() -> None:
    dangerous = replace(asking().surface, hazards=(Hazard("LEAD_PAINT", 2),))
    assert decide(asking(approvals=[SOLO], house=ONE_CURATOR), RULES).allowed
    assert decide(asking(approvals=[SOLO], house=ONE_CURATOR, surface=dangerous), RULES).code == "SECOND"


@pytest.mark.parametrize(
    ("record", "code"),
    [
        (Competence(step="TR14", person="ines", shown_by="karl", on=date(2022, 6, 1)), None),
        (Competence(step="TR14", person="ines", shown_by="karl", on=date(2022, 5, 31)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", shown_by="karl", on=date(2025, 6, 2)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", shown_by="ines", on=date(2025, 1, 1)), "COMPETENCE"),
        (Competence(step="TR10", person="ines", shown_by="karl", on=date(2025, 1, 1)), "COMPETENCE"),
        (Competence(step="TR14", person="mina", shown_by="karl", on=date(2025, 1, 1)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", shown_by="karl", on=date(2025, 1, 1), valid_to=date(2025, 5, 31)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", prior_practice=" ", signed_by="karl", on=date(2025, 1, 1)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", prior_practice="six years", signed_by="ines", on=date(2025, 1, 1)), "COMPETENCE"),
        (Competence(step="TR14", person="ines", prior_practice="six years", signed_by="karl", on=date(2025, 1, 1)), None),
        (Competence(step="TR14", person="ines", prior_practice="six years", second_later=True, on=date(2025, 1, 1)), "COMPETENCE"),
    ],
)
def test_competence(record: Competence, code: str | None) -> None:
    assert decide(asking(competence=[record]), RULES).code == code


def test_prior_practice_of_the_only_curator_may_wait_for_its_second_signature() -> None:
    record = Competence(step="TR14", person="ines", prior_practice="six years", second_later=True, on=date(2025, 1, 1))
    assert decide(asking(competence=[record], house=ONE_CURATOR), RULES).allowed


@pytest.mark.parametrize(
    ("beside", "code"),
    [
        (Beside(person="karl", role="conservator"), None),
        (Beside(person="karl", record=Competence(step="TR14", person="karl", shown_by="ines", on=date(2025, 1, 1))), None),
        (Beside(person="karl", record=Competence(step="TR14", person="ines", shown_by="karl", on=date(2025, 1, 1))), "ROLE"),
        (Beside(person="mina", record=Competence(step="TR14", person="mina", shown_by="karl", on=date(2020, 1, 1))), "ROLE"),
        (Beside(person="karl", role="curator"), "ROLE"),
    ],
)
def test_a_learner_and_who_stands_beside(beside: Beside, code: str | None) -> None:
    question = asking(person="mina", role="volunteer", competence=[], beside=beside)
    assert decide(question, RULES).code == code


def test_while_a_hazard_of_level_2_is_open_it_is_the_curators_alone() -> None:
    dangerous = replace(asking().surface, hazards=(Hazard("LEAD_PAINT", 2),))
    record = [Competence(step="TR14", person="mina", shown_by="karl", on=date(2025, 1, 1))]
    assert decide(asking(person="mina", role="volunteer", competence=record), RULES).allowed
    assert decide(asking(person="mina", role="volunteer", competence=record, surface=dangerous), RULES).code == "ROLE"
    assert decide(asking(surface=dangerous), RULES).allowed


def test_a_specialist_makes_safe_and_does_no_other_work_a_conservator_the_other_way_round() -> None:
    fibre = Surface(material="mineral_fibre", hazards=(Hazard("ASBESTOS", 3),), findings=(Found("FIBRE_PAD_FRAY"),))
    made_safe = asking(step="TR62", surface=fibre)
    codes = {role: decide(replace(made_safe, role=role), RULES).code for role in ROLES}
    assert codes == {"volunteer": "ROLE", "registrar": "ROLE", "curator": None, "conservator": "ROLE", "licensed specialist": None}
    assert decide(asking(role="licensed specialist"), RULES).code == "ROLE"


def test_what_is_added_to_a_step_is_no_longer_that_step() -> None:
    """A brush with something else in the other hand is an act without a row."""
    assert decide(asking(agents=frozenset({"acid"})), RULES).code == "CX11"
    assert decide(asking(agents=frozenset({"wax"})), RULES).code == "NO-RULE"


def test_an_act_without_a_row_is_a_conservators_with_a_proposal_and_consent() -> None:
    approval = replace(APPROVED, step="consolidant", conservator_proposal=True)
    question = asking(role="conservator", step=None, agents=frozenset({"consolidant"}), approvals=[approval])
    assert decide(question, RULES).allowed
    assert decide(replace(question, approvals=[replace(approval, conservator_proposal=False)]), RULES).code == "APPROVAL"
    assert decide(replace(question, role="curator"), RULES).code == "NO-RULE"


@pytest.mark.parametrize(
    ("decision", "step", "role", "code"),
    [
        ("keep_loose_dust", "TR03", "volunteer", None),
        ("keep_loose_dust", "TR14", "curator", "DEPOSIT"),
        ("keep_loose_dust", "TR28", "curator", "APPROVAL"),
        ("keep", "TR03", "curator", "DEPOSIT"),
        ("keep", "TR15", "curator", None),
        ("undecided", "TR03", "volunteer", "DEPOSIT"),
        ("sample_and_remove", "TR03", "volunteer", None),
    ],
)
def test_decisions_on_deposits(decision: str, step: str, role: str, code: str | None) -> None:
    clean = replace(asking().surface, findings=())
    competence = [Competence(step=step, person="ines", shown_by="karl", on=date(2025, 1, 5))]
    question = asking(step=step, role=role, surface=clean, competence=competence, approvals=[], deposits=[Deposit("mud", decision)])
    expected = "APPROVAL" if code is None and RULES.steps[step].touches and RULES.steps[step].who != "volunteer" else code
    assert decide(question, RULES).code == expected


def test_a_handling_piece_may_be_worn_when_its_screen_left_nothing_open() -> None:
    worn = asking(act="use", step=None, agents=frozenset({"wear"}), approvals=[])
    assert decide(worn, RULES).code == "CX40"
    assert decide(replace(worn, piece="handling"), RULES).allowed
    assert decide(replace(worn, piece="prop", screen="outdated"), RULES).code == "CX40"
    suspected = replace(worn.surface, hazards=(Hazard("PESTICIDE", 1),))
    assert decide(replace(worn, piece="handling", surface=suspected), RULES).code == "CX40"


def test_nothing_is_planned_with_what_is_held_and_what_happened_is_always_stored() -> None:
    held = replace(asking().surface, hazards=(Hazard("RADIOACTIVE", 3),))
    question = asking(act="place", step=None, agents=frozenset({"stack"}), surface=held, role="volunteer")
    assert decide(question, RULES).code == "HOLD"
    stored = decide(replace(question, happened=True), RULES)
    assert (stored.result, [row.code for row in stored.shows]) == ("stored", ["CX36"])


@pytest.mark.parametrize(
    ("day", "years", "months", "wanted"),
    [
        (date(2024, 2, 29), 3, 0, date(2027, 2, 28)),
        (date(2024, 2, 29), 4, 0, date(2028, 2, 29)),
        (date(2025, 6, 1), 3, 0, date(2028, 6, 1)),
        (date(2024, 2, 29), 0, 12, date(2025, 2, 28)),
        (date(2025, 1, 31), 0, 1, date(2025, 2, 28)),
        (date(2025, 12, 31), 0, 12, date(2026, 12, 31)),
    ],
)
def test_the_same_calendar_day_later(day: date, years: int, months: int, wanted: date) -> None:
    assert same_day_later(day, years=years, months=months) == wanted


@pytest.mark.parametrize(("step", "surface", "asked"), [("TR14", "steel", True), ("TR03", "steel", True), ("TR28", "steel", False), ("TR01", "steel", False)])
def test_where_nobody_told_whose_it_is_gentle_steps_ask_and_others_wait(step: str, surface: str, asked: bool) -> None:
    """Ours: the table of questions counts a thing as the society's where a question says nothing of its owner."""
    approval = replace(APPROVED, step=step, reason="handled by school parties")
    shown = [Competence(step=step, person="ines", shown_by="karl", on=date(2025, 1, 5))]
    clean = Surface(material=surface, zone_materials=frozenset({surface}), object_materials=frozenset({surface}))
    question = asking(step=step, surface=clean, approvals=[approval], competence=shown)
    answer = decide(replace(question, ours=None), RULES)
    if RULES.steps[step].touches and not asked:
        assert (answer.code, answer.opens) == ("OWNER", "registrar")
        assert decide(question, RULES).allowed
        return
    assert (answer.allowed, answer.asks_owner) == (True, asked)
    assert decide(replace(question, ours=None, owner_consent=True), RULES).asks_owner is False
    assert (decide(replace(question, ours=False), RULES).code == "OWNER") == asked
