"""Every question of a register has answers on its page, for one row and for all of a sort."""

import csv
import io
from collections.abc import Callable

import pytest
from django.test import Client

from collection.exchange import showing
from collection.exchange.actions import Alike, answer_alike, answer_row
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, sorts_of
from collection.exchange.sentences import SENTENCES
from collection.objects.models import Number, Object, Statement
from museum.errors import Invalid
from museum.people.actor import Actor
from museum.people.models import Person
from tests.exchange.test_importing import brought, row, run

AsPerson = Callable[[Person], Client]
pytestmark = pytest.mark.django_db

SEVERAL = "No.,Item\n1974.12.4 & 5,2 side caps\n1974.12.9,Hat\n"
DATES = "No.,Item,Date,Size\n1974.1.1,Cap,3/4/1938,57\n1974.1.2,Hat,38,11 1/4 in\n1974.1.3,Hood,1914-1918,\n1974.1.4,Helm,when it rained,about so big 3 or 4\n"


def said(thing: Object | None, code: str) -> Statement:
    return Statement.objects.get(component__object=thing, field__code=code)


def test_a_row_of_two_things_becomes_two_rows(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, SEVERAL)
    assert row(session, 2).reason == "several_numbers"
    answer_alike(actor, session.pk, code="several_numbers", choice="split")
    assert [one.called for one in session.rows.order_by("n", "part")] == ["1", "2", "2/2", "3"]
    assert run(actor, session)["taken"] == 3
    assert set(Number.objects.values_list("text", flat=True)) == {"1974.12.4", "1974.12.5", "1974.12.9"}
    again = brought(actor, SEVERAL)
    assert counts_of(again) == {"new": 0, "question": 0, "skipped": 1, "taken": 0, "known": 2}


def test_split_rows_are_one_again_when_the_answer_changes(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, SEVERAL)
    answer_row(actor, row(session, 2).pk, version=1, answers={"number": {"do": "split", "texts": ["1974.12.4", "1974.12.5"]}})
    first = session.rows.get(n=2, part=0)
    answer_row(actor, first.pk, version=first.version, answers={"number": {"do": "former", "texts": ["1974.12.4", "1974.12.5"]}})
    assert session.rows.get(n=2, part=2).reason == "joined_again"
    assert run(actor, session)["taken"] == 2
    thing = session.rows.get(n=2, part=0).object
    assert thing is not None
    assert {(one.text, one.state) for one in thing.numbers.all()} == {("1974.12.4", "current"), ("1974.12.5", "former")}


def test_a_part_whose_number_is_given_asks_by_itself(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, "No.,Item\n1974.12.4 & 9,2 side caps\n1974.12.9,Hat\n")
    answer_alike(actor, session.pk, code="several_numbers", choice="split")
    assert session.rows.get(n=3).reason == "duplicate_number"
    part = session.rows.get(n=2, part=2)
    answer_row(actor, part.pk, version=part.version, answers=part.answers | {"number": {"do": "other", "text": "1974.12.8"}})
    assert {one.called: one.outcome for one in session.rows.exclude(n=1)} == {"2": "new", "2/2": "new", "3": "new"}
    assert run(actor, session)["taken"] == 3


def test_two_readings_of_a_date_ask_and_one_that_fails_stays_in_words(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, DATES)
    assert [row(session, n).reason for n in (2, 3, 4, 5)] == ["ambiguous_date", "date_two_digits", "", ""]
    assert [one["code"] for one in row(session, 5).findings] == ["date_words", "size_words"]
    assert answer_alike(actor, session.pk, code="ambiguous_date", choice="offer:0") == Alike(1, 0)
    answer_alike(actor, session.pk, code="date_two_digits", choice="words")
    answer_alike(actor, session.pk, code="date_span", choice="offer:0")
    answer_alike(actor, session.pk, code="size_stamp", choice="stamp")
    answer_alike(actor, session.pk, code="size_unnamed", choice="as:height")
    assert run(actor, session)["taken"] == 4
    dates = {n: said(row(session, n).object, "date_made") for n in (2, 3, 4, 5)}
    assert [one.words for one in dates.values()] == ["3/4/1938", "38", "1914-1918", "when it rained"]
    values = [one.value or {} for one in dates.values()]
    assert (values[0]["edtf"], values[0]["earliest"]) == ("1938-04-03", "1938-04-03")
    assert values[1]["ask"] == "two_digit_year"
    assert (values[2]["edtf"], values[2]["latest"]) == ("[1914..1918]", "1918-12-31")
    assert values[3]["ask"] == "not_read"
    stamp = said(row(session, 2).object, "marks")
    assert (stamp.words, (stamp.value or {})["kind"]) == ("57", "size")
    height = said(row(session, 3).object, "dimensions")
    assert (height.words, (height.value or {})["mm"], (height.value or {})["label"]) == ("11 1/4 in", "285.75", "height")
    assert (said(row(session, 5).object, "dimensions").value or {})["ask"] == "unread"


