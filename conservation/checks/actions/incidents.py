"""An outbreak of mould or insects in a room: one act opens it, a job lists what is at risk, evidence closes it."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from typing import Final
from uuid import UUID, uuid5

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Card
from collection.objects.queries import materials_of
from conservation.checks.actions.rounds import MOST_STOPS
from conservation.checks.models import AtRisk, ConditionCheck, Incident, IncidentStep, Round, Stop
from conservation.rules.ruleset import rules_in_force
from locations.climate.peaks import Record, Since, dampest, not_above
from locations.places.models import Place
from locations.places.queries import objects_below
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.jobs.actions import enqueue
from museum.people.action import Act, action

#: days after which the room is walked again (the house's rule for incidents, ours)
ROUND_DAYS: Final = (7, 30, 90)
#: percent of relative humidity above which mould grows (CCI Notes 8/1)
GROWTH_RH: Final = Decimal(65)
#: materials that insects eat, the most endangered first (reference 3.2: felt, wool, fur, plume; leather and textile: common practice, no source)
EATEN: Final = ("fur", "plume", "wool", "felt", "textile", "leather", "paper", "wood", "cork")
#: materials on which mould grows, the most endangered first; those of the rules that are not named come after
MOULDY: Final = ("leather", "fur", "plume", "wool", "felt", "textile", "paper")
#: of growth in one room, m²
MOST_SQUARE_METRES: Final = Decimal(10_000)
LIST_AT_RISK: Final = "list_at_risk"


class IncidentOpen(DomainError):
    """The room has an open incident of this kind."""

    code = "incident_open"
    template = _("An incident of this kind is open for that room. Add what happened as a step of it.")


class NoEvidence(DomainError):
    """It is closed with the climate record or with a reason."""

    code = "incident_no_evidence"
    template = _("%(why)s It stays open. Give the climate record, or write why it may be closed without.")


@action("checks.open_incident", may="event.report")
def open_incident(
    act: Act, *, incident_id: UUID, kind: str, place_id: UUID, opened_on: date | None = None, note: str = "", square_metres: Decimal | None = None,
    source: str = "",
) -> Incident:  # fmt: skip
    """Opens an incident for a room; what is at risk is listed and the rounds are made in the background.

    Repeatable by the act's key. Raises Invalid, IncidentOpen.
    """
    place = Place.objects.filter(pk=place_id, closed_on=None).first()
    if kind not in Incident.Kind.values or place is None:
        raise Invalid(_("Say what it is, and in which room."), field="place")
    day = opened_on or clock.day_of(act.now)
    if day > clock.day_of(act.now) or (square_metres is not None and not 0 < square_metres < MOST_SQUARE_METRES):
        raise Invalid(_("The day is today or before, and the size more than nothing."), field="opened_on")
    incident = Incident(
        id=incident_id, kind=kind, place=place, opened_on=day, opened_by_id=act.actor.someone, note=note.strip(), square_metres=square_metres,
        source=source.strip(),
    )  # fmt: skip
    try:
        with transaction.atomic():
            incident.save(force_insert=True)
    except IntegrityError:
        raise IncidentOpen() from None
    title = gettext("What is at risk in %(place)s") % {"place": place}
    incident.job = enqueue(act, LIST_AT_RISK, act.actor.person, {"incident": str(incident_id)}, title).pk
    incident.save(update_fields=["job"])
    act.wrote("incident.opened", incident, after={"kind": kind, "on": day, "note": note.strip(), "source": source.strip()}, about=[place])
    return incident


def batches_at_risk(incident: Incident) -> Iterator[tuple[int, int, list[tuple[UUID, str, str]]]]:
    """What stands in the room and is at risk: (number of the batch, things in all, [(object, material, place in words)]) in walking order."""
    listed = set(incident.at_risk.values_list("object_id", flat=True))
    keys, order = [key for key in objects_below(incident.place_id) if key not in listed], endangered(incident.kind)
    materials = materials_of(keys)
    worst = {key: found for key in keys if (found := next((code for code in order if code in materials.get(key, ())), None))}
    walk = dict(Place.objects.values_list("pk", "path_key"))
    cards = list(Card.objects.filter(object__in=list(worst)).values_list("object_id", "place", "place_text", "number_sort"))
    cards.sort(key=lambda card: (walk.get(card[1], "") if card[1] else "", card[2], card[3]))
    rows = [(key, worst[key], text) for key, _place, text, _number in cards]
    first = -(-len(listed) // MOST_STOPS)
    for n, start in enumerate(range(0, len(rows), MOST_STOPS), first):
        yield n, len(rows), rows[start : start + MOST_STOPS]


def endangered(kind: str) -> Sequence[str]:
    """Materials at risk, the most endangered first."""
    if kind == Incident.Kind.INSECTS:
        return EATEN
    damp = rules_in_force().damp_materials
    return [code for code in MOULDY if code in damp] + sorted(damp - {*MOULDY})


@action("checks.list_at_risk", may="event.report")
def list_at_risk(act: Act, incident_id: UUID, *, part: int, rows: Sequence[tuple[UUID, str, str]]) -> int:
    """Stores one batch of what is at risk, and for each of the days a round that walks past it. Repeatable by the act's key."""
    incident = Incident.objects.select_related("place").filter(pk=incident_id, closed_on=None).first()
    if incident is None:
        raise NotFound()
    start = part * MOST_STOPS + 1
    listed = [
        AtRisk(act_id=act.id, incident=incident, object_id=key, material=code, place_text=text, position=n) for n, (key, code, text) in enumerate(rows, start)
    ]
    AtRisk.objects.bulk_create(listed)
    for days in ROUND_DAYS:
        _round(act, incident, days, part, [key for key, _code, _text in rows])
    return len(rows)


