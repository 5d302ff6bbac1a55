"""Every action of the climate that a person may take has a page and a door for programs, each for the roles of the table and no others."""

import ast
import base64
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

import locations.climate.actions
from locations.climate.actions.doubts import suspect
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.doubts import Doubt
from locations.climate.models import (
    Calibration,
    ClimateFile,
    Coverage,
    CoverageSpan,
    Logger,
    LoggerStay,
    Placement,
    Settlement,
    Spot,
    Suspicion,
    Verdict,
)  # fmt: skip
from locations.places.models import Place
from museum import clock
from museum.history.models import Change
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from museum.people.permissions import PERMISSIONS
from tests import stock
from tests.climate.test_bringing_in import HOURS, text
from tests.climate.test_exposure import START

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
#: actions whose act is a job's or the program's own, never a person's
OF_THE_PROGRAM = {"climate.store_piece", "climate.finish_file", "climate.refuse_file", "climate.ask_about_file", "climate.suspect", "climate.tell_alarms"}
#: action to its page and its door for programs
DOORS = {
    "climate.make_logger": ("new_logger", "api_new_logger"), "climate.change_logger": ("change", "api_change_logger"),
    "climate.place_logger": ("tell", "api_place_logger"), "climate.correct_placement": ("tell", "api_place_logger"),
    "climate.calibrate": ("tell", "api_check_logger"), "climate.cover": ("tell", "api_logger_speaks"), "climate.judge_readings": ("tell", "api_judge_readings"),
    "climate.choose_value": ("tell", "api_choose_value"),
    "climate.take_file": ("send", "api_files"), "climate.answer_file": ("file", "api_file_answer"), "climate.settle": ("settle", "api_settle"),
    "climate.drop_file": ("drop", "api_file_dropped"), "climate.hold_file": ("hold", "api_file_holds"),
    "climate.tell_wall": ("tell_wall", "api_tell_wall"), "climate.end_wall": ("tell_wall", "api_tell_wall"),
    "climate.tell_wall_by_quality": ("tell_wall", "api_tell_wall"),
    "climate.read_by_hand": ("by_hand", "api_spots"), "climate.correct_spot": ("correct_spot", "api_spot_taken_back"),
}  # fmt: skip


