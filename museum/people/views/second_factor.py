"""The second proof at sign-in: enrolling a phone, and showing its code."""

import secrets
from base64 import b32encode
from dataclasses import replace
from io import BytesIO
from typing import Final
from urllib.parse import quote

import segno
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django_otp import login as proved_by
from django_otp import match_token, user_has_device
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from museum.people import actions
from museum.people.actions.second_factor import demand_own_device
from museum.people.actor import Actor
from museum.people.doors import actor_of, password_given, safe_next
from museum.people.forms import CodeForm
from museum.people.models import Person
from museum.people.passwords import in_groups, new_code
from museum.people.secret import Secret

KEY: Final = "enrol_key"
RECOVERY_CODES: Final = 10


@password_given
@never_cache
def enrol(request: HttpRequest) -> HttpResponse:
    """Shows a new key as a picture and in letters; the first right code makes it the person's."""
    actor = actor_of(request)
    demand_own_device(actor)
    if actor.unproved and user_has_device(request.user):
        return redirect("people:second_factor")
    back = safe_next(request, reverse("desk:today"))
    key = bytes.fromhex(request.session.setdefault(KEY, secrets.token_hex(20)))
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if _fits(key, form.cleaned_data["code"]):
            return _enrolled(request, replace(actor, unproved=False), key, back)
        form.add_error("code", _("This is not the code of this moment. It changes every 30 seconds: enter the one shown now."))
    letters = b32encode(key).decode()
    groups = [letters[at : at + 4] for at in range(0, len(letters), 4)]
    return render(request, "people/enrol.html", {"form": form, "groups": groups, "next": back})


@password_given
@never_cache
def enrol_picture(request: HttpRequest) -> HttpResponse:
    """The key as a code for the phone's camera."""
    if (key := request.session.get(KEY)) is None:
        raise Http404
    query = {"secret": b32encode(bytes.fromhex(key)).decode(), "issuer": settings.OTP_TOTP_ISSUER}
    label = quote(f"{settings.OTP_TOTP_ISSUER}:{request.user.get_username()}")
    picture = BytesIO()
    segno.make(f"otpauth://totp/{label}?{urlencode(query)}", error="m").save(picture, kind="svg", scale=6, light="#ffffff")
    return HttpResponse(picture.getvalue(), content_type="image/svg+xml")


@password_given
@never_cache
def second_factor(request: HttpRequest) -> HttpResponse:
    """Asks for the code of the phone, or one from the paper."""
    back = safe_next(request, reverse("desk:today"))
    if not actor_of(request).unproved:
        return redirect(back)
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if (device := match_token(request.user, form.cleaned_data["code"])) is not None:
            proved_by(request, device)
            return redirect(back)
        form.add_error("code", _("This code does not fit. Wait until the next one appears, then enter that."))
    return render(request, "people/second_factor.html", {"form": form, "next": back})


def _fits(key: bytes, code: str) -> bool:
    return code.isascii() and code.isdigit() and TOTP(key).verify(int(code), tolerance=1)


def _enrolled(request: HttpRequest, actor: Actor, key: bytes, back: str) -> HttpResponse:
    """The recovery codes, shown this once."""
    codes = [new_code() for _ in range(RECOVERY_CODES)]
    person: Person = actions.enrol_second_factor(actor, key=Secret(key.hex()), recovery=[Secret(code) for code in codes])
    proved_by(request, TOTPDevice.objects.get(user=person))
    del request.session[KEY]
    return render(request, "people/recovery_codes.html", {"codes": [in_groups(code) for code in codes], "next": back})