def _round(act: Act, incident: Incident, days: int, part: int, keys: Sequence[UUID]) -> None:
    name = gettext("%(kind)s, %(place)s, day %(days)d") % {"kind": incident.get_kind_display().capitalize(), "place": incident.place.name, "days": days}
    made = Round(
        id=uuid5(act.id, str(days)), name=name if part == 0 else f"{name} ({part + 1})", place=incident.place, incident=incident,
        due_by=incident.opened_on + timedelta(days=days), made_by_id=incident.opened_by_id or act.actor.someone, created_at=act.now,
    )  # fmt: skip
    made.save(force_insert=True)
    Stop.objects.bulk_create(Stop(round=made, object_id=key, position=n, sort=ConditionCheck.Sort.QUICK, why="incident") for n, key in enumerate(keys, start=1))
    act.wrote("round.made", made, after={"name": made.name, "due_by": made.due_by, "stops": len(keys)})


@action("checks.end_listing", may="event.report")
def end_listing(act: Act, incident_id: UUID) -> Incident:
    """Says that all is listed."""
    incident = _locked(incident_id)
    if incident.listed_at is None:
        incident.listed_at, incident.version = act.now, incident.version + 1
        incident.save(update_fields=["listed_at", "version"])
        act.wrote("incident.listed", incident, after={"things": incident.at_risk.count()}, about=[incident.place])
    return incident


@action("checks.add_incident_step", may="event.report")
def add_step(act: Act, incident_id: UUID, *, kind: str, note: str = "", happened_on: date | None = None) -> IncidentStep:
    """Stores what was done. A step 'source found' needs its words and becomes the incident's source. Raises Invalid, NotFound."""
    incident = _locked(incident_id)
    day = happened_on or clock.day_of(act.now)
    if kind not in IncidentStep.Kind.values or day > clock.day_of(act.now) or incident.closed_on is not None:
        raise Invalid(_("Say what was done, on what day, while the incident is open."), field="kind")
    if kind in (IncidentStep.Kind.SOURCE, IncidentStep.Kind.OTHER) and not note.strip():
        raise Invalid(_("Say it in words."), field="note")
    step = IncidentStep.objects.create(
        act_id=act.id, incident=incident, kind=kind, note=note.strip(), by_id=act.actor.person, happened_on=day, recorded_at=act.now,
    )  # fmt: skip
    if kind == IncidentStep.Kind.SOURCE:
        incident.source, incident.version = note.strip(), incident.version + 1
        incident.save(update_fields=["source", "version"])
    act.wrote("incident.step", incident, after={"kind": kind, "note": note.strip(), "on": day}, about=[incident.place])
    return step


