"""A museum in which every page has something to show, and the list of pages taken from the table of addresses."""

from collections.abc import Iterator
from datetime import timedelta
from functools import cache
from typing import Any, Final

from django.urls import URLPattern, URLResolver, get_resolver

from collection.exchange.actions import Upload, start_import
from collection.objects.actions.bookings import book
from collection.objects.actions.photographs import add_photograph
from conservation.checks.actions.cards import start_card
from conservation.checks.actions.drafts import touch
from conservation.checks.actions.events import report_event
from conservation.checks.actions.incidents import add_step, open_incident
from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from conservation.checks.actions.screening import answer_ten_of_lot
from conservation.treatments.actions.inviting import invite_conservator
from conservation.treatments.actions.proposals import propose_treatment
from conservation.treatments.actions.stock import add_batch, record_use
from conservation.treatments.actions.working import start_work
from conservation.treatments.deeds import Meant
from locations.climate.actions.doubts import suspect
from locations.climate.actions.files import Upload as ClimateUpload
from locations.climate.actions.files import take_file
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.doubts import Doubt
from locations.places.models import Movement
from museum import clock
from museum.ids import uuid7
from museum.jobs import actions as jobs
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.invitations import address_of
from museum.people.permissions import Role
from museum.people.secret import Secret
from reports.issuing import issue
from tests import stock
from tests.browser.conftest import Museum
from tests.conftest import cast
from tests.objects.pictures import made, sent

#: addresses that answer a GET with something else than a page of the program
NOT_PAGES: Final = {
    "desk:feed", "people:enrol_picture", "objects:smaller", "objects:original", "papers:file", "stock:sheet", "exchange:table", "jobs:result", "climate:table",
    "climate:room_table", "climate:lived_table", "climate:file_original", "treatments:paper",
}  # fmt: skip
#: pages whose whole work is to send somebody on
ONWARD: Final = {
    "objects:by_number", "papers:by_number", "checks:stand_at", "people:second_factor", "people:end_tablet", "objects:say", "objects:accept",
    "reports:thing_by_code", "reports:place_by_code",
}  # fmt: skip
REGISTER: Final = "Number,Name,Notes\n1980.1,Fire helmet,dented\n1980.1,Fire helmet,twice\n"


