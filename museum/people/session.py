"""What a browser remembers: which device it is, whether it is a shared tablet, when it was last touched."""

import re
from typing import Final
from uuid import UUID

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from museum import clock
from museum.ids import uuid7
from museum.people.models import Person, Tablet

DEVICE_COOKIE: Final = "device"
TABLET_COOKIE: Final = "tablet"
TABLET_KEY: Final = "tablet"
SEEN_KEY: Final = "seen"
A_YEAR: Final = 365 * 24 * 3600
#: how exactly the idle time is kept: a touch is written at most this often
GRAIN_SECONDS: Final = 30


def device_of(request: HttpRequest) -> str:
    """How the history names the device: its own name where a script sends one, else that of the browser."""
    named = request.headers.get("X-Device", "")
    if re.fullmatch(r"[\w.:-]{1,64}", named):
        return named
    return request.get_signed_cookie(DEVICE_COOKIE, default="") or ""


def remember_device(request: HttpRequest, response: HttpResponseBase) -> None:
    """Gives a browser its name, once."""
    if DEVICE_COOKIE not in request.COOKIES:
        _set(response, DEVICE_COOKIE, f"browser:{uuid7()}")


def tablet_of(request: HttpRequest) -> Tablet | None:
    """The shared tablet that this browser is, while it is one: by its session, or by the mark left in it."""
    key = request.session.get(TABLET_KEY) or request.get_signed_cookie(TABLET_COOKIE, default=None)
    return Tablet.objects.filter(pk=UUID(key), ended_on=None).first() if key else None


def make_tablet(response: HttpResponseBase, tablet: Tablet) -> None:
    """Marks the browser as a shared tablet."""
    _set(response, TABLET_COOKIE, str(tablet.id))


def unmake_tablet(response: HttpResponseBase) -> None:
    """Takes the mark off."""
    response.delete_cookie(TABLET_COOKIE)


def begin(request: HttpRequest, person: Person) -> None:
    """Signs the person in; on a shared tablet the session knows that it is on one."""
    tablet = tablet_of(request)
    if request.user.is_authenticated:
        logout(request)
    login(request, person)
    if tablet is not None:
        request.session[TABLET_KEY] = str(tablet.id)
        request.session[SEEN_KEY] = clock.now().timestamp()


def proves(request: HttpRequest, password: str) -> bool:
    """Whether this is the password of whoever is signed in; wrong ones count as at the sign-in, and after too many none is looked at."""
    person = request.user
    return isinstance(person, Person) and authenticate(request, username=person.email, password=password) == person


def tablet_session(request: HttpRequest) -> bool:
    """Whether this session was begun on a shared tablet."""
    return TABLET_KEY in request.session


def still_here(request: HttpRequest) -> bool:
    """Whether a shared tablet was touched lately and is still shared; notes the touch."""
    now, seen = clock.now().timestamp(), request.session.get(SEEN_KEY, 0.0)
    if now - seen > settings.TABLET_SESSION_SECONDS or tablet_of(request) is None:
        return False
    if now - seen > GRAIN_SECONDS and _by_hand(request):
        request.session[SEEN_KEY] = now
    return True


def _by_hand(request: HttpRequest) -> bool:
    """A page that fetches by itself is nobody's hand."""
    return request.method != "GET" or request.headers.get("Sec-Fetch-Dest", "document") == "document"


def _set(response: HttpResponseBase, name: str, value: str) -> None:
    response.set_signed_cookie(name, value, max_age=A_YEAR, httponly=True, samesite="Lax", secure=settings.SESSION_COOKIE_SECURE)
