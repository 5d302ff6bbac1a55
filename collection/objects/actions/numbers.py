"""Numbers: given, counted, replaced, voided; never given twice."""

from datetime import date
from typing import Final
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import visible_object
from collection.objects.models import Component, Counter, Number
from collection.objects.numbers import SERIES, NumberQuestion, ObjectNumber, parse_number, written_sort_key
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action

PREFIXES: Final = {series: prefix for prefix, series in SERIES.items()}
WHY: Final = {
    "empty": _("Write a number."),
    "looks_like_a_date": _("'%(text)s' looks like a date; a spreadsheet may have made it of a number. Did you mean %(offers)s?"),
    "other_separator": _("Numbers are written with points. Did you mean %(offers)s?"),
    "year_of_two_digits": _("Write the year with four digits; it is never guessed."),
    "out_of_range": _("'%(text)s' is outside what a number can be: years 1800 to 2199, lot and item 1 to 999999."),
    "not_our_form": _("'%(text)s' does not follow the form of our numbers, as in 1974.12.3 or T2025.3."),
}
#: places of the lot in a sort key: prefix of 3, year of 4, lot of 6
LOT: Final = slice(7, 13)
MOST_LETTERS: Final = 200


class NumberTaken(DomainError):
    """The number was issued before, to whatever, in whatever state."""

    code = "number_taken"
    template = _("%(number)s was given before. A number once issued is never issued again.")


class HasNumber(DomainError):
    """A thing has one accession number; another replaces it, with the reason."""

    code = "has_number"
    template = _("This thing carries %(number)s. Give it another number with the reason; the old one stays findable.")


def read_number(text: str) -> ObjectNumber:
    """The number a person typed. Raises Invalid with the question it raises."""
    read = parse_number(text)
    if isinstance(read, NumberQuestion):
        raise Invalid(WHY[read.why], field="number", text=text.strip(), offers=", ".join(read.offers), why=read.why)
    return read


@action("objects.give_number", may="catalogue.propose")
def give_number(act: Act, object_id: UUID, text: str, *, as_written: bool = False, component_id: UUID | None = None) -> Number:
    """Gives a number of the whole, or of a part. Accession numbers are the registrar's, the other series of whoever
    cares for things; `as_written` keeps what an older scheme wrote, for those who may edit.

    Raises Forbidden, Invalid, NumberTaken, HasNumber.
    """
    visible_object(act, object_id)
    number = put_number(act, object_id, text, as_written=as_written, component_id=component_id)
    card.refresh([object_id])
    return number


@action("objects.next_number", may="catalogue.propose")
def next_number(act: Act, object_id: UUID, series: str, year: int) -> Number:
    """Issues the next number of a series and year, counted under a lock: the one after the highest ever given."""
    visible_object(act, object_id)
    number = put_next_number(act, object_id, series, year)
    card.refresh([object_id])
    return number


@action("objects.renumber", may="number.issue")
def renumber(act: Act, object_id: UUID, text: str, *, reason: str) -> Number:
    """Gives a new number; the old one, and those of its parts, stay as former numbers and are still found."""
    visible_object(act, object_id)
    if not reason.strip():
        raise Invalid(_("Say why: renumbering loses old links."), field="reason")
    old = card.first_current(Number.objects.filter(object_id=object_id, state="current", component=None))
    parts = _part_numbers(old) if old else []
    for number in [*parts, *([old] if old else [])]:
        _end(act, number, Number.State.FORMER, reason)
    new = put_number(act, object_id, text)
    for part in parts:
        if part.component is not None and part.component.letter and new.series != Number.Series.AS_WRITTEN:
            put_part_number(act, part.component, new)
    card.refresh([object_id])
    return new


@action("objects.void_number", may="number.issue")
def void_number(act: Act, number_id: UUID, *, reason: str) -> Number:
    """Voids an issued number and those of its parts; the rows stay and the numbers are never issued again."""
    found = Number.objects.filter(pk=number_id, state=Number.State.CURRENT).first()
    if found is None:
        raise NotFound
    visible_object(act, found.object_id)
    number = Number.objects.select_for_update().filter(pk=number_id, state=Number.State.CURRENT).first()
    if number is None:
        raise NotFound
    if not reason.strip():
        raise Invalid(_("Say why it is void."), field="reason")
    for one in [*_part_numbers(number), number]:
        _end(act, one, Number.State.VOID, reason)
    card.refresh([number.object_id])
    return number


@action("objects.note_former_number", may="catalogue.edit")
def note_former_number(act: Act, object_id: UUID, text: str, *, reason: str = "") -> Number:
    """Notes a number that the thing carried before it came to our series, as it was written; search finds it."""
    visible_object(act, object_id)
    written = text.strip()
    if not written or len(written) > MOST_LETTERS or "\x00" in written:
        raise Invalid(_("Write the number as it stands on the object or in the old list."), field="number")
    number = Number.objects.create(
        object_id=object_id, series=Number.Series.AS_WRITTEN, state=Number.State.FORMER, text=written,
        sort_key=written_sort_key(written), given_on=clock.day_of(act.now), reason=reason.strip(),
    )  # fmt: skip
    after = {"number": written, "series": number.series, "state": number.state}
    act.wrote("object.numbered", number, after=after, reason=number.reason, about=[("object", object_id)])
    card.refresh([object_id])
    return number


