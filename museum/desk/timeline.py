"""The one time-line of everything that happened, read from the history."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Card
from locations.places.models import Movement
from museum.desk.wording import in_words, texts_for
from museum.history.models import About, Change
from museum.people.actor import Actor
from museum.people.models import Person
from museum.prepared import ANY_KEY, Prepared

#: how an entry 'hazard.told' is read that closes a danger
SETTLED: Final = "hazard.told, closed"
#: history entry to the sentence that follows the name of who did it, the icon, and the group it is filtered by
SENTENCES: Final[dict[str, tuple[Promise, str, str]]] = {
    "object.made": (_("entered it"), "plus", "record"),
    "object.imported": (_("brought it in from a list"), "plus", "record"),
    "object.identified": (_("said which thing it is"), "label", "record"),
    "object.withdrawn": (_("took the record back"), "cross", "record"),
    "import.row_taken_back": (_("took the line of a list back"), "cross", "record"),
    "object.changed": (_("changed what it is"), "pen", "record"),
    "object.numbered": (_("gave it a number"), "label", "record"),
    "number.ended": (_("ended a number"), "label", "record"),
    "statement.made": (_("wrote in the record"), "pen", "record"),
    "statement.proposed": (_("proposed for the record"), "pen", "record"),
    "statement.accepted": (_("accepted a proposal"), "pen", "record"),
    "statement.erased": (_("erased personal words of the record"), "pen", "record"),
    "statement.declined": (_("left a proposal aside"), "pen", "record"),
    "component.changed": (_("changed what is said of a part"), "pen", "record"),
    "component.added": (_("added a part"), "plus", "record"),
    "component.lettered": (_("gave the whole its letter"), "label", "record"),
    "made_of.said": (_("said what it is made of"), "pen", "record"),
    "made_of.withdrawn": (_("took a material back"), "pen", "record"),
    "zone.noted": (_("noted a zone"), "pen", "record"),
    "zone.drawn": (_("drew a zone on a photograph"), "pen", "record"),
    "zone.erased": (_("took a zone off a photograph"), "pen", "record"),
    "ownership.said": (_("said whose it is"), "papers", "record"),
    "hazard.told": (_("told of a danger"), "caution", "danger"),
    SETTLED: (_("settled a danger"), "tick", "danger"),
    "screen.answered": (_("answered the ten questions"), "caution", "danger"),
    "screen.confirmed": (_("confirmed the ten questions from its lot"), "tick", "danger"),
    "opening.told": (_("told that the ten questions are to be asked anew"), "caution", "danger"),
    "photograph.added": (_("added a photograph"), "camera", "photograph"),
    "photograph.corrected": (_("said better what a photograph shows"), "camera", "photograph"),
    "photograph.withdrawn": (_("took a photograph back"), "camera", "photograph"),
    "movement.recorded": (_("moved it"), "move", "place"),
    "movement.corrected": (_("corrected a move"), "move", "place"),
    "humidity.decided": (_("decided on the humidity it stands in"), "places", "place"),
    "humidity.withdrawn": (_("took back what was decided on the humidity it stands in"), "places", "place"),
    "place.changed": (_("changed its place"), "places", "place"),
    "place.wall_told": (_("told that its place stands against a colder wall"), "places", "place"),
    "place.wall_ended": (_("told that its place does not stand against a colder wall any more"), "places", "place"),
    "check.recorded": (_("checked it"), "loupe", "check"),
    "check.overruled": (_("judged it otherwise"), "loupe", "check"),
    "call.made": (_("asked for a look"), "clock", "check"),
    "call.withdrawn": (_("took back a look asked for"), "clock", "check"),
    "call.answered": (_("said that a look asked for is not needed"), "clock", "check"),
    "event.reported": (_("told of an event"), "caution", "check"),
    "round.left_out": (_("left it out of a round"), "rounds", "check"),
    "booking.made": (_("planned a use of it"), "clock", "plan"),
    "booking.changed": (_("changed what is planned"), "clock", "plan"),
    "booking.cancelled": (_("cancelled what was planned"), "clock", "plan"),
    "object.judged": (_("judged it again, since what is known or planned changed"), "loupe", "check"),
    "treatment.proposed": (_("proposed a treatment"), "brush", "treatment"),
    "treatment.sent_again": (_("sent a proposal for treatment again"), "brush", "treatment"),
    "treatment.approved": (_("approved a treatment"), "tick", "treatment"),
    "treatment.returned": (_("returned a proposal for treatment"), "brush", "treatment"),
    "treatment.endorsed": (_("agreed to a proposal as a conservator"), "tick", "treatment"),
    "invitation.made": (_("invited a conservator from outside"), "person", "treatment"),
    "invitation.accepted": (_("accepted an invitation"), "person", "treatment"),
    "invitation.ended": (_("took an invitation back"), "cross", "treatment"),
    "treatment.withdrawn": (_("took a proposal for treatment back"), "cross", "treatment"),
    "treatment.countersigned": (_("countersigned a treatment"), "tick", "treatment"),
    "treatment.lapsed": (_("told that an approval has ended"), "clock", "treatment"),
    "treatment.owner_leave": (_("put the owner’s leave on file"), "papers", "treatment"),
    "work.begun": (_("began work on it"), "brush", "treatment"),
    "work.tried": (_("tried a step on a small spot"), "brush", "treatment"),
    "work.waits": (_("began a waiting time of a step"), "brush", "treatment"),
    "work.kept": (_("kept what came off it"), "bag", "treatment"),
    "work.ended": (_("ended work on it"), "tick", "treatment"),
    "deposit.named": (_("named a deposit"), "loupe", "treatment"),
    "deposit.decided": (_("decided on a deposit"), "loupe", "treatment"),
    "work.done": (_("did a step of treatment"), "brush", "treatment"),
    "work.followed": (_("looked again at finished work"), "loupe", "treatment"),
    "work.stopped": (_("stopped work at a stop sign"), "stop", "treatment"),
    "batch.used": (_("used a batch on it"), "brush", "treatment"),
    "card.started": (_("laid a card under it"), "loupe", "check"),
    "card.read": (_("read a card laid under it"), "loupe", "check"),
    "incident.opened": (_("opened an incident"), "caution", "check"),
    "incident.listed": (_("listed what an incident puts at risk"), "caution", "check"),
    "incident.step": (_("told what was done in an incident"), "caution", "check"),
    "incident.closed": (_("closed an incident"), "tick", "check"),
    "paper.issued": (_("issued a paper"), "papers", "paper"),
}
SHOWS: Final = (
    ("", _("everything")),
    ("check", _("checks")),
    ("place", _("places")),
    ("record", _("record")),
    ("danger", _("dangers")),
    ("photograph", _("photographs")),
    ("plan", _("plans")),
    ("treatment", _("treatments")),
    ("paper", _("papers")),
)
#: what of an entry is told beside its sentence, in this order
TOLD: Final = (
    "kind", "from_on", "until_on", "grade", "urgency", "number", "field", "to", "place", "code", "level", "material", "name", "sort", "title", "clock",
    "lot", "opened",
)  # fmt: skip
LENGTH = 40
LATELY = 8
SHOWN_LATELY: Final = ("check.recorded", "movement.recorded", "object.made", "hazard.told")


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a time-line."""

    at: datetime
    who: str
    sentence: Promise | str
    icon: str
    detail: str
    reason: str
    check: str
    thing: Card | None = None


