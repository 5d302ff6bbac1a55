"""What may be done about an object with 14 zones and 40 findings, against the bare reading of its rows; a mould incident over many things.

BENCH_AT_RISK sets how many things stand in the room of the incident, 5,000 unless it says otherwise.
"""

import os
from decimal import Decimal
from functools import cache
from uuid import UUID

from django.db import connection, transaction

from collection.objects.actions.parts import add_component
from collection.objects.models import Object
from collection.objects.queries import zones_of
from conservation.checks.actions.incidents import ROUND_DAYS, batches_at_risk, open_incident
from conservation.checks.actions.record import record_check
from conservation.checks.entry import Seen, ZoneKey
from conservation.checks.models import Incident, Round
from conservation.checks.tasks import list_at_risk
from conservation.rules.book import held
from conservation.treatments.answering import what_may_i_do
from conservation.treatments.asking import asker_of, facts_of
from locations.places.actions import make_place
from locations.places.models import Place
from locations.places.queries import objects_below
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.bench.harness import Work, measure
from tests.bench.museums import museum_of

ZONES, FINDINGS = 14, 40
OBJECTS = 100
#: what is found again and again, and on what
FOUND = (
    ("RUST_SPOT", "steel"), ("DUST", "paint"), ("PAINT_FLAKE", "paint"), ("LEA_DRY", "leather"), ("CU_SOAP", "copper_alloy"), ("MOULD_DORMANT", "leather"),
    ("SIGNIF_DEPOSIT", "paint"), ("SCRATCH", "paint"), ("DENT", "steel"),
)  # fmt: skip


@cache
def case() -> tuple[Actor, UUID]:
    """Somebody who works, and the object, in the museum of the measure."""
    person = Person.objects.get(email="admin@example.org")
    thing = stock.helmet("1901.7.1", kind="fire", materials=["steel", "paint", "leather", "copper_alloy"])
    add_component(PROGRAM, thing.pk, sort="loose", name="liner shell", lettered=True, zones=("SH", "IN", "LN"))
    zones = [ZoneKey(zone.component_id, zone.code) for zone in zones_of(thing)][:ZONES]
    if len(zones) < ZONES:
        raise RuntimeError(f"only {len(zones)} zones")
    seen = [
        Seen(uuid7(), uuid7(), zones[n % ZONES], term, "new", material, Decimal(2), 1 + n % 3, n % 3)
        for n, (term, material) in enumerate(FOUND[n % len(FOUND)] for n in range(FINDINGS))
    ]
    entry = stock.full_check(thing, *seen)
    record_check(Actor.of(person).keyed(entry.id), entry)
    return Actor.of(person), thing.pk


@measure("what_may_i_do", goal=2.0)
def what_may_i() -> tuple[Work, Work]:
    """The floor reads the object and the person as every gate does, and asks nothing of what was read."""
    with museum_of(OBJECTS):
        actor, key = case()

    def ours() -> object:
        with museum_of(OBJECTS), held():
            answer = what_may_i_do(actor, key)
            assert len(answer.matters) == FINDINGS
        return answer

    def floor() -> object:
        with museum_of(OBJECTS), held():
            thing = Object.objects.visible_to(actor).select_related("kind", "card").get(pk=key)
            return facts_of(thing), asker_of(actor)

    return ours, floor


AT_RISK = int(os.environ.get("BENCH_AT_RISK", "5000"))


@cache
def store() -> tuple[Place, Place]:
    """Of a museum of twice as many things: a building in which as many are at risk, and an empty room."""
    mould = Incident(kind="mould")
    for building in Place.objects.filter(level="building").order_by("code"):
        mould.place = building
        if next(iter(batches_at_risk(mould)), (0, 0, []))[1] >= AT_RISK:
            return building, make_place(PROGRAM, place_id=uuid7(), level="room", code="B-E", name="Bench room", parent_id=building.pk, use="work")
    raise RuntimeError(f"in no building {AT_RISK} things are at risk")


def _outbreak(place: Place) -> Incident:
    key = uuid7()
    made: Incident = open_incident(Actor.of(Person.objects.get(email="admin@example.org")), incident_id=key, kind="mould", place_id=place.pk)
    return made


def _undone(work: Work) -> Work:
    """The work, all of it undone: it can be done as often as wanted."""

    def there() -> object:
        with museum_of(2 * AT_RISK), transaction.atomic():
            answer = work()
            transaction.set_rollback(True)
        return answer

    return there


@measure("incident_opens", goal=1.3)
def incident_opens() -> tuple[Work, Work]:
    """The act itself, over many things and over none: what is at risk is listed by a job."""
    with museum_of(2 * AT_RISK):
        full, empty = store()
    return _undone(lambda: _outbreak(full)), _undone(lambda: _outbreak(empty))


@measure("incident_job", goal=10.0, runs=5)
def incident_job() -> tuple[Work, Work]:
    """The job over all things at risk, with its rounds, its history and its progress; the floor writes as many rows and no more."""
    with museum_of(2 * AT_RISK):
        full, _empty = store()

    def ours() -> object:
        made = _outbreak(full)
        Job.objects.filter(pk=made.job).update(state=Job.State.RUNNING, attempts=1)
        job = Job.objects.get(pk=made.job)
        list_at_risk(Progress(job), job, incident=str(made.pk))
        job.refresh_from_db()
        assert job.done == job.total >= AT_RISK, "its progress is told to the last"
        return job

    def floor() -> object:
        made = _outbreak(full)
        rounds = [Round(id=uuid7(), name="bare", place=full, incident=made, due_by=made.opened_on, made_by_id=made.opened_by_id) for _ in ROUND_DAYS]
        Round.objects.bulk_create(rounds)
        with connection.cursor() as cursor:
            cursor.execute(BARE_RISK, {"incident": made.pk, "below": objects_below(full.pk), "act": uuid7()})
            for one in rounds:
                cursor.execute(BARE_STOPS, {"round": one.pk, "incident": made.pk})
        return rounds

    return _undone(ours), _undone(floor)


BARE_RISK = (
    "INSERT INTO checks_atrisk (id, act_id, incident_id, object_id, material, place_text, position)"
    " SELECT gen_random_uuid(), %(act)s, %(incident)s, object_id, 'leather', place_text, row_number() OVER (ORDER BY place_text, number_sort)"
    " FROM objects_card WHERE object_id = ANY(%(below)s)"
)
BARE_STOPS = (
    "INSERT INTO checks_stop (id, round_id, object_id, position, sort, why, version, left_out)"
    " SELECT gen_random_uuid(), %(round)s, object_id, position, 'quick', 'incident', 1, '' FROM checks_atrisk WHERE incident_id = %(incident)s"
)