def test_a_bare_figure_takes_unit_and_name_from_its_heading(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, "No.,Item,Height (mm)\n1974.1.1,Cap,240\n")
    run(actor, session)
    height = said(row(session, 2).object, "dimensions")
    assert (height.words, (height.value or {})["measures"][0]["mm"], height.cell) == ("Height: 240 mm", "240", "register.csv, row 2, Height (mm): 240")


def test_what_does_not_fit_a_row_is_left_and_told(registrar: Person) -> None:
    actor = Actor.of(registrar)
    session = brought(actor, "No.,Item\n74.12.3,Cap\n1974/12/4,Hat\n/,Hood\n")
    assert answer_alike(actor, session.pk, code="not_our_form", choice="offer:0") == Alike(0, 1)
    with pytest.raises(Invalid):
        answer_alike(actor, session.pk, code="not_our_form", choice="split")
    with pytest.raises(Invalid, match="invalid"):
        answer_alike(actor, session.pk, code="not_our_form", choice="skip")


def test_every_sort_of_question_has_answers() -> None:
    asking = set(SENTENCES) - {
        "title_row", "heading_row", "empty_row", "total_row", "left_out", "joined_again", "taken_back", "known", "name_from_title",
        "date_words", "size_words", "too_long", "refused", "currency", "number_format", "value_text", "total_count", "total_sum",
    }  # fmt: skip
    from collection.exchange.answering import alike

    assert not {code for code in asking if not alike(code)}


def test_by_the_buttons_of_the_page(registrar: Person, as_person: AsPerson) -> None:
    actor, client = Actor.of(registrar), as_person(registrar)
    session = brought(actor, "No.,Item\n,Cap\n,Hat\n1974.12.4 & 5,2 caps\n1974.1.1,\n")
    page = client.get(f"/import/{session.pk}/preview/").content.decode()
    assert "Give all 2 rows without a number a temporary number" in page
    assert "2 things, one each: 1974.12.4, 1974.12.5" in page
    client.post(f"/import/{session.pk}/alike/", {"code": "no_number", "choice": "temporary"})
    assert dict(sorts_of(session)) == {"several_numbers": 1, "no_name": 1}
    answer = client.post(f"/import/{session.pk}/alike/", {"code": "no_name", "choice": "skip", "text": "never ours"}, follow=True)
    assert "1 row is answered." in answer.content.decode()
    assert showing.why_of(row(session, 5)) == "is left out: never ours"
    two = row(session, 4)
    client.post(f"/import/{session.pk}/rows/{two.pk}/", {"version": two.version, "choice_0": "split", "text_0": "1974.12.4, 1974.12.7"})
    assert run(actor, session)["taken"] == 4
    assert Number.objects.filter(text="1974.12.7").exists()
    out = row(session, 5)
    client.post(f"/import/{session.pk}/rows/{out.pk}/", {"version": out.version, "do": "again"})
    assert row(session, 5).reason == "no_name"


def test_leaving_out_without_a_reason_is_refused_on_the_page(registrar: Person, as_person: AsPerson) -> None:
    client = as_person(registrar)
    session = brought(Actor.of(registrar), SEVERAL)
    answer = client.post(f"/import/{session.pk}/rows/{row(session, 2).pk}/", {"version": 1, "do": "skip"}, follow=True)
    assert "Say why it is left out." in answer.content.decode()
    assert row(session, 2).outcome == ImportRow.Outcome.QUESTION


def test_every_row_can_be_taken_home_as_a_table(registrar: Person, as_person: AsPerson) -> None:
    actor = Actor.of(registrar)
    session: ImportSession = brought(actor, 'No.,Item\n1974.1.1,"=HYPERLINK(""http://example.org"")"\n,Cap\n1974.1.2,-12\n')
    run(actor, session)
    answer = as_person(registrar).get(f"/import/{session.pk}/rows.csv")
    rows = list(csv.reader(io.StringIO(answer.getvalue().decode("utf-8-sig"), newline="")))
    assert [line[:2] for line in rows] == [["row", "outcome"], ["1", "skipped"], ["2", "taken"], ["3", "question"], ["4", "taken"]]
    assert rows[2][3] == "1974.1.1"
    assert rows[2][6].startswith("'=HYPERLINK")
    assert rows[4][6] == "-12"
    assert "no number" in rows[3][2]
