"""A helmet with trouble, photographs, people who were shown a step: what the tests of treatment begin with."""

from typing import Any
from uuid import UUID

from PIL import Image

from collection.objects.actions.photographs import add_photograph
from collection.objects.models import Object, Photograph
from conservation.checks.actions.record import record_check
from conservation.checks.entry import Seen
from conservation.rules.leave import same_day_later
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.actions.proposals import propose_treatment
from conservation.treatments.actions.working import Done, start_work
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Proposal, Work
from museum import clock
from museum.ids import uuid7
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.objects.pictures import made, sent


def rusty(by: Actor, *, number: str = "1974.12.3", term: str = "RUST_SPOT", code: str = "RB", severity: int = 2, activity: int = 1) -> tuple[Object, Seen]:
    """A painted steel helmet with rust at its rim, checked and screened."""
    thing = stock.helmet(number)
    seen = stock.seen(thing, code, term, severity=severity, activity=activity)
    record(by, thing, seen)
    return thing, seen


def record(by: Actor, thing: Object, *seen: Seen, **more: Any) -> None:
    """A full check that saw this."""
    entry = stock.full_check(thing, *seen, **more)
    record_check(by.keyed(entry.id), entry)


def picture(by: Actor, thing: Object, view: str = "V01", shade: int = 0) -> UUID:
    """A photograph of the thing; each shade is another file."""
    key = uuid7()
    found: Photograph = add_photograph(
        by.keyed(key), key, sent(made(image=Image.new("RGB", (400 + shade, 300), (90, 120, 60)))), shows=[("object", thing.pk)], view=view
    )
    return found.pk


def shown(learner: Person, teacher: Person, *steps: str) -> None:
    """A curator who is a conservator shows these steps; the day is today."""
    today = clock.today()
    for step in steps:
        people.record_shown(Actor.of(teacher), learner.pk, step, shown_by=teacher.pk, on=today, valid_to=same_day_later(today, years=3))


def zone_of(thing: Object, code: str = "RB") -> str:
    return str(stock.zone(thing, code))


def proposed(by: Actor, thing: Object, seen: Seen | None, *steps: Meant, surface: str = "steel", code: str = "RB", **more: Any) -> Proposal:
    """A proposal on a zone; why the lesser steps are not enough is said."""
    key = uuid7()
    return propose_treatment(
        by.keyed(key), thing.pk, proposal_id=key, zone=zone_of(thing, code), surface=surface, aim="loose rust off", steps=steps,
        finding_id=seen.finding if seen else None, **more,
    )  # fmt: skip


def begun(by: Actor, thing: Object, step: str, *, surface: str = "steel", before: tuple[UUID, ...] = (), code: str = "RB", **more: Any) -> Work:
    """A session begun."""
    key = uuid7()
    return start_work(by.keyed(key), thing.pk, work_id=key, zone=zone_of(thing, code), surface=surface, meant=Meant(step=step), before=before, **more)


def done(step: str, *, surface: str = "steel", ticked: bool = True, **more: Any) -> Done:
    """One step done, every caution ticked."""
    rules = treatment_rules_in_force()
    codes = [step, *(row.code for row in rules.prohibitions)] if ticked else []
    return Done(id=uuid7(), meant=Meant(step=step, words=more.pop("words", "")), surface=surface, acknowledged=codes, **more)
