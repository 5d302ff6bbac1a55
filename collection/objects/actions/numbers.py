"""Numbers: given, counted, replaced, voided; never given twice."""

from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.models import Counter, Number, Object
from collection.objects.numbers import NumberQuestion, ObjectNumber, parse_number, written_sort_key
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action

PREFIXES = {"accession": "", "entry": "E", "temporary": "T", "loan_in": "L"}
WHY = {
    "empty": _("Write a number."),
    "looks_like_a_date": _("'%(text)s' looks like a date; a spreadsheet may have made it of a number. Did you mean %(offers)s?"),
    "other_separator": _("Numbers are written with points. Did you mean %(offers)s?"),
    "year_of_two_digits": _("Write the year with four digits; it is never guessed."),
    "out_of_range": _("'%(text)s' is outside what a number can be: years 1800 to 2199, lot and item 1 to 999999."),
    "not_our_form": _("'%(text)s' does not follow the form of our numbers, as in 1974.12.3 or T2025.3."),
}


class NumberTaken(DomainError):
    """The number was issued before, to whatever, in whatever state."""

    code = "number_taken"
    template = _("%(number)s was given before. A number once issued is never issued again.")


def read_number(text: str) -> ObjectNumber:
    """The number a person typed. Raises Invalid with the question it raises."""
    read = parse_number(text)
    if isinstance(read, NumberQuestion):
        raise Invalid(WHY[read.why], field="number", text=text.strip(), offers=", ".join(read.offers), why=read.why)
    return read


@action("objects.give_number", may="photo.add")
def give_number(act: Act, object_id: UUID, text: str, *, as_written: bool = False, component_id: UUID | None = None) -> Number:
    """Gives a number. Accession and loan-in numbers are the registrar's; as written = kept as older schemes wrote it.

    Raises Forbidden, Invalid, NumberTaken.
    """
    if not Object.objects.filter(pk=object_id).exists():
        raise NotFound()
    if as_written:
        act.actor.demand("catalogue.edit")
        return _store(act, object_id, component_id, Number.Series.AS_WRITTEN, text.strip(), written_sort_key(text.strip()))
    number = read_number(text)
    if number.series in ("accession", "loan_in"):
        act.actor.demand("number.issue")
    _demand_whole(number)
    return _store(act, object_id, component_id, number.series, str(number), number.sort_key)


@action("objects.next_number", may="photo.add")
def next_number(act: Act, object_id: UUID, series: str, year: int) -> Number:
    """Issues the next number of a series and year, counted under a lock."""
    if series not in PREFIXES:
        raise Invalid(_("There is no such series."), field="series")
    if series in ("accession", "loan_in"):
        act.actor.demand("number.issue")
    lock(f"counter:{series}:{year}")
    counter, _made = Counter.objects.get_or_create(series=series, year=year)
    item = 1 if series in ("accession", "loan_in") else 0
    while True:
        counter.last += 1
        number = ObjectNumber(PREFIXES[series], year, counter.last, item)
        if not Number.objects.filter(series=series, text__startswith=f"{PREFIXES[series]}{year}.{counter.last}").filter(
            text__regex=rf"^{PREFIXES[series]}{year}\.{counter.last}(\D|$)"
        ).exists():
            break
    counter.save(update_fields=["last"])
    return _store(act, object_id, None, series, str(number), number.sort_key)


@action("objects.renumber", may="number.issue")
def renumber(act: Act, object_id: UUID, text: str, *, reason: str) -> Number:
    """Gives a new number; the old one stays as a former number and is still found."""
    if not reason.strip():
        raise Invalid(_("Say why: renumbering loses old links."), field="reason")
    old = Number.objects.filter(object_id=object_id, state="current", component=None).first()
    new = give_number(act, object_id, text)
    if old is not None:
        _end(act, old, Number.State.FORMER, reason)
    card.refresh([object_id])
    return new


@action("objects.void_number", may="number.issue")
def void_number(act: Act, number_id: UUID, *, reason: str) -> Number:
    """Voids an issued number; the row stays and the number is never issued again."""
    number = Number.objects.select_for_update().filter(pk=number_id, state="current").first()
    if number is None:
        raise NotFound()
    if not reason.strip():
        raise Invalid(_("Say why it is void."), field="reason")
    _end(act, number, Number.State.VOID, reason)
    card.refresh([number.object_id])
    return number


def _end(act: Act, number: Number, state: str, reason: str) -> None:
    number.state, number.reason, number.ended_on = state, reason.strip(), clock.day_of(act.now)
    number.version += 1
    number.save(update_fields=["state", "reason", "ended_on", "version"])
    act.wrote("number.ended", number, after={"number": number.text, "state": state}, reason=reason, about=[("object", number.object_id)])


def _demand_whole(number: ObjectNumber) -> None:
    """A part letter may exist only under an existing whole."""
    if number.part and not Number.objects.filter(text=str(number.whole), state="current").exists():
        raise Invalid(_("%(number)s is a part, but %(whole)s is not in the register."), field="number", number=str(number), whole=str(number.whole))


def _store(act: Act, object_id: UUID, component_id: UUID | None, series: str, text: str, sort_key: str) -> Number:
    number = Number(object_id=object_id, component_id=component_id, series=series, text=text, sort_key=sort_key)
    try:
        with transaction.atomic():
            number.save(force_insert=True)
    except IntegrityError:
        raise NumberTaken(number=text) from None
    act.wrote("object.numbered", number, after={"number": text, "series": series}, about=[("object", object_id)])
    card.refresh([object_id])
    return number


