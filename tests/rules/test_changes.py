"""The society changes a rule: whole tables are checked, the shipped row stays beside, the history and the reason stay."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from collection.objects.models import Material
from conservation.checks import follow
from conservation.checks.actions.record import record_check
from conservation.checks.models import Judgement, State
from conservation.rules import shipped as shipping
from conservation.rules.actions import change_rule, return_to_shipped
from conservation.rules.book import Book, current, held
from conservation.rules.consistency import contradictions
from conservation.rules.every import TABLES
from conservation.rules.models import RuleChange, ShippedRow
from conservation.rules.ruleset import JUDGING, rules_in_force, shipped_rules
from conservation.rules.showing import moved
from conservation.rules.tables import materials, screen, terms
from conservation.rules.treatment_book import treatment_rules_in_force
from museum.errors import Forbidden, Invalid, NotFound, VersionConflict
from museum.history.models import Change
from museum.history.verify import verify
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

WHY = "our store is damp: the board wants to look more often"
DAYS = {"0": 365, "1": 365, "2": 90, "3": 30}
FERN = {
    "name": "fern rot", "materials": "leather", "materials_in_words": "leather", "definition": "Fronds on leather", "recognise": "green fronds",
    "cue": "grows", "cause": "damp", "response": "dry it", "source": "our own", "asks": "curator",
}  # fmt: skip


def days(curator: Person, value: dict[str, int], version: int = 0) -> RuleChange:
    return change_rule(Actor.of(curator), "rules", "full_days_by_grade", value, reason=WHY, version=version)


def test_a_changed_number_counts_at_once_and_the_version_names_it(curator: Person) -> None:
    assert rules_in_force().version == shipped_rules().version
    days(curator, DAYS)
    first = rules_in_force().version
    assert rules_in_force().full_days_by_grade[2] == 90
    assert first.startswith(f"{shipped_rules().version}+")
    days(curator, DAYS | {"3": 20}, version=1)
    assert rules_in_force().version not in (first, shipped_rules().version)
    days(curator, DAYS, version=2)
    assert rules_in_force().version == first, "the same rules have the same name"
    return_to_shipped(Actor.of(curator), "rules", "full_days_by_grade", reason="the store is dry again", version=3)
    assert rules_in_force() == shipped_rules()
    assert [row.reason for row in RuleChange.objects.order_by("n")] == [WHY, WHY, WHY, "the store is dry again"]
    assert Change.objects.filter(what__startswith="rule.").count() == 4
    assert verify().broken_at is None


@pytest.mark.parametrize(
    ("table", "code", "content", "said"),
    [
        ("rules", "full_days_by_grade", {"0": 0, "1": 365, "2": 90, "3": 30}, "not from 1 to 3660 days"),
        ("rules", "grade_matrix", [[3, 1, 1, 1], [1, 1, 2, 2], [2, 2, 3, 3], [3, 3, 3, 3]], "never lowers the grade"),
        ("rules", "planned_use_days", "soon", "another form"),
        ("rules", "full_days_by_grade", {"0": "x", "1": 365, "2": 90, "3": 30}, "another form"),
        ("terms", "RUST_SPOT", FERN | {"materials": "steal"}, "no material of the table"),
        ("terms", "RUST_SPOT", FERN | {"asks": "anybody"}, "is no asks"),
        ("terms", "RUST_SPOT", {"name": "rust"}, "these columns"),
        ("terms", "fern rot", FERN, "no code of this table"),
        ("events", "leak", {"name": "leak", "sort": "quick", "days": "-1", "room_days": "", "damp_only": "no", "reason": "wet"}, "whole number"),
        ("hazards", "MOULD", {}, "these columns"),
        ("screen", "1", {"question": "Fibre?", "opens": "NOTHING 1", "closer": "", "closer_opens": ""}, "danger of the table"),
    ],
)
def test_a_table_that_cannot_be_judged_by_is_refused_in_words_and_nothing_is_kept(curator: Person, table: str, code: str, content: Any, said: str) -> None:
    with pytest.raises(Invalid) as refused:
        change_rule(Actor.of(curator), table, code, content, reason=WHY, version=0)
    assert said in refused.value.sentence
    assert not RuleChange.objects.exists()
    assert rules_in_force() == shipped_rules()


def test_only_a_curator_with_a_reason_from_the_version_that_stands(curator: Person, registrar: Person, volunteer: Person) -> None:
    for person in (registrar, volunteer):
        with pytest.raises(Forbidden):
            days(person, DAYS)
    with pytest.raises(Invalid):
        change_rule(Actor.of(curator), "rules", "full_days_by_grade", DAYS, reason="  ", version=0)
    days(curator, DAYS)
    with pytest.raises(VersionConflict) as apart:
        days(curator, DAYS | {"3": 20})
    assert apart.value.data["who"] == curator.name
    with pytest.raises(NotFound):
        change_rule(Actor.of(curator), "zones", "QQ", {"name": "q", "class": "primary", "look_for": ""}, reason=WHY, version=0)


def test_a_rule_of_treatment_is_changed_as_any_other(curator: Person) -> None:
    before = treatment_rules_in_force()
    step = dict(TABLES["treatment_rules"].shipped()["TR01"]) | {"cautions": "two people, always"}
    change_rule(Actor.of(curator), "treatment_rules", "TR01", step, reason="the drawer is heavy", version=0)
    assert treatment_rules_in_force().steps["TR01"].cautions == "two people, always"
    assert treatment_rules_in_force().version != before.version
    assert rules_in_force() == shipped_rules(), "what was graded does not depend on it"
    with pytest.raises(Invalid) as refused:
        change_rule(Actor.of(curator), "treatment_rules", "TR01", step | {"agents": "moon_milk"}, reason="new", version=1)
    assert "moon_milk" in refused.value.sentence
    gate = [*TABLES["gate"].shipped()["dusting"], "TR999"]
    with pytest.raises(Invalid) as refused:
        change_rule(Actor.of(curator), "gate", "dusting", gate, reason="new", version=0)
    assert "TR999" in refused.value.sentence


def test_the_shipped_version_names_the_shipped_tables() -> None:
    """Whoever changes what is shipped for judging raises 'version' in rules.json, and notes the new name here."""
    shipped = {(name, code): content for name in JUDGING for code, content in TABLES[name].shipped().items()}
    assert {shipped_rules().version: Book(shipped).changes_code(JUDGING)} == {"1": "20f06251"}


def test_a_term_and_a_material_of_our_own(curator: Person) -> None:
    change_rule(Actor.of(curator), "materials", "gutta_percha", {"name": "gutta-percha", "family": "rubber"}, reason="divers' hoses", version=0)
    assert Material.objects.filter(code="gutta_percha").exists()
    change_rule(Actor.of(curator), "terms", "FERN_ROT", FERN | {"materials": "leather gutta_percha"}, reason="seen on three straps", version=0)
    assert terms()["FERN_ROT"].materials == {"leather", "gutta_percha"}
    with pytest.raises(Invalid) as refused:
        return_to_shipped(Actor.of(curator), "materials", "gutta_percha", reason="none is left", version=1)
    assert "FERN_ROT is seen on 'gutta_percha'" in refused.value.sentence
    return_to_shipped(Actor.of(curator), "terms", "FERN_ROT", reason="it was mould", version=1)
    assert "FERN_ROT" not in terms()
    assert "gutta_percha" in materials()


def test_facts_of_the_rules_are_never_changed(curator: Person) -> None:
    change = days(curator, DAYS)
    with pytest.raises(Exception, match=r"permission denied|facts"), transaction.atomic():
        RuleChange.objects.filter(pk=change.pk).update(reason="another")
    with pytest.raises(IntegrityError), transaction.atomic():
        RuleChange.objects.create(act_id=change.act_id, table="rules", code="x", version=1, content=1, reason="")


def test_what_was_judged_stays_and_dates_follow(curator: Person, volunteer: Person) -> None:
    thing = stock.helmet()
    entry = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", "2"))
    record_check(Actor.of(volunteer).keyed(entry.id), entry)
    follow.catch_up()
    thing.card.refresh_from_db()
    due, judged = thing.card.full_due, Judgement.objects.get()
    change_rule(Actor.of(curator), "rules", "full_days_by_activity", {"1": 60, "2": 40, "3": 30}, reason=WHY, version=0)
    assert follow.catch_up() == 1
    thing.card.refresh_from_db()
    assert (due - thing.card.full_due).days == 120
    assert Judgement.objects.get() == judged
    assert State.objects.get(object=thing).rules_version == rules_in_force().version
    assert follow.catch_up() == 0
    again = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", "2"))
    record_check(Actor.of(volunteer).keyed(again.id), again)
    assert {row.rules_version for row in Judgement.objects.all()} == {"1", rules_in_force().version}


def test_a_later_release_keeps_our_change_and_says_that_the_shipped_row_moved(db: None, curator: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    assert shipping.load(PROGRAM) in (0, sum(len(table.shipped()) for table in TABLES.values()))
    assert shipping.load(PROGRAM) == 0
    mine = dict(TABLES["materials"].shipped()["cork"]) | {"name": "cork of the bark"}
    change_rule(Actor.of(curator), "materials", "cork", mine, reason="so we say", version=0)
    assert not moved(TABLES["materials"], "cork")
    released = {code: row | {"name": "cork, new"} if code == "cork" else row for code, row in TABLES["materials"].shipped().items() if code != "glass"}
    object.__setattr__(TABLES["materials"], "shipped", lambda: released)
    try:
        assert shipping.load(PROGRAM) == 2
        assert ShippedRow.objects.filter(table="materials", code="glass").order_by("-version")[0].content is None
        assert materials()["cork"].name == "cork of the bark"
        assert moved(TABLES["materials"], "cork")
    finally:
        monkeypatch.undo()
        object.__setattr__(TABLES["materials"], "shipped", SHIPPED_MATERIALS)


SHIPPED_MATERIALS = TABLES["materials"].shipped


def test_the_rules_cost_one_question_a_request(curator: Person) -> None:
    days(curator, DAYS)
    terms()
    with held(), CaptureQueriesContext(connection) as asked:
        for _n in range(5):
            assert terms()
            assert materials()
            assert screen()
            assert rules_in_force()
    assert len(asked) == 1


@pytest.fixture
def browser(curator: Person, as_person: Callable[[Person], Client]) -> Client:
    return as_person(curator)


def test_the_pages_show_shipped_beside_ours_and_keep_what_was_typed(browser: Client, curator: Person) -> None:
    address = "/rules/rules/row/urgency/change/"
    grid = {f"g-{g}-{a}": str(value) for (g, a), value in shipped_rules().urgency.items()}
    page = browser.post(address, grid | {"g-2-2": "7", "version": "0", "why_changed": WHY})
    assert page.status_code == 400
    assert "outside 0 to 3" in page.content.decode()
    assert WHY in page.content.decode()
    assert 'value="7"' in page.content.decode()
    stored = browser.post(address, grid | {"g-2-2": "3", "version": "0", "why_changed": WHY}, follow=True).content.decode()
    assert WHY in stored
    assert curator.name in stored
    assert "<strong>3</strong>" in stored
    assert rules_in_force().urgency[2, 2] == 3
    assert "1 changed or added" in browser.get("/rules/").content.decode()
    assert "changed by us" in browser.get("/rules/rules/").content.decode()
    browser.post("/rules/rules/row/urgency/return/", {"version": "1", "reason": "it was too strict"})
    assert rules_in_force() == shipped_rules()


@pytest.mark.parametrize("name", list(TABLES))
def test_every_row_has_a_page_and_a_form_that_changes_nothing_by_itself(browser: Client, name: str) -> None:
    assert browser.get(f"/rules/{name}/").status_code == 200
    for code in list(TABLES[name].shipped())[::4]:
        assert browser.get(f"/rules/{name}/row/{code}/").status_code == 200
        form = browser.get(f"/rules/{name}/row/{code}/change/")
        typed = {cell.name: cell.value for cell in form.context["sheet"].all_cells()}
        refused = browser.post(f"/rules/{name}/row/{code}/change/", typed | {"version": "0", "why_changed": WHY}).content.decode()
        assert "This is how it stands already." in refused, code


def test_a_row_is_added_by_the_form_and_taken_back(browser: Client) -> None:
    typed = FERN | {"code": "FERN_ROT", "version": "0", "why_changed": WHY}
    assert browser.post("/rules/terms/add/", typed).status_code == 302
    assert "our own" in browser.get("/rules/terms/").content.decode()
    assert browser.post("/rules/terms/add/", typed | {"code": "RUST_SPOT"}).status_code == 400
    browser.post("/rules/terms/row/FERN_ROT/return/", {"version": "1", "reason": "it was mould"})
    assert "FERN_ROT" not in terms()
    assert browser.post("/rules/terms/add/", typed).status_code == 302


def test_who_changes_a_rule_second_sees_both_and_may_store_theirs_all_the_same(browser: Client, curator: Person, registrar: Person) -> None:
    address = "/rules/rules/row/full_days_by_grade/change/"
    days(curator, DAYS)
    typed = {f"k-{grade}": str(value) for grade, value in (DAYS | {"2": 77}).items()} | {"why_changed": WHY, "rests_on": "a test of our own"}
    refused = browser.post(address, typed | {"version": "0"})
    page = refused.content.decode()
    assert refused.status_code == 409
    assert curator.name in page
    assert re.search(r">90</td><td[^>]*>77</td>", page)
    assert "365" not in re.sub(r"<input[^>]*>", "", page), "what is alike is not shown"
    again = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page))
    assert browser.post(address, again).status_code == 302
    assert rules_in_force().full_days_by_grade[2] == 77
    late = browser.post("/rules/rules/row/full_days_by_grade/return/", {"version": "1", "reason": "it was too strict"})
    assert late.status_code == 409
    assert ">77</td>" in late.content.decode()
    assert rules_in_force().full_days_by_grade[2] == 77


def test_what_was_typed_for_a_row_that_was_taken_away_meanwhile_is_shown(browser: Client, curator: Person) -> None:
    typed = FERN | {"version": "0", "why_changed": WHY}
    browser.post("/rules/terms/add/", typed | {"code": "FERN_ROT"})
    return_to_shipped(Actor.of(curator), "terms", "FERN_ROT", reason="it was mould", version=1)
    refused = browser.post("/rules/terms/row/FERN_ROT/change/", typed | {"version": "1", "name": "fern rot of the north"})
    assert refused.status_code == 409
    assert "fern rot of the north" in refused.content.decode()
    assert browser.get("/rules/terms/row/FERN_ROT/change/").status_code == 404


def test_programs_read_and_change_rules(browser: Client) -> None:
    row = browser.get("/api/rules/events/").json()["rows"]["leak"]
    assert row["version"] == 0
    assert row["content"] == row["shipped"]
    sent = {"id": "01996d2e-0000-7000-8000-000000000001", "version": 0, "reason": WHY, "content": row["content"] | {"days": "1"}}
    for _twice in range(2):
        answer = browser.post("/api/rules/events/leak/", sent, content_type="application/json")
        assert answer.status_code == 201
    assert RuleChange.objects.count() == 1
    assert browser.post("/api/rules/events/leak/", sent | {"id": "x"}, content_type="application/json").status_code == 400


def test_tables_that_speak_against_each_other_are_told_and_the_refusal_counts(curator: Person, browser: Client) -> None:
    """A society that forbids the soft brush on flaking paint's neighbour too, while its steps recommend it still."""
    page = "/rules/"
    assert "speak against each other" not in browser.get(page).content.decode()
    row = current().rows("contraindications")["CX73"]
    change_rule(Actor.of(curator), "contraindications", "CX73", row | {"severity": "forbidden"}, reason=WHY, version=0)
    assert [one.prohibition for one in contradictions(treatment_rules_in_force())]
    said = browser.get(page).content.decode()
    assert "speak against each other" in said
    assert "CX73 refuses it there" in said
