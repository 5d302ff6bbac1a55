"""Batches: what may be used, where one was used, and what a recall makes due."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from collection.objects.models import Object
from conservation.checks.models import Call, Due
from conservation.rules.supplies import supplies
from conservation.treatments import stock as shelf
from conservation.treatments.actions import stock as actions
from conservation.treatments.models import Batch, BatchUse, SafetySheet
from conservation.treatments.tasks import call_looks
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound, VersionConflict
from museum.history.models import About, Change
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.papers.files import Upload
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock
from tests.conftest import cast

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def by(volunteer: Person) -> Actor:
    return Actor.of(volunteer)


def received(by: Actor, supply: str = "polyester_film", number: str = "F-1", **more: Any) -> Batch:
    return actions.add_batch(by, supply=supply, number=number, received_on=clock.today(), **more)


def tried(by: Actor, batch: Batch, sort: str = "paper", *, passed: bool = True) -> None:
    actions.record_batch_test(by, batch.pk, sort=sort, how="left overnight, looked at with the loupe", passed=passed, on=clock.today())


def looks(thing: Object) -> list[tuple[str, Any]]:
    return list(Call.objects.filter(object=thing, why="recall").values_list("sort", "due_on"))


def test_tools_have_no_batch_and_a_number_stands_once(by: Actor) -> None:
    received(by)
    for wrong in ({"supply": "cloth"}, {"supply": "dragon blood"}, {"number": "F-1"}, {"number": " "}):
        with pytest.raises(Invalid):
            received(by, **wrong)
    assert Batch.objects.count() == 1


def test_a_number_that_no_label_holds_is_not_taken(by: Actor) -> None:
    with pytest.raises(Invalid):
        received(by, number="F" * 61)
    assert received(by, number="F" * 60).number == "F" * 60


def test_an_untested_batch_is_refused_where_the_table_says_so_until_it_is_tested(by: Actor) -> None:
    padding, thing = received(by, "other_padding", "P-1"), stock.helmet()
    with pytest.raises(actions.BatchRefused) as refused:
        actions.record_use(by, padding.pk, thing.pk, acknowledged=["UNTESTED"])
    assert refused.value.data["codes"] == ["UNTESTED"]
    assert "test it" in refused.value.sentence
    tried(by, padding, "acidity")
    tried(by, padding, "sulphur")
    actions.record_use(by, padding.pk, thing.pk)
    tried(by, padding, "sulphur", passed=False)
    assert shelf.may_use(padding).standing.codes == ("FAILED",)


def test_a_warning_is_ticked_and_stays_with_the_use(by: Actor) -> None:
    tissue, thing = received(by, "unbuffered_tissue", "T-1"), stock.helmet()
    with pytest.raises(actions.BatchRefused):
        actions.record_use(by, tissue.pk, thing.pk)
    use = actions.record_use(by, tissue.pk, thing.pk, acknowledged=["UNTESTED"])
    assert use.warned == ["UNTESTED"]
    assert BatchUse.objects.count() == 1


def test_wax_past_its_day_is_refused_and_after_a_trial_on_paper_warned_of(by: Actor) -> None:
    wax = received(by, "wax", "W-1", expires_on=clock.today() - timedelta(days=1))
    assert shelf.may_use(wax, "TR28").refused
    tried(by, wax)
    assert shelf.may_use(wax, "TR28").warned
    assert shelf.may_use(wax, "TR28").standing.codes == ("TRIED",)


def test_the_step_must_name_what_stays_on_the_object(by: Actor) -> None:
    wax = received(by, "wax", "W-1")
    tried(by, wax)
    assert shelf.may_use(wax, "TR28").standing.codes == ()
    assert shelf.may_use(wax, "TR14").standing.codes == ("OTHER_STEP",)
    assert shelf.may_use(wax, None, agents=["wax"]).standing.codes == ()


def test_where_a_batch_was_used_and_what_was_used_on_a_thing(by: Actor) -> None:
    film, first, second = received(by), stock.helmet(), stock.helmet("1974.12.4")
    for thing in (first, second):
        actions.record_use(by, film.pk, thing.pk, zone=str(stock.zone(thing, "CS")), amount="one strip")
    assert {use.object_id for use in shelf.uses_of(film)} == {first.pk, second.pk}
    assert [use.batch_id for use in shelf.used_on(first.pk)] == [film.pk]
    change = Change.objects.filter(what="batch.used").first()
    assert change is not None
    assert About.objects.get(change=change).kind == "object"


def test_a_recall_makes_a_look_due_for_each_thing_once(by: Actor, curator: Person) -> None:
    film, first, second, other = received(by), stock.helmet(), stock.helmet("1974.12.4"), stock.helmet("1974.12.5")
    for thing in (first, first, second):
        actions.record_use(by, film.pk, thing.pk)
    due = clock.today() + timedelta(days=7)
    with pytest.raises(Forbidden):
        actions.recall_batch(by, film.pk, reason="gives off acid", due_on=due)
    mark = actions.recall_batch(Actor.of(curator), film.pk, reason="gives off acid", due_on=due)
    assert looks(first) == looks(second) == [("quick", due)]
    assert looks(other) == []
    assert Due.objects.filter(object=first, why="recall", on=due).exists()
    assert shelf.may_use(film).standing.codes == ("RECALLED",)
    with pytest.raises(actions.BatchRefused):
        actions.record_use(by, film.pk, other.pk)
    assert actions.call_recalled(Actor.of(curator), mark.pk, [first.pk], due_on=due) == 0
    actions.lift_recall(Actor.of(curator), film.pk, reason="the test was wrong")
    assert not shelf.may_use(film).refused
    assert looks(first) == [("quick", due)]


def test_many_looks_are_called_for_in_the_background(by: Actor, curator: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions, "AT_ONCE", 1)
    film, first, second = received(by), stock.helmet(), stock.helmet("1974.12.4")
    for thing in (first, second):
        actions.record_use(by, film.pk, thing.pk)
    actions.recall_batch(Actor.of(curator), film.pk, reason="gives off acid", due_on=clock.today())
    assert looks(first) == []
    job = Job.objects.get(kind=actions.CALL_LOOKS)
    Job.objects.filter(pk=job.pk).update(state=Job.State.RUNNING)
    for _twice in range(2):
        answer = call_looks(Progress(job), job, **job.arguments)
    assert answer == {"address": f"/stock/batches/{film.pk}/"}
    assert looks(first) == looks(second) == [("quick", clock.today())]


def test_a_changed_batch_keeps_both_versions_apart(by: Actor) -> None:
    film = received(by)
    said: dict[str, Any] = {"expires_on": None, "maker": "", "note": ""}
    actions.change_batch(by, film.pk, version=1, kept_at="drawer 2", **said)
    with pytest.raises(VersionConflict):
        actions.change_batch(by, film.pk, version=1, kept_at="drawer 3", **said)


def test_opened_and_used_up_stand_once(by: Actor) -> None:
    film = received(by)
    first = actions.mark_batch(by, film.pk, "opened")
    assert actions.mark_batch(by, film.pk, "opened") == first
    actions.mark_batch(by, film.pk, "used_up")
    assert shelf.may_use(film).standing.codes == ("USED_UP",)
    assert [line.verdicts for line in shelf.lines() if line.supply.code == "polyester_film"] == [[]]
    with pytest.raises(Invalid):
        actions.mark_batch(by, film.pk, "recalled")


def test_a_safety_sheet_is_kept_byte_for_byte(by: Actor) -> None:
    with pytest.raises(Invalid):
        actions.file_sheet(by, "wax", Upload("sheet.txt", b"beware"))
    with pytest.raises(NotFound):
        actions.file_sheet(by, "dragon blood", Upload("sheet.pdf", b"%PDF-1.7"))
    for text in (b"%PDF-1.7 one", b"%PDF-1.7 two"):
        actions.file_sheet(by, "wax", Upload("sheet.pdf", text))
    last = shelf.sheet_of("wax")
    assert last is not None
    assert last.file.size == 12
    assert SafetySheet.objects.count() == 2


@pytest.mark.parametrize("role", [None, Role.READER, Role.ADMINISTRATOR], ids=str)
def test_who_does_not_work_here_keeps_no_stock(role: Role | None, society: Any) -> None:
    somebody = Actor.of(cast("Somebody", *([role] if role else [])))
    with pytest.raises(Forbidden):
        received(somebody)


def test_what_stays_on_a_thing_is_told_with_its_step_alone(by: Actor) -> None:
    """Without a step no gate would have been asked: wax on a thing is work on it."""
    wax, thing = received(by, supply="wax"), stock.helmet()
    tried(by, wax)
    with pytest.raises(Invalid):
        actions.record_use(by, wax.pk, thing.pk, amount="a trace")
    assert not BatchUse.objects.exists()


def test_the_pages(by: Actor, volunteer: Person, curator: Person, as_person: Browser) -> None:
    browser, thing = as_person(volunteer), stock.helmet()
    typed = {"supply": "washed_cloth", "number": "W-7", "received_on": clock.today().isoformat(), "act": str(uuid7())}
    assert browser.post("/stock/new/", typed).status_code == 302
    batch = Batch.objects.get()
    address = f"/stock/batches/{batch.pk}/"
    assert "W-7" in browser.get("/stock/").content.decode()
    assert "is not tested" in browser.get(address).content.decode()
    browser.post(address, {"form": "test", "sort": "acidity", "how": "pH pen", "passed": "yes", "on": clock.today().isoformat()})
    assert "may be used" in browser.get(address).content.decode()
    browser.post(address, {"form": "use", "number": "1974.12.3", "amount": "a trace"})
    assert "1974.12.3" in browser.get(address).content.decode()
    browser.post(address, {"form": "recall", "reason": "dries white", "due_on": clock.today().isoformat()})
    assert looks(thing) == []
    as_person(curator).post(address, {"form": "recall", "reason": "dries white", "due_on": clock.today().isoformat()})
    assert looks(thing) == [("quick", clock.today())]
    assert "is recalled" in browser.get(address).content.decode()


def test_a_refused_entry_keeps_what_was_typed(volunteer: Person, as_person: Browser) -> None:
    page = as_person(volunteer).post("/stock/new/", {"supply": "wax", "number": "W-8", "received_on": "2999-01-01"})
    assert page.status_code == 200
    assert "W-8" in page.content.decode()


def test_a_sheet_by_page_and_back(volunteer: Person, as_person: Browser) -> None:
    browser = as_person(volunteer)
    browser.post("/stock/of/wax/", {"file": SimpleUploadedFile("wax.pdf", b"%PDF-1.7 wax"), "of_day": "2026-01-05"})
    answer = browser.get("/stock/of/wax/sheet/")
    assert b"".join(answer.streaming_content) == b"%PDF-1.7 wax"  # type: ignore[attr-defined]
    assert browser.get("/stock/of/pva/sheet/").status_code == 404


def test_the_same_by_program(volunteer: Person, curator: Person, as_person: Browser) -> None:
    browser, thing = as_person(volunteer), stock.helmet()

    def post(address: str, body: dict[str, Any], who: Client = browser) -> Any:
        return who.post(address, body, content_type="application/json")

    body = {"id": str(uuid7()), "supply": "polyester_film", "number": "F-9", "received_on": clock.today().isoformat()}
    first, again = post("/api/stock/batches", body), post("/api/stock/batches", body)
    assert (first.status_code, first.json()) == (201, again.json())
    one = f"/api/stock/batches/{first.json()['id']}"
    assert browser.get("/api/stock/batches?step=TR18").json()["batches"][0]["may"] == "pass"
    assert post(f"{one}/tests", {"sort": "other", "how": "smelt it", "passed": True, "on": clock.today().isoformat()}).status_code == 201
    assert post(f"{one}/uses", {"object": str(thing.pk), "amount": "one strip"}).status_code == 201
    assert [use["object"] for use in browser.get(one).json()["uses"]] == [str(thing.pk)]
    recall = {"reason": "gives off acid", "due_on": clock.today().isoformat()}
    assert post(f"{one}/recall", recall).status_code == 403
    assert post(f"{one}/recall", recall, as_person(curator)).status_code == 201
    refused = post(f"{one}/uses", {"object": str(thing.pk)})
    assert (refused.status_code, refused.json()["code"]) == (409, "batch_refused")


def test_every_group_of_the_table_has_its_name() -> None:
    assert {row.group for row in supplies().values()} <= set(shelf.GROUPS)
