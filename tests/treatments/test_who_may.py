"""Every action from a finding to looking again, by every role: by the action itself, by its door for programs and by its page.

Who may do what is written here once more by hand, from the table of roles (common practice in small museums) and 4.1 of the
reference (ours, on common practice); V volunteer, C curator, R registrar, T reader who sits on the board, A administrator.
On a shared tablet the rights of registrar and administrator do not count.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

import pytest
from django.db import transaction
from django.test import Client

from museum import clock
from museum.errors import DomainError
from museum.history.models import Act
from museum.people import actions as people
from museum.people.action import ACTIONS
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from museum.people.permissions import Role
from museum.people.session import SEEN_KEY, TABLET_KEY
from tests.conftest import cast
from tests.treatments.ways import World, ways

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


def who_tries(world: World, letter: str) -> Person:
    return cast("Somebody", *TRIERS[letter], kind="trustee" if letter == "T" else "")


def allowed(action: str, letter: str) -> bool:
    """On the tablet a volunteer, whatever else they are; without that role, nobody."""
    return {"tablet": "V", "a registrar's tablet": "-", "no role": "-"}.get(letter, letter) in MAY[action]


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
