"""Issuing: numbered without gaps, kept with what it was made from, found again."""

import threading
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from conservation.checks.actions.rounds import make_round
from conservation.checks.models import ConditionCheck
from museum import clock
from museum.errors import Forbidden, NotFound
from museum.history.models import About, Change
from museum.history.verify import verify
from museum.ids import uuid7
from museum.jobs import running
from museum.jobs.models import Job
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper, StoredFile
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports import tasks
from reports.actions import ask_for, gather, identical_to
from reports.issuing import NotReplaceable, issue
from tests import stock
from tests.reports.test_documents import checked

__all__ = ["checked", "tasks"]


def test_a_paper_is_kept_with_what_it_was_made_from(checked: ConditionCheck, curator: Person) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk, issued_to="the insurer")
    assert paper.number == f"P{paper.happened_on.year}.1"
    assert (paper.issued_by, paper.issued_to, paper.template_version) == (curator, "the insurer", "1")
    assert paper.data["object"]["number"] == "1974.12.3"
    assert paper.data_hash == gather(Actor.of(curator), "condition_report", checked.pk).hash
    with open_file(paper.file) as opened:
        assert opened.read(5) == b"%PDF-"
    told = Change.objects.get(what="paper.issued")
    assert told.after["data"] == paper.data_hash
    assert About.objects.filter(change=told, kind="object", key=checked.object_id).exists()
    assert verify().broken_at is None


