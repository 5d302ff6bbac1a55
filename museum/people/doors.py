"""What a view asks of whoever comes: to be signed in, to hold a permission.

    @signed_in
    def today(request): ...

    @needs("round.make")
    def make_round(request): ...

    @api_view(["POST"])
    @permission_classes([Needs("check.record")])
    def record(request): ...

A visitor who is not signed in goes to the sign-in page and comes back; a program is told 401. Who is
signed in without the permission reads which role could do it (403).
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from museum.errors import Invalid, SecondFactorWanted, SignedOut
from museum.people import held, session
from museum.people.actor import Actor

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def actor_of(request: HttpRequest) -> Actor:
    """Who asks, as the middleware found."""
    actor: Actor = request.actor  # type: ignore[attr-defined]
    return actor


def body_of(request: Request) -> dict[str, Any]:
    """What a program sent, by name. Raises Invalid where it is anything but an object of JSON."""
    if not isinstance(request.data, dict):
        raise Invalid(field="body")
    return dict(request.data)


def signed_in(view: View[P]) -> View[P]:
    """Lets in whoever is signed in."""
    return _door(view, None)


def password_given(view: View[P]) -> View[P]:
    """Lets in whoever is signed in, also before the second factor is shown."""

    @wraps(view)
    def door(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        return to_sign_in(request) if actor_of(request).person is None else view(request, *args, **kwargs)

    return door


def needs(permission: str) -> Callable[[View[P]], View[P]]:
    """Lets in who holds the permission."""
    return lambda view: _door(view, permission)


def _door(view: View[P], permission: str | None) -> View[P]:
    @wraps(view)
    def door(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if actor_of(request).person is None and not request.path.startswith("/api/"):
            return to_sign_in(request)
        _admit(actor_of(request), permission)
        return view(request, *args, **kwargs)

    door.permission = permission  # type: ignore[attr-defined]
    return door


def _admit(actor: Actor, permission: str | None) -> None:
    if actor.person is None:
        raise SignedOut
    if permission is not None:
        actor.demand(permission)
    elif actor.unproved:
        raise SecondFactorWanted


class _Needs(BasePermission):
    permission: str | None = None

    def has_permission(self, request: Any, view: Any) -> bool:
        _admit(request.actor, self.permission)
        return True


def Needs(permission: str | None = None) -> type[BasePermission]:  # the framework wants a class there
    """`needs` for views of the REST framework; without a permission, `signed_in`."""
    return type("Needs", (_Needs,), {"permission": permission})


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """To the sign-in page, or on a shared tablet to the list of names; from there back to where they came from, with what they sent."""
    page = reverse("people:who" if session.tablet_of(request) else "people:sign_in")
    back = request.get_full_path() if request.method in {"GET", "HEAD"} else _came_from(request)
    held.hold(request, back)
    return redirect(f"{page}?{urlencode({'next': back})}" if back != "/" else page)


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """The address in `next`, if it is one of ours."""
    back = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return back if ours else otherwise


def _came_from(request: HttpRequest) -> str:
    """The page on which the form stood."""
    parts = urlsplit(request.headers.get("Referer", ""))
    return parts.path or "/"
