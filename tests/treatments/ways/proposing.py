"""Proposals, what is decided on them, what stands for all."""

from typing import Any

from conservation.treatments.actions import deciding, inviting, learning, proposals, standing
from conservation.treatments.models import StandingApproval
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from tests.treatments.ways.world import Ways, World


def of_proposals(name: str, w: World, by: Actor, deed: dict[str, str], sent: dict[str, Any], *, hands: bool) -> Ways:
    step = {"step": "TR14", "earlier": "dry since March"}
    if name == "propose":
        page = (f"/things/{w.thing.pk}/propose/", {**deed, **step, "id": sent["id"]})
        return Ways(w.proposed, (f"/api/things/{w.thing.pk}/proposals/", sent | deed | {"steps": [step]}), page)
    row = w.proposed(by if hands and name in ("resubmit", "withdraw") else w.marit)
    key, at = row.pk, f"/proposals/{row.pk}/decide/"
    match name:
        case "withdraw":
            return Ways(
                lambda actor: proposals.withdraw_proposal(actor, key, version=1), (f"/api/proposals/{key}/withdraw/", sent | {"version": 1}),
                (at, {"do": "withdraw", "version": "1"}),
            )  # fmt: skip
        case "return_proposal":
            return Ways(
                lambda actor: proposals.return_proposal(actor, key, version=1, remark="which brush?"),
                (f"/api/proposals/{key}/return/", sent | {"version": 1, "remark": "which brush?"}), (at, {"do": "return", "version": "1", "reason": "which?"}),
            )  # fmt: skip
        case "approve":
            return Ways(
                lambda actor: deciding.approve(actor, key, version=1), (f"/api/proposals/{key}/approve/", sent | {"version": 1}),
                (at, {"do": "approve", "version": "1"}),
            )  # fmt: skip
    proposals.return_proposal(w.ivo, key, version=1, remark="which brush?")
    said = {"surface": "steel", "aim": "loose rust off, natural bristle"}
    return Ways(
        lambda actor: proposals.resubmit(actor, key, version=2, **said, steps=[w.brush]),
        (f"/api/proposals/{key}/again/", sent | said | {"version": 2, "steps": [step]}), (at, {"do": "again", "version": "2", **said, **step, "words": ""}),
    )  # fmt: skip


def of_decisions(name: str, w: World, day: str, sent: dict[str, Any]) -> Ways | None:
    """Of what follows a proposal, of what stands for all, of deposits and of a try; None where it is none of these."""
    today, thing = clock.today(), w.thing.pk
    match name:
        case "tell_try":
            screen = {str(n): "no" for n in range(1, 11)}
            page = ("/lessons/TR14/", {"piece": "a tin lid", **{f"q{n}": answer for n, answer in screen.items()}})
            return Ways(lambda actor: learning.tell_try(actor, "TR14", practice_id=uuid7(), piece="a tin lid", screen=screen), None, page)
        case "take_back" | "lapse" | "countersign":
            row = w.signed_alone if name == "countersign" else w.approval()
            if name == "lapse":
                return Ways(lambda actor: deciding.lapse(actor, row.pk))
            if name == "countersign":
                return Ways(lambda actor: deciding.countersign(actor, row.pk), (f"/api/approvals/{row.pk}/countersign/", sent), (f"/approvals/{row.pk}/", {}))
            said = {"reason": "no"}
            page = (f"/approvals/{row.pk}/", {"do": "take_back", **said})
            return Ways(lambda actor: deciding.take_back(actor, row.pk, reason="no"), (f"/api/approvals/{row.pk}/take-back/", sent | said), page)
        case "give_standing":
            said, marit = {"step": "TR14", "material": "steel"}, w.volunteer.pk
            page = ("/standing/", {"person": str(marit), **said})
            return Ways(lambda actor: standing.give_standing(actor, marit, **said), (f"/api/people/{marit}/standing/", sent | said), page)
        case "end_standing":
            given: StandingApproval = standing.give_standing(w.ivo, w.volunteer.pk, step="TR14", material="steel")
            return Ways(lambda actor: standing.end_standing(actor, given.pk), (f"/api/standing/{given.pk}/end/", sent), (f"/standing/{given.pk}/end/", {}))
        case "invite_conservator":
            asked: dict[str, Any] = {"name": "Sunniva", "email": "sunniva@example.org", "evidence": "diploma, seen"}
            in_form = asked | {"things": [str(thing)], "until": day}
            return Ways(
                lambda actor: inviting.invite_conservator(actor, invitation_id=uuid7(), things=[thing], until=today, **asked),
                ("/api/invitations/", sent | in_form), (f"/invitations/new/?thing={thing}", in_form),
            )  # fmt: skip
        case "owner_leave":
            said = {"letter": "of 2 June, folder 4"}
            page = (f"/things/{thing}/owner-leave/", dict(said))
            return Ways(lambda actor: deciding.record_owner_leave(actor, thing, **said), (f"/api/things/{thing}/owner-leave/", sent | said), page)
        case "name_deposit":
            key, said = w.mud.finding, {"kind": "mud"}
            return Ways(
                lambda actor: standing.name_deposit(actor, key, kind="mud"), (f"/api/deposits/{key}/kind/", sent | said), (f"/deposits/{key}/", dict(said))
            )
        case "decide_deposit":
            key, said = w.mud.finding, {"kind": "mud", "decision": "remove", "reason": "garden mud"}
            page = (f"/deposits/{key}/", dict(said))
            return Ways(lambda actor: standing.decide_deposit(actor, key, **said), (f"/api/deposits/{key}/decide/", sent | said), page)
        case "set_deposit_default":
            said = {"kind": "mud", "decision": "keep", "reason": "it tells of duty"}
            return Ways(
                lambda actor: standing.set_deposit_default(actor, **said), ("/api/deposits/defaults/", sent | said), ("/deposits/defaults/", dict(said))
            )
    return None
