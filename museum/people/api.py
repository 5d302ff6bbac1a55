"""The same acts for programs. A body's `id` (UUID version 7, made by the client) makes a request repeatable."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from museum.errors import Invalid
from museum.ids import uuid7
from museum.people import actions, session
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of
from museum.people.invitations import guest_of, invitation_of
from museum.people.models import Person, RoleFact, Society
from museum.people.permissions import PERMISSIONS, Role
from museum.people.secret import Secret

LANGUAGES = [code for code, _name in settings.LANGUAGES]
ROLES = [role.value for role in Role]


class Keyed(serializers.Serializer[Any]):
    """The key of the act."""

    id = serializers.UUIDField(required=False, write_only=True)


class AccountBody(Keyed):
    version = serializers.IntegerField()
    language = serializers.ChoiceField(LANGUAGES)
    mail_reminders = serializers.BooleanField()


class PasswordBody(Keyed):
    old = serializers.CharField(trim_whitespace=False)
    new = serializers.CharField(trim_whitespace=False)


class PinBody(Keyed):
    password = serializers.CharField(trim_whitespace=False)
    pin = serializers.CharField(allow_blank=True)


class NewPersonBody(Keyed):
    name = serializers.CharField()
    email = serializers.CharField()
    password = serializers.CharField(trim_whitespace=False)
    language = serializers.ChoiceField(LANGUAGES, required=False)
    roles = serializers.ListField(child=serializers.ChoiceField(ROLES), required=False)
    kind = serializers.ChoiceField(RoleFact.Reader.choices, required=False)


class PersonBody(Keyed):
    version = serializers.IntegerField()
    name = serializers.CharField()
    email = serializers.CharField()


class RoleBody(Keyed):
    role = serializers.ChoiceField(ROLES)
    given = serializers.BooleanField(default=True, help_text="false ends the role")
    kind = serializers.ChoiceField(RoleFact.Reader.choices, required=False)
    until = serializers.DateField(required=False, allow_null=True)
    reason = serializers.CharField(required=False, allow_blank=True)


class ErasingBody(Keyed):
    reason = serializers.CharField()
    name_too = serializers.BooleanField(required=False)


class LeavingBody(Keyed):
    version = serializers.IntegerField()
    on = serializers.DateField(allow_null=True, help_text="null: the person is back")
    reason = serializers.CharField(required=False, allow_blank=True)


class GivenPasswordBody(Keyed):
    password = serializers.CharField(trim_whitespace=False)


class AcceptBody(Keyed):
    name = serializers.CharField(required=False)
    password = serializers.CharField(trim_whitespace=False)


class SocietyBody(Keyed):
    version = serializers.IntegerField()
    name = serializers.CharField()
    short_name = serializers.CharField(required=False, allow_blank=True)
    address = serializers.CharField(required=False, allow_blank=True)
    email = serializers.EmailField(required=False, allow_blank=True)
    language = serializers.ChoiceField(LANGUAGES, required=False)
    currency = serializers.CharField(required=False)
    opening_days = serializers.ListField(child=serializers.IntegerField(min_value=1, max_value=7), required=False)


@extend_schema(responses={200: dict})
@api_view(["GET"])
@permission_classes([Needs()])
def me(request: Request) -> Response:
    """Who asks, and what they may."""
    actor = actor_of(request)
    may = sorted(name for name in PERMISSIONS if actor.may(name))
    return Response({"person": actor.person, "name": actor.name, "roles": sorted(actor.roles), "may": may})


@extend_schema(request=AccountBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("account.own")])
def change_own_account(request: Request) -> Response:
    """One's own language and reminders."""
    actor, body = _asked(request, AccountBody)
    return _person(actions.change_own_account(actor, **body))


@extend_schema(request=PasswordBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("account.own")])
def change_password(request: Request) -> Response:
    """One's own password; the session ends."""
    actor, body = _asked(request, PasswordBody)
    _prove(request, actor, body["old"], "old")
    return _person(actions.change_password(actor, old=Secret(body["old"]), new=Secret(body["new"])))


@extend_schema(request=PinBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("account.own")])
def set_pin(request: Request) -> Response:
    """One's own PIN; an empty one takes it away."""
    actor, body = _asked(request, PinBody)
    _prove(request, actor, body["password"], "password")
    return _person(actions.set_pin(actor, pin=Secret(body["pin"])))


