"""Things that were found and stand in no record: entered under a temporary number, later known for what they are."""

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import visible_object
from collection.objects.actions.numbers import put_next_number, put_number
from collection.objects.actions.objects import put_object
from collection.objects.actions.photographs import show_too
from collection.objects.models import Number, Object, Ownership
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.models import About
from museum.history.record import lock
from museum.people.action import Act, action

KIND = "other"
#: letters of a name, which stands in every list
LONGEST_NAME = 200
#: what may have happened to a found thing that goes with it when it is known
GOES_ALONG = (
    "objects.enter_found", "places.found", "objects.add_photograph", "objects.correct_photograph", "objects.withdraw_photograph",
    "places.move_object", "places.correct_move",
)  # fmt: skip


class StandsAlone(DomainError):
    """Something happened to the found thing that cannot go to another record."""

    code = "found_stands_alone"
    template = _(
        "More was written about %(number)s than photographs and moves, such as a check. Facts stay with the record they were written in: "
        "give this one an accession number, or have what was written taken back first."
    )


@action("objects.enter_found", may="things.found")
def enter_found(act: Act, *, object_id: UUID, name: str, note: str = "", where: str = "", kind: str = KIND) -> Object:
    """Enters a thing that is in no record, under the next temporary number; nobody knows yet whose it is. Repeatable by key.

    `where` are the words of the finder. Raises Invalid.
    """
    if not name.strip():
        raise Invalid(_("Say what it looks like, as you would call it."), field="name")
    if len(name.strip()) > LONGEST_NAME:
        raise Invalid(_("A name of at most %(n)s letters, please; the note has room for more."), field="name", n=LONGEST_NAME)
    lines = [note.strip(), str(_("Found: %(where)s")) % {"where": where.strip()} if where.strip() else ""]
    said: dict[str, object] = {"name": name.strip()}
    if remarks := "\n".join(filter(None, lines)):
        said["remarks"] = [remarks]
    return put_object(act, object_id=object_id, kind=kind, next_in=Number.Series.TEMPORARY, said=said, whose=Ownership.Whose.FOUND)


@action("objects.number_found", may="number.issue")
def number_found(act: Act, object_id: UUID, *, number: str = "", reason: str = "") -> Number:
    """Gives a thing under a temporary number its accession number, typed or the next; the temporary one stays a former one.

    Raises Invalid, NumberTaken, NotFound.
    """
    visible_object(act, object_id)
    old = _temporary(object_id)
    told = reason.strip() or str(_("It has its accession number now."))
    year = clock.day_of(act.now).year
    new = put_number(act, object_id, number) if number.strip() else put_next_number(act, object_id, Number.Series.ACCESSION, year)
    if new.series != Number.Series.ACCESSION:
        raise Invalid(_("This is no accession number; write it as 1974.12.3."), field="number")
    _make_former(act, old, old.object_id, told)
    card.refresh([object_id])
    return new


@action("objects.merge_found", may="catalogue.edit")
def merge_found(act: Act, object_id: UUID, *, target: UUID, reason: str = "") -> Object:
    """Says that a found thing is one that has a record: number and photographs go there, the found record is taken back.

    Raises StandsAlone where more is written about it than can go along, Invalid, NotFound.
    """
    if object_id == target:
        raise Invalid(_("This is the found thing itself."), field="target")
    for key in sorted((object_id, target)):
        lock(f"object:{key}")
    found, known = visible_object(act, object_id), visible_object(act, target)
    old = _temporary(object_id)
    if About.objects.filter(kind="object", key=object_id).exclude(change__act__action__in=GOES_ALONG).exists():
        raise StandsAlone(number=old.text)
    told = reason.strip() or str(_("It was found to be this thing."))
    shown = show_too(act, ("object", object_id), ("object", target))
    _make_former(act, old, target, told)
    found.withdrawn, found.version = told, found.version + 1
    found.save(update_fields=["withdrawn", "version"])
    after = {"is": str(target), "number": old.text, "photographs": shown}
    act.wrote("object.identified", found, after=after, reason=told, about=[found, known])
    card.refresh([object_id, target])
    return known


def _temporary(object_id: UUID) -> Number:
    """The temporary number by which a thing goes. Raises NotFound."""
    rows: Sequence[Number] = list(Number.objects.select_for_update().filter(object_id=object_id, state=Number.State.CURRENT, component=None))
    found = card.first_current(rows)
    if found is None or found.series != Number.Series.TEMPORARY:
        raise NotFound
    return found


def _make_former(act: Act, number: Number, object_id: UUID, reason: str) -> None:
    before = {"number": number.text, "state": number.state, "object": str(number.object_id)}
    number.object_id, number.state, number.reason = object_id, Number.State.FORMER, reason
    number.ended_on, number.version = clock.day_of(act.now), number.version + 1
    number.save(update_fields=["object", "state", "reason", "ended_on", "version"])
    after = {"number": number.text, "state": number.state, "object": str(object_id)}
    act.wrote("number.ended", number, before=before, after=after, reason=reason, about=[("object", object_id)])
