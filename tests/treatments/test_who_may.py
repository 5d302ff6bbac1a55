"""Every action from a finding to looking again, by every role: by the action itself, by its door for programs and by its page.

Who may do what is written here once more by hand, from the table of roles (common practice in small museums) and 4.1 of the
reference (ours, on common practice); V volunteer, C curator, R registrar, T reader who sits on the board, A administrator.
On a shared tablet the rights of registrar and administrator do not count.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client

from collection.objects.actions.hazards import report_hazard, settle_hazard
from collection.objects.actions.objects import set_ownership
from collection.objects.actions.screens import answer_screen, tell_opening
from collection.objects.models import Object
from conservation.checks.actions.cards import read_card, start_card
from conservation.checks.actions.events import report_event
from conservation.checks.actions.incidents import add_step, close_incident, end_listing, list_at_risk, open_incident
from conservation.checks.actions.screening import answer_ten, answer_ten_of_lot, confirm_from_lot
from conservation.checks.entry import Seen
from conservation.checks.models import CardTest, Incident
from conservation.rules.actions import change_rule, return_to_shipped
from conservation.treatments.actions import deciding, ending, following, inviting, learning, proposals, standing, working
from conservation.treatments.actions import stock as stocking
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Batch, Proposal, StandingApproval, Work
from locations.places.actions import change_place, close_place, correct_move, describe_place, make_place, move_box, move_object
from locations.places.deciding import decide_humidity, withdraw_humidity
from locations.places.found import enter_where_found
from locations.places.models import Movement, Place
from museum import clock
from museum.errors import DomainError
from museum.history.models import Act
from museum.ids import uuid7
from museum.papers.files import Upload
from museum.people import actions as people
from museum.people.action import ACTIONS
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Competence, Person
from museum.people.permissions import Role
from museum.people.session import SEEN_KEY, TABLET_KEY
from tests import stock as house
from tests.conftest import cast
from tests.treatments import stock

pytestmark = pytest.mark.django_db
#: who tries: letter to the roles of somebody new; 'tablet' holds more than counts there
TRIERS: Final[Mapping[str, tuple[Role, ...]]] = {
    "V": (Role.VOLUNTEER,), "C": (Role.CURATOR,), "R": (Role.REGISTRAR,), "T": (Role.READER,), "A": (Role.ADMINISTRATOR,), "no role": (),
    "tablet": (Role.VOLUNTEER, Role.REGISTRAR, Role.ADMINISTRATOR), "a registrar's tablet": (Role.REGISTRAR, Role.ADMINISTRATOR),
}  # fmt: skip
MAY: Final[Mapping[str, str]] = {
    # proposals: who works proposes; only a curator decides
    "treatments.propose": "VCR", "treatments.resubmit": "VCR", "treatments.withdraw": "VCR",
    "treatments.return_proposal": "C", "treatments.approve": "C", "treatments.take_back": "C", "treatments.lapse": "C",
    # the second person is a curator or of the board; so is who gives standing leave, the board where there is one curator
    "treatments.countersign": "CT", "treatments.give_standing": "CT", "treatments.end_standing": "C",
    "treatments.owner_leave": "CR", "treatments.invite_conservator": "CR",
    # deposits: anybody says what it is, only a curator closes it
    "treatments.name_deposit": "VCR", "treatments.decide_deposit": "C", "treatments.set_deposit_default": "C",
    # work: by hands; a registrar counts as a volunteer here
    "treatments.start_work": "VCR", "treatments.record_spot": "VCR", "treatments.record_step": "VCR", "treatments.stop_step": "VCR",
    "treatments.tell_opened": "VCR",
    "treatments.begin_wait": "VCR", "treatments.keep_part": "VCR", "treatments.end_work": "VCR", "treatments.look_again": "VCR",
    # stock
    "treatments.add_batch": "VCR", "treatments.change_batch": "VCR", "treatments.record_batch_test": "VCR", "treatments.mark_batch": "VCR",
    "treatments.record_use": "VCR", "treatments.file_sheet": "VCR", "treatments.recall_batch": "C", "treatments.lift_recall": "C",
    "treatments.call_recalled": "C",
    # what people were shown: by whoever can; signed for by a curator or the board; ended by a curator
    "treatments.sign_off": "VCRT", "treatments.tell_practice": "VCRT", "people.record_shown": "VCRT", "people.record_practice": "VCRT",
    "treatments.tell_try": "VCRT",
    "people.sign_practice": "CT", "people.end_competence": "C", "people.give_qualification": "CA", "people.end_qualification": "CA",
    # card tests, incidents, dangers
    "checks.start_card": "VCR", "checks.read_card": "VCR", "checks.open_incident": "VCR", "checks.add_incident_step": "VCR",
    "checks.list_at_risk": "VCR", "checks.end_listing": "VCR", "checks.close_incident": "C", "checks.report_event": "VCR",
    "checks.answer_ten": "VCR", "checks.answer_ten_of_lot": "VCR", "checks.confirm_from_lot": "VCR", "objects.tell_opening": "VCR",
    "objects.answer_screen": "VCR", "objects.report_hazard": "VCR", "objects.settle_hazard": "C", "objects.set_ownership": "CR",
    # placing
    "places.move_object": "VCR", "places.move_box": "VCR", "places.correct_move": "VCR", "places.found": "VCR", "places.make_place": "CRA",
    "places.decide_humidity": "VCR", "places.withdraw_humidity": "VCR", "places.change_place": "CR", "places.describe_place": "CR", "places.close_place": "CR",
    # the rules
    "rules.change_rule": "C", "rules.return_to_shipped": "C",
}  # fmt: skip
#: actions of these parts that are tried elsewhere, with the place
ELSEWHERE: Final = {
    "rules.bring_rules": "brings what is shipped, by the program", "places.identify": "tests/places/test_found.py",
    "treatments.advise": "by qualification, not by role: tests/treatments/test_invited.py",
}  # fmt: skip


@dataclass
class Ways:
    """An action as somebody does it: itself, by its address for programs, by its page; None = it has none."""

    call: Callable[[Actor], Any]
    api: tuple[str, dict[str, Any]] | None = None
    page: tuple[str, dict[str, Any]] | None = None


class World:
    """A helmet with rust and mud, a house with one curator, a volunteer, a conservator from outside."""

    def __init__(self, volunteer: Person, curator: Person, conservator: Person) -> None:
        self.marit, self.ivo, self.rhea = Actor.of(volunteer), Actor.of(curator), Actor.of(conservator)
        self.volunteer, self.curator, self.conservator = volunteer, curator, conservator
        self.thing: Object = house.helmet()
        self.rust: Seen = house.seen(self.thing, "RB", "RUST_SPOT")
        self.mud: Seen = house.seen(self.thing, "SH", "SIGNIF_DEPOSIT", material="paint")
        stock.record(self.marit, self.thing, self.rust, self.mud)
        self.shelf: Place = house.shelf()[2]
        self.zone = stock.zone_of(self.thing)
        self.brush = Meant(step="TR14", earlier="dry since March")
        # while there is one curator: whoever tries may be the second
        self.signed_alone = self.alone()

    def proposed(self, by: Actor) -> Proposal:
        return stock.proposed(by, self.thing, self.rust, self.brush)

    def approval(self) -> Approval:
        proposal = self.proposed(self.marit)
        deciding.approve(self.ivo, proposal.pk, version=1)
        return Approval.objects.get(decision__proposal=proposal)

    def alone(self) -> Approval:
        proposal = self.proposed(self.ivo)
        deciding.approve(self.ivo, proposal.pk, version=1, second_later=True)
        return Approval.objects.get(decision__proposal=proposal)

    def work(self, by: Actor) -> Work:
        return stock.begun(by, self.thing, "TR01")

    def batch(self, supply: str = "polyester_film") -> Batch:
        return stocking.add_batch(self.marit, supply=supply, number="F-1", received_on=clock.today())

    def practice(self) -> Competence:
        (key,) = learning.tell_practice(self.marit, self.volunteer.pk, ["TR14"], on=clock.today(), practice="six years, pictures in folder 4")
        return Competence.objects.get(pk=key)

    def incident(self) -> Incident:
        return open_incident(self.marit, incident_id=uuid7(), kind="mould", place_id=self.shelf.parent_id or self.shelf.pk)


def who_tries(world: World, letter: str) -> Person:
    return cast("Somebody", *TRIERS[letter], kind="trustee" if letter == "T" else "")


def allowed(action: str, letter: str) -> bool:
    """On the tablet a volunteer, whatever else they are; without that role, nobody."""
    return {"tablet": "V", "a registrar's tablet": "-", "no role": "-"}.get(letter, letter) in MAY[action]


def ways(action: str, w: World, by: Actor, *, hands: bool) -> Ways:
    """How the action is done by this person; what must be theirs is, where they may make it (`hands`)."""
    today, day = clock.today(), clock.today().isoformat()
    thing, me = w.thing.pk, by.someone
    area, _part, name = action.partition(".")
    sent: dict[str, Any] = {"id": str(uuid7())}
    deed = {"zone": w.zone, "surface": "steel", "aim": "loose rust off", "finding": str(w.rust.finding)}
    if name in ("propose", "resubmit", "withdraw", "return_proposal", "approve"):
        return _of_proposals(name, w, by, deed, sent, hands=hands)
    if name in ("start_work", "record_spot", "begin_wait", "record_step", "stop_step", "keep_part", "tell_opened", "end_work", "look_again"):
        return _of_work(name, w, by, sent, hands=hands)
    if name in ("add_batch", "change_batch", "record_batch_test", "mark_batch", "record_use", "file_sheet", "recall_batch", "lift_recall", "call_recalled"):
        return _of_stock(name, w, day, sent)
    if area == "places":
        return _of_places(name, w, sent)
    if area == "people" or name in ("sign_off", "tell_practice"):
        return _of_people(name, w, me, day)
    if area in ("checks", "objects"):
        return _of_checks(name, w, sent)
    if area == "rules":
        return _of_rules(name, w, sent)
    match name:
        case "tell_try":
            screen = {str(n): "no" for n in range(1, 11)}
            page = ("/lessons/TR14/", {"piece": "a tin lid", **{f"q{n}": answer for n, answer in screen.items()}})
            return Ways(lambda actor: learning.tell_try(actor, "TR14", practice_id=uuid7(), piece="a tin lid", screen=screen), None, page)
        case "take_back" | "lapse" | "countersign":
            row = w.signed_alone if name == "countersign" else w.approval()
            if name == "lapse":
                return Ways(lambda actor: deciding.lapse(actor, row.pk))
            if name == "countersign":
                return Ways(lambda actor: deciding.countersign(actor, row.pk), (f"/api/approvals/{row.pk}/countersign/", sent), (f"/approvals/{row.pk}/", {}))
            said = {"reason": "no"}
            page = (f"/approvals/{row.pk}/", {"do": "take_back", **said})
            return Ways(lambda actor: deciding.take_back(actor, row.pk, reason="no"), (f"/api/approvals/{row.pk}/take-back/", sent | said), page)
        case "give_standing":
            said, marit = {"step": "TR14", "material": "steel"}, w.volunteer.pk
            page = ("/standing/", {"person": str(marit), **said})
            return Ways(lambda actor: standing.give_standing(actor, marit, **said), (f"/api/people/{marit}/standing/", sent | said), page)
        case "end_standing":
            given: StandingApproval = standing.give_standing(w.ivo, w.volunteer.pk, step="TR14", material="steel")
            return Ways(lambda actor: standing.end_standing(actor, given.pk), (f"/api/standing/{given.pk}/end/", sent), (f"/standing/{given.pk}/end/", {}))
        case "invite_conservator":
            asked: dict[str, Any] = {"name": "Sunniva", "email": "sunniva@example.org", "evidence": "diploma, seen"}
            in_form = asked | {"things": [str(thing)], "until": day}
            return Ways(
                lambda actor: inviting.invite_conservator(actor, invitation_id=uuid7(), things=[thing], until=today, **asked),
                ("/api/invitations/", sent | in_form), (f"/invitations/new/?thing={thing}", in_form),
            )  # fmt: skip
        case "owner_leave":
            said = {"letter": "of 2 June, folder 4"}
            page = (f"/things/{thing}/owner-leave/", dict(said))
            return Ways(lambda actor: deciding.record_owner_leave(actor, thing, **said), (f"/api/things/{thing}/owner-leave/", sent | said), page)
        case "name_deposit":
            key, said = w.mud.finding, {"kind": "mud"}
            return Ways(
                lambda actor: standing.name_deposit(actor, key, kind="mud"), (f"/api/deposits/{key}/kind/", sent | said), (f"/deposits/{key}/", dict(said))
            )
        case "decide_deposit":
            key, said = w.mud.finding, {"kind": "mud", "decision": "remove", "reason": "garden mud"}
            page = (f"/deposits/{key}/", dict(said))
            return Ways(lambda actor: standing.decide_deposit(actor, key, **said), (f"/api/deposits/{key}/decide/", sent | said), page)
        case "set_deposit_default":
            said = {"kind": "mud", "decision": "keep", "reason": "it tells of duty"}
            return Ways(
                lambda actor: standing.set_deposit_default(actor, **said), ("/api/deposits/defaults/", sent | said), ("/deposits/defaults/", dict(said))
            )
    raise AssertionError(f"nobody says how {action} is done by {me} on {today}")


def _of_proposals(name: str, w: World, by: Actor, deed: dict[str, str], sent: dict[str, Any], *, hands: bool) -> Ways:
    step = {"step": "TR14", "earlier": "dry since March"}
    if name == "propose":
        page = (f"/things/{w.thing.pk}/propose/", {**deed, **step, "id": sent["id"]})
        return Ways(w.proposed, (f"/api/things/{w.thing.pk}/proposals/", sent | deed | {"steps": [step]}), page)
    row = w.proposed(by if hands and name in ("resubmit", "withdraw") else w.marit)
    key, at = row.pk, f"/proposals/{row.pk}/decide/"
    match name:
        case "withdraw":
            return Ways(
                lambda actor: proposals.withdraw_proposal(actor, key, version=1), (f"/api/proposals/{key}/withdraw/", sent | {"version": 1}),
                (at, {"do": "withdraw", "version": "1"}),
            )  # fmt: skip
        case "return_proposal":
            return Ways(
                lambda actor: proposals.return_proposal(actor, key, version=1, remark="which brush?"),
                (f"/api/proposals/{key}/return/", sent | {"version": 1, "remark": "which brush?"}), (at, {"do": "return", "version": "1", "reason": "which?"}),
            )  # fmt: skip
        case "approve":
            return Ways(
                lambda actor: deciding.approve(actor, key, version=1), (f"/api/proposals/{key}/approve/", sent | {"version": 1}),
                (at, {"do": "approve", "version": "1"}),
            )  # fmt: skip
    proposals.return_proposal(w.ivo, key, version=1, remark="which brush?")
    said = {"surface": "steel", "aim": "loose rust off, natural bristle"}
    return Ways(
        lambda actor: proposals.resubmit(actor, key, version=2, **said, steps=[w.brush]),
        (f"/api/proposals/{key}/again/", sent | said | {"version": 2, "steps": [step]}), (at, {"do": "again", "version": "2", **said, **step, "words": ""}),
    )  # fmt: skip


def _of_work(name: str, w: World, by: Actor, sent: dict[str, Any], *, hands: bool) -> Ways:
    look = {"step": "TR01", "surface": "steel"}
    if name == "start_work":
        said = {"zone": w.zone, **look}
        return Ways(w.work, (f"/api/things/{w.thing.pk}/work/", sent | said), (f"/things/{w.thing.pk}/work/", {**said, "id": sent["id"]}))
    row = w.work(by if hands else w.marit)
    key, at, api = row.pk, f"/work/{row.pk}/do/", f"/api/work/{row.pk}"
    noted = {"note": "colour on the brush"}
    if name == "look_again":
        ending.end_work(by if hands else w.marit, key, end_id=uuid7())
    done: dict[str, Ways] = {
        "record_spot": Ways(
            lambda actor: working.record_spot(actor, key, spot_id=uuid7(), **look, unchanged=True), (f"{api}/spots/", sent | look | {"unchanged": True}),
            (at, {"do": "spot", **look, "unchanged": "yes"}),
        ),
        "record_step": Ways(
            lambda actor: working.record_step(actor, key, stock.done("TR01")), (f"{api}/steps/", sent | look | {"acknowledged": ["TR01"]}),
            (at, {"do": "step", **look, "acknowledged": "TR01"}),
        ),
        "begin_wait": Ways(
            lambda actor: working.begin_wait(actor, key, wait_id=uuid7(), step="TR10"), (f"{api}/waits/", sent | {"step": "TR10"}),
            (at, {"do": "wait", "step": "TR10"}),
        ),
        "stop_step": Ways(
            lambda actor: working.stop_step(actor, key, stock.done("TR01", **noted)), (f"{api}/stop/", sent | look | noted),
            (at, {"do": "stop", **look, **noted}),
        ),
        "keep_part": Ways(
            lambda actor: ending.keep_part(actor, key, name="flake", because="it fell"), (f"{api}/kept/", sent | {"name": "flake", "because": "it fell"}),
            (at, {"do": "keep", "name": "flake", "because": "it fell"}),
        ),
        "tell_opened": Ways(
            lambda actor: working.tell_opened(actor, key, why="lining", note="front pad"), (f"{api}/opened/", sent | {"why": "lining"}),
            (at, {"do": "opened", "why": "lining"}),
        ),
        "look_again": Ways(
            lambda actor: following.look_again(actor, key, follow_id=uuid7(), reading="holds"), (f"{api}/follow-ups/", sent | {"reading": "holds"}),
            (at, {"do": "follow", "reading": "holds"}),
        ),
        "end_work": Ways(lambda actor: ending.end_work(actor, key, end_id=uuid7()), (f"{api}/end/", sent), (at, {"do": "end"})),
    }  # fmt: skip
    return done[name]


def _of_stock(name: str, w: World, day: str, sent: dict[str, Any]) -> Ways:
    today = clock.today()
    new = {"supply": "polyester_film", "number": "F-7", "received_on": day}
    if name == "add_batch":
        return Ways(
            lambda actor: stocking.add_batch(actor, supply="polyester_film", number="F-7", received_on=today), ("/api/stock/batches", sent | new),
            ("/stock/new/", dict(new)),
        )  # fmt: skip
    if name == "file_sheet":
        sheet = SimpleUploadedFile("film.pdf", b"%PDF-1.7 film")
        return Ways(lambda actor: stocking.file_sheet(actor, "wax", Upload("film.pdf", b"%PDF-1.7 film")), None, ("/stock/of/wax/", {"file": sheet}))
    row = w.batch()
    key, at, api = row.pk, f"/stock/batches/{row.pk}/", f"/api/stock/batches/{row.pk}"
    if name in ("lift_recall", "call_recalled"):
        mark = stocking.recall_batch(w.ivo, key, reason="dries white", due_on=today)
        if name == "call_recalled":
            return Ways(lambda actor: stocking.call_recalled(actor, mark.pk, object_ids=[], due_on=today))
    said: dict[str, Any] = {"sort": "acidity", "how": "pH pen", "passed": "yes", "on": day}
    written = {"expires_on": None, "maker": "-", "kept_at": "drawer 2", "note": ""}
    recall = {"reason": "dries white", "due_on": day}
    done: dict[str, Ways] = {
        "change_batch": Ways(
            lambda actor: stocking.change_batch(actor, key, version=1, expires_on=None, maker="-", kept_at="drawer 2", note=""),
            (api, sent | written | {"version": 1}), (at, {"form": "change", "version": "1", "maker": "-", "kept_at": "drawer 2", "note": ""}),
        ),
        "record_batch_test": Ways(
            lambda actor: stocking.record_batch_test(actor, key, sort="acidity", how="pH pen", passed=True, on=today),
            (f"{api}/tests", sent | said | {"passed": True}), (at, {"form": "test", **said}),
        ),
        "mark_batch": Ways(
            lambda actor: stocking.mark_batch(actor, key, "opened", on=today), (f"{api}/marks", sent | {"sort": "opened", "on": day}),
            (at, {"form": "mark", "sort": "opened", "on": day}),
        ),
        "record_use": Ways(
            lambda actor: stocking.record_use(actor, key, w.thing.pk, amount="one strip"), (f"{api}/uses", sent | {"object": str(w.thing.pk)}),
            (at, {"form": "use", "number": "1974.12.3", "amount": "one strip"}),
        ),
        "recall_batch": Ways(
            lambda actor: stocking.recall_batch(actor, key, reason="dries white", due_on=today), (f"{api}/recall", sent | recall),
            (at, {"form": "recall", **recall}),
        ),
        "lift_recall": Ways(
            lambda actor: stocking.lift_recall(actor, key, reason="another batch was meant"), (f"{api}/recall", sent | {"reason": "another was meant"}),
            (at, {"form": "lift", "reason": "another was meant"}),
        ),
    }  # fmt: skip
    return done[name]


def _of_people(name: str, w: World, me: UUID, day: str) -> Ways:
    today, marit = clock.today(), w.volunteer.pk
    later = today.replace(year=today.year + 1, day=min(today.day, 28))
    if name in ("sign_off", "record_shown"):
        people.record_shown(w.rhea, me, "TR14", shown_by=w.conservator.pk, on=today, valid_to=later)
    match name:
        case "record_shown":
            return Ways(lambda actor: people.record_shown(actor, marit, "TR14", shown_by=me, on=today, valid_to=later))
        case "record_practice":
            return Ways(lambda actor: people.record_practice(actor, me, "TR14", on=today, valid_to=later, practice="six years"))
        case "sign_off":
            said = {"steps": ["TR14"], "shown_by": str(me), "on": day}
            return Ways(
                lambda actor: learning.sign_off(actor, marit, ["TR14"], shown_by=me, on=today), (f"/api/people/{marit}/competences", dict(said)),
                (f"/people/{marit}/shown/", {"form": "shown", **said}),
            )  # fmt: skip
        case "tell_practice":
            said = {"steps": ["TR14"], "practice": "six years", "on": day}
            return Ways(
                lambda actor: learning.tell_practice(actor, me, ["TR14"], on=today, practice="six years"), (f"/api/people/{me}/competences", dict(said)),
                (f"/people/{me}/shown/", {"form": "practice", **said}),
            )  # fmt: skip
        case "sign_practice":
            row = w.practice()
            return Ways(lambda actor: people.sign_practice(actor, row.pk), (f"/api/competences/{row.pk}/sign", {}), (f"/competence/{row.pk}/sign/", {}))
        case "end_competence":
            row = w.practice()
            said = {"reason": "a new lesson"}
            return Ways(
                lambda actor: people.end_competence(actor, row.pk, reason="a new lesson"), (f"/api/competences/{row.pk}/end", dict(said)),
                (f"/competence/{row.pk}/end/", dict(said)),
            )  # fmt: skip
        case "give_qualification":
            said = {"kind": "conservator", "evidence": "a diploma, seen"}
            return Ways(
                lambda actor: people.give_qualification(actor, marit, **said), (f"/api/people/{marit}/qualifications", said | {"given": True}),
                (f"/people/{marit}/shown/", {"form": "qualification", **said}),
            )  # fmt: skip
    rhea, said = w.conservator.pk, {"kind": "conservator", "reason": "left the register"}
    return Ways(
        lambda actor: people.end_qualification(actor, rhea, "conservator", reason="left the register"),
        (f"/api/people/{rhea}/qualifications", said | {"given": False}), (f"/people/{rhea}/qualification/end/", dict(said)),
    )  # fmt: skip


def _of_checks(name: str, w: World, sent: dict[str, Any]) -> Ways:
    thing, rust = w.thing.pk, w.rust.finding
    match name:
        case "start_card":
            page = (f"/things/{thing}/card/", {"under": str(rust), "card": "white", "id": sent["id"]})
            return Ways(
                lambda actor: start_card(actor, thing, test_id=uuid7(), finding_id=rust),
                ("/api/cards/", sent | {"object": str(thing), "finding": str(rust)}),
                page,
            )
        case "read_card":
            card: CardTest = start_card(w.marit, thing, test_id=uuid7(), finding_id=rust)
            said = {"reading": "clean"}
            return Ways(lambda actor: read_card(actor, card.pk, reading="clean"), (f"/api/cards/{card.pk}/reading/", sent | said), (f"/cards/{card.pk}/", said))
        case "open_incident":
            said = {"kind": "mould", "place": str(w.shelf.parent_id)}
            page = ("/incidents/new/", {**said, "id": sent["id"]})
            return Ways(
                lambda actor: open_incident(actor, incident_id=uuid7(), kind="mould", place_id=w.shelf.parent_id or w.shelf.pk),
                ("/api/incidents/", sent | said),
                page,
            )
        case "report_event":
            return Ways(lambda actor: report_event(actor, kind="leak", happened_on=clock.today(), place_id=w.shelf.pk))
        case "answer_screen":
            return Ways(lambda actor: answer_screen(actor, thing, answers=house.NO_TO_ALL))
        case "answer_ten":
            return Ways(
                lambda actor: answer_ten(actor, thing, answers=house.NO_TO_ALL),
                (f"/api/things/{thing}/screen/", sent | {"answers": house.NO_TO_ALL}), (f"/things/{thing}/screen/", dict(house.NO_TO_ALL)),
            )  # fmt: skip
        case "answer_ten_of_lot":
            said = {"name": "caps of one store"}
            return Ways(
                lambda actor: answer_ten_of_lot(actor, uuid7(), answers=house.NO_TO_ALL, **said),
                ("/api/lots/", sent | said | {"answers": house.NO_TO_ALL}), ("/lots/new/", said | house.NO_TO_ALL),
            )  # fmt: skip
        case "confirm_from_lot":
            lot, other = answer_ten_of_lot(w.marit, uuid7(), name="caps of one store", answers=house.NO_TO_ALL).pk, house.helmet("1974.12.9").pk
            said = {"lot": str(lot), "looked": "same"}
            return Ways(
                lambda actor: confirm_from_lot(actor, other, lot_id=lot, looked="same"),
                (f"/api/things/{other}/screen/confirm/", sent | said), (f"/things/{other}/screen/confirm/", said),
            )  # fmt: skip
        case "tell_opening":
            said = {"why": "lining", "note": "front pad"}
            return Ways(
                lambda actor: tell_opening(actor, thing, why="lining"), (f"/api/things/{thing}/opened/", sent | said), (f"/things/{thing}/opened/", said)
            )
        case "report_hazard":
            return Ways(lambda actor: report_hazard(actor, thing, code="LEAD_PAINT", level=1))
        case "settle_hazard":
            report_hazard(w.marit, thing, code="LEAD_PAINT", level=1)
            return Ways(lambda actor: settle_hazard(actor, thing, code="LEAD_PAINT", level=0, evidence="a test"))
        case "set_ownership":
            return Ways(lambda actor: set_ownership(actor, thing, whose="borrowed", evidence="loan form"))
    row = w.incident()
    key, reason = row.pk, {"reason": "a drill"}
    done: dict[str, Ways] = {
        "add_incident_step": Ways(
            lambda actor: add_step(actor, key, kind="isolated", note="two boxes"), (f"/api/incidents/{key}/steps/", sent | {"kind": "isolated", "note": "two"}),
            (f"/incidents/{key}/step/", {"kind": "isolated", "note": "two"}),
        ),
        "close_incident": Ways(
            lambda actor: close_incident(actor, key, reason="a drill"), (f"/api/incidents/{key}/close/", sent | reason),
            (f"/incidents/{key}/close/", dict(reason)),
        ),
        "list_at_risk": Ways(lambda actor: list_at_risk(actor, key, part=0, rows=[(thing, "leather", "Shelf 1")])),
        "end_listing": Ways(lambda actor: end_listing(actor, key)),
    }  # fmt: skip
    return done[name]


def _of_places(name: str, w: World, sent: dict[str, Any]) -> Ways:
    thing, shelf = w.thing.pk, w.shelf
    there = {"to": "place", "place": str(shelf.pk), "reason": "a conservator was asked about its humidity"}
    match name:
        case "move_object":
            page = (f"/things/{thing}/move/", {**there, "id": sent["id"], "resting": "support"})
            return Ways(lambda actor: move_object(actor, thing, place_id=shelf.pk), ("/api/movements/", sent | there | {"object": str(thing)}), page)
        case "move_box":
            box = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box", mobile=True)
            page = (f"/places/{box.pk}/move/", {**there, "id": sent["id"]})
            return Ways(lambda actor: move_box(actor, box.pk, place_id=shelf.pk), ("/api/movements/", sent | there | {"box": str(box.pk)}), page)
        case "correct_move":
            move_object(w.marit, thing, place_id=shelf.pk)
            key, said = Movement.objects.latest("recorded_at").pk, {"reason": "another helmet was meant"}
            return Ways(
                lambda actor: correct_move(actor, key, reason="another was meant"), (f"/api/movements/{key}/correct/", sent | said),
                (f"/movements/{key}/correct/", {**said, "act": sent["id"]}),
            )  # fmt: skip
        case "decide_humidity" | "withdraw_humidity":
            stock.record(w.marit, w.thing, house.seen(w.thing, "SH", "RUST_WEEP", activity=3))
            move_object(w.marit, thing, place_id=shelf.pk)
            page, why = f"/things/{thing}/humidity/", {"reason": "Rhea, conservator: 45 %, and watched"}
            if name == "decide_humidity":
                return Ways(
                    lambda actor: decide_humidity(actor, thing, **why), (f"/api/objects/{thing}/humidity/", sent | why), (page, {**why, "act": sent["id"]})
                )
            row = decide_humidity(w.marit, thing, **why).pk
            return Ways(
                lambda actor: withdraw_humidity(actor, thing, row, **why), (f"/api/objects/{thing}/humidity/", sent | why | {"withdraws": str(row)}),
                (page, {**why, "decision": str(row), "act": sent["id"]}),
            )  # fmt: skip
        case "found":
            return Ways(lambda actor: enter_where_found(actor, object_id=uuid7(), name="helmet", place_id=shelf.pk))
        case "make_place":
            said = {"level": "shelf", "code": "H-S-9", "name": "Shelf 9"}
            return Ways(
                lambda actor: make_place(actor, place_id=uuid7(), **said, parent_id=shelf.parent_id),
                ("/api/places/", sent | said | {"within": str(shelf.parent_id), "walk": 0}),
                ("/places/new/", {**said, "within": str(shelf.parent_id), "parent": str(shelf.parent_id), "walk": "0", "id": sent["id"]}),
            )  # fmt: skip
        case "change_place":
            named = {"code": "H-S-1", "name": "Shelf one", "use": "", "walk": 0, "version": 1}
            return Ways(
                lambda actor: change_place(actor, shelf.pk, version=1, code="H-S-1", name="Shelf one", use="", walk=0),
                (f"/api/places/{shelf.pk}/", sent | named), (f"/places/{shelf.pk}/change/", {**named, "act": sent["id"]}),
            )  # fmt: skip
        case "describe_place":
            return Ways(
                lambda actor: describe_place(actor, shelf.pk, version=1, spot="attic"),
                (f"/api/places/{shelf.pk}/like/", sent | {"version": 1, "spot": "attic"}),
                (f"/places/{shelf.pk}/like/", {"version": "1", "spot": "attic", "act": sent["id"]}),
            )  # fmt: skip
    said = {"reason": "taken down"}
    return Ways(
        lambda actor: close_place(actor, shelf.pk, reason="taken down"), (f"/api/places/{shelf.pk}/close/", sent | said),
        (f"/places/{shelf.pk}/close/", {**said, "act": sent["id"]}),
    )  # fmt: skip


def _of_rules(name: str, w: World, sent: dict[str, Any]) -> Ways:
    why = {"reason": "our conservator's advice"}
    if name == "change_rule":
        page = ("/rules/gate/row/approval_months/change/", {"value": "6", "version": "0", "why_changed": why["reason"]})
        api = ("/api/rules/gate/approval_months/", sent | why | {"version": 0, "content": 6})
        return Ways(lambda actor: change_rule(actor, "gate", "approval_months", 6, version=0, **why), api, page)
    change_rule(w.ivo, "gate", "approval_months", 6, version=0, **why)
    page = ("/rules/gate/row/approval_months/return/", {"version": "1", **why})
    api = ("/api/rules/gate/approval_months/", sent | why | {"version": 1, "return": True})
    return Ways(lambda actor: return_to_shipped(actor, "gate", "approval_months", version=1, **why), api, page)


def client_of(person: Person, letter: str) -> Client:
    """A signed-in browser; on the shared tablet its session says so."""
    client = Client()
    client.force_login(person, backend="museum.people.backends.ByPassword")
    if "tablet" in letter:
        shared = people.share_tablet(PROGRAM, name="store tablet")
        session = client.session
        session[TABLET_KEY], session[SEEN_KEY] = str(shared.pk), clock.now().timestamp()
        session.save()
    return client


def carried_out(action: str, what: Callable[[], Any]) -> tuple[bool, Any]:
    """Whether it was, by the acts that stand in the history; then all is as before."""
    with transaction.atomic():
        before = Act.objects.filter(action=action).count()
        answer: Any = None
        try:
            with transaction.atomic():
                answer = what()
        except DomainError as refused:
            answer = refused
        after = Act.objects.filter(action=action).count()
        transaction.set_rollback(True)
    return after > before, answer


@pytest.mark.parametrize("action", list(MAY))
def test_who_may_by_the_action_by_the_door_and_by_the_page(action: str, volunteer: Person, curator: Person, conservator: Person, settings: Any) -> None:
    settings.SECOND_FACTOR = False
    world, wrong = World(volunteer, curator, conservator), []
    for letter in TRIERS:
        with transaction.atomic():
            may = allowed(action, letter)
            person = who_tries(world, letter)
            by = Actor.of(person, tablet="tablet" in letter)
            how, browser = ways(action, world, by, hands=may), client_of(person, letter)
            tried = {"action": carried_out(action, lambda: how.call(by))}  # noqa: B023 - called at once
            if how.api:
                path, body = how.api
                tried["api"] = carried_out(action, lambda: browser.post(path, body, content_type="application/json"))  # noqa: B023
            if how.page:
                address, form = how.page
                tried["page"] = carried_out(action, lambda: browser.post(address, form))  # noqa: B023
            wrong += [(letter, door, getattr(said, "status_code", said)) for door, (done, said) in tried.items() if done != may]
            transaction.set_rollback(True)
    assert not wrong, f"{action} is for {MAY[action]}"


def test_nobody_comes_to_a_door_unasked(volunteer: Person, curator: Person, conservator: Person) -> None:
    world, wrong = World(volunteer, curator, conservator), []
    for action in MAY:
        with transaction.atomic():
            how = ways(action, world, world.marit, hands=action not in ("treatments.record_spot",))
            for address, form in [way for way in (how.api, how.page) if way]:
                more = {"content_type": "application/json"} if address.startswith("/api/") else {}
                done, said = carried_out(action, lambda: Client().post(address, form, **more))  # type: ignore[arg-type]  # noqa: B023
                if done or said.status_code not in (302, 401):
                    wrong.append((action, address, said.status_code))
            transaction.set_rollback(True)
    assert not wrong


def test_every_action_of_these_parts_is_in_the_table() -> None:
    ours = {name for name in ACTIONS if name.startswith(("treatments.", "places.", "rules."))}
    ours |= {name for name in ACTIONS if name.startswith("checks.") and any(part in name for part in ("card", "incident", "listing", "at_risk"))}
    ours |= {name for name in ACTIONS if name.startswith("people.") and any(part in name for part in ("competence", "qualification", "practice", "shown"))}
    assert ours - set(MAY) - set(ELSEWHERE) == set()