def _patterns(resolver: URLResolver, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from _patterns(entry, f"{entry.namespace}:" if entry.namespace else space)
        else:
            yield f"{space}{entry.name}", entry


@cache
def pages() -> dict[str, URLPattern]:
    """Every page by the name of its address. What is new in the table is here of itself."""
    known = ((name, found) for name, found in _patterns(get_resolver()) if name not in NOT_PAGES | ONWARD and not str(found.pattern).startswith("api/"))
    return {name: found for name, found in known if "GET" in _methods(found.callback)}


def _methods(view: Any) -> list[str]:
    """What a view answers to, by the decorator of Django that says so; a view without one answers to both."""
    while view is not None:
        if "request_method_list" in (names := view.__code__.co_freevars):
            return list(view.__closure__[names.index("request_method_list")].cell_contents)
        view = getattr(view, "__wrapped__", None)
    return ["GET", "POST"]


class Whole:
    """A museum with one of everything."""

    def __init__(self, museum: Museum) -> None:
        self.keeper = cast("Asta", *(role for role in Role if role is not Role.READER))
        by = Actor.of(self.keeper)
        thing = museum.helmet
        people.set_pin(Actor.of(museum.marit), pin=Secret("481516"))
        people.share_tablet(by, name="store tablet")
        seen = stock.seen(thing, "RB", "RUST_SPOT"), stock.seen(thing, "SH", "PAINT_FLAKE", "8", severity=3, activity=2, material="paint")
        entry = stock.full_check(thing, *seen, note="by daylight", screen={**stock.NO_TO_ALL, "1": "unsure"})
        check = record_check(by.keyed(entry.id), entry)
        key = uuid7()
        photograph = add_photograph(by.keyed(key), key, sent(made()), shows=[("object", thing.pk), ("finding", seen[0].finding)], view="V01")
        paper = issue(by, "condition_report", check.pk, issued_to="the board")
        walk = make_round(by, name="Cold store", due_by=clock.today() + timedelta(days=900), walkers=[museum.marit.pk])
        session = start_import(by, Upload("register.csv", REGISTER.encode()))
        job = jobs.enqueue(by, "tests.browser", self.keeper.pk, {}, "Making sheets")
        touch(by, thing.pk, lambda content: content, check=uuid7())
        planned = book(by, thing.pk, booking_id=uuid7(), kind="display", from_on=clock.today(), until_on=clock.today() + timedelta(days=9))
        film = add_batch(by, supply="polyester_film", number="F-1", received_on=clock.today(), kept_at="drawer 2")
        record_use(by, film.pk, thing.pk, amount="one strip")
        logger = make_logger(by, logger_id=uuid7(), name="T-7", serial="AB1234")
        place_logger(by, logger.pk, place_id=museum.shelf.pk)
        drift = {"size": 2.1, "error": 0.5, "usual": 0.3, "spread": 0.3, "days": 60, "others": 2, "noticed": 130, "now": 2.4, "weeks": [0.3, 0.4, 1.9]}
        doubted = suspect(by, Doubt("drift", logger, clock.now() - timedelta(days=90), clock.now(), drift))
        assert doubted
        asked = take_file(by, ClimateUpload("T-7.csv", b"Date;Time;Temperature;RH %\n01/02/2025;10:00;8.5;61.0\n02/02/2025;10:00;8.4;62.0\n"))
        other, rust = stock.helmet("1981.7.1"), Meant(step="TR14", earlier="dry since March")
        entry = stock.full_check(other, stock.seen(other, "RB", "RUST_SPOT"))
        record_check(by.keyed(entry.id), entry)
        rim, key = str(stock.zone(other, "RB")), uuid7()
        proposal = propose_treatment(by.keyed(key), other.pk, proposal_id=key, zone=rim, surface="steel", aim="loose rust off", steps=[rust])
        key = uuid7()
        session_of_work = start_work(by.keyed(key), other.pk, work_id=key, zone=rim, surface="steel", meant=Meant(step="TR01"))
        fell = stock.helmet("1974.99", by=by)
        report_event(by, kind="shock", happened_on=clock.today(), object_id=fell.pk)
        lies = start_card(by, thing.pk, test_id=uuid7(), finding_id=seen[0].finding)
        outbreak = open_incident(by, incident_id=uuid7(), kind="mould", place_id=museum.shelf.parent_id)
        add_step(by, outbreak.pk, kind="isolated", note="two boxes")
        asks = invite_conservator(
            by, invitation_id=uuid7(), name="Sunniva", email="sunniva@example.org", things=[other.pk], until=clock.today(), evidence="a diploma, seen"
        )
        self.keys: dict[str, Any] = {
            "invitation_id": asks.pk, "token": address_of(asks).split("/")[-2],
            "card_id": lies.pk, "call_id": fell.calls.latest("recorded_at").pk, "incident_id": outbreak.pk,
            "proposal_id": proposal.pk, "work_id": session_of_work.pk,
            "object_id": thing.pk, "place_id": museum.shelf.pk, "person_id": museum.marit.pk, "check_id": check.pk, "photograph_id": photograph.pk,
            "paper_id": paper.pk, "round_id": walk.pk, "session_id": session.pk, "job_id": job.pk, "code": "civil_defence",
            "booking_id": planned.pk, "step": "TR14", "batch_id": film.pk, "supply_code": "polyester_film", "table": "terms", "row_code": "RUST_SPOT",
            "logger_id": logger.pk, "file_id": asked.pk, "suspicion_id": doubted.pk,
            "lot_id": answer_ten_of_lot(by, uuid7(), name="caps of one store", answers=stock.NO_TO_ALL).pk,
            "movement_id": Movement.objects.earliest("id").pk,
        }  # fmt: skip

    def path(self, pattern: URLPattern) -> str:
        """The address with keys filled in; a key without a value here is a page nobody looked at."""
        path = str(pattern.pattern)
        for name, converter in pattern.pattern.converters.items():
            kind = type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
            path = path.replace(f"<{kind}:{name}>", str(self.keys[name]))
        return f"/{path}"
