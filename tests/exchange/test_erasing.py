"""Personal words of the record can be erased: gone wherever the program can reach, named where it cannot, and everything still proves itself."""

import html
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.contrib.sessions.backends.db import SessionStore
from django.core.management import call_command
from django.db import connection, transaction
from django.db.utils import IntegrityError, ProgrammingError
from django.test import Client
from django.utils.formats import date_format

from collection.exchange.elsewhere import TABLES, stands_elsewhere, texts_of
from collection.exchange.erasing import erase_words, personal_words
from collection.exchange.models import Erasure, ImportRow, ImportSession
from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.objects import create_object
from collection.objects.actions.statements import accept_statement, say
from collection.objects.models import Card, Component, Object, Statement
from collection.objects.search import things_found
from conservation.checks.actions.incidents import open_incident
from conservation.checks.actions.record import record_check
from conservation.checks.models import Draft
from locations.places.actions import move_object
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound, SameKeyOtherContent
from museum.history.models import Act, Change, Fact, FactLine, Record
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.exchange.test_importing import brought, run

pytestmark = pytest.mark.django_db
AsPerson = Callable[[Person], Client]
NAME = "Hesper Quillon"
REGISTER = f"No.,Item,From whom,Remarks\n1974.12.1,Fire helmet,Given by {NAME},none\n1974.12.2,Cap,Bought,none\n"
WHY = "asked for it in writing"


@pytest.fixture
def thing(registrar: Person) -> Object:
    """A thing brought in with whom it came from, and with its wearer said, replaced and proposed."""
    run(Actor.of(registrar), brought(Actor.of(registrar), REGISTER))
    return Object.objects.get(numbers__text="1974.12.1")


@pytest.fixture
def main(thing: Object) -> Component:
    return Component.objects.get(object=thing, sort="main")


def holding(name: str = NAME) -> dict[str, int]:
    """Every table of the house in which a row has the name, in whatever column, and how many."""
    found = {}
    with connection.cursor() as cursor:
        for model in apps.get_models():
            table = connection.ops.quote_name(model._meta.db_table)
            cursor.execute(f"SELECT count(*) FROM {table} AS r WHERE r::text ILIKE ALL (%s)", [[f"%{part}%" for part in name.split()]])
            if n := cursor.fetchone()[0]:
                found[model._meta.db_table] = n
    return found


def keys(thing: Object) -> list[Any]:
    return list(personal_words(thing=thing.pk).values_list("pk", flat=True))


def test_what_is_erased_is_gone_from_every_table(thing: Object, main: Component, registrar: Person, volunteer: Person) -> None:
    said = say(Actor.of(registrar), main.pk, "holder", {"text": NAME, "role": "wearer"}, source=f"letter of {NAME}")
    say(Actor.of(volunteer), main.pk, "holder", {"text": f"Mrs {NAME}"})
    assert {"objects_statement", "history_personaltext", "exchange_importrow", "objects_card"} <= set(holding())
    before = {row.pk: (row.field_id, row.author_id, row.recorded_at) for row in personal_words(thing=thing.pk)}
    answer = erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    assert holding() == {}
    assert answer["erased"] == len(before) == 3
    assert {row.pk: (row.field_id, row.author_id, row.recorded_at) for row in Statement.objects.filter(pk__in=before)} == before
    assert said.acceptance.replaces_id is None
    assert things_found(Actor.of(registrar), "Quillon").total == 0
    assert things_found(Actor.of(registrar), "1974.12.1").total == 1


def test_the_history_proves_itself_and_the_house_is_rebuilt_alike(thing: Object, registrar: Person) -> None:
    call_command("rebuild", verbosity=0)
    erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    assert verify().broken_at is None
    told = Change.objects.get(what="statement.erased")
    assert (told.who, told.reason, told.after) == (registrar.pk, WHY, {"field": "credit"})
    stood = Card.objects.filter(object=thing).values().get()
    call_command("rebuild", verbosity=0)
    assert Card.objects.filter(object=thing).values().get() == stood


def test_what_stays_says_when_and_why(thing: Object, registrar: Person, curator: Person, as_person: AsPerson) -> None:
    erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    page = as_person(curator).get(f"/things/{thing.pk}/said/").content.decode()
    assert NAME not in page
    assert f"erased on {date_format(clock.today(), 'SHORT_DATE_FORMAT')}: {WHY}" in page


