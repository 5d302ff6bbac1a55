"""What a form sent when nobody was signed in any more: kept in the browser's session, and sent again by its author's own hand.

A shared tablet signs people out while they wait for a surface to dry; what they typed meanwhile is not lost.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.http import HttpRequest

from museum import clock
from museum.people import session

KEY: Final = "held"
#: letters of all fields together; more is no form of a page
MOST_LETTERS: Final = 50_000
LONGEST: Final = timedelta(days=1)
#: fields whose form is never kept
SECRET: Final = re.compile(r"password|pin\b|secret|token$|^code$")
#: fields that say nothing to a person
SILENT: Final = frozenset({"act", "do", "form", "id", "next", "version"})
KEYS: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


@dataclass(frozen=True, slots=True)
class Held:
    """Where it was sent, the page it stood on, its fields in order, and whether files came with it, which are not kept."""

    path: str
    back: str
    fields: list[tuple[str, str]]
    files: bool

    @property
    def typed(self) -> list[str]:
        """What a person knows again."""
        return [value for name, value in self.fields if value.strip() and name not in SILENT and not KEYS.search(value)]


def hold(request: HttpRequest, back: str) -> None:
    """Keeps a form that somebody sent by hand from a browser in which people sign in."""
    by_hand = request.headers.get("Sec-Fetch-Mode", "navigate") == "navigate"
    if request.method != "POST" or not by_hand or not session.device_of(request):
        return
    fields = [(name, str(value)) for name, values in request.POST.lists() for value in values if name != "csrfmiddlewaretoken"]
    if not fields or any(SECRET.search(name) for name, _ in fields) or sum(len(value) for _, value in fields) > MOST_LETTERS:
        return
    request.session[KEY] = {
        "path": request.get_full_path(), "back": back, "fields": fields, "files": bool(request.FILES), "author": getattr(request, "left", ""),
        "at": clock.now().isoformat(),
    }  # fmt: skip


def waiting(request: HttpRequest) -> Held | None:
    """What waits for the person who is signed in; what another typed, or long ago, is dropped."""
    row = request.session.get(KEY)
    if row is None:
        return None
    of_another = row["author"] and row["author"] != str(request.user.pk)
    if of_another or clock.now() - datetime.fromisoformat(row["at"]) > LONGEST:
        drop(request)
        return None
    return Held(row["path"], row["back"], [(name, value) for name, value in row["fields"]], row["files"])


def drop(request: HttpRequest) -> None:
    """It was sent, or is not wanted any more."""
    request.session.pop(KEY, None)
