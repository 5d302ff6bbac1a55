"""A register comes in whole: every row accounted for, twice is once, broken off goes on, taken back is gone."""

import json
from typing import Any

import pytest

from collection.exchange import carrying
from collection.exchange.actions import (
    NotNow,
    Overtaken,
    Upload,
    answer_alike,
    answer_row,
    begin,
    begin_undo,
    map_import,
    start_import,
    take_back_row,
    take_row,
    undo_import,
)
from collection.exchange.amounts import amount_columns, read_amount
from collection.exchange.columns import Way
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, in_the_way, reasons_of
from collection.objects.actions.objects import set_public
from collection.objects.models import Card, MadeOf, Number, Object, Statement
from museum.errors import Forbidden, Invalid, VersionConflict
from museum.history.verify import verify
from museum.people.actor import Actor
from museum.people.models import Person
from tests.reference.tables import reference_path

pytestmark = pytest.mark.django_db

REGISTER = """No.,Item,Material,From whom,Remarks
1974.12.1,"Fire helmet, leather","leather, brass",A donor,"first line
second line"
1974.12.2,Miner’s cap,resin (?),,
1974.12.2,Cap again,wool,,
,Loose liner,cork,,
TOTAL,4 items,,,
"""


def quiet(done: int, total: int) -> None:
    """Nobody listens."""


def brought(actor: Actor, text: str | bytes = REGISTER, *, name: str = "register.csv", follow: str = "grammar") -> ImportSession:
    """A file read and mapped as guessed."""
    data = text.encode() if isinstance(text, str) else text
    session = start_import(actor, Upload(name, data))
    return map_import(actor, session.pk, version=1, columns=session.mapping, numbers_follow=follow)


def run(actor: Actor, session: ImportSession) -> dict[str, int]:
    return carrying.bring_in(actor, begin(actor, session.pk), quiet)


def row(session: ImportSession, n: int) -> ImportRow:
    return session.rows.get(n=n)


def test_nothing_is_written_before_it_is_asked_for(registrar: Person) -> None:
    brought(Actor.of(registrar))
    assert not Object.objects.exists()


def test_every_row_is_accounted_for(registrar: Person) -> None:
    session = brought(Actor.of(registrar))
    assert [(r.n, r.outcome, r.reason) for r in session.rows.order_by("n")] == [
        (1, "skipped", "heading_row"), (2, "new", ""), (3, "new", ""), (4, "question", "duplicate_number"),
        (5, "question", "no_number"), (6, "skipped", "total_row"),
    ]  # fmt: skip
    assert run(Actor.of(registrar), session) == {"new": 0, "question": 2, "skipped": 2, "taken": 2, "known": 0}


def test_a_record_says_file_row_and_cell(registrar: Person) -> None:
    session = brought(Actor.of(registrar))
    run(Actor.of(registrar), session)
    said = Statement.objects.get(component__object=row(session, 2).object, field__code="remarks")
    assert said.words == "first line\nsecond line"
    assert said.cell == "register.csv, row 2, Remarks: first line\nsecond line"


def test_materials_stay_words_and_only_plain_ones_become_facts(registrar: Person) -> None:
    session = brought(Actor.of(registrar))
    run(Actor.of(registrar), session)
    words = Statement.objects.filter(field__code="materials_found").order_by("words").values_list("words", flat=True)
    assert list(words) == ["leather, brass", "resin (?)"]
    assert sorted(MadeOf.objects.values_list("material__code", flat=True)) == ["copper_alloy", "leather"]


def test_the_same_file_again_adds_nothing(registrar: Person) -> None:
    actor = Actor.of(registrar)
    run(actor, brought(actor))
    again = brought(actor)
    assert counts_of(again) == {"new": 0, "question": 2, "skipped": 2, "taken": 0, "known": 2}
    with pytest.raises(Invalid):
        begin(actor, again.pk)
    assert Object.objects.count() == 2