def test_papers_files_notes_and_drafts_that_still_say_it_are_named(thing: Object, main: Component, registrar: Person, volunteer: Person) -> None:
    say(Actor.of(registrar), main.pk, "remarks", f"see the letter: Given by {NAME}")
    Draft.objects.create(person=volunteer, object=thing, sort="full", content={"facts": {"note": f"Given by {NAME}?"}})
    answer = erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    assert (answer["files"], answer["statements"], answer["drafts"], answer["checks"]) == (["register.csv"], 1, 1, 0)


def test_the_same_file_brings_nothing_back(thing: Object, registrar: Person) -> None:
    erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    again = brought(Actor.of(registrar), REGISTER)
    assert set(again.rows.exclude(n=1).values_list("outcome", flat=True)) == {"known"}


def test_the_row_of_every_import_loses_it_and_other_rows_keep_theirs(thing: Object, registrar: Person) -> None:
    again = brought(Actor.of(registrar), REGISTER)
    erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    for session in ImportSession.objects.all():
        assert session.rows.get(n=2).cells == ["1974.12.1", "Fire helmet", "", "none"]
        assert session.rows.get(n=3).cells[2] == "Bought"
    assert ImportRow.objects.filter(session=again, n=2).exists()


def test_a_row_read_before_the_thing_was_brought_in_loses_it_too(registrar: Person) -> None:
    """Two sent the same list: the one that was brought in made the thing, the other still waits and knows of none."""
    first, waits = (brought(Actor.of(registrar), REGISTER, name=f"{n}.csv") for n in (1, 2))
    run(Actor.of(registrar), first)
    assert waits.rows.get(n=2).object_id is None
    answer = erase_words(Actor.of(registrar), keys(Object.objects.get(numbers__text="1974.12.1")), reason=WHY)
    assert holding() == {}
    assert answer["files"] == ["1.csv", "2.csv"]


def test_a_request_sent_again_brings_nothing_back(thing: Object, main: Component, registrar: Person) -> None:
    actor = Actor.of(registrar).keyed(uuid7())
    row = say(actor, main.pk, "holder", NAME)
    erase_words(Actor.of(registrar), [row.pk], reason=WHY)
    assert Act.objects.get(pk=row.act_id).digest == "", "a digest of so few words can be guessed"
    with pytest.raises(SameKeyOtherContent):
        say(actor, main.pk, "holder", NAME)
    assert NAME not in [one.words for one in Statement.objects.all()]


def test_forms_that_wait_for_their_author_lose_it(thing: Object, main: Component, registrar: Person) -> None:
    row = say(Actor.of(registrar), main.pk, "holder", NAME)
    store = SessionStore()
    store["held"] = {"path": f"/things/{thing.pk}/say/", "back": "/", "fields": [("text", f"{NAME}, once more")], "files": False, "author": "", "at": ""}
    store["kept"] = "yes"
    store.save()
    others = SessionStore()
    others["held"] = store["held"] | {"fields": [("text", "the strap is new")]}
    others.save()
    assert erase_words(Actor.of(registrar), [row.pk], reason=WHY)["forms"] == 1
    after = SessionStore(store.session_key)
    assert (after.get("held"), after["kept"]) == (None, "yes")
    assert SessionStore(others.session_key)["held"]["fields"] == [["text", "the strap is new"]], "what says nothing of it waits on"


def test_an_erased_value_is_replaced_like_any_other(thing: Object, main: Component, registrar: Person) -> None:
    erase_words(Actor.of(registrar), keys(thing), reason=WHY)
    stood = Statement.objects.get(component=main, field__code="credit")
    again = say(Actor.of(registrar), main.pk, "credit", "Given in 1974", replaces=stood.acceptance.pk)
    assert again.acceptance.replaces_id == stood.acceptance.pk
    assert things_found(Actor.of(registrar), "Given").total == 1


def test_only_what_is_personal_can_go(thing: Object, registrar: Person) -> None:
    name = Statement.objects.get(component__object=thing, field__code="name")
    with pytest.raises(NotFound):
        erase_words(Actor.of(registrar), [name.pk], reason=WHY)
    with pytest.raises(IntegrityError, match="only personal words"), transaction.atomic():
        Erasure.objects.create(act_id=name.act_id, statement=name, erased_on=clock.today(), reason=WHY)


