"""Writing entries: last in a transaction, under the chain's one lock."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from museum.history import chain
from museum.history.models import About, Act, Change, PersonalText
from museum.prepared import Prepared

CHAIN_LOCK = 7_501
_HEAD = Prepared(lambda: Change.objects.order_by("-n").values_list("n", "hash")[:1])


@dataclass(frozen=True, slots=True)
class Personal:
    """A text about a person: only its salted digest enters the chain, so that it can be erased."""

    text: str


@dataclass(slots=True)
class Entry:
    """One change as an action tells it."""

    what: str
    subject: str
    before: Any = None
    after: Any = None
    reason: str = ""
    about: Sequence[tuple[str, UUID]] = field(default_factory=tuple)


def lock(key: str) -> None:
    """Holds the lock of this name until the transaction ends."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [key])


@contextmanager
def alone(key: str) -> Iterator[bool]:
    """Whether nobody else is at the work of this name now; held over as many transactions as that takes, so that none keeps the chain's lock."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(hashtextextended(%s, 0))", [key])
        (mine,) = cursor.fetchone()
    try:
        yield mine
    finally:
        if mine:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(hashtextextended(%s, 0))", [key])


def append(act: Act, at: datetime, entries: Iterable[Entry]) -> list[Change]:
    """Adds the entries of an act to the chain. Call last in the transaction: the lock is held to its end."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CHAIN_LOCK])
    head = _HEAD.first() or (0, chain.FIRST)
    changes, abouts, personal = _linked(act, at, entries, head)
    Change.objects.bulk_create(changes)
    About.objects.bulk_create(abouts)
    PersonalText.objects.bulk_create(personal)
    return changes


def _linked(act: Act, at: datetime, entries: Iterable[Entry], head: tuple[int, str]) -> tuple[list[Change], list[About], list[PersonalText]]:
    changes: list[Change] = []
    abouts: list[About] = []
    personal: list[PersonalText] = []
    n, previous = head
    for entry in entries:
        n += 1
        texts: list[tuple[str, str, str]] = []
        change = Change(
            n=n, act=act, at=at, who=act.person, role=act.role, what=entry.what, subject=entry.subject,
            before=_hashable(entry.before, texts), after=_hashable(entry.after, texts), reason=entry.reason,
        )  # fmt: skip
        change.hash = previous = chain.entry_hash(previous, change.entry())
        changes.append(change)
        abouts += [About(change=change, kind=kind, key=key) for kind, key in dict.fromkeys(entry.about)]
        personal += [PersonalText(change=change, salt=salt, digest=code, text=text) for salt, code, text in texts]
    return changes, abouts, personal


def _hashable(value: Any, texts: list[tuple[str, str, str]]) -> Any:
    """The value as the chain sees it; personal texts are set aside and replaced by their digests."""
    if isinstance(value, Personal):
        salt = chain.new_salt()
        code = chain.salted_digest(salt, value.text)
        texts.append((salt, code, value.text))
        return {"digest": code}
    if isinstance(value, dict):
        return {str(key): _hashable(item, texts) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_hashable(item, texts) for item in value]
    if value is None or isinstance(value, (bool, int, str)):
        return value
    return str(value)