def test_two_imports_of_one_file_at_once_make_each_thing_once(registrar: Person) -> None:
    actor = Actor.of(registrar)
    first, second = brought(actor), begin(actor, brought(actor).pk)
    run(actor, first)
    assert take_row(actor, row(second, 2).pk, run=second.version).outcome == "known"
    assert Object.objects.count() == 2


def test_broken_off_it_goes_on_where_it_was(registrar: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    actor = Actor.of(registrar)
    session = begin(actor, brought(actor).pk)
    calls: list[Any] = []

    def killed(by: Actor, row_id: Any, *, run: int) -> ImportRow:
        calls.append(row_id)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return take_row(by, row_id, run=run)

    monkeypatch.setattr(carrying, "take_row", killed)
    with pytest.raises(KeyboardInterrupt):
        carrying.bring_in(actor, session, quiet)
    assert Object.objects.count() == 1
    monkeypatch.undo()
    assert carrying.bring_in(actor, session, quiet)["taken"] == 2
    assert Object.objects.count() == 2


def test_a_question_is_answered_in_place(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    run(actor, session)
    temporary = answer_row(actor, row(session, 5).pk, version=row(session, 5).version, answers={"number": {"do": "temporary"}})
    assert temporary.outcome == "new"
    other = answer_row(actor, row(session, 4).pk, version=1, answers={"number": {"do": "other", "text": "1974.12.3"}})
    assert other.outcome == "new"
    assert run(actor, session)["taken"] == 4
    made = row(session, 4).object
    assert {(n.text, n.state, n.series) for n in made.numbers.all()} == {
        ("1974.12.3", "current", "accession"), ("1974.12.2", "former", "as_written"),
    }  # fmt: skip
    assert row(session, 5).object.numbers.get().series == "temporary"


def test_two_answers_to_one_row_are_both_shown(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    answer_row(actor, row(session, 4).pk, version=1, answers={"skip": True, "why": "no thing of ours"})
    with pytest.raises(VersionConflict):
        answer_row(actor, row(session, 4).pk, version=1, answers={"number": {"do": "temporary"}})


def test_taken_back_its_numbers_are_free(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    run(actor, session)
    undo_import(actor, session.pk, reason="the wrong list")
    session.refresh_from_db()
    assert carrying.take_back(actor, session, quiet) == 0
    session.refresh_from_db()
    assert session.state == "undone"
    assert not Object.objects.visible_to(actor).exists()
    assert not Card.objects.visible_to(actor).exists()
    assert set(Number.objects.values_list("state", flat=True)) == {"withdrawn"}
    again = brought(actor)
    assert run(actor, again)["taken"] == 2
    assert verify().broken_at is None


def test_work_at_the_console_stops_where_somebody_takes_the_import_back_beside_it(registrar: Person) -> None:
    """Never is a row brought in by one while another takes rows back."""
    actor = Actor.of(registrar)
    begun = begin(actor, brought(actor).pk)
    take_row(actor, row(begun, 2).pk, run=begun.version)
    undone = begin_undo(actor, begun.pk, reason="the wrong list")
    with pytest.raises(Overtaken):
        carrying.bring_in(actor, begun, quiet)
    assert carrying.take_back(actor, undone, quiet) == 0
    assert not Object.objects.visible_to(actor).exists()


def test_what_somebody_touched_stays_and_is_named(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    run(actor, session)
    thing = row(session, 2).object
    set_public(actor, thing.pk, public=True)
    assert [one.n for one in in_the_way(session)] == [2]
    undo_import(actor, session.pk, reason="the wrong list")
    session.refresh_from_db()
    assert carrying.take_back(actor, session, quiet) == 1
    assert list(Object.objects.visible_to(actor)) == [thing]
    session.refresh_from_db()
    assert session.state == "done"


def test_only_a_registrar_imports(curator: Person, volunteer: Person, reader: Person, administrator: Person) -> None:
    for person in (curator, volunteer, reader, administrator):
        with pytest.raises(Forbidden):
            start_import(Actor.of(person), Upload("register.csv", REGISTER.encode()))


def test_columns_stay_once_rows_are_taken(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    run(actor, session)
    with pytest.raises(NotNow):
        map_import(actor, session.pk, version=session.version + 2, columns=session.mapping, numbers_follow="as_written")


def test_whether_numbers_follow_our_form_is_asked(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = start_import(actor, Upload("register.csv", REGISTER.encode()))
    with pytest.raises(Invalid) as refused:
        map_import(actor, session.pk, version=1, columns=session.mapping, numbers_follow="")
    assert refused.value.field == "numbers_follow"


def test_numbers_as_written_are_once_each(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, "No.,Item\n45.1,Mask\n45.10,Mask\n45.1,Bell\n", follow="as_written")
    assert [r.reason for r in session.rows.order_by("n")] == ["heading_row", "", "", "duplicate_number"]
    assert run(actor, session)["taken"] == 2
    assert set(Number.objects.values_list("text", flat=True)) == {"45.1", "45.10"}


def test_what_the_catalogue_refuses_becomes_a_question(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    other = brought(actor, "No.,Item\n1974.12.1,Another helmet\n")
    begun = begin(actor, other.pk)
    run(actor, session)
    assert carrying.bring_in(actor, begun, quiet)["question"] == 1
    assert row(other, 2).reason == "number_taken"


def test_taking_back_twice_is_once(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor)
    run(actor, session)
    undone = begin_undo(actor, session.pk, reason="the wrong list").version
    take_back_row(actor, row(session, 2).pk, run=undone)
    assert take_back_row(actor, row(session, 2).pk, run=undone).outcome == "skipped"


#: findings of the invented register that this importer asks or skips for; the others are kept as words
ASKED = {
    "title_row", "empty_row", "heading_row", "ditto", "number_is_date", "duplicate_number", "several_numbers",
    "number_separator", "no_number", "two_digit_year", "serial_date", "not_ours", "wrong_encoding", "on_loan_unknown",
    "returned", "total_row",
}  # fmt: skip


def test_an_old_register_asks_what_it_must(registrar: Person) -> None:
    """import_case.json: every finding of these codes is named for its row."""
    case = json.loads(reference_path("import_case.json").read_text())
    session = brought(Actor.of(registrar), reference_path("import_case.csv").read_bytes(), name="import_case.csv")
    found = {(r.n, f["code"]) for r in session.rows.all() for f in r.findings if f["asks"]}
    found |= {(r.n, r.reason) for r in session.rows.filter(outcome="skipped")}
    missing = {(one["row"], one["code"]) for one in case["must_find"] if one["code"] in ASKED} - found
    assert not missing
    assert [r.n for r in session.rows.filter(outcome="skipped").order_by("n")] == case["counts"]["skip"]
    offers = {r.n: f["data"]["offers"] for r in session.rows.all() for f in r.findings if "offers" in f["data"]}
    assert offers[9] == ["1981.4.1"]
    assert "1990.2.1" in offers[11]


#: what the register says of money is told and stays in words: no value is made of it without day, valuer and basis
TOLD = {"currency", "number_format", "value_text"}


def test_what_an_old_register_says_of_money_is_told_and_stays_in_words(registrar: Person) -> None:
    case = json.loads(reference_path("import_case.json").read_text())
    session = brought(Actor.of(registrar), reference_path("import_case.csv").read_bytes(), name="import_case.csv")
    told = {(r.n, f["code"]) for r in session.rows.all() for f in r.findings if not f["asks"]}
    assert {(one["row"], one["code"]) for one in case["must_find"] if one["code"] in TOLD} - told == set()
    (total,) = [f for f in row(session, 16).findings if f["code"].startswith("total")]
    assert total["data"] == {"said": "2330", "counted": "2310.00", "unread": 2}, "12 things it says, and 12 rows there are"
    answer_row(Actor.of(registrar), row(session, 4).pk, version=row(session, 4).version, answers={})
    run(Actor.of(registrar), session)
    made = Statement.objects.filter(component__object=row(session, 4).object, field__code="remarks")
    assert "Value: £400" in {one.words for one in made}


@pytest.mark.parametrize(
    ("text", "figure", "codes"),
    [
        ("350", "350", ()), ("£400", "400", ("currency",)), ("400 EUR", "400", ("currency",)), ("12.50", "12.50", ()), ("12,5", "12.5", ()),
        ("1.500,00", "1500.00", ("number_format",)), ("1,500.00", "1500.00", ("number_format",)), ("1.500", None, ("number_format",)),
        ("1'500", "1500", ()), ("12.’", "12", ()), ("20 each", None, ("value_text",)), ("n/k", None, ("value_text",)), ("-5", None, ("value_text",)),
    ],
)  # fmt: skip
def test_an_amount_is_read_in_one_way_or_not_at_all(text: str, figure: str | None, codes: tuple[str, ...]) -> None:
    read = read_amount(text)
    assert (str(read.figure) if read.figure is not None else None, read.codes) == (figure, codes)


def test_a_total_that_agrees_says_nothing(registrar: Person) -> None:
    register = "No.,Item,Value\n1974.12.1,Cap,£40\n1974.12.2,Hat,60\nTotal,2 items,100\n"
    assert row(brought(Actor.of(registrar), register), 4).findings == []
    wrong = brought(Actor.of(registrar), register.replace("2 items", "3 items"), name="other.csv")
    assert [f["code"] for f in row(wrong, 4).findings] == ["total_count"]


@pytest.mark.django_db(transaction=True)
def test_the_real_catalogue_comes_in_whole(registrar: Person) -> None:
    """1,442 records of two museums (CC0; fixtures/reference/README.md)."""
    actor = Actor.of(registrar)
    data = reference_path("real_catalogue.csv").read_bytes()
    session = brought(actor, data, name="real_catalogue.csv", follow="as_written")
    counts = run(actor, session)
    print(counts, reasons_of(session, "question"), reasons_of(session, "skipped"))
    assert sum(counts.values()) == 1_443
    assert reasons_of(session, "skipped") == [("heading_row", 1)]
    assert set(dict(reasons_of(session, "question"))) == {"several_numbers", "date_several", "size_disagrees"}
    assert counts["taken"] == 1_442 - counts["question"] > 1_390
    both = [Number.objects.get(text=text, series="as_written").object_id for text in ("45.1", "45.10")]
    assert len(set(both)) == 2
    assert Object.objects.count() == counts["taken"] == Number.objects.values("text").distinct().count()
    again = brought(actor, data, name="copy.csv", follow="as_written")
    assert counts_of(again)["known"] == counts["taken"]
    assert counts_of(again)["new"] == 0
    answer_alike(actor, session.pk, code="several_numbers", choice="former")
    answer_alike(actor, session.pk, code="date_several", choice="words")
    answer_alike(actor, session.pk, code="size_disagrees", choice="words")
    assert run(actor, session) == {"new": 0, "question": 0, "skipped": 1, "taken": 1_442, "known": 0}
    assert Object.objects.get(numbers__text="VO.74").numbers.filter(text="57.1051", state="former").exists()


@pytest.mark.parametrize(
    ("heading", "holds"), [("Value (£)", True), ("Wert £", True), ("VALUE IN GBP", True), ("Preis in EUR", True), ("Value", True), ("GBP", False)]
)
def test_a_column_of_values_may_name_its_currency(heading: str, holds: bool) -> None:
    """Else nothing is told of what it holds, and the line that sums it up is held against nothing."""
    way = Way(["No.", heading], 1, {0: "number", 1: "remarks"})
    assert (amount_columns(way) == [1]) == holds
