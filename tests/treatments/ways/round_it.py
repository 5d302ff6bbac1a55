"""Checks and dangers, places, rules."""

from typing import Any

from collection.objects.actions.hazards import report_hazard, settle_hazard
from collection.objects.actions.objects import set_ownership
from collection.objects.actions.screens import answer_screen, tell_opening
from conservation.checks.actions.cards import read_card, start_card
from conservation.checks.actions.events import report_event
from conservation.checks.actions.incidents import add_step, close_incident, end_listing, list_at_risk, open_incident
from conservation.checks.actions.screening import answer_ten, answer_ten_of_lot, confirm_from_lot
from conservation.checks.models import CardTest
from conservation.rules.actions import change_rule, return_to_shipped
from locations.places.actions import change_place, close_place, correct_move, describe_place, make_place, move_box, move_object
from locations.places.deciding import decide_humidity, withdraw_humidity
from locations.places.found import enter_where_found
from locations.places.models import Movement
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests import stock as house
from tests.treatments import stock
from tests.treatments.ways.world import Ways, World


def of_checks(name: str, w: World, sent: dict[str, Any]) -> Ways:
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


def of_places(name: str, w: World, sent: dict[str, Any]) -> Ways:
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


def of_rules(name: str, w: World, sent: dict[str, Any]) -> Ways:
    why = {"reason": "our conservator's advice"}
    if name == "change_rule":
        page = ("/rules/gate/row/approval_months/change/", {"value": "6", "version": "0", "why_changed": why["reason"]})
        api = ("/api/rules/gate/approval_months/", sent | why | {"version": 0, "content": 6})
        return Ways(lambda actor: change_rule(actor, "gate", "approval_months", 6, version=0, **why), api, page)
    change_rule(w.ivo, "gate", "approval_months", 6, version=0, **why)
    page = ("/rules/gate/row/approval_months/return/", {"version": "1", **why})
    api = ("/api/rules/gate/approval_months/", sent | why | {"version": 1, "return": True})
    return Ways(lambda actor: return_to_shipped(actor, "gate", "approval_months", version=1, **why), api, page)