@action("checks.close_incident", may="hazard.close")
def close_incident(act: Act, incident_id: UUID, *, highest_rh: Decimal | None = None, record_from: date | None = None, reason: str = "") -> Incident:
    """Closes it with the climate record (the highest humidity since a day, not above 65 %) or with a written reason.

    What was read in the room may not say otherwise. A curator's. Its open rounds end; what was not looked at is told. Raises NoEvidence, NotFound.
    """
    incident = _locked(incident_id)
    if incident.closed_on is not None:
        return incident
    half = bool(reason.strip()) and (highest_rh is None) != (record_from is None)
    if half or (highest_rh is not None and not 0 <= highest_rh <= 100):
        raise Invalid(_("A climate record has its first day and its highest humidity, 0 to 100 percent."), field="highest_rh")
    if not reason.strip():
        _demand_evidence(incident, highest_rh, record_from)
    fields: Mapping[str, object] = {
        "closed_on": clock.day_of(act.now), "closed_by_id": act.actor.person, "highest_rh": highest_rh, "record_from": record_from,
        "close_reason": reason.strip(), "version": incident.version + 1,
    }  # fmt: skip
    for name, value in fields.items():
        setattr(incident, name, value)
    incident.save()
    left = Stop.objects.filter(round__incident=incident, done_by=None, left_out="").count()
    Round.objects.filter(incident=incident, closed_at=None).update(closed_at=act.now)
    after = {"highest_rh": highest_rh, "record_from": record_from, "not_looked_at": left, "source": incident.source}
    act.wrote("incident.closed", incident, after=after, reason=reason.strip(), about=[incident.place])
    return incident


def record_of(incident: Incident) -> Since:
    """What was read in the room since it was opened, for whoever closes it: from the day on from which it was not above the limit of growth."""
    return not_above(incident.place_id, incident.opened_on, float(GROWTH_RH))


def highest_of(record: Record) -> Decimal:
    """Its highest humidity as it is stored: to a tenth of a percent, rounded up."""
    return Decimal(f"{record.highest.rh:.3f}").quantize(Decimal("0.1"), ROUND_CEILING)


def _demand_evidence(incident: Incident, highest_rh: Decimal | None, record_from: date | None) -> None:
    if not incident.source:
        raise NoEvidence(why=gettext("Where it came from is not said."))
    if highest_rh is None or record_from is None:
        raise NoEvidence(why=gettext("There is no climate record."))
    if highest_rh > GROWTH_RH:
        raise NoEvidence(why=gettext("The record goes above %(rh)s percent, at which mould grows.") % {"rh": GROWTH_RH})
    if record_from < incident.opened_on or record_from >= clock.today():
        raise NoEvidence(why=gettext("The record begins before the incident was opened, or covers no day."))
    _demand_agreement(incident, record_from)


def _demand_agreement(incident: Incident, record_from: date) -> None:
    """What was read in the room itself does not say otherwise."""
    read = dampest(incident.place_id, clock.start_of(record_from), clock.now())
    if read is not None and read.rh > GROWTH_RH:
        said = {"place": incident.place.name, "rh": f"{read.rh:.0f}", "at": date_format(timezone.localtime(read.at, clock.zone()), "SHORT_DATETIME_FORMAT")}
        raise NoEvidence(why=gettext("What was read in %(place)s goes up to %(rh)s percent, on %(at)s.") % said)


def _locked(incident_id: UUID) -> Incident:
    lock(f"incident:{incident_id}")
    incident = Incident.objects.select_related("place").filter(pk=incident_id).first()
    if incident is None:
        raise NotFound()
    return incident