def put_number(act: Act, object_id: UUID, text: str, *, as_written: bool = False, component_id: UUID | None = None) -> Number:
    """What `give_number` does, within another action on the same object."""
    if as_written:
        act.actor.demand("catalogue.edit")
        return _put_as_written(act, object_id, text.strip(), component_id)
    number = read_number(text)
    _demand_right(act, number.series)
    _demand_whole(number, object_id)
    return _store(act, object_id, component_id, series=number.series, text=str(number), sort_key=number.sort_key)


def put_next_number(act: Act, object_id: UUID, series: str, year: int) -> Number:
    """What `next_number` does, within another action on the same object."""
    if series not in PREFIXES:
        raise Invalid(_("There is no such series."), field="series")
    if not 1800 <= year <= 2199:
        raise Invalid(_("Write the year with four digits; it is never guessed."), field="year")
    _demand_right(act, series)
    lock(f"counter:{series}:{year}")
    counter, _made = Counter.objects.get_or_create(series=series, year=year)
    counter.last = max(counter.last, _highest_lot(series, year)) + 1
    counter.save(update_fields=["last"])
    item = 1 if series in ("accession", "loan_in") else 0
    number = ObjectNumber(PREFIXES[series], year, counter.last, item)
    return _store(act, object_id, None, series=series, text=str(number), sort_key=number.sort_key)


def put_part_number(act: Act, part: Component, whole: Number) -> Number:
    """The part's number: the whole's with its letter. It belongs to the whole's issue, so it needs no other right."""
    key = f"{whole.sort_key[:-1]}{len(part.letter)}{part.letter}"
    return _store(act, part.object_id, part.pk, series=whole.series, text=f"{whole.text}{part.letter}", sort_key=key)


def whole_number(object_id: UUID) -> Number | None:
    """The current number of our series that the parts' letters follow."""
    ours = Number.objects.filter(object_id=object_id, state="current", component=None).exclude(series="as_written")
    return card.first_current(ours)


def _put_as_written(act: Act, object_id: UUID, text: str, component_id: UUID | None) -> Number:
    if not text or len(text) > MOST_LETTERS or "\x00" in text:
        raise Invalid(_("Write the number as it stands on the object or in the old list."), field="number")
    return _store(
        act,
        object_id,
        component_id,
        series=Number.Series.AS_WRITTEN,
        text=text,
        sort_key=written_sort_key(text),
    )


def _demand_right(act: Act, series: str) -> None:
    if series == Number.Series.ACCESSION:
        act.actor.demand("number.issue")


def _demand_whole(number: ObjectNumber, object_id: UUID) -> None:
    """A part letter may exist only under the whole of the same object."""
    whole = Number.objects.filter(text=str(number.whole), state="current", object_id=object_id)
    if number.part and not whole.exists():
        raise Invalid(
            _("%(number)s is a part, but this thing does not carry %(whole)s."),
            field="number", number=str(number), whole=str(number.whole),
        )  # fmt: skip


def _highest_lot(series: str, year: int) -> int:
    """The highest lot of a series and year that was ever given, whoever typed it."""
    head = f"{PREFIXES[series]:<3}{year:04}"
    given = Number.objects.filter(series=series, sort_key__gte=head, sort_key__lt=f"{head}~")
    last = given.exclude(state="withdrawn").order_by("-sort_key").values_list("sort_key", flat=True).first()
    return int(last[LOT]) if last else 0


def _part_numbers(whole: Number) -> list[Number]:
    """The current numbers of the parts that follow this one of the whole."""
    of_parts = Number.objects.filter(object_id=whole.object_id, state="current", series=whole.series)
    rows = of_parts.exclude(component=None).select_related("component")
    return [row for row in rows if row.component is not None and row.text == f"{whole.text}{row.component.letter}"]


def _end(act: Act, number: Number, state: str, reason: str) -> None:
    before = {"number": number.text, "state": number.state}
    number.state, number.reason, number.ended_on = state, reason.strip(), clock.day_of(act.now)
    number.version += 1
    number.save(update_fields=["state", "reason", "ended_on", "version"])
    after = {"number": number.text, "state": state}
    act.wrote("number.ended", number, before=before, after=after, reason=number.reason, about=[("object", number.object_id)])


def _store(act: Act, object_id: UUID, component_id: UUID | None, *, series: str, text: str, sort_key: str) -> Number:
    given_on: date = clock.day_of(act.now)
    number = Number(object_id=object_id, component_id=component_id, series=series, text=text, sort_key=sort_key, given_on=given_on)
    try:
        with transaction.atomic():
            number.save(force_insert=True)
    except IntegrityError as refused:
        raise _taken(refused, number) from None
    after = {"number": text, "series": series}
    act.wrote("object.numbered", number, after=after, about=[("object", object_id)])
    return number


def _taken(refused: IntegrityError, number: Number) -> DomainError:
    """Which of the rules on numbers the database upheld."""
    if "one_accession_number" in str(refused):
        rows = Number.objects.filter(object_id=number.object_id, series="accession", state="current", component=None)
        return HasNumber(field="number", number=str(rows.first()))
    return NumberTaken(field="number", number=number.text)
