"""What each sort of field accepts, how its value reads, and what of it search finds.

A value is a small JSON mapping; the words as found are kept beside it and are what people read. Whatever
cannot be taken raises Invalid and names the field.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar, Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from collection.objects.date_words import between
from collection.objects.dates import EdtfError, Reading, bounds, read_date
from collection.objects.measures import IN_G, IN_MM, Measured, read_measures
from collection.objects.models import Field
from museum.errors import Invalid

MOST_WORDS: Final = 20_000
MOST_SOUGHT: Final = 4_000

MARK_KINDS: Final[Mapping[str, Promise]] = {
    "maker": _("maker"), "size": _("size"), "heat or batch": _("heat or batch"), "date": _("date"),
    "inspector": _("inspector"), "issue": _("issue"), "owner": _("owner"), "unit": _("unit"),
    "importer": _("importer"), "added later": _("added later"),
}  # fmt: skip
UNITS: Final[Mapping[str, Promise]] = {
    "mm": _("mm"), "cm": _("cm"), "in": _("inches"), "g": _("g"), "kg": _("kg"), "lb": _("pounds"), "oz": _("ounces"),
}  # fmt: skip
#: what a choice of the shipped fields reads like; a choice of the society's own reads as it is written
CHOICE_WORDS: Final[Mapping[str, Promise]] = {
    "high": _("high"), "normal": _("normal"), "low": _("low"),
    "not in doubt": _("not in doubt"), "in doubt": _("in doubt"), "a copy": _("a copy"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Said:
    """A cleaned value with the words it is shown by. No value: the field is empty on purpose."""

    value: dict[str, Any] | None
    words: str


@dataclass(frozen=True, slots=True)
class Input:
    """One input by which a person fills a field of this sort."""

    name: str
    label: str | Promise
    kind: str = "line"
    choices: tuple[tuple[str, str | Promise], ...] = ()


class Words:
    """Free words; the ground of every other sort."""

    #: members of the value beside `text`
    others: ClassVar[tuple[str, ...]] = ()

    def inputs(self, field: Field) -> tuple[Input, ...]:
        """What a form asks for."""
        return (Input("text", _("In words"), "text"),)

    def clean(self, field: Field, given: Mapping[str, Any], words: str) -> Said:
        """The value as this sort keeps it."""
        text = _string(field, given, "text") or words.strip()
        if not text:
            raise Invalid(_("Write something, or empty the field on purpose."), field=field.code)
        others = {name: found for name in self.others if (found := _string(field, given, name))}
        return Said({"text": text} | self.checked(field, others), words or text)

    def checked(self, field: Field, others: dict[str, str]) -> dict[str, Any]:
        """The other members, checked."""
        return others

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        """How it reads on a page."""
        return words or str(value.get("text", ""))

    def sought(self, value: Mapping[str, Any], words: str) -> str:
        """What search looks in."""
        return f"{words} {value.get('text', '')}"[:MOST_SOUGHT] if value.get("text") != words else words[:MOST_SOUGHT]


class Term(Words):
    """An object name on two levels: headgear > steel helmet."""

    others = ("broader",)

    def inputs(self, field: Field) -> tuple[Input, ...]:
        return (Input("text", _("Name")), Input("broader", _("Belongs under (headgear, apparatus, print ...)")))


class DateMade(Words):
    """A date: words as found, EDTF, earliest and latest day. What is not known is left out.

    Words alone are read where they can be read without asking; where not, `ask` says why and nothing is guessed.
    """

    others = ("edtf", "earliest", "latest")

    def inputs(self, field: Field) -> tuple[Input, ...]:
        return (
            Input("text", _("As found or as you would print it")),
            Input("earliest", _("Not before (as 1938-01-01)")),
            Input("latest", _("Not after (as 1938-12-31)")),
            Input("edtf", _("In EDTF, if you know it")),
        )

    def clean(self, field: Field, given: Mapping[str, Any], words: str) -> Said:
        said = super().clean(field, given, words)
        if said.value is None or len(said.value) > 1:
            return said
        return Said(said.value | _read_words(said.words), said.words)

    def checked(self, field: Field, others: dict[str, str]) -> dict[str, Any]:
        days = _of_edtf(field, others["edtf"]) if "edtf" in others else {}
        days |= {name: _day(field, others[name]).isoformat() for name in ("earliest", "latest") if name in others}
        if others and len(days) == 2 and days["earliest"] > days["latest"] and not days["earliest"].startswith("-"):
            raise Invalid(_("The earliest day lies after the latest."), field=field.code)
        return others | days

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        bounds = between(value.get("earliest"), value.get("latest"))
        return f"{words} ({bounds})" if bounds and bounds != words else words


class Measure(Words):
    """A measure: which one, figure and unit as taken, in which state; millimetres or grams beside it for search.

    Words alone are read where they can be read whole: `measures` holds each figure found.
    """

    others = ("label", "value", "unit", "state")

    def inputs(self, field: Field) -> tuple[Input, ...]:
        return (
            Input("label", _("What was measured (height, rim, weight ...)")),
            Input("value", _("Figure")),
            Input("unit", _("Unit"), "choice", (("", "–"), *UNITS.items())),
            Input("state", _("In which state (with liner, without strap ...)")),
            Input("text", _("Or all in words, as found")),
        )

    def clean(self, field: Field, given: Mapping[str, Any], words: str) -> Said:
        if given.get("value") and not words:
            words = f"{given['value']} {given.get('unit', '')}".strip()
        said = super().clean(field, given, words)
        if said.value is None or "value" in said.value:
            return said
        return Said(said.value | _measures(read_measures(said.words)), said.words)

    def checked(self, field: Field, others: dict[str, str]) -> dict[str, Any]:
        if "value" not in others:
            return others
        unit, figure = others.get("unit", ""), _figure(field, others["value"])
        if unit not in UNITS:
            raise Invalid(_("Say the unit of the measure."), field=field.code)
        return others | _metric(figure, unit)

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        label, state = value.get("label"), value.get("state")
        text = f"{label}: {words}" if label and not words.startswith(str(label)) else words
        text += f" ({value['mm']} mm)" if value.get("mm") and value.get("unit") == "in" else ""
        return f"{text}, {state}" if state else text


class Mark(Words):
    """A mark as seen: line ends '/', unreadable '[...]', a guess '[W?]'."""

    others = ("kind", "place", "method", "reading")

    def inputs(self, field: Field) -> tuple[Input, ...]:
        return (
            Input("text", _("As seen; line ends /, unreadable [...]")),
            Input("kind", _("It is a mark of"), "choice", (("", _("not known")), *MARK_KINDS.items())),
            Input("place", _("Where on it")),
            Input("method", _("How (stamped, painted, sewn ...)")),
            Input("reading", _("What it means")),
        )

    def checked(self, field: Field, others: dict[str, str]) -> dict[str, Any]:
        if others.get("kind", "maker") not in MARK_KINDS:
            raise Invalid(_("Choose one of %(choices)s."), field=field.code, choices=_listed(MARK_KINDS))
        return others

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        kind = MARK_KINDS.get(value.get("kind", ""))
        about = [str(part) for part in (kind, value.get("method"), value.get("place")) if part]
        text = f"“{words}” ({', '.join(about)})" if about else f"“{words}”"
        return f"{text}: {value['reading']}" if value.get("reading") else text

    def sought(self, value: Mapping[str, Any], words: str) -> str:
        return f"{words} {value.get('reading', '')}"[:MOST_SOUGHT]


class Party(Words):
    """A maker, wearer or holder: a name, and what they were to the thing."""

    others = ("role", "place")

    def inputs(self, field: Field) -> tuple[Input, ...]:
        return (Input("text", _("Name")), Input("role", _("Was what to it")), Input("place", _("Where")))

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        about = ", ".join(str(value[name]) for name in self.others if value.get(name))
        return f"{words} ({about})" if about else words


class Choice(Words):
    """One of a few."""

    def inputs(self, field: Field) -> tuple[Input, ...]:
        choices = tuple((code, choice_words(code)) for code in field.choices)
        return (Input("text", _("One of"), "choice", (("", _("not said")), *choices)),)

    def clean(self, field: Field, given: Mapping[str, Any], words: str) -> Said:
        said = super().clean(field, given, words)
        if said.value is None or said.value["text"] not in field.choices:
            raise Invalid(_("Choose one of %(choices)s."), field=field.code, choices=", ".join(field.choices))
        return said

    def shown(self, value: Mapping[str, Any], words: str) -> str:
        return str(choice_words(str(value.get("text", words))))

    def sought(self, value: Mapping[str, Any], words: str) -> str:
        return ""


SORTS: Final[Mapping[str, Words]] = {
    Field.Sort.WORDS: Words(), Field.Sort.TERM: Term(), Field.Sort.DATE: DateMade(), Field.Sort.MEASURE: Measure(),
    Field.Sort.MARK: Mark(), Field.Sort.PARTY: Party(), Field.Sort.CHOICE: Choice(),
}  # fmt: skip


def clean(field: Field, value: Mapping[str, Any] | str | None, words: str = "") -> Said:
    """The value as this field keeps it. None empties the field. Raises Invalid."""
    if value is None:
        return Said(None, words)
    if not isinstance(value, (str, Mapping)):
        raise Invalid(_("This entry cannot be taken as it stands."), field=field.code)
    given = {"text": value} if isinstance(value, str) else value
    return SORTS[field.sort].clean(field, given, words.replace("\x00", ""))


def shown(field: Field, value: Mapping[str, Any] | None, words: str) -> str:
    """How a value of this field reads; nothing for one emptied on purpose, of an erased one when and why."""
    if value is not None and "erased" in value:
        day = date_format(date.fromisoformat(value["erased"]), "SHORT_DATE_FORMAT")
        return str(_("erased on %(day)s: %(because)s") % {"day": day, "because": value["because"]})
    return "" if value is None else SORTS[field.sort].shown(value, words)


def sought(field: Field, value: Mapping[str, Any] | None, words: str) -> str:
    """What of a value search looks in."""
    return "" if value is None or "erased" in value else SORTS[field.sort].sought(value, words)


def inputs(field: Field) -> tuple[Input, ...]:
    """What a form asks for."""
    return SORTS[field.sort].inputs(field)


def choice_words(code: str) -> str | Promise:
    """A choice in words."""
    return CHOICE_WORDS.get(code, code)


def _string(field: Field, given: Mapping[str, Any], name: str) -> str:
    found = given.get(name)
    text = "" if found is None else str(found).replace("\x00", "").strip()
    if len(text) > MOST_WORDS:
        raise Invalid(_("This text is longer than a record should hold; put it into a paper and refer to it."), field=field.code)
    return text


def _day(field: Field, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Invalid(_("'%(value)s' is not a day; write it as 1938-05-17."), field=field.code, value=text[:40]) from None


def _of_edtf(field: Field, text: str) -> dict[str, str]:
    """The days that an EDTF text lies between."""
    try:
        found = bounds(text)
    except EdtfError:
        raise Invalid(
            _("'%(value)s' cannot be read as EDTF; leave it empty or write it as 1938~ or [1919..1939]."),
            field=field.code, value=text[:40],
        ) from None  # fmt: skip
    return {name: str(day) for name, day in zip(("earliest", "latest"), found, strict=True) if day is not None}


def _read_words(words: str) -> dict[str, Any]:
    read = read_date(words)
    if not isinstance(read, Reading):
        return {"ask": read.why} | ({"offers": list(read.candidates)} if read.candidates else {})
    days = {"edtf": read.edtf, "earliest": read.earliest, "latest": read.latest}
    offers = {"ask": "confirm", "offers": list(read.confirm)} if read.confirm else {}
    return {name: str(day) for name, day in days.items() if day is not None} | offers


def _measures(read: Measured) -> dict[str, Any]:
    """The figures of words; where they contradict each other or part of them cannot be read, `ask` says so."""
    if read.contradictions or read.unlike or read.unread:
        return {"ask": "unread" if read.unread else "contradiction"}
    if not read.measures:
        return {}
    rows = [{"label": one.label, "value": str(one.value), "unit": one.unit} for one in read.measures]
    return {"measures": [row | _metric(one.value, one.unit) for row, one in zip(rows, read.measures, strict=True)]}


def _metric(figure: Decimal, unit: str) -> dict[str, str]:
    """Millimetres or grams, exactly as converted."""
    name, table = ("mm", IN_MM) if unit in IN_MM else ("g", IN_G)
    return {name: format((figure * table[unit]).normalize(), "f")}


def _figure(field: Field, text: str) -> Decimal:
    """A positive decimal figure, with a point or a comma."""
    try:
        figure = Decimal(text.replace(",", "."))
    except InvalidOperation:
        figure = Decimal(0)
    if not figure.is_finite() or not 0 < figure < 10**7:
        raise Invalid(_("'%(value)s' is not a figure; write it as 183.5."), field=field.code, value=text[:40])
    return figure


def _listed(words: Mapping[str, Promise]) -> str:
    return ", ".join(str(word) for word in words.values())
