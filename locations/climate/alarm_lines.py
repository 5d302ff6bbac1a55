"""The alarms of places as pages and mails tell them: those that go on in one line a place, the graver first; those of a place through a time."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext, gettext_lazy

from conservation.rules.tables import EventRule, event_rules
from locations.climate import sentences
from locations.climate.actions.alarms import standing_alarms
from locations.climate.hearing import Hearing, hour_of
from locations.climate.models import ClimateAlarm, LoggerStay
from locations.places.models import Place
from locations.places.queries import all_below
from museum import clock

#: what an amber alarm of damp asks of people
FIND_IT = gettext_lazy("find where the damp comes from, and dry, air or warm the room; looks follow if it adds up to half the time that mould takes")
#: the order of what is told of one place
GRAVER = (("red", "mould"), ("red", "damp"), ("amber", "mould"), ("amber", "damp"))


@dataclass(frozen=True, slots=True)
class AlarmLine:
    """The gravest open alarm of a place. `charted`: the place has a page of its climate."""

    alarm: ClimateAlarm
    charted: bool

    @property
    def place(self) -> Place:
        return self.alarm.place

    @property
    def where(self) -> str:
        """Which place, with the room that it is in: more rooms than one have a case 1."""
        return place_in_room(self.place)

    @property
    def page(self) -> UUID | None:
        """The place whose page tells of its climate."""
        return page_of(self.place, self.charted)

    @property
    def looks(self) -> bool:
        """Whether it asks for looks by itself."""
        return asks_for_looks(self.alarm)

    @property
    def red(self) -> bool:
        return self.alarm.level == ClimateAlarm.Level.RED

    @property
    def words(self) -> str:
        return words_of(self.alarm)

    @property
    def asks(self) -> str:
        """What is to be done about it."""
        return gettext(rule_of(self.alarm).reason) if asks_for_looks(self.alarm) else str(FIND_IT)


def place_in_room(place: Place) -> str:
    """The name of a place, after those above it from its room on."""
    names, above = [place.name], place.parent
    while above is not None and above.level != Place.Level.BUILDING:
        names, above = [above.name, *names], above.parent
    return " › ".join(names)


def page_of(place: Place, charted: bool) -> UUID | None:
    """The place of which a page tells its climate: itself, where it is `charted` by loggers of its own, else the room that it is in."""
    if charted or place.level == Place.Level.ROOM:
        return place.pk
    return page_of(place.parent, charted=False) if place.parent else None


def words_of(alarm: ClimateAlarm) -> str:
    """What it rests on; while it goes on, at least."""
    return sentences.alarmed(alarm.kind, alarm.hours, at_least=alarm.at_least or alarm.ended_at is None, figures=alarm.figures)


def asks_for_looks(alarm: ClimateAlarm) -> bool:
    """Whether it calls for looks by itself: damp that is amber is a thing of the room until it adds up."""
    return bool(alarm.kind == ClimateAlarm.Kind.MOULD or alarm.level == ClimateAlarm.Level.RED)


def rule_of(alarm: ClimateAlarm) -> EventRule:
    """Mould that is presumed or grows visibly asks for looks the same day; any other alarm within the days of a damp room."""
    grave = alarm.kind == ClimateAlarm.Kind.MOULD and alarm.level == ClimateAlarm.Level.RED
    return event_rules()["damp_long" if grave else "damp"]


def open_alarms() -> "QuerySet[ClimateAlarm]":
    """The alarms that go on."""
    rows: QuerySet[ClimateAlarm] = standing_alarms().filter(ended_at=None)
    return rows


def open_lines() -> list[AlarmLine]:
    """One question, however many alarms there are."""
    stood = Exists(LoggerStay.objects.filter(place=OuterRef("place")))
    rows = open_alarms().select_related("place").annotate(charted=Q(place__level=Place.Level.ROOM) | stood)
    return _worst([AlarmLine(row, row.charted) for row in rows])


def _worst(lines: Collection[AlarmLine]) -> list[AlarmLine]:
    worst: dict[UUID, AlarmLine] = {}
    for line in sorted(lines, key=lambda one: (GRAVER.index((one.alarm.level, one.alarm.kind)), one.alarm.raised_at)):
        worst.setdefault(line.alarm.place_id, line)
    return list(worst.values())


@dataclass(frozen=True, slots=True)
class PlaceAlarms:
    """The alarms of a place, of what lies in it, and of what lies above it where that was its air; the latest first."""

    alarms: Sequence[ClimateAlarm]

    @property
    def running(self) -> list[AlarmLine]:
        """Those that go on, in one line a place."""
        return _worst([AlarmLine(one, charted=True) for one in self.alarms if one.ended_at is None])

    def within(self, begin: datetime, end: datetime) -> list[ClimateAlarm]:
        """Those of which the run fell into a time, at least in part."""
        return [one for one in self.alarms if one.begin < end and (one.ended_at is None or one.ended_at > begin)]


def alarms_of_place(path: Sequence[Place]) -> PlaceAlarms:
    """Of the first place of a path of nearest first. A place that heard loggers of its own all the while is not concerned by what is above it."""
    above = {place.pk: n for n, place in enumerate(path) if n}
    rows = list(
        standing_alarms()
        .filter(Q(place__in=above) | Q(place__in=all_below([path[0].pk])))
        .select_related("place__parent__parent__parent")
        .order_by("-raised_at", "-id")
    )
    hearing = Hearing(path) if any(row.place_id in above for row in rows) else None

    def concerns(row: ClimateAlarm) -> bool:
        if hearing is None or row.place_id not in above:
            return True
        first, last = hour_of(row.begin), hour_of(row.ended_at or clock.now())
        return not any(hearing.apart(place.pk, first, last) for place in path[: above[row.place_id]])

    return PlaceAlarms([row for row in rows if concerns(row)])
