"""Who asks, in which language, and what must be done first."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import translation
from django.utils.http import urlencode
from django_otp import user_has_device

from museum.people import session
from museum.people.actor import NOBODY, Actor
from museum.people.models import Person
from museum.people.permissions import SECOND_FACTOR_ROLES

#: addresses that somebody reaches before the second factor is shown
BEFORE_SECOND_FACTOR: Final = frozenset({"people:second_factor", "people:enrol", "people:enrol_picture", "people:sign_out"})


class SignedIn:
    """Sets `request.actor`. Somebody who has left is nobody from that moment on."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        person = _person(request)
        request.actor = _actor(request, person)  # type: ignore[attr-defined]
        language = person.language if person is not None else translation.get_language_from_request(request)
        with translation.override(language):
            request.LANGUAGE_CODE = translation.get_language()
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", language)
        if person is not None:
            session.remember_device(request, response)
        return response

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        actor: Actor = request.actor  # type: ignore[attr-defined]
        where = request.resolver_match.view_name if request.resolver_match else ""
        # Under /api/ the doors answer; a program has no use for a page.
        if not actor.unproved or where in BEFORE_SECOND_FACTOR or request.path.startswith("/api/"):
            return None
        page = reverse("people:second_factor" if user_has_device(request.user) else "people:enrol")
        return redirect(f"{page}?{urlencode({'next': request.get_full_path()})}" if request.method == "GET" else page)


def _person(request: HttpRequest) -> Person | None:
    user = request.user
    if not isinstance(user, Person):
        return None
    if session.tablet_session(request) and not session.still_here(request):
        request.left = str(user.pk)  # type: ignore[attr-defined]
        logout(request)
        return None
    return user


def _actor(request: HttpRequest, person: Person | None) -> Actor:
    if person is None:
        return NOBODY
    tablet = session.tablet_session(request)
    actor = Actor.of(person, tablet=tablet, device=session.device_of(request))
    if settings.SECOND_FACTOR and actor.roles & SECOND_FACTOR_ROLES and getattr(person, "otp_device", None) is None:
        return replace(actor, unproved=True)
    return actor
