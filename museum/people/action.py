"""The frame of an action: the only way by which anything is written.

    @action("places.close_place", may="place.edit")
    def close_place(act: Act, place_id: UUID, *, version: int, reason: str) -> Place: ...

    close_place(actor, place.id, version=3, reason="wall is damp")          # a door calls it so
    close_place(act, place.id, version=3, reason="...")                      # another action, within its own act

In this order: permission, the act's own lock, replay or conflict of a repeated key, the body (locks,
guards, writes, `act.wrote(...)`), the history entries under the chain's lock, last the act's row with
its answer. Everything is one transaction; `act.afterwards(...)` runs once it is committed.
"""

import functools
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any, Concatenate, Final, ParamSpec, Protocol, TypeVar, cast
from uuid import UUID

from django.apps import apps
from django.db import models, transaction

from museum import clock
from museum.errors import NotFound, SameKeyOtherContent, VersionConflict
from museum.history import models as history
from museum.history import record
from museum.history.chain import digest
from museum.history.record import Personal
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from museum.prepared import ANY_KEY, Prepared

P = ParamSpec("P")
T_co = TypeVar("T_co", covariant=True)

__all__ = ["ACTIONS", "Act", "Personal", "action", "claim_version"]


class Act:
    """One running call of an action: what its body writes with."""

    def __init__(self, actor: Actor, name: str) -> None:
        self.actor = actor
        self.id: UUID = actor.key or uuid7()
        self.name = name
        self.now: datetime = clock.now()
        self._entries: list[record.Entry] = []

    def wrote(
        self,
        what: str,
        subject: models.Model | tuple[str, UUID],
        *,
        before: Any = None,
        after: Any = None,
        reason: str = "",
        about: Iterable[models.Model | tuple[str, UUID]] = (),
    ) -> None:
        """Tells the history of one change. `about` names the things whose time-lines show it."""
        keys = tuple(_about(thing) for thing in about)
        self._entries.append(record.Entry(what, history.subject_of(subject), before, after, reason, keys))

    def afterwards(self, run: Callable[[], Any]) -> None:
        """Runs this once all is committed; never when it is not."""
        transaction.on_commit(run)

    def _finish(self, content: str, answer: Any) -> None:
        """The entries, then the act's own row: written last, since it holds the answer."""
        actor = self.actor
        row = history.Act(
            id=self.id, action=self.name, person=actor.person, sender=actor.sender, role=actor.role_words,
            device=actor.device, digest=content, answer=_answer(answer), recorded_at=self.now,
        )  # fmt: skip
        if self._entries:
            record.append(row, self.now, self._entries)
        row.save(force_insert=True)


class ActionFunction(Protocol[P, T_co]):
    """An action as its callers see it: by an actor from a door, by an act from another action."""

    action_name: str
    permission: str

    def __call__(self, by: Actor | Act, /, *args: P.args, **kwargs: P.kwargs) -> T_co: ...


_BEFORE = Prepared(lambda key: history.Act.objects.filter(pk=key)[:1], ANY_KEY)
#: every action of the program by its name
ACTIONS: Final[dict[str, "ActionFunction[..., Any]"]] = {}


def action(name: str, *, may: str) -> Callable[[Callable[Concatenate[Act, P], T_co]], ActionFunction[P, T_co]]:
    """Makes an action of a function whose first parameter is its act. `may` is a row of the permission table."""

    def frame(body: Callable[Concatenate[Act, P], T_co]) -> ActionFunction[P, T_co]:
        @functools.wraps(body)
        def call(by: Actor | Act, /, *args: P.args, **kwargs: P.kwargs) -> T_co:
            if isinstance(by, Act):
                by.actor.demand(may)
                return body(by, *args, **kwargs)
            by.demand(may)
            return cast(T_co, _perform(Act(by, name), body, args, kwargs))

        function = cast(ActionFunction[P, T_co], call)
        function.action_name, function.permission = name, may
        ACTIONS[name] = function
        return function

    return frame


def _perform(act: Act, body: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]) -> Any:
    content = digest([act.name, plain(args), plain(kwargs), plain(act.actor.person)])
    with transaction.atomic():
        if act.actor.key is not None:
            record.lock(f"act:{act.id}")
            if (before := _BEFORE.first(act.id)) is not None:
                return _replay(before, content)
        result = body(act, *args, **kwargs)
        act._finish(content, result)
        return result


def _replay(before: history.Act, content: str) -> Any:
    if before.digest != content:
        raise SameKeyOtherContent(act=str(before.id), action=before.action)
    answer = before.answer
    if isinstance(answer, dict) and "$row" in answer:
        return apps.get_model(answer["$row"])._base_manager.get(pk=answer["pk"])
    return answer


def _answer(result: Any) -> Any:
    if isinstance(result, models.Model):
        return {"$row": result._meta.label_lower, "pk": str(result.pk)}
    return plain(result)


def _about(thing: models.Model | tuple[str, UUID]) -> tuple[str, UUID]:
    if isinstance(thing, models.Model):
        return str(thing._meta.model_name), thing.pk
    return thing


def plain(value: Any) -> Any:
    """A value as canonical JSON can carry it; whatever has a `sha256` counts as that."""
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, models.Model):
        return str(value.pk)
    if isinstance(value, (UUID, Decimal, float, date, datetime)):
        return str(value)
    return _plain_whole(value)


def _plain_whole(value: Any) -> Any:
    """The same of what is made of parts."""
    if (code := getattr(value, "sha256", None)) is not None:
        return {"sha256": str(code)}
    if is_dataclass(value) and not isinstance(value, type):
        return {part.name: plain(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted((plain(item) for item in value), key=str)
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} cannot be part of an action's content")


R = TypeVar("R", bound=history.Record)


def claim_version(rows: "models.QuerySet[R]", pk: UUID, version: int, mine: Mapping[str, Any]) -> R:
    """The record, locked, if it is still at `version`; else VersionConflict with both versions field by field.

    `mine` is what the person typed, field to value; a field on which both agree is no conflict and not in the error.
    """
    row = rows.select_for_update().filter(pk=pk).first()
    if row is None:
        raise NotFound
    if row.version == version:
        return row
    apart = [name for name in mine if plain(getattr(row, name)) != plain(mine[name])]
    if not apart:
        return row
    raise VersionConflict(
        who=last_author(row), theirs={name: plain(getattr(row, name)) for name in apart},
        mine={name: plain(mine[name]) for name in apart}, version=row.version, subject=history.subject_of(row),
    )  # fmt: skip


def last_author(row: models.Model) -> str:
    """Who wrote last about a record, by name; '?' where that is nobody's name."""
    last = history.Change.objects.filter(subject=history.subject_of(row)).order_by("-n").values_list("who", flat=True).first()
    person = Person.objects.filter(pk=last).values_list("name", flat=True).first() if last else None
    return person or "?"
