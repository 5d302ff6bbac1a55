"""All in order but for one thing: whatever happened before, the house is put in order, leave is given, then one gate is shut.

The gate is not asked what it shuts; the oracle is, after work that was recorded all the same.
"""

from collections.abc import Callable, Mapping
from datetime import timedelta
from functools import partial
from typing import Final
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import rule

from collection.objects.actions.hazards import settle_hazard
from collection.objects.actions.objects import set_ownership
from collection.objects.queries import hazards_in_force
from conservation.checks.actions.screening import answer_ten
from conservation.rules.actions import return_to_shipped
from conservation.rules.changes import last_change
from conservation.treatments.actions import deciding, standing, working
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Work
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from tests import stock as house
from tests.treatments import stock
from tests.treatments.society import FINDS, RULES, House

#: what is amiss to the gate that says so, by the reference 4.6 and 4.1, the last six ours; '' = nothing, and the work is recorded
AMISS: Final[Mapping[str, str]] = {
    **dict.fromkeys(("", "under standing leave"), ""),
    "hold": "HOLD", "danger": "ROLE", "rule": "ROLE", "nobody showed a volunteer": "ROLE", "opened": "SCREEN",
    **dict.fromkeys(("borrowed", "owner's leave ended"), "OWNER"),
    **dict.fromkeys(("mud", "mud that is kept", "only loose dust may go", "mud kept by default"), "DEPOSIT"),
    **dict.fromkeys(("nobody showed a curator", "shown too long ago"), "COMPETENCE"),
    **dict.fromkeys(("no leave", "leave ran out", "taken back", "own leave", "leave for another zone"), "APPROVAL"),
    **dict.fromkeys(("worse", "worse and back", "more active", "standing leave, but worse"), "APPROVAL"),
    **dict.fromkeys(("standing leave of somebody else", "standing leave ended", "standing leave for another layer"), "APPROVAL"),
    **dict.fromkeys(("own leave, and a second curator came", "own leave, and a danger"), "SECOND"),
    **dict.fromkeys(("no photograph", "photograph of the last session"), "PHOTOGRAPHS"),
    **dict.fromkeys(("no spot", "spot that changed"), "TEST-SPOT"),
    "cautions unread": "CAUTIONS", "somebody else's session": "forbidden",
}  # fmt: skip
#: who does it is marit, but the curator in these
BY: Final[Mapping[str, str]] = dict.fromkeys(
    (
        "hold", "nobody showed a curator", "shown too long ago", "own leave", "own leave, and a second curator came", "own leave, and a danger", "worse",
        "worse and back",
    ), "ivo",
)  # fmt: skip
YEARS: Final = timedelta(days=1100)


