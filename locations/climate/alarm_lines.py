"""The alarms that go on, as pages and mails tell them: one line a place, the graver first."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q

from locations.climate import sentences
from locations.climate.actions.alarms import standing_alarms
from locations.climate.models import ClimateAlarm, LoggerStay
from locations.places.models import Place

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
    def red(self) -> bool:
        return self.alarm.level == ClimateAlarm.Level.RED

    @property
    def words(self) -> str:
        return words_of(self.alarm)


def words_of(alarm: ClimateAlarm) -> str:
    """What it rests on; while it goes on, at least."""
    return sentences.alarmed(alarm.kind, alarm.hours, at_least=alarm.at_least or alarm.ended_at is None, figures=alarm.figures)


def open_lines() -> list[AlarmLine]:
    """One question, however many alarms there are."""
    stood = Exists(LoggerStay.objects.filter(place=OuterRef("place")))
    rows = standing_alarms().filter(ended_at=None).select_related("place")
    rows = rows.annotate(charted=Q(place__level=Place.Level.ROOM) | stood)
    worst: dict[object, AlarmLine] = {}
    for row in sorted(rows, key=lambda one: (GRAVER.index((one.level, one.kind)), one.raised_at)):
        worst.setdefault(row.place_id, AlarmLine(row, row.charted))
    return list(worst.values())
