"""Issued papers are found again by what stands on them, by those who may."""

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from museum.papers.files import store
from museum.papers.models import IssuedPaper
from museum.papers.numbers import next_number
from museum.people.action import Act, action
from museum.people.actor import PROGRAM
from museum.people.models import Person

HASH = "7f3a91c208de44b1" + "0" * 48


@action("tests.issue", may="paper.issue")
def issue(act: Act, title: str, code: str = HASH, seen_by: str = "paper.see", year: int = 2026) -> IssuedPaper:
    file = store(act, f"%PDF- {title}".encode(), name='P"2026".pdf', media_type="application/pdf")
    return IssuedPaper.objects.create(
        act_id=act.id, number=next_number(year), document="condition_report", template_version="1", subject=uuid4(),
        title=title, file=file, data={}, data_hash=code, seen_by=seen_by, address="/things/",
    )  # fmt: skip


def test_numbers_run_by_year(db: None) -> None:
    numbers = [issue(PROGRAM, f"paper {n}").number for n in range(11)]
    assert numbers[-2:] == ["P2026.10", "P2026.11"]
    assert issue(PROGRAM, "next year", year=2027).number == "P2027.1"


@pytest.mark.parametrize("typed", ["P2026.1", "p2026.1", " 2026.1 ", "7f3a 91c2", "7F3A91C208DE44B1", HASH])
def test_a_sheet_in_hand_leads_to_its_record(volunteer: Person, as_person: Any, typed: str) -> None:
    paper = issue(PROGRAM, "Condition report")
    issue(PROGRAM, "Another", code="ab" * 32)
    answer = as_person(volunteer).get(reverse("papers:papers"), {"q": typed})
    assert answer.status_code == 302
    assert answer.url == reverse("papers:paper", args=[paper.pk])


def test_the_printed_code_leads_to_the_record(volunteer: Person, as_person: Any) -> None:
    paper = issue(PROGRAM, "Condition report")
    client = as_person(volunteer)
    assert client.get("/p/P2026.1").url == reverse("papers:paper", args=[paper.pk])
    assert client.get("/p/P2026.2").status_code == 404
    page = client.get(reverse("papers:paper", args=[paper.pk])).content.decode()
    assert '<span class="num">7f3a</span> <span class="num">91c2</span>' in page


@pytest.mark.parametrize("typed", ["7f3a91c", "ffffffff", "P2026.99", "nothing like it"])
def test_what_was_not_issued_here_is_said_so(volunteer: Person, as_person: Any, typed: str) -> None:
    issue(PROGRAM, "Condition report")
    page = as_person(volunteer).get(reverse("papers:papers"), {"q": typed})
    assert "No paper reads like this" in page.content.decode()


def test_the_list_shows_the_newest_first_and_says_what_to_do_when_empty(volunteer: Person, as_person: Any) -> None:
    client = as_person(volunteer)
    assert "No paper has been issued yet" in client.get(reverse("papers:papers")).content.decode()
    issue(PROGRAM, "First <b>paper</b>")
    issue(PROGRAM, "Second paper")
    page = client.get(reverse("papers:papers")).content.decode()
    assert page.index("Second paper") < page.index("First &lt;b&gt;paper")


def test_a_paper_with_exact_places_is_absent_for_those_who_may_not_see_them(volunteer: Person, curator: Person, reader: Person, as_person: Any) -> None:
    paper = issue(PROGRAM, "Accession sheet", seen_by="place.see_exact")
    addresses = [reverse(f"papers:{page}", args=[paper.pk]) for page in ("paper", "file", "api_paper")] + ["/p/P2026.1"]
    assert [as_person(curator).get(address).status_code for address in addresses] == [200, 200, 200, 302]
    assert [as_person(volunteer).get(address).status_code for address in addresses] == [404] * 4
    assert [as_person(reader).get(address).status_code for address in addresses] == [403] * 4
    assert "Accession sheet" not in as_person(volunteer).get(reverse("papers:papers")).content.decode()


def test_a_new_one_in_its_place_is_offered_to_those_who_may_issue_it(volunteer: Person, curator: Person, as_person: Any) -> None:
    page = reverse("papers:paper", args=[issue(PROGRAM, "Condition report").pk])
    assert "Issue it anew" in as_person(curator).get(page).content.decode()
    assert "Issue it anew" not in as_person(volunteer).get(page).content.decode()


def test_the_file_is_saved_never_shown(volunteer: Person, as_person: Any) -> None:
    paper = issue(PROGRAM, "Condition report")
    answer = as_person(volunteer).get(reverse("papers:file", args=[paper.pk]))
    assert b"".join(answer.streaming_content) == b"%PDF- Condition report"
    assert answer["Content-Disposition"] == 'attachment; filename="P\\"2026\\".pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]


def test_programs_find_papers_too(volunteer: Person, as_person: Any) -> None:
    paper = issue(PROGRAM, "Condition report")
    client = as_person(volunteer)
    (row,) = client.get(reverse("papers:api_papers"), {"q": "7f3a91c2"}).json()
    assert (row["number"], row["data_hash"]) == (paper.number, HASH)
    assert client.get(reverse("papers:api_paper", args=[paper.pk])).json()["data"] == {}