class Amiss(House):
    """The society, with a deed more."""

    @rule(amiss=st.sampled_from(sorted(AMISS)))
    def all_in_order_but(self, amiss: str) -> None:
        self.put_in_order()
        who = BY.get(amiss, "marit")
        self._leave_for(who, amiss)
        self._go_wrong(amiss)
        self._work_so(who, amiss)

    @property
    def at(self) -> tuple[str, str, str]:
        """Zone code, finding and layer at which the first trouble was seen."""
        return FINDS[self.made_of][0]

    @property
    def step(self) -> str:
        """The gentle step that answers it."""
        return {"RUST_SPOT": "TR14", "CU_SOAP": "TR18", "AL_CORR": "TR24"}[self.at[1]]

    def put_in_order(self) -> None:
        """No danger, ours, screened, no deposit undecided, rules as shipped, two curators, both hands shown, the trouble as at first, no leave."""
        self.tablet = False
        for code in hazards_in_force([self.thing.pk]).get(self.thing.pk, {}):
            self._try("ivo", "danger settled", lambda by, key=code: settle_hazard(by, self.thing.pk, code=key, level=0, evidence="a test"))
        self._try("nell", "ownership", lambda by: set_ownership(by, self.thing.pk, whose="own", evidence="a receipt"))
        self._try("marit", "ten answered", lambda by: answer_ten(by, self.thing.pk, answers=house.NO_TO_ALL))
        for table, row, _said in RULES:
            if (last := last_change(table, row)) is not None:
                self._try("ivo", "rule returned", lambda by, t=table, r=row, v=last.version: return_to_shipped(by, t, r, reason="in order", version=v))
        self.who_is_curator(only_ivo=False)
        self._decide_deposits()
        with clock.at(self.instant):
            zone = house.zone(self.thing, self.at[0])
            stock.record(self._actor("marit"), self.thing, self._seen(*self.at, severity=2, activity=1))
            for one in (self.cast.marit, self.cast.ivo):
                stock.shown(one, self.cast.rhea, self.step)
            self.zone = str(zone)
        for row in Approval.objects.filter(object=self.thing, lapse=None):
            self._try("anke", "take back", lambda by, key=row.pk: deciding.take_back(by, key, reason="in order"))
        for n in range(standing.StandingApproval.objects.count()):
            self.end_standing("anke", n)
        self.front = self._try("marit", "picture", lambda by: stock.picture(by, self.thing)) or self.front

    def _leave_for(self, who: str, amiss: str) -> None:
        """An approval of the zone by two people, or what is amiss with it."""
        alone = amiss.startswith("own leave,")
        if amiss.startswith(("standing", "under standing")):
            self._standing(amiss)
            return
        if amiss == "no leave":
            return
        self.who_is_curator(only_ivo=alone)
        other = next(code for code in ("SH", "RB") if code != self.at[0])
        zone = self.zone
        if amiss == "leave for another zone":
            zone = str(house.zone(self.thing, other))
            with clock.at(self.instant):
                both = [self._seen(code, *self.at[1:], severity=2, activity=1) for code in (self.at[0], other)]
                stock.record(self._actor("marit"), self.thing, *both)
        meant = Meant(step=self.step, earlier="it was not enough")
        sent = self._try(who, "propose", lambda by: self._propose(by, zone, self.at[2], meant, None, written=False))
        approver = "ivo" if amiss.startswith("own leave") or who != "ivo" else "anke"
        if sent:
            self._try(approver, "approve", lambda by: deciding.approve(by, sent.pk, version=1, second_later=alone))

    def _standing(self, amiss: str) -> None:
        layer = next(one for one in self.made_of if one != self.at[2]) if amiss.endswith("another layer") else self.at[2]
        person = self._person("bo" if amiss.endswith("somebody else") else "marit")
        given = self._try("anke", "standing", lambda by: standing.give_standing(by, person.pk, step=self.step, material=layer))
        if amiss.endswith("leave ended") and given:
            self._try("ivo", "standing ended", lambda by: standing.end_standing(by, given.pk))

    def _go_wrong(self, amiss: str) -> None:
        mine = len(self._findings()) - 1
        wrong: dict[str, Callable[[], None]] = {
            "hold": lambda: self.danger_stands("LEAD", 3), "danger": lambda: self.danger_stands("LEAD_PAINT", 2),
            "borrowed": lambda: self.whose("borrowed", leave=False, days=0), "opened": lambda: self.open_it("bo", "lining", answers=False),
            "mud": self._mud, "rule": lambda: self.rules_change(0, back=False), "nobody showed a volunteer": self._unlearnt,
            "nobody showed a curator": self._unlearnt, "leave ran out": lambda: self.days_go_by(370),
            "own leave, and a second curator came": lambda: self.who_is_curator(only_ivo=False),
            "own leave, and a danger": lambda: self.danger_stands("LEAD_PAINT", 2),
            "standing leave, but worse": lambda: self.look_again(mine, "grown", 3, 3), "worse": lambda: self.look_again(mine, "grown", 3, 3),
            "more active": lambda: self.look_again(mine, "same", 2, 2),
            "worse and back": lambda: (self.look_again(mine, "grown", 3, 3), self.look_again(mine, "less", 2, 1))[1],
            "taken back": lambda: self.sign_or_take_back("ivo", Approval.objects.filter(object=self.thing).count() - 1, back=True),
            "mud that is kept": lambda: self._mud_of("keep"), "only loose dust may go": lambda: self._mud_of("keep_loose_dust"),
            "mud kept by default": self._mud_by_default, "owner's leave ended": self._leave_of_the_owner_ended, "shown too long ago": self._years_later,
        }  # fmt: skip
        wrong.get(amiss, lambda: None)()

    def _mud_of(self, decision: str) -> None:
        self._mud()
        key = self._findings()[-1].pk
        self._try("ivo", "deposit decided", lambda by: standing.decide_deposit(by, key, kind="mud", decision=decision, reason="seen"))

    def _mud_by_default(self) -> None:
        self._mud()
        key = self._findings()[-1].pk
        self._try("bo", "deposit named", lambda by: standing.name_deposit(by, key, kind="coal_dust"))
        self._try("ivo", "deposit default", lambda by: standing.set_deposit_default(by, kind="coal_dust", decision="keep", reason="agreed in May"))

    def _leave_of_the_owner_ended(self) -> None:
        self.whose("borrowed", leave=True, days=3)
        self.days_go_by(5)

    def _years_later(self) -> None:
        """Of what was shown three years ago the day has passed; leave is given anew."""
        self.instant += YEARS
        self._leave_for("ivo", "")

    def _work_so(self, who: str, amiss: str) -> None:
        if amiss == "photograph of the last session":
            self._one_session_before(who)
        before = [] if amiss == "no photograph" else [self.front]
        session = self._try(who, "amiss", lambda by: self._session(by, before))
        if session is None:
            return
        self._spots(who, amiss, session)
        hand = "bo" if amiss == "somebody else's session" else who
        self._do(hand, session, self.step, self.at[2], "", what="amiss", ticked=[] if amiss == "cautions unread" else None)

    def _one_session_before(self, who: str) -> None:
        session = self._try(who, "begin", lambda by: self._session(by, [self.front]))
        if session is not None:
            self.stop_or_end(0, who, stop=False) if Work.objects.filter(end=None).count() == 1 else None

    def _spots(self, who: str, amiss: str, session: Work) -> None:
        for unchanged in {"no spot": (), "spot that changed": (False, True)}.get(amiss, (True,)):
            note = "" if unchanged else "colour on the swab"
            spot = partial(working.record_spot, spot_id=uuid7(), step=self.step, surface=self.at[2], unchanged=unchanged, note=note)
            self._try(who, "spot", lambda by, spot=spot: spot(by, session.pk))

    def _session(self, by: Actor, before: list[UUID]) -> Work:
        return working.start_work(by, self.thing.pk, work_id=uuid7(), zone=self.zone, surface=self.at[2], meant=Meant(step=self.step), before=before)