def test_the_program_still_may_change_no_fact(thing: Object) -> None:
    """Not by claiming that it erases, nor by hanging the erasing on a table of its own."""
    tries = (
        "SET LOCAL house.erasing = 'yes'; UPDATE objects_statement SET words = 'x'",
        "SELECT carry_out_erasure()",
        "CREATE TEMP TABLE mine (statement_id uuid, erased_on date, reason text);"
        "CREATE TRIGGER t AFTER INSERT ON mine FOR EACH ROW EXECUTE FUNCTION carry_out_erasure()",
    )
    for sql in tries:
        with pytest.raises((ProgrammingError, IntegrityError)), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(sql)


@pytest.mark.parametrize("reason", ["", "  ", f"given by {NAME.lower()} and she asked"])
def test_the_reason_is_given_and_repeats_nothing(thing: Object, registrar: Person, reason: str) -> None:
    with pytest.raises(Invalid):
        erase_words(Actor.of(registrar), keys(thing), reason=reason)
    assert holding()


def test_it_is_done_once(thing: Object, registrar: Person) -> None:
    gone, actor = keys(thing), Actor.of(registrar).keyed(uuid7())
    assert erase_words(actor, gone, reason=WHY) == erase_words(actor, gone, reason=WHY)
    with pytest.raises(NotFound):
        erase_words(Actor.of(registrar), gone, reason=WHY)


def test_who_may(thing: Object, volunteer: Person, curator: Person, reader: Person, administrator: Person) -> None:
    for person in (volunteer, curator, reader):
        with pytest.raises(Forbidden):
            erase_words(Actor.of(person), keys(thing), reason=WHY)
    assert erase_words(Actor.of(administrator), keys(thing), reason=WHY)["erased"] == 1


def test_a_proposal_erased_before_it_was_decided_can_be_left_aside(thing: Object, main: Component, volunteer: Person, registrar: Person) -> None:
    row = say(Actor.of(volunteer), main.pk, "holder", NAME)
    erase_words(Actor.of(registrar), [row.pk], reason=WHY)
    assert accept_statement(Actor.of(registrar), row.pk, replaces=None).statement_id == row.pk
    assert holding() == {"objects_statement": 1, "exchange_importrow": 1, "history_personaltext": 1, "objects_card": 1}, "the donor stays, who was not meant"


def test_the_page_finds_erases_and_tells_where_it_still_stands(thing: Object, registrar: Person, as_person: AsPerson) -> None:
    browser = as_person(registrar)
    assert "No personal words" in browser.post("/erasing/", {"do": "look", "words": "Nobody Atall"}).content.decode()
    page = browser.post("/erasing/", {"do": "look", "words": "hesper quillon"}).content.decode()
    (key,) = keys(thing)
    assert f'value="{key}"' in page
    typed = {"do": "erase", "words": "hesper", "statement": [str(key)], "reason": WHY, "act": str(uuid4())}
    refused = browser.post("/erasing/", typed)
    assert refused.status_code == 400, "not without saying that one knows"
    assert f'value="{key}" checked' in refused.content.decode()
    assert WHY in refused.content.decode()
    assert holding()
    done = browser.post("/erasing/", typed | {"sure": "on"}, follow=True).content.decode()
    assert "1 entry was erased" in done
    assert "register.csv" in done
    assert holding() == {}


def test_the_page_of_one_thing_lists_its_own(thing: Object, registrar: Person, as_person: AsPerson) -> None:
    other = create_object(
        Actor.of(registrar), object_id=uuid7(), kind="fire", next_in="temporary", said={"name": {"text": "Cap"}, "holder": [{"text": "Orrin Vale"}]}
    )
    page = as_person(registrar).get(f"/erasing/?thing={other.pk}").content.decode()
    assert "Orrin Vale" in page
    assert NAME not in page


def test_a_program_asks_twice_and_it_is_done_once(thing: Object, administrator: Person, as_person: AsPerson) -> None:
    browser, body = as_person(administrator), {"id": str(uuid7()), "statements": [str(key) for key in keys(thing)], "reason": WHY}
    for _ in range(2):
        answer = browser.post("/api/erasing/", body, content_type="application/json")
        assert (answer.status_code, answer.json()["erased"], answer.json()["files"]) == (200, 1, ["register.csv"])
    assert Change.objects.filter(what="statement.erased").count() == 1


# where else a name stands


