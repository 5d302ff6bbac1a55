"""Card tests: laid, read after 28 days, and what their reading settles."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Final
from uuid import UUID, uuid5

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from conservation.checks import derived
from conservation.checks.actions.calls import CARD, call_for
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import CallAnswer, CardTest, ConditionCheck, Finding, Observation
from conservation.checks.opening import first_open_day
from conservation.checks.queries import history_of, open_calls
from conservation.rules.tables import terms
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action
from museum.people.models import Society

#: days a card lies before it is read (ours, on the card test of CCI Notes 9/1)
CARD_DAYS: Final = 28
#: a trace, where powder falls from a spot on which nothing was found before
TRACE: Final = Decimal("0.1")


class CardLies(DomainError):
    """A card lies there already."""

    code = "card_lies"
    template = _("A card lies there already. Read it first, or say that it was moved or lost.")


@action("checks.start_card", may="check.record")
def start_card(
    act: Act, object_id: UUID, *, test_id: UUID, zone: str = "", finding_id: UUID | None = None, card: str = CardTest.Card.WHITE,
    started_on: date | None = None, photograph: UUID | None = None, note: str = "",
) -> CardTest:  # fmt: skip
    """Stores that a card was laid under a thing or one of its zones, and calls for its reading on the first opening day from 28 days on.

    With a finding it lies at that finding's zone. Repeatable by the act's key. Raises Invalid, NotFound, CardLies.
    """
    lock(f"object:{object_id}")
    thing = Object.objects.visible_to(act.actor).filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    begun, zone = started_on or clock.day_of(act.now), _spot(thing, zone, finding_id)
    if begun > clock.day_of(act.now) or card not in CardTest.Card.values:
        raise Invalid(_("Say which card was laid, on what day, not later than today."), field="started_on")
    due = first_open_day(begun + timedelta(days=CARD_DAYS), Society.load().opening_days)
    test = CardTest(
        id=test_id, object=thing, zone=zone, finding_id=finding_id, card=card, started_on=begun, started_by_id=act.actor.person, due_on=due,
        photograph=photograph, note=note.strip(),
    )  # fmt: skip
    try:
        with transaction.atomic():
            test.save(force_insert=True)
    except IntegrityError:
        raise CardLies() from None
    act.wrote("card.started", test, after={"zone": zone, "card": card, "on": begun, "due": due}, about=[thing])
    zones = [zone] if zone else []
    call_for(act, [object_id], why=CARD, sort=ConditionCheck.Sort.FOLLOW_UP, due_on=due, reason="a card is to be read", source=test.pk, zones=zones)
    derived.refresh([object_id])
    return test


def _spot(thing: Object, zone: str, finding_id: UUID | None) -> str:
    """The zone as its key; of the finding where there is one. Raises Invalid."""
    if finding_id is not None:
        finding = Finding.objects.filter(pk=finding_id, object=thing).first()
        if finding is None:
            raise NotFound()
        return str(ZoneKey(finding.component_id, finding.zone))
    if zone and not Component.objects.filter(pk=ZoneKey.parse(zone).component, object=thing).exists():
        raise Invalid(_("Zone %(zone)s is of another object."), field="zone", zone=zone)
    return zone


@action("checks.read_card", may="check.record")
def read_card(act: Act, test_id: UUID, *, reading: str, read_on: date | None = None, term: str = "", material: str = "", note: str = "") -> CardTest:
    """Stores what lay on the card. It settles the activity of the finding by a follow-up of its own, so that the judgement follows.

    Powder or pellets: active, also where the finding had gone. Clean: stable. Spoiled: nothing is known, lay another. Where powder fell
    from a spot on which nothing was found, `term` says what it is and `material` from what. Raises Invalid, NotFound.
    """
    test = CardTest.objects.filter(pk=test_id, object__in=Object.objects.visible_to(act.actor)).first()
    if test is None:
        raise NotFound()
    lock(f"object:{test.object_id}")
    test.refresh_from_db()
    if test.reading:
        raise Invalid(_("This card was read already. Lay a new one."), field="reading")
    day = read_on or clock.day_of(act.now)
    if reading not in CardTest.Reading.values or not test.started_on <= day <= clock.day_of(act.now):
        raise Invalid(_("Say what lies on the card, and on what day it was read."), field="reading")
    check = _settle(act, test, reading, day, term=term, material=material, note=note.strip())
    test.reading, test.read_on, test.read_by_id, test.read_note, test.of_check = reading, day, act.actor.person, note.strip(), check
    test.version += 1
    test.save(update_fields=["reading", "read_on", "read_by", "read_note", "of_check", "version"])
    calls = open_calls([test.object_id]).filter(source=test.pk)
    CallAnswer.objects.bulk_create(CallAnswer(act_id=act.id, call=call, of_check=check, reason=reading, recorded_at=act.now) for call in calls)
    act.wrote("card.read", test, after={"reading": reading, "on": day, "note": note.strip()}, about=[("object", test.object_id)])
    derived.refresh([test.object_id])
    return test


def _settle(act: Act, test: CardTest, reading: str, day: date, *, term: str, material: str, note: str) -> ConditionCheck | None:
    """The follow-up that says how active the finding is; none where the card says nothing of one."""
    activity = CardTest.ACTIVITY.get(CardTest.Reading(reading))
    if activity is None:
        return None
    last = history_of(test.finding).last() if test.finding else None
    if last is None and activity == 0:
        return None
    seen = _again(act, last, activity, note) if last else _first(act, test, term, material, activity, note)
    if seen is None:
        return None
    entry = CheckEntry(
        id=uuid5(act.id, "card"), object_id=test.object_id, sort=ConditionCheck.Sort.FOLLOW_UP, purpose=ConditionCheck.Purpose.CARD, happened_on=day,
        happened_at=act.now if day == clock.day_of(act.now) else None,
        looks={str(seen.zone): "findings"}, seen=(seen,), note=note,
    )  # fmt: skip
    return record_check(act, entry)


def _again(act: Act, last: Observation, activity: int, note: str) -> Seen | None:
    """The finding as it was last measured, with the activity that the card showed. One that had gone comes back by powder only."""
    if last.change == "gone" and activity == 0:
        return None
    measured = last.finding.observations.exclude(percent=None).order_by("of_check__happened_on", "of_check__recorded_at").last() or last
    zone = ZoneKey(last.finding.component_id, last.finding.zone)
    return Seen(
        uuid5(act.id, "seen"), last.finding_id, zone, measured.term, "new" if last.change == "gone" else "same", measured.material,
        measured.percent or TRACE, measured.severity or 2, activity, note=note,
    )  # fmt: skip


def _first(act: Act, test: CardTest, term: str, material: str, activity: int, note: str) -> Seen:
    """Powder from a spot on which nothing was found: a new finding, a trace of it."""
    if not test.zone or term not in terms():
        raise Invalid(_("Something fell on the card where nothing was found before. Say what it is, and at which zone."), field="term")
    return Seen(uuid5(act.id, "seen"), uuid5(act.id, "finding"), ZoneKey.parse(test.zone), term, "new", material, TRACE, 2, activity, note=note)