def test_the_same_key_issues_once(checked: ConditionCheck, curator: Person) -> None:
    actor = Actor.of(curator).keyed(uuid7())
    assert issue(actor, "condition_report", checked.pk) == issue(actor, "condition_report", checked.pk)
    assert IssuedPaper.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_at_once_get_two_numbers_and_no_gap(checked: ConditionCheck, curator: Person) -> None:
    def one() -> None:
        try:
            issue(Actor.of(curator), "condition_report", checked.pk)
        finally:
            connection.close()

    threads = [threading.Thread(target=one) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(int(paper.number.split(".")[1]) for paper in IssuedPaper.objects.all()) == [1, 2, 3]


def test_a_newer_paper_takes_the_place_of_an_older_one_once(checked: ConditionCheck, curator: Person) -> None:
    actor = Actor.of(curator)
    first = issue(actor, "condition_report", checked.pk)
    second = issue(actor, "condition_report", checked.pk, supersedes=first.pk)
    assert second.supersedes == first
    with pytest.raises(NotReplaceable):
        issue(actor, "condition_report", checked.pk, supersedes=first.pk)
    with pytest.raises(NotReplaceable):
        issue(actor, "accession_sheet", checked.object_id, supersedes=second.pk)
    with pytest.raises(NotFound):
        issue(actor, "condition_report", checked.pk, supersedes=uuid7())
    assert IssuedPaper.objects.count() == 2


def test_who_may_issue_what(checked: ConditionCheck, volunteer: Person, reader: Person, administrator: Person) -> None:
    for person in (volunteer, reader, administrator):
        with pytest.raises(Forbidden):
            issue(Actor.of(person), "condition_report", checked.pk)
    with pytest.raises(NotFound):
        issue(PROGRAM, "no_such_paper", checked.pk)
    assert not IssuedPaper.objects.exists()


def test_issuing_changes_nothing_of_what_the_next_would_say(checked: ConditionCheck, curator: Person) -> None:
    actor = Actor.of(curator)
    for name in ("condition_report", "accession_sheet"):
        paper = issue(actor, name, checked.object_id)
        assert identical_to(actor, name, gather(actor, name, checked.object_id)) == paper


def press(client: Client, **fields: Any) -> Any:
    return client.post(reverse("reports:issue"), fields)


def test_the_button_leads_to_a_job_and_the_job_to_the_paper(checked: ConditionCheck, curator: Person, as_person: Any) -> None:
    client = as_person(curator)
    answer = press(client, document="condition_report", subject=checked.object_id)
    job = Job.objects.get()
    assert answer.url == reverse("jobs:job", args=[job.pk])
    assert "Condition report" in job.title
    running.run(job.pk)
    running.run(job.pk)
    paper = IssuedPaper.objects.get()
    job.refresh_from_db()
    assert (job.error, job.result) == ("", {"address": reverse("papers:paper", args=[paper.pk]), "name": paper.number})
    page = client.get(reverse("jobs:job", args=[job.pk])).content.decode()
    assert f"Open {paper.number}" in page


def test_each_page_of_work_has_the_button_of_its_paper(checked: ConditionCheck, curator: Person, volunteer: Person, as_person: Any) -> None:
    made = make_round(Actor.of(curator), name="Spring round", due_by=clock.today() + timedelta(900), walkers=[volunteer.pk])
    pages = {reverse("checks:result", args=[checked.pk]): "condition_report", reverse("checks:round", args=[made.pk]): "round_list"}
    for page, document in pages.items():
        assert f'name="document" value="{document}"' in as_person(curator).get(page).content.decode()
    assert [f'value="{document}"' in as_person(volunteer).get(page).content.decode() for page, document in pages.items()] == [False, True]
    assert press(as_person(volunteer), document="round_list", subject=made.pk).status_code == 302


def test_an_identical_paper_is_offered_first_and_may_be_issued_all_the_same(checked: ConditionCheck, curator: Person, as_person: Any) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    client = as_person(curator)
    offered = press(client, document="condition_report", subject=checked.pk, issued_to="the board").content.decode()
    assert f"Open {paper.number}" in offered
    assert 'name="issued_to" value="the board"' in offered
    assert not Job.objects.exists()
    assert press(client, document="condition_report", subject=checked.pk, anyway="1").status_code == 302
    assert Job.objects.count() == 1


def test_what_cannot_be_issued_is_said_at_once(curator: Person, volunteer: Person, as_person: Any) -> None:
    thing = stock.helmet()
    refused = press(as_person(curator), document="condition_report", subject=thing.pk)
    assert refused.status_code == 409
    assert "Check it first" in refused.content.decode()
    assert press(as_person(curator), document="condition_report", subject="nonsense").status_code == 400
    assert press(as_person(curator), document="nonsense", subject=thing.pk).status_code == 404
    assert press(as_person(volunteer), document="accession_sheet", subject=thing.pk).status_code == 403
    assert not Job.objects.exists()


def test_a_lost_picture_is_the_jobs_plain_error(checked: ConditionCheck, curator: Person, settings: Any) -> None:
    job = ask_for(Actor.of(curator), "condition_report", checked.pk)
    file = StoredFile.objects.get(name="V01.jpg")
    (Path(settings.FILES_DIR) / file.sha256[:2] / file.sha256[2:4] / file.sha256).unlink()
    running.run(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert "V01.jpg cannot be read" in job.error
    assert not IssuedPaper.objects.exists()


def test_a_reprint_is_fetched_from_its_job(checked: ConditionCheck, curator: Person, as_person: Any) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    client = as_person(curator)
    client.post(reverse("reports:reprint", args=[paper.pk]))
    job = Job.objects.get()
    running.run(job.pk)
    job.refresh_from_db()
    assert job.error == ""
    fetched = client.get(reverse("jobs:result", args=[job.pk]))
    assert b"".join(fetched.streaming_content).startswith(b"%PDF-")
    assert fetched["Content-Disposition"] == f'attachment; filename="{paper.number} reprint.pdf"'
    assert IssuedPaper.objects.count() == 1


def test_a_program_asks_and_is_told_of_the_same(checked: ConditionCheck, curator: Person, as_person: Any) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    body = {"id": str(uuid7()), "document": "condition_report", "subject": str(checked.pk)}
    client = as_person(curator)
    answers = [client.post(reverse("reports:api_issue"), body, content_type="application/json") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [202, 202]
    assert answers[0].json()["identical"] == paper.number
    assert Job.objects.count() == 1