def test_a_name_is_found_in_notes_reasons_incidents_and_papers_with_a_link_for_each(
    thing: Object, registrar: Person, volunteer: Person, as_person: AsPerson
) -> None:
    by, keeper = Actor.of(volunteer), Actor.of(registrar)
    _hall, store, board = stock.shelf()
    move_object(keeper, thing.pk, place_id=board.pk, reason=f"as {NAME} wished")
    entry = stock.full_check(thing, note=f"seen together with Ms {NAME.upper()}, who remembers the strap")
    record_check(by.keyed(entry.id), entry)
    open_incident(by, incident_id=uuid7(), place_id=store.pk, kind="insects", note=f"{NAME} saw moths")
    report_hazard(by, thing.pk, code="SHARP_HEAVY", level=1, note="no name here")
    found = stands_elsewhere("hesper quillon")
    assert {(one.what, one.changes) for one in found} == {("a place, a move", False), ("a check, a look asked for", False), ("an incident", False)} | (
        {("a list that was brought in", False)}
    )
    assert all("QUILLON" in one.text.upper() for one in found)
    browser = as_person(registrar)
    page = browser.post("/erasing/", {"do": "everywhere", "words": NAME}).content.decode()
    for one in found:
        assert html.escape(one.text) in page
        assert one.address in page
        assert browser.get(one.address).status_code == 200
    assert f"/checks/{entry.id}/" in page
    told = browser.post("/api/erasing/elsewhere/", {"words": NAME}, content_type="application/json").json()["places"]
    assert len(told) == len(found)
    assert stands_elsewhere("  ") == stands_elsewhere("Nobody Ever") == []


def test_what_lies_in_a_form_of_its_own_is_told_as_people_wrote_it(thing: Object, volunteer: Person) -> None:
    """No brackets and names of parts; a name that lies in two parts is found all the same."""
    Draft.objects.create(person=volunteer, object=thing, sort="full", content={"seen": [{"note": f"as {NAME} said", "by": "Hesper"}], "friend": "Quillon"})
    (draft,) = (one for one in stands_elsewhere(NAME) if one.changes)
    assert draft.text == f"as {NAME} said"
    Draft.objects.update(content={"seen": [{"by": "Hesper"}], "friend": "Quillon"})
    (draft,) = (one for one in stands_elsewhere(NAME) if one.changes)
    assert draft.text == "Hesper · Quillon"
    assert [one for one in stands_elsewhere("seen") if one.changes] == [], "the name of a part is nobody's word"


def test_of_a_table_that_says_it_oftener_than_is_shown_that_is_told(thing: Object, registrar: Person, as_person: AsPerson) -> None:
    """Fifty of each, so that the page can be read (ours)."""
    _hall, *places = stock.shelf()
    for n in range(51):
        move_object(Actor.of(registrar), thing.pk, place_id=places[n % 2].pk, reason=f"as {NAME} wished, {n}")
        if n >= 49:
            told = [one.more for one in stands_elsewhere(NAME) if one.what == "a place, a move"]
            assert (len(told), told[-1], told.count(True)) == (50, n == 50, int(n == 50))
    page = as_person(registrar).post("/erasing/", {"do": "everywhere", "words": NAME}).content.decode()
    assert page.count("There are more of this kind than are shown") == 1


def test_only_who_may_erase_may_look_everywhere(volunteer: Person, curator: Person, as_person: AsPerson) -> None:
    for person in (volunteer, curator):
        assert as_person(person).post("/api/erasing/elsewhere/", {"words": NAME}, content_type="application/json").status_code in (403, 404)


def test_every_table_in_which_people_write_is_looked_through() -> None:
    """A new one wants its line in collection/exchange/elsewhere.py, or here the reason why not."""
    without = {
        "people.Person": "erased by itself", "people.Tablet": "a device", "people.Society": "the house", "jobs.Job": "cleared",
        "exchange.Erasure": "refused there", "checks.AtRisk": "words of the program", "checks.Judgement": "of the program",
        "climate.ClimateAlarm": "of the program", "climate.Suspicion": "of the program", "treatments.SafetySheet": "a code",
    }  # fmt: skip
    codes = {"happened_words", "zone", "language", "step", "surface", "side", "view", "term", "material", "kind", "code"}
    kept = [one for one in apps.get_models() if issubclass(one, (Record, Fact, FactLine)) and not one._meta.label.startswith("tests")]
    written = {one._meta.label for one in kept if set(texts_of(one)) - codes}
    listed = {name for tables in TABLES.values() for name in tables}
    assert written - listed - set(without) == set()
    for tables in TABLES.values():
        for name, (_page, column) in tables.items():
            apps.get_model(name)._default_manager.values_list(column or "pk")
    assert stands_elsewhere("Nobody") == []
