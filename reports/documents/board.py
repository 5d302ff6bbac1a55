"""The sheet for the board about a damp room: what goes on there, what a machine more would have to take, in which months heating would do."""

from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.urls import reverse
from django.utils import formats
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from conservation.checks.actions.calls import CLIMATE
from conservation.checks.models import Call
from locations.climate import sentences, typed
from locations.climate.alarm_lines import GRAVER, alarms_of_place, words_of
from locations.climate.machines import MachineLog, log_of
from locations.climate.models import ClimateAlarm
from locations.climate.science.values import NoValue
from locations.climate.whatif import choices, figures
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.errors import Invalid
from museum.people.actor import Actor
from reports.documents import aired
from reports.registry import Gathered, document

#: litres are told for so large a room where nobody said how large it is, m³
ROUND: Final = 100.0
LARGEST: Final = 100_000.0
#: an alarm that ended so lately is still the board's business
LATELY: Final = timedelta(days=90)


@document(
    "board_sheet", title=gettext_lazy("Sheet for the board"), version="1", permission="paper.issue", seen_by="climate.see",
    options=("target", "volume", "leaks"),
)  # fmt: skip
def board_sheet(subject: UUID, actor: Actor, target: str = "", volume: str = "", leaks: str = "") -> Gathered:
    """Of an open room: its last days on record, and its last twelve whole months; `volume` m³, `leaks` a code of the tightness of rooms, `target` %."""
    place = figures.place_for(subject)
    aim, size = _target(target), _volume(volume)
    if leaks and leaks not in sentences.LEAKS:
        raise Invalid(field="leaks")
    days = figures.last_days(place)
    data = {
        "place": aired.place_name(path_of(subject)), "on": clock.today().isoformat(), "target": f"{aim:g}", "volume": f"{size:g}" if size else "",
        "leaks": str(sentences.LEAKS[leaks or "usual"]), "days": _days(days) if days else None,
        "dry": _dry(days, aim, size or ROUND, leaks or "usual") if days else None,
        "heat": _heat(choices.heat(days.air, aim)) if days else None, "machine": _machine(log_of(place)), **_months(place, aim), **_alarms(place),
        "asked": {"target": f"{aim:g}", "volume": f"{size:g}" if size else "", "leaks": leaks},
    }  # fmt: skip
    title = _("Sheet for the board, %(place)s, %(day)s") % {"place": place.name, "day": formats.date_format(clock.today(), "j F Y")}
    return Gathered(data, title, reverse("climate:whatif", args=[subject]), [("place", subject)])


def _target(text: str) -> float:
    found = typed.figure(text, "target") or choices.TARGET
    if found not in choices.TARGETS:
        raise Invalid(_("Choose 50, 55, 60 or 65 %% to reach; nothing was issued."), field="target")
    return found


def _volume(text: str) -> float | None:
    found = typed.figure(text, "volume")
    if found is not None and not 1 <= found <= LARGEST:
        raise Invalid(_("A room has 1 to 100,000 cubic metres; nothing was issued."), field="volume")
    return found


def _days(found: figures.LastDays) -> dict[str, Any]:
    run = found.longest
    return {
        "t": f"{found.air[0]:.1f}", "rh": f"{found.air[1]:.0f}", "begin": found.begin.astimezone(clock.zone()).isoformat(),
        "end": found.end.astimezone(clock.zone()).isoformat(), "known": found.known, "unknown": found.unknown, "hand": found.hand, "old": found.old,
        "longest": run.hours if run else 0, "at_least": bool(run and run.at_least),
    }  # fmt: skip


def _dry(days: figures.LastDays, target: float, volume: float, leaks: str) -> dict[str, Any] | None:
    """Litres a day beside what is taken now; nothing where none are needed."""
    try:
        found = choices.dry(days.air, target, volume, choices.tightness(leaks))
    except NoValue:
        return None
    return {
        "volume": f"{volume:g}", "least": f"{found.least:.1f}", "most": f"{found.most:.1f}", "warm": f"{found.rated_warm:.0f}",
        "cool": f"{found.rated_cool:.0f}", "heat": f"{found.heat:.0f}", "rotor": found.rotor,
    }  # fmt: skip


def _heat(found: choices.Heating) -> dict[str, str]:
    return {"to": f"{found.to:.1f}", "by": f"{found.by:.1f}", "verdict": found.verdict}


def _months(place: Place, target: float) -> dict[str, Any]:
    """What heating would have had to do in each of the last twelve whole months; those of which too little is known by name."""
    this = clock.today().replace(day=1)
    order = [date(this.year - (n >= this.month), n, 1) for n in [(this.month - 1 + k) % 12 + 1 for k in range(12)]]
    known = {one.month: one for one in figures.heating_of_a_year(place, target)}
    return {
        "months": [_month(day, known.get(day.month)) for day in order],
        "lost": [str(MONTHS[day.month]) for day in order if day.month not in known],
        "would_do": [str(MONTHS[day.month]) for day in order if day.month in known and known[day.month].heating.verdict == "would_do"],
        "needed": any(one.heating.verdict != "enough" for one in known.values()),
        "not_alone": [str(MONTHS[day.month]) for day in order if day.month in known and known[day.month].heating.verdict in ("much", "too_warm")],
    }  # fmt: skip


def _month(day: date, found: choices.MonthOfHeating | None) -> dict[str, str]:
    told = {"month": day.isoformat()}
    return told | {"t": f"{found.air[0]:.1f}", "rh": f"{found.air[1]:.0f}"} | _heat(found.heating) if found else told | {"verdict": ""}


def _machine(log: MachineLog) -> dict[str, Any]:
    """What the machine there takes: litres emptied of late, and whether it stopped or leaks."""
    since = clock.today() - timedelta(days=30)
    late = [one for one in log.days if one.day >= since]
    return {
        "litres": f"{sum(one.litres for one in late):.0f}" if late else "", "times": len(late), "stopped": log.stopped_told, "leak": log.leak_told,
    }  # fmt: skip


def _alarms(place: Place) -> dict[str, Any]:
    """The alarms that go on, the gravest that ended of late, and the looks that alarms of this place asked for and nobody has made yet."""
    found = alarms_of_place(path_of(place.pk))
    lines, threads = found.running, [one.thread for one in found.alarms]
    calls = Call.objects.filter(why=CLIMATE, source__in=threads, answer=None, corrected_by=None, withdraws=False)
    due = list(calls.order_by("due_on").values_list("due_on", flat=True))
    worst = min(lines, key=lambda one: GRAVER.index((one.alarm.level, one.alarm.kind)), default=None)
    ended = [one for one in found.alarms if one.ended_at and one.ended_at > clock.now() - LATELY]
    return {
        "alarm": {"red": worst.red, "words": worst.words, "place": worst.place.name, "begin": clock.day_of(worst.alarm.begin).isoformat()} if worst else None,
        "ended": _ended(min(ended, key=lambda one: GRAVER.index((one.level, one.kind)))) if ended else None,
        "alarms_too": [one.place.name for one in lines if one is not worst], "mould": any(one.alarm.kind == ClimateAlarm.Kind.MOULD for one in lines),
        "looks": len(due), "first_look": due[0].isoformat() if due else "",
    }  # fmt: skip


def _ended(alarm: ClimateAlarm) -> dict[str, Any]:
    """An alarm that is over, and where it was."""
    first, last = (clock.day_of(moment).isoformat() for moment in (alarm.begin, alarm.ended_at or alarm.begin))
    return {"red": alarm.level == ClimateAlarm.Level.RED, "words": words_of(alarm), "place": alarm.place.name, "begin": first, "end": last}