@extend_schema(request=NewPersonBody, responses={200: dict})
@api_view(["GET", "POST"])
@permission_classes([Needs("people.manage")])
def people(request: Request) -> Response:
    """Everybody; or somebody new."""
    if request.method == "GET":
        return Response([_plain(person) for person in Person.objects.with_roles().order_by("id")])
    actor, body = _asked(request, NewPersonBody)
    return _person(actions.add_person(actor, **body | {"password": Secret(body["password"])}))


@extend_schema(request=PersonBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("people.manage")])
def change_person(request: Request, person_id: UUID) -> Response:
    """Another name or e-mail."""
    actor, body = _asked(request, PersonBody)
    return _person(actions.change_person(actor, person_id, **body))


@extend_schema(request=RoleBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("people.manage")])
def roles(request: Request, person_id: UUID) -> Response:
    """Gives a role, or ends it."""
    actor, body = _asked(request, RoleBody)
    if body.pop("given"):
        body.pop("reason", None)
        fact = actions.give_role(actor, person_id, **body)
    else:
        fact = actions.end_role(actor, person_id, body["role"], reason=body.get("reason", ""))
    return _person(fact.person)


@extend_schema(request=LeavingBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("people.manage")])
def leaving(request: Request, person_id: UUID) -> Response:
    """Marks somebody as left, or as back."""
    actor, body = _asked(request, LeavingBody)
    on = body.pop("on")
    if on is None:
        return _person(actions.mark_back(actor, person_id, **body))
    return _person(actions.mark_left(actor, person_id, on=on, **body))


@extend_schema(request=ErasingBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("personal.erase")])
def erasing(request: Request, person_id: UUID) -> Response:
    """Erases the personal texts of somebody who has left, for ever."""
    actor, body = _asked(request, ErasingBody)
    return _person(actions.erase_personal(actor, person_id, **body))


@extend_schema(request=GivenPasswordBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([Needs("people.manage")])
def give_password(request: Request, person_id: UUID) -> Response:
    """A new password for somebody who has forgotten theirs."""
    actor, body = _asked(request, GivenPasswordBody)
    return _person(actions.give_password(actor, person_id, password=Secret(body["password"])))


@extend_schema(request=SocietyBody, responses={200: SocietyBody})
@api_view(["GET", "POST"])
@permission_classes([Needs("settings.change")])
def society(request: Request) -> Response:
    """The society's settings; or a change of them."""
    house = Society.load()
    if request.method == "POST":
        actor, body = _asked(request, SocietyBody)
        house = actions.change_society(actor, **body)
    return Response(SocietyBody(house).data)


@extend_schema(request=AcceptBody, responses={200: dict})
@api_view(["POST"])
@permission_classes([])
def invited(request: Request, token: str) -> Response:
    """Accepts the invitation of this address."""
    invitation = invitation_of(token)
    asks, body = _asked(request, AcceptBody)
    by = guest_of(invitation, asks, asks.key or uuid7()).keyed(asks.key)
    row = actions.accept_invitation(by, invitation.pk, name=body.get("name", ""), password=Secret(body["password"]))
    return Response({"id": row.pk, "person": row.person_id, "until": row.until})


def _prove(request: Request, actor: Actor, password: str, field: str) -> None:
    if not actor.tablet and not session.proves(request._request, password):
        raise Invalid(_("This is not your present password. Nothing was changed."), field=field)


def _asked(request: Request, form: type[Keyed]) -> tuple[Actor, dict[str, Any]]:
    """The actor under the request's key, and the body."""
    read = form(data=request.data)
    read.is_valid(raise_exception=True)
    body: dict[str, Any] = dict(read.validated_data)
    return actor_of(request).keyed(body.pop("id", None)), body


def _person(person: Person) -> Response:
    return Response(_plain(person))


def _plain(person: Person) -> Mapping[str, Any]:
    return {
        "id": person.id, "version": person.version, "name": person.name, "email": person.email,
        "language": person.language, "roles": sorted(person.roles()), "left_on": person.left_on,
    }  # fmt: skip
