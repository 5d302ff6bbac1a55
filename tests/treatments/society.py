"""A small society at work, thrown about: every deed at the real actions, by anybody, in any order; what is recorded is asked of the oracle."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from collection.objects.actions.hazards import report_hazard, settle_hazard
from collection.objects.actions.objects import set_ownership
from collection.objects.actions.screens import tell_opening
from collection.objects.models import Object
from conservation.checks.actions.screening import answer_ten
from conservation.checks.entry import Seen
from conservation.checks.models import Finding, Observation
from conservation.rules.actions import change_rule, return_to_shipped
from conservation.rules.candidates import offered
from conservation.rules.changes import book_now, last_change
from conservation.rules.contraindications import Surface
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.actions import deciding, ending, learning, proposals, standing, working
from conservation.treatments.deeds import Meant
from conservation.treatments.follow import catch_up
from conservation.treatments.models import Approval, Proposal, StandingApproval, Work, WorkStep
from museum import clock
from museum.errors import DomainError
from museum.ids import uuid7
from museum.people import actions as people
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Competence, Person
from tests import stock as house
from tests.treatments import stock
from tests.treatments.oracle import faults

#: what a helmet is made of, and what may be found on it: zone, term, material, severity, activity
FINDS: Final[Mapping[tuple[str, ...], tuple[tuple[str, str, str], ...]]] = {
    ("steel", "paint", "leather"): (
        ("RB", "RUST_SPOT", "steel"), ("RB", "DUST", "paint"), ("SH", "RUST_GEN", "steel"), ("SH", "DUST", "paint"), ("HB", "MOULD_DORMANT", "leather"),
        ("CS", "STRAP_BREAK", "leather"), ("RB", "SIGNIF_DEPOSIT", "paint"), ("SH", "SIGNIF_DEPOSIT", "paint"), ("SH", "PAINT_FLAKE", "paint"),
    ),
    ("copper_alloy", "leather"): (
        ("SH", "CU_SOAP", "copper_alloy"), ("SH", "DUST", "copper_alloy"), ("SH", "TARNISH", "copper_alloy"), ("HB", "LEA_DRY", "leather"),
        ("SH", "SIGNIF_DEPOSIT", "copper_alloy"), ("HB", "MOULD_ACTIVE", "leather"), ("HB", "DUST", "leather"),
    ),
    ("aluminium", "paint"): (("SH", "AL_CORR", "aluminium"), ("SH", "DUST", "paint"), ("SH", "SIGNIF_DEPOSIT", "paint"), ("RB", "AL_CORR", "aluminium")),
}  # fmt: skip
#: hands, most of them hands that may
WHO: Final = ("marit", "marit", "bo", "nell", "ivo", "ivo", "anke", "rhea", "cass", "tove", "oda")
CURATORS: Final = ("ivo", "anke")
WORDS: Final = ("", "", "", "", "a little household bleach", "microcrystalline wax", "a damp cloth", "grandfather's wonder mix")
#: steps beside those that answer a finding: by name, disputed, a conservator's, made safe
STEPS: Final = ("TR01", "TR03", "TR10", "TR14", "TR28", "TR60", "TR63", "TR66", "TR67")
#: the society's own: a step for conservators only, one that asks for competence no more, a stricter brush, numbers of the gate
RULES: Final[tuple[tuple[str, str, Mapping[str, Any]], ...]] = (
    ("treatment_rules", "TR14", {"who_may_do_it": "conservator only", "gentle": "", "competence": ""}),
    ("treatment_rules", "TR10", {"not_on": "RUST_SPOT;DUST"}),
    ("treatment_rules", "TR03", {"who_may_do_it": "curator"}),
    ("contraindications", "CX73", {"severity": "forbidden"}),
    ("gate", "standing_grade_at_most", {"": 1}),
    ("gate", "approval_months", {"": 2}),
)
ANSWERS: Final = ("approve", "approve", "alone", "return", "withdraw", "again")
GENTLE: Final = ("TR14", "TR10", "TR18", "TR24", "TR28")
#: what may come between the leave and the work
BETWEEN: Final = ("danger", "worse", "worse and back", "rule", "days", "take back", "curators", "borrowed", "mud", "unlearnt", "opened")
TALLY: Counter[str] = Counter()


@dataclass(frozen=True)
class Cast:
    """Everybody of the house by name; who shows what is a conservator from outside."""

    marit: Person
    bo: Person
    nell: Person
    ivo: Person
    anke: Person
    rhea: Person
    cass: Person
    tove: Person
    oda: Person


def nth(rows: Iterable[Any], n: int) -> Any:
    """One of them, or None where there is none."""
    kept = list(rows)
    return kept[n % len(kept)] if kept else None


class House(RuleBasedStateMachine):
    """One helmet in a house of nine people. Everything a run does is undone at its end."""

    cast: Cast

    def __init__(self) -> None:
        super().__init__()
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.instant = datetime.now(clock.zone())
        self.known: set[UUID] = set()
        self.tablet = False

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.undone.__exit__(None, None, None)

    @initialize(made_of=st.sampled_from(sorted(FINDS)), finds=st.lists(st.integers(0, 8), max_size=3, unique=True), muddy=st.booleans())
    def open_the_house(self, made_of: tuple[str, ...], finds: list[int], muddy: bool) -> None:
        self.made_of = made_of
        with clock.at(self.instant):
            self.thing: Object = house.helmet(materials=made_of)
            seen = {(code, term): self._seen(code, term, material) for code, term, material in (FINDS[made_of][n % len(FINDS[made_of])] for n in (0, *finds))}
            at, _term, material = FINDS[made_of][0]
            mud = [self._seen(at, "SIGNIF_DEPOSIT", material)] if muddy else []
            stock.record(Actor.of(self.cast.marit), self.thing, *seen.values(), *mud)
            for one in (self.cast.marit, self.cast.ivo):
                stock.shown(one, self.cast.rhea, "TR07", "TR08", "TR10", "TR14", "TR18", "TR24")
            self.front = stock.picture(Actor.of(self.cast.marit), self.thing)

    # what is found, what is told of the thing

    @rule(n=st.integers(0, 8), severity=st.integers(1, 3), activity=st.integers(0, 3), who=st.sampled_from(WHO))
    def find(self, n: int, severity: int, activity: int, who: str) -> None:
        code, term, material = nth(FINDS[self.made_of], n)
        self._try(who, "find", lambda by: stock.record(by, self.thing, self._seen(code, term, material, severity=severity, activity=activity)))

    @rule(n=st.integers(0, 8), change=st.sampled_from(("grown", "same", "less", "gone")), severity=st.integers(1, 3), activity=st.integers(0, 3))
    def look_again(self, n: int, change: str, severity: int, activity: int) -> None:
        finding = nth(self._findings(), n)
        last = Observation.objects.filter(finding=finding).order_by("id").last() if finding else None
        if finding is None or last is None:
            return
        size = (None, None, None) if change == "gone" else ("9", severity, activity)
        again = self._seen(finding.zone, last.term, last.material, finding=finding.pk, change=change, size=size)
        self._try("bo", "look again", lambda by: stock.record(by, self.thing, again))

    @rule(code=st.sampled_from(("ASBESTOS", "LEAD_PAINT", "RADIOACTIVE")), level=st.integers(0, 3), who=st.sampled_from(WHO))
    def danger(self, code: str, level: int, who: str) -> None:
        self._try(who, "danger", lambda by: report_hazard(by, self.thing.pk, code=code, level=level))
        self._try(who, "danger settled", lambda by: settle_hazard(by, self.thing.pk, code=code, level=0, evidence="an analyst's letter"))

    @rule(code=st.sampled_from(("LEAD_PAINT", "ASBESTOS")), level=st.sampled_from((1, 2, 2, 3)))
    def danger_stands(self, code: str, level: int) -> None:
        self._try("marit", "danger stands", lambda by: report_hazard(by, self.thing.pk, code=code, level=level))

    @rule(whose=st.sampled_from(("own", "own", "own", "own_handling", "borrowed")), leave=st.booleans(), days=st.integers(0, 60))
    def whose(self, whose: str, leave: bool, days: int) -> None:
        self._try("nell", "ownership", lambda by: set_ownership(by, self.thing.pk, whose=whose, evidence="loan form"))
        if leave:
            until = clock.day_of(self.instant) + timedelta(days=days)
            self._try("nell", "owner's leave", lambda by: deciding.record_owner_leave(by, self.thing.pk, letter="of 2 June, folder 4", until=until))

    @rule(
        n=st.integers(0, 3), kind=st.sampled_from(("mud", "coal_dust", "house_dust", "other")), who=st.sampled_from(WHO),
        decision=st.sampled_from(("", "keep", "keep_loose_dust", "sample_remove", "remove", "remove")), default=st.booleans(),
    )  # fmt: skip
    def deposit(self, n: int, kind: str, who: str, decision: str, default: bool) -> None:
        finding = nth([one for one in self._findings() if Observation.objects.filter(finding=one, term="SIGNIF_DEPOSIT").exists()], n)
        if default:
            self._try(who, "deposit default", lambda by: standing.set_deposit_default(by, kind=kind, decision=decision, reason="agreed in May"))
        elif finding is not None and decision:
            self._try(who, "deposit decided", lambda by: standing.decide_deposit(by, finding.pk, kind=kind, decision=decision, reason="seen"))
        elif finding is not None:
            self._try(who, "deposit named", lambda by: standing.name_deposit(by, finding.pk, kind=kind))

    @rule(who=st.sampled_from(WHO), why=st.sampled_from(("lining", "out", "came_off", "showed")), answers=st.booleans())
    def open_it(self, who: str, why: str, answers: bool) -> None:
        self._try(who, "opened", lambda by: tell_opening(by, self.thing.pk, why=why, note="the front pad"))
        if answers:
            self._try(who, "ten answered", lambda by: answer_ten(by, self.thing.pk, answers=house.NO_TO_ALL))

    # leave

    @rule(who=st.sampled_from(WHO), n=st.integers(0, 8), step=st.integers(0, 14), words=st.sampled_from(WORDS), written=st.booleans())
    def propose(self, who: str, n: int, step: int, words: str, written: bool) -> None:
        if found := self._spot(n):
            zone, surface, finding, steps = found
            meant = Meant(step=nth(steps, step), words=words, earlier="it was not enough")
            self._try(who, "propose", lambda by: self._propose(by, zone, surface, meant, finding, written=written))

    @rule(who=st.sampled_from((*WHO, *CURATORS, *CURATORS)), n=st.integers(0, 5), what=st.sampled_from(ANSWERS))
    def answer(self, who: str, n: int, what: str) -> None:
        row = nth(Proposal.objects.filter(object=self.thing, state__in=("waiting", "returned")).order_by("pk"), n)
        if row is None:
            return
        again = [Meant(step=said["step"], words=said["words"], earlier="still not enough") for said in row.steps]
        deeds: dict[str, Callable[[Actor], Any]] = {
            "approve": lambda by: deciding.approve(by, row.pk, version=row.version, reason="it is handled by schools"),
            "alone": lambda by: deciding.approve(by, row.pk, version=row.version, reason="it is handled by schools", second_later=True),
            "return": lambda by: proposals.return_proposal(by, row.pk, version=row.version, remark="which brush?"),
            "withdraw": lambda by: proposals.withdraw_proposal(by, row.pk, version=row.version),
            "again": lambda by: proposals.resubmit(by, row.pk, version=row.version, surface=row.surface, aim="so that it rests", steps=again),
        }
        self._try(who, what, deeds[what])

    @rule(who=st.sampled_from(WHO), n=st.integers(0, 5), back=st.booleans())
    def sign_or_take_back(self, who: str, n: int, back: bool) -> None:
        row = nth(Approval.objects.filter(object=self.thing).order_by("pk"), n)
        if row is not None and back:
            self._try(who, "take back", lambda by: deciding.take_back(by, row.pk, reason="no"))
        elif row is not None:
            self._try(who, "countersign", lambda by: deciding.countersign(by, row.pk))

    @rule(giver=st.sampled_from((*WHO, *CURATORS)), to=st.sampled_from(WHO), step=st.sampled_from(GENTLE), n=st.integers(0, 3))
    def standing_leave(self, giver: str, to: str, step: str, n: int) -> None:
        material, person = nth(self.made_of, n), self._person(to)
        self._try(giver, "standing", lambda by: standing.give_standing(by, person.pk, step=step, material=material))

    @rule(who=st.sampled_from(WHO), n=st.integers(0, 5))
    def end_standing(self, who: str, n: int) -> None:
        row = nth(StandingApproval.objects.order_by("pk"), n)
        if row is not None:
            self._try(who, "standing ended", lambda by: standing.end_standing(by, row.pk))

    # people, rules, days

    @rule(
        teacher=st.sampled_from(("rhea", "rhea", "ivo", "cass")), learner=st.sampled_from(WHO), days=st.sampled_from((3, 40, 900)), later=st.booleans(),
        step=st.sampled_from(("TR07", "TR10", "TR14", "TR18", "TR24", "TR28", "TR36", "TR66")), practice=st.booleans(),
    )  # fmt: skip
    def show(self, teacher: str, learner: str, days: int, later: bool, step: str, practice: bool) -> None:
        person, by_whom, today = self._person(learner), self._person(teacher), clock.day_of(self.instant)
        until = today + timedelta(days=days)
        if practice:
            deed = lambda by: learning.tell_practice(by, person.pk, [step], on=today, practice="six years", valid_to=until, second_later=later)  # noqa: E731
            self._try(learner, "practice", deed)
        else:
            self._try(teacher, "shown", lambda by: learning.sign_off(by, person.pk, [step], shown_by=by_whom.pk, on=today, valid_to=until))

    @rule(who=st.sampled_from(WHO), n=st.integers(0, 30), end=st.booleans())
    def sign_or_end_competence(self, who: str, n: int, end: bool) -> None:
        rows = Competence.objects.all() if end else Competence.objects.filter(shown_by=None)
        row = nth(rows.order_by("pk"), n)
        if row is not None and end:
            self._try(who, "competence ended", lambda by: people.end_competence(by, row.pk, reason="a new lesson"))
        elif row is not None:
            self._try(who, "practice signed", lambda by: people.sign_practice(by, row.pk))

    @rule(only_ivo=st.booleans())
    def who_is_curator(self, only_ivo: bool) -> None:
        if only_ivo:
            self._try(None, "one curator", lambda by: people.end_role(by, self.cast.anke.pk, "curator"))
        else:
            self._try(None, "two curators", lambda by: people.give_role(by, self.cast.anke.pk, "curator"))

    @rule(n=st.integers(0, len(RULES) - 1), back=st.booleans())
    def rules_change(self, n: int, back: bool) -> None:
        table, code, said = RULES[n]
        last = last_change(table, code)
        version = last.version if last else 0
        stands = book_now().rows(table)[code]
        content = said[""] if "" in said else {**stands, **said} if isinstance(stands, dict) else stands
        if back:
            self._try("ivo", "rule returned", lambda by: return_to_shipped(by, table, code, reason="it was too strict", version=version))
        else:
            self._try("ivo", "rule changed", lambda by: change_rule(by, table, code, content, reason="our conservator's advice", version=version))

    @rule(days=st.sampled_from((1, 5, 35, 95, 370)))
    def days_go_by(self, days: int) -> None:
        self.instant += timedelta(days=days)

    @rule()
    def the_program_catches_up(self) -> None:
        with clock.at(self.instant):
            TALLY["lapsed"] += catch_up()

    @rule(tablet=st.booleans())
    def on_the_tablet(self, tablet: bool) -> None:
        self.tablet = tablet

    # work

    @rule(who=st.sampled_from(WHO), n=st.integers(0, 8), step=st.integers(0, 14), beside=st.sampled_from(("", "", *WHO)), fresh=st.booleans())
    def begin(self, who: str, n: int, step: int, beside: str, fresh: bool) -> None:
        if found := self._spot(n):
            zone, surface, finding, steps = found
            if fresh:
                self.front = self._try("marit", "picture", lambda by: stock.picture(by, self.thing)) or self.front
            self._try(who, "begin", lambda by: self._begin(by, zone, surface, nth(steps, step), finding, beside))

    @rule(n=st.integers(0, 5), step=st.integers(0, 14), words=st.sampled_from(WORDS), unchanged=st.sampled_from((True, True, True, False)))
    def work(self, n: int, step: int, words: str, unchanged: bool) -> None:
        session = nth(Work.objects.filter(object=self.thing, end=None).order_by("pk"), n)
        found = self._spot_of(session) if session else None
        if session is None or found is None:
            return
        who, code = session.person.name.lower(), nth(found[3], step)
        note = "" if unchanged else "colour on the swab"
        self._try(who, "spot", lambda by: working.record_spot(by, session.pk, spot_id=uuid7(), step=code, surface=found[1], unchanged=unchanged, note=note))
        self._do(who, session, code, found[1], words)

    @rule(n=st.integers(0, 5), who=st.sampled_from(WHO), step=st.integers(0, 14))
    def go_on_without_a_spot(self, n: int, who: str, step: int) -> None:
        session = nth(Work.objects.filter(object=self.thing).order_by("pk"), n)
        found = self._spot_of(session) if session else None
        if session is not None and found is not None:
            self._do(who, session, nth(found[3], step), found[1], "")

    @rule(n=st.integers(0, 5), who=st.sampled_from(WHO), stop=st.booleans())
    def stop_or_end(self, n: int, who: str, stop: bool) -> None:
        session = nth(Work.objects.filter(object=self.thing, end=None).order_by("pk"), n)
        if session is not None and stop:
            self._try(who, "stop", lambda by: working.stop_step(by, session.pk, stock.done("TR14", note="colour on the brush")))
        elif session is not None:
            self._try(who, "end", lambda by: ending.end_work(by, session.pk, end_id=uuid7(), after=[stock.picture(by, self.thing)]))
            self._try(who, "keep", lambda by: ending.keep_part(by, session.pk, name="powder", because="it came off"))

    @rule(n=st.integers(0, 8), step=st.integers(0, 8))
    def the_volunteer_does_it(self, n: int, step: int) -> None:
        self._all_of_it("marit", "ivo", n, step)

    @rule(n=st.integers(0, 8), step=st.integers(0, 8), approver=st.sampled_from(CURATORS))
    def the_curator_does_it(self, n: int, step: int, approver: str) -> None:
        self._all_of_it("ivo", approver, n, step)

    @rule(n=st.integers(0, 8), step=st.integers(0, 8), between=st.sampled_from(("", "two curators", "danger", "days")))
    def the_one_curator_does_it(self, n: int, step: int, between: str) -> None:
        self.who_is_curator(only_ivo=True)
        self._all_of_it("ivo", "ivo", n, step, between)

    @rule(who=st.sampled_from(("marit", "ivo", "bo")), giver=st.sampled_from(("anke", "ivo", "tove")), n=st.integers(0, 8), other=st.integers(0, 3))
    def somebody_does_it_under_standing_leave(self, who: str, giver: str, n: int, other: int) -> None:
        """The first gentle step of a finding, leave given for its layer or, one time in two, for another; no proposal."""
        found = self._spot(n)
        gentle = [code for code in found[3] if treatment_rules_in_force().steps[code].gentle] if found else []
        if found is None or not gentle:
            return
        zone, surface, finding, _steps = found
        material, person = surface if other < 2 else nth(self.made_of, other), self._person(who)
        self._try(giver, "standing", lambda by: standing.give_standing(by, person.pk, step=gentle[0], material=material))
        self.front = self._try("marit", "picture", lambda by: stock.picture(by, self.thing)) or self.front
        self._work_at(who, zone, surface, gentle[0], finding)

    @rule(n=st.integers(0, 8), step=st.integers(0, 5))
    def the_conservator_does_it(self, n: int, step: int) -> None:
        self._all_of_it("rhea", "ivo", n, step)

    @rule(who=st.sampled_from(("marit", "ivo")), n=st.integers(0, 8), step=st.integers(0, 3), between=st.sampled_from(BETWEEN))
    def something_comes_between(self, who: str, n: int, step: int, between: str) -> None:
        self._all_of_it(who, "anke", n, step, between)

    @rule(n=st.integers(0, 8), step=st.integers(0, 3), between=st.sampled_from(BETWEEN))
    def something_else_comes_between(self, n: int, step: int, between: str) -> None:
        self._all_of_it("marit", "ivo", n, step, between)

    def _all_of_it(self, who: str, approver: str, n: int, step: int, between: str = "") -> None:
        """The whole way at once: so that work is often near to being let through, whatever was done before and comes between."""
        found = self._spot(n)
        if found is None:
            return
        zone, surface, finding, steps = found
        rules = treatment_rules_in_force()
        code = nth([code for code in steps if rules.steps[code].touches], step)
        meant = Meant(step=code, earlier="it was not enough")
        if step % 2:
            self._decide_deposits()
        self.front = self._try("marit", "picture", lambda by: stock.picture(by, self.thing)) or self.front
        proposal = self._try(who, "propose", lambda by: self._propose(by, zone, surface, meant, finding, written=True))
        if proposal is not None:
            self._try(approver, "approve", lambda by: deciding.approve(by, proposal.pk, version=1, reason="for schools", second_later=who == approver))
        self._between(between, self._index(finding), step)
        self._work_at(who, zone, surface, code, finding)

    def _decide_deposits(self) -> None:
        for row in Observation.objects.filter(finding__object=self.thing, term="SIGNIF_DEPOSIT").distinct("finding"):
            decide = lambda by, key=row.finding_id: standing.decide_deposit(by, key, kind="mud", decision="remove", reason="garden mud")  # noqa: E731
            self._try("ivo", "deposit decided", decide)

    def _work_at(self, who: str, zone: str, surface: str, code: str, finding: UUID | None) -> None:
        session = self._try(who, "begin", lambda by: self._begin(by, zone, surface, code, finding, ""))
        if session is not None:
            self._try(who, "spot", lambda by: working.record_spot(by, session.pk, spot_id=uuid7(), step=code, surface=surface, unchanged=True))
            self._do(who, session, code, surface, "")

    def _between(self, what: str, n: int, step: int) -> None:
        deeds: dict[str, Callable[[], None]] = {
            "danger": lambda: self._danger_and_back(2 + step % 2), "worse": lambda: self.look_again(n, "grown", 3, 3),
            "worse and back": lambda: (self.look_again(n, "grown", 3, 3), self.look_again(n, "less", 2, 1))[1],
            "rule": lambda: self.rules_change(n % len(RULES), back=False), "days": lambda: self.days_go_by(370),
            "take back": lambda: self.sign_or_take_back("ivo", n, back=True), "curators": lambda: self.who_is_curator(only_ivo=bool(step % 2)),
            "mud": self._mud, "unlearnt": self._unlearnt, "opened": lambda: self.open_it("bo", "lining", answers=False),
            "two curators": lambda: self.who_is_curator(only_ivo=False),
            "borrowed": lambda: self.whose("borrowed", leave=False, days=0),
        }  # fmt: skip
        if what:
            deeds[what]()

    def _danger_and_back(self, level: int) -> None:
        """A danger told; half the time settled again."""
        self.danger_stands("LEAD_PAINT", level)
        if self.instant.minute % 2:
            self._try("ivo", "danger settled", lambda by: settle_hazard(by, self.thing.pk, code="LEAD_PAINT", level=0, evidence="a test"))

    def _mud(self) -> None:
        """A deposit is seen at the zone of the first finding, after leave was given."""
        at, _term, material = FINDS[self.made_of][0]
        self._try("bo", "find", lambda by: stock.record(by, self.thing, self._seen(at, "SIGNIF_DEPOSIT", material, severity=1, activity=0)))

    def _unlearnt(self) -> None:
        """Every competence is ended."""
        for row in Competence.objects.exclude(marks__sort="ended"):
            self._try("ivo", "competence ended", lambda by, key=row.pk: people.end_competence(by, key, reason="a new lesson"))

    @invariant()
    def nothing_is_recorded_by_another_door(self) -> None:
        assert set(WorkStep.objects.filter(result=WorkStep.Result.DONE).values_list("pk", flat=True)) == self.known

    # how

    def _try(self, who: str | None, what: str, deed: Callable[[Actor], Any]) -> Any:
        """What an action answers, or None where it was refused; a minute goes by."""
        self.instant += timedelta(minutes=1)
        by = PROGRAM if who is None else self._actor(who)
        with clock.at(self.instant):
            try:
                with transaction.atomic():
                    answer = deed(by)
            except DomainError as refused:
                TALLY[f"{what}: {refused.data.get('gate', refused.code)}"] += 1
                return None
        TALLY[what] += 1
        return answer if answer is not None else True

    def _do(self, who: str, session: Work, code: str, surface: str, words: str, *, what: str = "work", ticked: list[str] | None = None) -> None:
        all_of_it = ["OWNER", code, *(row.code for row in treatment_rules_in_force().prohibitions)]
        done = replace(stock.done(code, surface=surface, words=words), acknowledged=all_of_it if ticked is None else ticked)
        row = self._try(who, what, lambda by: working.record_step(by, session.pk, done))
        if row is not None:
            self.known.add(row.pk)
            roles = Actor.of(self._person(who), tablet=self.tablet).roles
            with clock.at(self.instant):
                wrong = sorted(set(faults(WorkStep.objects.get(pk=row.pk), frozenset(map(str, roles)))))
            TALLY["touched" if not code or treatment_rules_in_force().steps[code].touches else "cared"] += 1
            assert not wrong, f"{code} by {who}: {wrong}"

    def _propose(self, by: Actor, zone: str, surface: str, meant: Meant, finding: UUID | None, *, written: bool) -> Proposal:
        letter = "letter of 3 May, file 12" if written else ""
        return proposals.propose_treatment(
            by, self.thing.pk, proposal_id=uuid7(), zone=zone, surface=surface, aim="so that it rests", steps=[meant], finding_id=finding, written=letter
        )

    def _begin(self, by: Actor, zone: str, surface: str, code: str, finding: UUID | None, beside: str) -> Work:
        other = self._person(beside).pk if beside else None
        return working.start_work(
            by, self.thing.pk, work_id=uuid7(), zone=zone, surface=surface, meant=Meant(step=code), before=[self.front], finding_id=finding, beside=other
        )

    def _index(self, finding: UUID | None) -> int:
        return [one.pk for one in self._findings()].index(finding) if finding else 0

    def _actor(self, name: str) -> Actor:
        return Actor.of(self._person(name), tablet=self.tablet)

    def _person(self, name: str) -> Person:
        """Read anew, for roles change."""
        found: Person = getattr(self.cast, name)
        return Person.objects.get(pk=found.pk)

    def _findings(self) -> list[Finding]:
        return list(Finding.objects.filter(object=self.thing).order_by("pk"))

    def _spot(self, n: int) -> tuple[str, str, UUID | None, list[str]] | None:
        """Zone, layer, finding, and steps: those that answer it, then some by name. Every other time the first finding, at which there is work."""
        finding = nth(self._findings(), n // 2 if n % 2 else 0)
        last = Observation.objects.filter(finding=finding).order_by("id").last() if finding else None
        if finding is None or last is None:
            return None
        alone = frozenset({last.material})
        ladder = offered(last.term, Surface(material=last.material, zone_materials=alone, object_materials=alone), treatment_rules_in_force())
        steps = [one.step.code for one in ladder.candidates]
        return f"{finding.component_id}/{finding.zone}", last.material, finding.pk, [*steps, *STEPS]

    def _spot_of(self, session: Work) -> tuple[str, str, UUID | None, list[str]] | None:
        here = [n for n, one in enumerate(self._findings()) if (one.component_id, one.zone) == (session.component_id, session.zone)]
        return self._spot(here[0]) if here else None

    def _seen(
        self, code: str, term: str, material: str, *, severity: int = 2, activity: int | None = 1, finding: UUID | None = None, change: str = "new",
        size: tuple[str | None, int | None, int | None] | None = None,
    ) -> Seen:  # fmt: skip
        percent, deep, active = size if size is not None else ("2", severity, activity)
        seen = house.seen(self.thing, code, term, percent or "1", severity=deep or 1, activity=active, finding=finding, change=change, material=material)
        return replace(seen, percent=None, severity=None) if percent is None else seen
