"""The pages of background work: each person's own, with and without scripts."""

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse

from museum import clock
from museum.delivery import plain_name
from museum.jobs import actions
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.people.actor import Actor
from museum.people.models import Person


def job_of(person: Person, **fields: Any) -> Job:
    job = actions.enqueue(Actor.of(person), "tests.job", person.pk, {}, "Making 212 <b>sheets</b>")
    Job.objects.filter(pk=job.pk).update(**fields)
    job.refresh_from_db()
    return job


def at(page: str, job: Job) -> str:
    return reverse(f"jobs:{page}", args=[job.pk])


def test_a_job_at_work_shows_its_gauge_and_refreshes_without_scripts(volunteer: Person, as_person: Any) -> None:
    job = job_of(volunteer, state="running", done=136, total=212, says="sheet of 1974.12.3")
    page = as_person(volunteer).get(at("job", job)).content.decode()
    assert '<progress id="gauge" max="100" value="64">' in page
    assert "136 of 212 done." in page
    assert "sheet of 1974.12.3" in page
    assert '<noscript><meta http-equiv="refresh"' in page
    assert page.count("aria-live") == 1
    assert "Making 212 &lt;b&gt;sheets" in page


def test_a_failed_job_says_why_and_is_tried_again_by_a_button(volunteer: Person, as_person: Any) -> None:
    job = job_of(volunteer, state="failed", error="The paper is damp.", attempts=1)
    client = as_person(volunteer)
    page = client.get(at("job", job)).content.decode()
    assert "The paper is damp." in page
    assert "refresh" not in page
    assert client.get(at("retry", job)).status_code == 405
    assert client.post(at("retry", job)).url == at("job", job)
    job.refresh_from_db()
    assert (job.state, job.error, job.attempts) == ("waiting", "", 0)
    again = client.post(at("retry", job))
    assert again.status_code == 409
    assert "nothing to try again" in again.content.decode()


@pytest.mark.parametrize("page", ["job", "result", "retry", "api_job", "api_retry"])
def test_others_jobs_are_absent(volunteer: Person, curator: Person, administrator: Person, as_person: Any, page: str) -> None:
    job = job_of(volunteer, state="failed", error="mine")
    for person in (curator, administrator):
        client = as_person(person)
        answer = client.post(at(page, job), content_type="application/json") if "retry" in page else client.get(at(page, job))
        assert answer.status_code == 404
    assert "Making 212" not in as_person(curator).get(reverse("jobs:jobs")).content.decode()


def test_a_result_is_saved_under_a_plain_name(volunteer: Person, curator: Person, as_person: Any) -> None:
    job = job_of(volunteer, state="running", attempts=1)
    kept = Progress(job).keep(b"<script>alert(1)</script>", name='../a "list"\r\nSet-Cookie: x.html', media_type="text/html")
    Job.objects.filter(pk=job.pk).update(state="done", result=kept, expires_at=clock.now() + timedelta(14))
    client = as_person(volunteer)
    answer = client.get(at("result", job))
    assert b"".join(answer.streaming_content) == b"<script>alert(1)</script>"
    assert answer["Content-Disposition"].startswith("attachment;")
    assert "Set-Cookie" not in answer.headers
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert as_person(curator).get(at("result", job)).status_code == 404
    assert "It is kept here until" in client.get(at("job", job)).content.decode()


def test_a_result_that_is_gone_is_absent(volunteer: Person, as_person: Any) -> None:
    job = job_of(volunteer, state="done", result={"file": "0" * 64, "name": "x", "media_type": "text/plain", "size": 1})
    assert as_person(volunteer).get(at("result", job)).status_code == 404


def test_programs_follow_a_job(volunteer: Person, as_person: Any) -> None:
    job = job_of(volunteer, state="running", done=1, total=4)
    client = as_person(volunteer)
    told = client.get(at("api_job", job)).json()
    assert (told["percent"], told["over"], told["state_words"], told["result_address"]) == (25, False, "at work", None)
    Job.objects.filter(pk=job.pk).update(state="done", result={"address": "/papers/", "name": "P2026.1"})
    told = client.get(at("api_job", job)).json()
    assert (told["percent"], told["over"], told["result_address"]) == (100, True, "/papers/")
    assert [row["id"] for row in client.get(reverse("jobs:api_jobs")).json()] == [str(job.pk)]


def test_a_list_says_what_to_do_when_it_is_empty(volunteer: Person, as_person: Any) -> None:
    client = as_person(volunteer)
    assert "Nothing is running" in client.get(reverse("jobs:jobs")).content.decode()
    job_of(volunteer)
    page = client.get(reverse("jobs:jobs")).content.decode()
    assert "Making 212" in page
    assert "waiting" in page


def test_a_shared_tablet_shows_only_what_was_asked_on_it(volunteer: Person) -> None:
    own, shared = Actor.of(volunteer), Actor.of(volunteer, tablet=True)
    actions.enqueue(own, "tests.job", volunteer.pk, {}, "at home")
    actions.enqueue(shared, "tests.job", volunteer.pk, {}, "on the tablet")
    assert [job.title for job in Job.objects.owned_by(shared)] == ["on the tablet"]
    assert Job.objects.owned_by(own).count() == 2


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("a/b\\c.pdf", "c.pdf"),
        ("..", "file"),
        ("\u202egpj.exe", "gpj.exe"),
        ("x\r\ny.csv", "xy.csv"),
        ("ł ö.csv", "ł ö.csv"),
    ],
)
def test_file_names_are_plain(typed: str, plain: str) -> None:
    assert plain_name(typed) == plain
