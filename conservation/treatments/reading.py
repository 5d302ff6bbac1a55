"""What a program or a form sends, read into what the actions take. Bad input is named by its field."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from conservation.treatments.actions.working import Done
from conservation.treatments.deeds import Meant
from museum.errors import Invalid
from museum.ids import uuid7

Body = Mapping[str, Any]


def text(body: Body, name: str) -> str:
    """Words; '' where none are given."""
    value = body.get(name) or ""
    if not isinstance(value, str):
        raise Invalid(field=name)
    return value


def key(body: Body, name: str) -> UUID:
    """A key that must be there."""
    found = key_or_none(body, name)
    if found is None:
        raise Invalid(_("'%(name)s' is missing."), field=name, name=name)
    return found


def key_or_none(body: Body, name: str) -> UUID | None:
    """A key, if one is given."""
    value = body.get(name)
    if value in (None, ""):
        return None
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(field=name) from None


def keys(body: Body, name: str) -> list[UUID]:
    """A list of keys."""
    return [key({name: value}, name) for value in listed(body, name)]


def listed(body: Body, name: str) -> Sequence[Any]:
    """A list; empty where none is given."""
    value = body.get(name) or []
    if not isinstance(value, list):
        raise Invalid(field=name)
    return value


def number(body: Body, name: str) -> int:
    """A whole number."""
    value = body.get(name)
    if isinstance(value, bool) or not str(value).isdigit():
        raise Invalid(_("“%(typed)s” is no whole number."), field=name, typed=str(value)[:40])
    return int(str(value))


def number_or_none(body: Body, name: str) -> int | None:
    """A whole number, if one is given."""
    return None if body.get(name) in (None, "") else number(body, name)


def day_or_none(body: Body, name: str) -> date | None:
    """A day, if one is given."""
    value = text(body, name)
    try:
        return date.fromisoformat(value) if value else None
    except ValueError:
        raise Invalid(_("This is no day of the calendar."), field=name) from None


def meant(body: Body) -> Meant:
    """One step as asked for."""
    return Meant(step=text(body, "step"), words=text(body, "words"), earlier=text(body, "earlier"))


def steps(body: Body) -> list[Meant]:
    """The steps of a proposal, in order."""
    rows = listed(body, "steps")
    if not all(isinstance(row, dict) for row in rows):
        raise Invalid(field="steps")
    return [meant(row) for row in rows]


def done(body: Body) -> Done:
    """One step as it was done."""
    return Done(
        id=key_or_none(body, "id") or uuid7(), meant=meant(body), surface=text(body, "surface"),
        acknowledged=[str(code) for code in listed(body, "acknowledged")], amounts=text(body, "amounts"), batches=text(body, "batches"),
        minutes=number_or_none(body, "minutes"), climate=text(body, "climate"),
        note=text(body, "note"), photographs=keys(body, "photographs"), batch_ids=keys(body, "batch_ids"),
    )  # fmt: skip
