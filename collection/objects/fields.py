"""What a field of the record accepts, and how its value reads. The value is JSON; the words as found are kept beside it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext_lazy as _

from collection.objects.models import Field
from museum.errors import Invalid

MOST_WORDS = 20_000
MARK_KINDS = ("maker", "size", "heat or batch", "date", "inspector", "issue", "owner", "unit", "importer", "added later")


@dataclass(frozen=True, slots=True)
class Said:
    """A cleaned value with the words it is shown by."""

    value: dict[str, Any] | None
    words: str


def clean(field: Field, value: Mapping[str, Any] | str | None, words: str = "") -> Said:
    """The value as this field keeps it. None empties the field. Raises Invalid."""
    if value is None:
        return Said(None, words)
    given = {"text": value} if isinstance(value, str) else dict(value)
    cleaner = {
        Field.Sort.TERM: _term, Field.Sort.DATE: _date, Field.Sort.MEASURE: _measure, Field.Sort.MARK: _mark, Field.Sort.CHOICE: _choice,
    }.get(Field.Sort(field.sort), _text)  # fmt: skip
    return cleaner(field, given, words)


def _string(field: Field, given: Mapping[str, Any], name: str, *, wanted: bool = False) -> str:
    text = str(given.get(name) or "").replace("\x00", "").strip()
    if wanted and not text:
        raise Invalid(_("Write something, or empty the field on purpose."), field=field.code)
    if len(text) > MOST_WORDS:
        raise Invalid(_("This text is longer than a record should hold; put it into a paper and refer to it."), field=field.code)
    return text


def _text(field: Field, given: Mapping[str, Any], words: str) -> Said:
    text = _string(field, given, "text", wanted=True)
    return Said({"text": text}, words or text)


def _term(field: Field, given: Mapping[str, Any], words: str) -> Said:
    """An object name on two levels: broader > narrower."""
    text = _string(field, given, "text", wanted=True)
    broader = _string(field, given, "broader")
    return Said({"text": text} | ({"broader": broader} if broader else {}), words or text)


def _date(field: Field, given: Mapping[str, Any], words: str) -> Said:
    """Words as found, EDTF, earliest and latest day; what is not known is left out."""
    text = words or _string(field, given, "text", wanted=True)
    value: dict[str, Any] = {"text": text}
    if edtf := _string(field, given, "edtf"):
        value["edtf"] = edtf
    days = {name: _day(field, given.get(name)) for name in ("earliest", "latest")}
    if days["earliest"] and days["latest"] and days["earliest"] > days["latest"]:
        raise Invalid(_("The earliest day lies after the latest."), field=field.code)
    return Said(value | {name: day.isoformat() for name, day in days.items() if day}, text)


def _day(field: Field, value: Any) -> date | None:
    if value in (None, ""):
        return None
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise Invalid(_("'%(value)s' is not a day; write it as 1938-05-17."), field=field.code, value=str(value)[:40]) from None


def _measure(field: Field, given: Mapping[str, Any], words: str) -> Said:
    text = words or _string(field, given, "text", wanted=True)
    extra = {name: _string(field, given, name) for name in ("label", "value", "unit", "state") if given.get(name)}
    return Said({"text": text} | extra, text)


def _mark(field: Field, given: Mapping[str, Any], words: str) -> Said:
    """A mark as seen: line ends '/', unreadable '[...]'."""
    text = _string(field, given, "text", wanted=True)
    extra = {name: _string(field, given, name) for name in ("kind", "place", "method", "reading") if given.get(name)}
    return Said({"text": text} | extra, words or text)


def _choice(field: Field, given: Mapping[str, Any], words: str) -> Said:
    text = _string(field, given, "text", wanted=True)
    if text not in field.choices:
        raise Invalid(_("Choose one of %(choices)s."), field=field.code, choices=", ".join(field.choices))
    return Said({"text": text}, words or text)