def actions() -> dict[str, str]:
    """Name to permission of every action of the climate, read from the sources."""
    found = {}
    for path in Path(locations.climate.actions.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "action":
                found[str(ast.literal_eval(node.args[0]))] = str(ast.literal_eval(node.keywords[0].value))
    return found


class House:
    """A room with a logger in it, a reading by hand, a file that asks, a suspicion."""

    def __init__(self) -> None:
        self.hall, self.store, self.shelf = stock.shelf()
        self.logger: Logger = make_logger(PROGRAM, logger_id=uuid7(), name="T-1", serial="A1")
        self.placement: Placement = place_logger(PROGRAM, self.logger.pk, place_id=self.store.pk, at=START)
        (key,) = read_by_hand(PROGRAM, [SpotEntry(id=uuid7(), place_id=self.store.pk, rh=60)])
        self.spot = UUID(key)
        found: Suspicion | None = suspect(PROGRAM, Doubt("stuck", self.logger, START, START + timedelta(days=2), {"hours": 48, "value": 61.0}))
        assert found
        self.suspicion = found

    def address(self, name: str) -> str:
        keys = {"place": [self.shelf.pk], "logger": [self.logger.pk], "spot": [self.spot], "suspicion": [self.suspicion.pk], "file": [uuid7()]}
        of = {
            "change": "logger", "tell": "logger", "api_change_logger": "logger", "api_place_logger": "logger", "api_check_logger": "logger",
            "api_logger_speaks": "logger", "api_judge_readings": "logger", "api_choose_value": "logger",
            "correct_spot": "spot", "api_spot_taken_back": "spot", "settle": "suspicion",
            "api_settle": "suspicion", "tell_wall": "place", "api_tell_wall": "place", "drop": "file", "api_file_dropped": "file", "hold": "file",
            "api_file_holds": "file",
        }  # fmt: skip
        return reverse(f"climate:{name}", args=keys.get(of.get(name, ""), []))


@pytest.fixture
def house(society: Any) -> House:
    return House()


def post(client: Client, path: str, **body: Any) -> Any:
    return client.post(path, {"id": str(uuid7()), **body}, content_type="application/json")


def test_no_action_is_without_a_door() -> None:
    assert set(actions()) == set(DOORS) | OF_THE_PROGRAM


@pytest.mark.parametrize("role", ["volunteer", "curator", "registrar", "reader", "administrator"])
def test_each_door_opens_to_the_roles_of_the_table_only(house: House, role: str, request: pytest.FixtureRequest, as_person: Browser) -> None:
    client = as_person(request.getfixturevalue(role))
    for name, permission in actions().items():
        if name in OF_THE_PROGRAM or name == "climate.answer_file":
            continue
        page, door = DOORS[name]
        may = role in {str(one) for one in PERMISSIONS[permission]}
        for answer in (client.post(house.address(page), {}), post(client, house.address(door))):
            shut = answer.status_code == 403
            assert shut is not may, (name, page, door, role, answer.status_code)


def test_a_logger_from_its_making_to_its_end_by_programs(house: House, as_person: Browser, curator: Person) -> None:
    client, key = as_person(curator), str(uuid7())
    made = post(client, "/api/climate/loggers/new/", id=key, name="T-9", serial="b9", clock_kind="utc", interval=1800)
    assert (made.status_code, made.json()["serial"]) == (201, "B9")
    of = f"/api/climate/loggers/{key}"
    wrong = post(client, f"{of}/place/", place=str(house.hall.pk)).json()["id"]
    assert post(client, f"{of}/place/", place=str(house.shelf.pk), corrects=wrong, note="it was the shelf").status_code == 201
    assert LoggerStay.objects.get(logger=key).place_id == house.shelf.pk
    assert post(client, f"{of}/check/", points=[[35.0, 33.07], [73.5, 75.47]], note="magnesium chloride and salt").status_code == 201
    # LOG-028: 35.0 at 33.07 and 73.5 at 75.47 correct 60.0 to 60.60
    check = Calibration.objects.get(logger=key)
    assert (60 - check.offset) / check.slope == pytest.approx(60.60, abs=0.01)
    assert post(client, f"{of}/speaks/", place=str(house.hall.pk), reason="the same air").status_code == 201
    assert CoverageSpan.objects.get(logger=key).place_id == house.hall.pk
    assert post(client, f"{of}/speaks/", place=str(house.hall.pk), ends=True).status_code == 201
    assert Coverage.objects.filter(logger=None).count() == 1
    at = clock.now() - timedelta(hours=5)
    said = post(client, f"{of}/judge/", begin=at.isoformat(), end=clock.now().isoformat(), says="left_out", reason="it lay in steam")
    assert said.status_code == 201
    assert Verdict.objects.get().says == "left_out"
    row = next(one for one in client.get("/api/climate/loggers/").json() if one["id"] == key)
    changed = {"name": "T-9", "serial": "B9", "clock_kind": "utc", "interval": 1800, "ended_on": str(clock.today())}
    assert post(client, f"{of}/change/", version=row["version"], **changed).status_code == 200
    assert post(client, f"{of}/change/", version=row["version"], **changed | {"name": "T-8"}).status_code == 409, "made from an older one"
    assert key not in [one["id"] for one in client.get("/api/climate/loggers/").json()]


def test_a_suspicion_is_read_and_settled_by_programs_once(house: House, as_person: Browser, curator: Person, volunteer: Person) -> None:
    waiting = as_person(volunteer).get("/api/climate/suspicions/").json()["suspicions"]
    assert [(one["kind"], one["logger"], one["rests_on"]) for one in waiting] == [
        ("stuck", str(house.logger.pk), ["For 48 hours it wrote 61.0 % and nothing else, while its temperature moved."])
    ]
    client, of, key = as_person(curator), house.address("api_settle"), str(uuid7())
    assert post(client, of, says="left_out").json()["field"] == "reason"
    for _again in range(2):
        answer = post(client, of, id=key, says="left_out", reason="splashed, breath does not move it")
        assert (answer.status_code, answer.json()["says"]) == (200, "left_out")
    verdict = Verdict.objects.get()
    assert (verdict.begin, verdict.end) == (house.suspicion.begin, house.suspicion.end)
    assert Settlement.objects.get().by == curator
    assert Change.objects.filter(what="logger.suspicion_settled").count() == 1
    late = post(client, of, says="holds", reason="it moves again")
    assert (late.status_code, late.json()["code"]) == (409, "suspicion_settled")
    assert as_person(volunteer).get("/api/climate/suspicions/").json() == {"suspicions": []}
    assert post(client, f"/api/climate/suspicions/{uuid7()}/settle/", says="holds", reason="x").status_code == 404


def test_a_place_told_wrongly_is_corrected_on_the_page_of_the_logger(house: House, as_person: Browser, curator: Person, volunteer: Person) -> None:
    client, of = as_person(curator), f"/climate/loggers/{house.logger.pk}/"
    assert "That is wrong" in client.get(of).content.decode()
    assert "That is wrong" not in as_person(volunteer).get(of).content.decode()
    body = {"do": "misplaced", "placement": str(house.placement.pk), "place": str(house.shelf.pk), "at": "", "note": "on the shelf, not in the room"}
    assert "Stored." in client.post(f"{of}tell/", body, follow=True).content.decode()
    stay = LoggerStay.objects.get(logger=house.logger)
    assert (stay.place_id, stay.during.lower) == (house.shelf.pk, START)
    corrected = Placement.objects.get(corrects=house.placement)
    never = {"do": "misplaced", "placement": str(corrected.pk), "place": "", "note": "it never left its box"}
    client.post(f"{of}tell/", never)
    assert not LoggerStay.objects.filter(logger=house.logger).exists()


def test_what_a_file_asks_is_answered_by_a_program(house: House, as_person: Browser, volunteer: Person) -> None:
    client = as_person(volunteer)
    row = post(client, "/api/climate/files/", name="x.csv", content=base64.b64encode(text(HOURS)).decode()).json()
    assert row["questions"][0]["code"] == "logger"
    of = f"/api/climate/files/{row['id']}/answer/"
    answers = {one["code"]: one["proposed"] or one["answers"][0] for one in row["questions"] if one["code"] != "logger"}
    done = post(client, of, version=row["version"], logger=str(house.logger.pk), answers=answers)
    assert (done.status_code, done.json()["state"]) == (200, "ready")
    assert ClimateFile.objects.get().logger_id == house.logger.pk
    assert post(client, of, version=row["version"], logger=str(uuid7())).status_code == 409


def test_a_reading_by_hand_is_taken_back_by_a_program_with_the_reason(house: House, as_person: Browser, volunteer: Person) -> None:
    client, of = as_person(volunteer), house.address("api_spot_taken_back")
    assert post(client, of).json()["field"] == "reason"
    assert post(client, of, reason="a six for an eight").status_code == 201
    assert Spot.objects.filter(corrects=house.spot, withdraws=True).count() == 1
    assert post(client, of, reason="again").status_code == 404
    assert isinstance(house.store, Place)


def test_a_refusal_of_a_choice_names_what_there_is(house: House, as_person: Browser, curator: Person) -> None:
    client = as_person(curator)
    row = post(client, "/api/climate/files/", name="x.csv", content=base64.b64encode(text(HOURS)).decode()).json()

    def refused(path: str, **body: Any) -> str:
        answer = post(client, path, **body)
        assert answer.status_code == 400, answer.json()
        return str(answer.json()["detail"])

    of = f"/api/climate/loggers/{house.logger.pk}"
    now = clock.now().isoformat()
    assert refused(house.address("api_settle"), says="maybe", reason="x") == "says: “maybe” is none of these: holds, left_out."
    assert refused(house.address("api_settle"), reason="x") == "says: Say one of these: holds, left_out."
    assert refused(f"{of}/judge/", begin=now, end=now, says="bad") == "says: “bad” is none of these: good, left_out."
    assert refused("/api/climate/loggers/new/", name="T-3", clock_kind="sun") == "clock_kind: “sun” is none of these: utc, standard, follows."
    answer = f"/api/climate/files/{row['id']}/answer/"
    assert refused(answer, version=1, answers={"order": "ydm"}) == "“ydm” is none of these: ymd, dmy, mdy."
    assert refused(answer, version=1, answers={"clock": "sun"}) == "“sun” is none of these: follows, standard, utc."
    assert refused(answer, version=1, answers={"colour": "red"}) == "“colour” is none of these: order, decimal, unit, columns, exchanged, clock, share."
    room = f"/api/climate/rooms/{house.store.pk}/"
    assert client.get(f"{room}?span=decade").json()["detail"] == "span: “decade” is none of these: ten, year, month, week, day."
    assert client.get(f"{room}?on=yesterday").json()["field"] == "on"
    assert client.get(room).status_code == 200
