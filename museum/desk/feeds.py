"""A calendar of a person's looks, for the calendar program they use already (iCalendar, RFC 5545)."""

from datetime import UTC, date, timedelta
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import translation
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from conservation.checks.todo import RoundToWalk, rounds_of
from museum import clock
from museum.people.actor import Actor
from museum.people.models import Person

SALT = "calendar feed"
#: octets a content line may have before it is folded (RFC 5545 3.1)
LINE = 75


def token_of(person: Person) -> str:
    """The secret part of a person's feed address; a changed password makes a new one."""
    return signing.dumps([str(person.pk), _mark(person)], salt=SALT, compress=True)


def _mark(person: Person) -> str:
    """What the password makes of the address. An address is no secret place: nothing of the stored password stands in it."""
    return salted_hmac(SALT, person.password, algorithm="sha256").hexdigest()[:16]


def person_of(token: str) -> Person:
    """Whose feed this is. Raises Http404 for a token that is not, or no longer, good."""
    try:
        key, mark = signing.loads(token, salt=SALT)
        person = Person.objects.get(pk=UUID(key))
    except (signing.BadSignature, ValueError, Person.DoesNotExist):
        raise Http404 from None
    if not person.is_active or _mark(person) != mark:
        raise Http404
    return person


@require_safe
def looks(request: HttpRequest, token: str) -> HttpResponse:
    """One entry a round: a moved date changes that entry and no other, since its key stays."""
    person = person_of(token)
    actor = Actor.of(person)
    rounds = rounds_of(person.pk, every=False) if actor.may("round.walk") else []
    with translation.override(person.language):
        lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Burgonet//looks//EN", "CALSCALE:GREGORIAN"]
        lines += [line for entry in rounds for line in _event(entry)]
    body = "".join(f"{_fold(line)}\r\n" for line in [*lines, "END:VCALENDAR"])
    return HttpResponse(body, content_type="text/calendar; charset=utf-8")


def _event(entry: RoundToWalk) -> list[str]:
    address = settings.SITE_URL + reverse("checks:round", args=[entry.id])
    left = _("%(left)d of %(stops)d looks left") % {"left": entry.left, "stops": entry.stops}
    return [
        "BEGIN:VEVENT",
        f"UID:{entry.id}@burgonet",
        f"DTSTAMP:{clock.now().astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{entry.due_by:%Y%m%d}",
        f"DTEND;VALUE=DATE:{_after(entry.due_by):%Y%m%d}",
        f"SUMMARY:{_text(entry.name)}",
        f"DESCRIPTION:{_text(left)}",
        f"URL:{address}",
        "END:VEVENT",
    ]


def _after(day: date) -> date:
    return day + timedelta(days=1)


def _text(words: str) -> str:
    """A text value with what RFC 5545 3.3.11 wants escaped."""
    for raw, safe in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\r", ""), ("\n", "\\n")):
        words = words.replace(raw, safe)
    return words


def _fold(line: str) -> str:
    """Long lines broken by a line end and a space, never inside a character."""
    parts: list[str] = []
    room, part = LINE, ""
    for character in line:
        if len((part + character).encode()) > room:
            parts.append(part)
            part, room = "", LINE - 1
        part += character
    return "\r\n ".join([*parts, part])
