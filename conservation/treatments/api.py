"""Doors for programs: one for each action. Repeatable by `id`, the key of the caller; a refusal tells gate, why and instead."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db import models
from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from conservation.treatments import asking
from conservation.treatments import reading as read
from conservation.treatments.actions import deciding, ending, following, inviting, proposals, standing, working
from conservation.treatments.answering import what_may_i_do
from conservation.treatments.reading import Body
from museum.errors import Invalid
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of, body_of

#: what a door does: (actor, key of the address, what was sent) to the row it wrote
Perform = Callable[[Actor, UUID, Body], models.Model]


def door(permission: str, perform: Perform) -> Callable[..., Any]:
    """A door that carries out one action and answers with the row it wrote."""

    @extend_schema(request=dict, responses=dict)
    @api_view(["POST"])
    @permission_classes([Needs(permission)])
    def view(request: Request, subject: UUID) -> Response:
        body = body_of(request)
        return Response(_told(perform(actor_of(request).keyed(read.key_or_none(body, "id")), subject, body)), status=201)

    return view


def _told(row: models.Model) -> dict[str, Any]:
    said = {"id": str(row.pk), "is": str(row._meta.model_name)}
    names = ("state", "version", "result", "decision", "until", "kinds", "why", "reading", "over_at")
    shown = {name: getattr(row, name) for name in names if hasattr(row, name)}
    return said | {name: value.isoformat() if hasattr(value, "isoformat") else value for name, value in shown.items()}


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("treatment.propose")])
def may(request: Request, object_id: UUID) -> Response:
    """What may be done about each open finding, and, with `words`, what the gate says to those."""
    query = request.query_params
    said = what_may_i_do(actor_of(request), object_id, words=query.get("words", ""), zone=query.get("zone", ""), surface=query.get("surface", ""))
    return Response(said.as_json())


def _propose(actor: Actor, subject: UUID, body: Body) -> models.Model:
    new = read.key(body, "id")
    return proposals.propose_treatment(
        actor, subject, proposal_id=new, zone=read.text(body, "zone"), surface=read.text(body, "surface"), aim=read.text(body, "aim"), steps=read.steps(body),
        finding_id=read.key_or_none(body, "finding"), written=read.text(body, "written"),
    )  # fmt: skip


def _resubmit(actor: Actor, subject: UUID, body: Body) -> models.Model:
    return proposals.resubmit(
        actor, subject, version=read.number(body, "version"), surface=read.text(body, "surface"), aim=read.text(body, "aim"), steps=read.steps(body),
        written=read.text(body, "written"),
    )  # fmt: skip


def _start(actor: Actor, subject: UUID, body: Body) -> models.Model:
    return working.start_work(
        actor, subject, work_id=read.key(body, "id"), zone=read.text(body, "zone"), surface=read.text(body, "surface"), meant=read.meant(body),
        before=read.keys(body, "before"), finding_id=read.key_or_none(body, "finding"), beside=read.key_or_none(body, "beside"),
    )  # fmt: skip


def _spot(actor: Actor, subject: UUID, body: Body) -> models.Model:
    return working.record_spot(
        actor, subject, spot_id=read.key(body, "id"), step=read.text(body, "step"), surface=read.text(body, "surface"),
        unchanged=body.get("unchanged") is True, note=read.text(body, "note"),
    )  # fmt: skip


propose = door("treatment.propose", _propose)
resubmit = door("treatment.propose", _resubmit)
withdraw = door(
    "treatment.propose",
    lambda by, subject, body: proposals.withdraw_proposal(by, subject, version=read.number(body, "version"), reason=read.text(body, "reason")),
)
return_proposal = door(
    "treatment.approve",
    lambda by, subject, body: proposals.return_proposal(by, subject, version=read.number(body, "version"), remark=read.text(body, "remark")),
)
advise = door(
    "treatment.advise",
    lambda by, subject, body: proposals.advise(
        by, subject, version=read.number(body, "version"), agrees=body.get("agrees") is True, words=read.text(body, "words")
    ),
)
end_invitation = door(
    "invitation.make",
    lambda by, subject, body: people.end_invitation(by, subject, version=read.number(body, "version"), reason=read.text(body, "reason")),
)
approve = door(
    "treatment.approve",
    lambda by, subject, body: deciding.approve(
        by, subject, version=read.number(body, "version"), until=read.day_or_none(body, "until"), reason=read.text(body, "reason"),
        second_later=body.get("second_later") is True,
    ),
)  # fmt: skip
countersign = door("treatment.second", lambda by, subject, _body: deciding.countersign(by, subject))
take_back = door("treatment.approve", lambda by, subject, body: deciding.take_back(by, subject, reason=read.text(body, "reason")))
owner_leave = door(
    "treatment.owner_leave",
    lambda by, subject, body: deciding.record_owner_leave(by, subject, letter=read.text(body, "letter"), until=read.day_or_none(body, "until")),
)
give_standing = door(
    "treatment.second",
    lambda by, subject, body: standing.give_standing(
        by, subject, step=read.text(body, "step"), material=read.text(body, "material"), until=read.day_or_none(body, "until"), reason=read.text(body, "reason")
    ),
)
end_standing = door("treatment.second", lambda by, subject, body: standing.end_standing(by, subject, reason=read.text(body, "reason")))
name_deposit = door("check.record", lambda by, subject, body: standing.name_deposit(by, subject, kind=read.text(body, "kind")))
decide_deposit = door(
    "treatment.approve",
    lambda by, subject, body: standing.decide_deposit(
        by, subject, kind=read.text(body, "kind"), decision=read.text(body, "decision"), reason=read.text(body, "reason")
    ),
)
start = door("treatment.work", _start)
spot = door("treatment.work", _spot)
step = door("treatment.work", lambda by, subject, body: working.record_step(by, subject, read.done(body)))
wait = door("treatment.work", lambda by, subject, body: working.begin_wait(by, subject, wait_id=read.key(body, "id"), step=read.text(body, "step")))
stop = door("treatment.work", lambda by, subject, body: working.stop_step(by, subject, read.done(body)))
keep = door(
    "treatment.work",
    lambda by, subject, body: ending.keep_part(
        by, subject, name=read.text(body, "name"), because=read.text(body, "because"), bag=read.text(body, "bag"), opened=body.get("opened") is True
    ),
)  # fmt: skip
opened = door("treatment.work", lambda by, subject, body: working.tell_opened(by, subject, why=read.text(body, "why"), note=read.text(body, "note")))
end = door(
    "treatment.work",
    lambda by, subject, body: ending.end_work(by, subject, end_id=read.key(body, "id"), after=read.keys(body, "after"), note=read.text(body, "note")),
)


look_again = door(
    "check.record",
    lambda by, subject, body: following.look_again(
        by, subject, follow_id=read.key(body, "id"), reading=read.text(body, "reading"), note=read.text(body, "note")
    ),
)  # fmt: skip


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("check.record")])
def deposit_defaults(request: Request) -> Response:
    """GET: what becomes of each kind of deposit where nobody decided on the object. POST: a curator sets or ends one."""
    if request.method == "GET":
        return Response({"defaults": asking.deposit_defaults()})
    body = body_of(request)
    actor = actor_of(request).keyed(read.key_or_none(body, "id"))
    row = standing.set_deposit_default(actor, kind=read.text(body, "kind"), decision=read.text(body, "decision"), reason=read.text(body, "reason"))
    return Response(_told(row), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("invitation.make")])
def invite(request: Request) -> Response:
    """Invites a conservator from outside to these things."""
    body = body_of(request)
    new, until = read.key(body, "id"), read.day_or_none(body, "until")
    if until is None:
        raise Invalid(_("'%(name)s' is missing."), field="until", name="until")
    row = inviting.invite_conservator(
        actor_of(request).keyed(new), invitation_id=new, name=read.text(body, "name"), email=read.text(body, "email"), things=read.keys(body, "things"),
        until=until, evidence=read.text(body, "evidence"), words=read.text(body, "words"),
    )  # fmt: skip
    return Response(_told(row), status=201)