def of_object(object_id: UUID, group: str = "", *, exact: bool = True) -> list[Entry]:
    """What happened to one object, newest first; places by name only for those who may know the exact place."""
    if not group:
        return _entries(_LAST(object_id), exact)
    codes = [code for code, (_sentence, _icon, of) in SENTENCES.items() if of == group]
    return _entries(list(_named().filter(n__in=_about(object_id), what__in=codes).order_by("-n")[:LENGTH]), exact)


def _about(object_id: UUID) -> "QuerySet[About, int]":
    """The numbers of all entries about one object, newest first."""
    return About.objects.filter(kind="object", key=object_id).order_by("-change_id").values_list("change_id", flat=True)


def _named() -> QuerySet[Any, Any]:
    """Entries, each with the name of who wrote it."""
    return Change.objects.annotate(by=Subquery(Person.objects.filter(pk=OuterRef("who")).values("name")))


_LAST = Prepared(lambda key: _named().filter(n__in=_about(key)[:LENGTH]).order_by("-n"), ANY_KEY)
_ITS_THING = Subquery(About.objects.filter(change=OuterRef("n"), kind="object").order_by("-pk").values("key")[:1])
_LATELY = Prepared(lambda: _named().annotate(thing=_ITS_THING).filter(what__in=SHOWN_LATELY).order_by("-at", "-n")[:LATELY])


def lately(actor: Actor) -> list[Entry]:
    """What was written last, for those who care for the collection."""
    if not actor.may("catalogue.see_all"):
        return []
    rows = _LATELY()
    cards = Card.objects.in_bulk({row.thing for row in rows})
    texts, exact = texts_for(rows), actor.may("place.see_exact")
    return [_entry(row, texts, exact, cards.get(row.thing)) for row in rows]


def _entries(rows: Sequence[Change], exact: bool) -> list[Entry]:
    texts = texts_for(rows)
    return [_entry(row, texts, exact) for row in rows]


def _entry(row: Change, texts: dict[str, str], exact: bool, thing: Card | None = None) -> Entry:
    settled = row.what == "hazard.told" and isinstance(row.after, dict) and row.after.get("level") == 0
    sentence, icon, _group = SENTENCES.get(SETTLED if settled else row.what, (row.what, "chain", ""))
    check = row.subject.removeprefix("conditioncheck:") if row.what == "check.recorded" else ""
    return Entry(row.at, getattr(row, "by", None) or str(_("The program")), sentence, icon, _detail(row, exact, texts), row.reason, check, thing)


def _detail(row: Change, exact: bool, texts: dict[str, str]) -> str:
    """The few words of what was written that fit on a line."""
    after = row.after if isinstance(row.after, dict) else {}
    if not exact and row.what.startswith("place."):
        return ""
    hidden = () if exact else ("place",)
    parts = [in_words(row.what, name, after[name], texts) for name in TOLD if name not in hidden and after.get(name) not in (None, "", Movement.To.PLACE)]
    return ", ".join(parts)
