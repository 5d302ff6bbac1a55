"""A job is done once, whoever runs it how often; what is lost on the way is found again."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from celery import current_app
from django.db import transaction
from django.utils.translation import get_language

from museum import clock
from museum.errors import DomainError, Forbidden, NotFound
from museum.history.models import Act
from museum.jobs import actions, running
from museum.jobs.kinds import KINDS, JobKind, Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Overtaken, Progress, heartbeat, result_path
from museum.papers.models import StoredFile
from museum.people.actor import NOBODY, PROGRAM, Actor
from museum.people.models import Person
from tests.jobs.slow import write_down

LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


class DampPaper(DomainError):
    code = "damp_paper"
    template = "The paper is damp. Nothing was printed; dry it and try again."


@pytest.fixture
def kind() -> Iterator[Callable[[Callable[..., Outcome | None]], None]]:
    """Makes a function the work of kind 'tests.job' for one test."""
    yield lambda work: KINDS.__setitem__("tests.job", JobKind("tests.job", "A test", work))
    KINDS.pop("tests.job", None)


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    names: list[str] = []
    monkeypatch.setattr(current_app, "send_task", lambda name, args, **options: names.append(args[0]))
    return names


def ask(person: Person, **arguments: Any) -> Job:
    return actions.enqueue(Actor.of(person), "tests.job", person.pk, arguments, "A test")


def later(job: Job, **fields: Any) -> None:
    Job.objects.filter(pk=job.pk).update(**fields)


def test_a_job_gets_its_arguments_and_tells_how_it_ended(volunteer: Person, kind: Any) -> None:
    def work(progress: Progress, job: Job, *, number: str) -> Outcome:
        assert acting(job).person == volunteer.pk
        progress.of(3)
        progress.step(3)
        return {"address": f"/things/{number}", "name": number}

    kind(work)
    job = ask(volunteer, number="1974.12.3")
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result, job.error) == ("done", {"address": "/things/1974.12.3", "name": "1974.12.3"}, "")
    assert (job.done, job.total, job.percent) == (3, 3, 100)
    assert job.expires_at is not None


def test_run_again_when_done_does_nothing(volunteer: Person, kind: Any) -> None:
    calls: list[int] = []
    kind(lambda progress, job: calls.append(1))
    job = ask(volunteer)
    running.run(job.pk)
    running.run(job.pk)
    assert calls == [1]


def test_a_worker_that_died_after_its_act_leaves_one_result(volunteer: Person, kind: Any) -> None:
    """The act was committed, the job's end was not: the second run answers the first one's result."""
    kept: list[StoredFile] = []

    def work(progress: Progress, job: Job) -> Outcome:
        kept.append(write_down(acting(job), "one result"))
        if len(kept) == 1:
            raise SystemExit  # as good as a kill: nothing below this line runs
        return {"address": "/"}

    kind(work)
    job = ask(volunteer)
    with pytest.raises(SystemExit):
        running.run(job.pk)
    later(job, heard_at=clock.now() - timedelta(minutes=3))
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("done", 2)
    assert kept[0] == kept[1] == StoredFile.objects.get()
    assert Act.objects.filter(action="tests.write_down").count() == 1


def test_a_job_at_work_is_not_taken_away(volunteer: Person, kind: Any) -> None:
    second: list[Job] = []

    def work(progress: Progress, job: Job) -> None:
        if second:
            pytest.fail("done twice at once")
        second.append(job)
        running.run(job.pk)

    kind(work)
    running.run(ask(volunteer).pk)
    assert len(second) == 1


def test_who_was_overtaken_stops_and_ends_nothing(volunteer: Person, kind: Any) -> None:
    def work(progress: Progress, job: Job) -> None:
        later(job, attempts=2)
        with pytest.raises(Overtaken):
            progress.say("still here")
        raise Overtaken

    kind(work)
    job = ask(volunteer)
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.error) == ("running", 2, "")


def test_a_domain_error_is_said_in_its_own_words(volunteer: Person, kind: Any) -> None:
    def work(progress: Progress, job: Job) -> None:
        raise DampPaper

    kind(work)
    job = ask(volunteer)
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.error) == ("failed", "The paper is damp. Nothing was printed; dry it and try again.")


def test_a_fault_is_logged_and_its_text_shown_to_nobody(volunteer: Person, kind: Any, caplog: pytest.LogCaptureFixture) -> None:
    def work(progress: Progress, job: Job) -> None:
        raise KeyError("secret of /srv/passwords")

    kind(work)
    job = ask(volunteer)
    running.run(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert str(job.pk) in job.error
    assert "secret" not in job.error
    assert "secret" in caplog.text


def test_an_error_speaks_its_owners_language(volunteer: Person, kind: Any) -> None:
    languages: list[str | None] = []
    volunteer.language = "de"
    volunteer.save()  # tests only: a door would call the action
    kind(lambda progress, job: languages.append(get_language()))
    running.run(ask(volunteer).pk)
    assert languages == ["de"]


def test_only_the_owner_tries_failed_work_again(volunteer: Person, curator: Person, kind: Any) -> None:
    answers = iter([DampPaper(), None])

    def work(progress: Progress, job: Job) -> None:
        if error := next(answers):
            raise error

    kind(work)
    job = ask(volunteer)
    running.run(job.pk)
    with pytest.raises(NotFound):
        actions.retry(Actor.of(curator), job.pk)
    assert actions.retry(Actor.of(volunteer), job.pk).state == "waiting"
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.error) == ("done", "")
    with pytest.raises(actions.NotFailed):
        actions.retry(Actor.of(volunteer), job.pk)


def test_nobody_asks_for_work_without_a_role(db: None) -> None:
    with pytest.raises(Forbidden):
        actions.enqueue(NOBODY, "tests.job", None, {}, "A test")


def test_the_row_and_the_message_go_with_the_transaction(volunteer: Person, sent: list[str], django_capture_on_commit_callbacks: Any) -> None:
    with transaction.atomic():
        ask(volunteer)
        transaction.set_rollback(True)
    assert not Job.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        job = ask(volunteer)
        assert sent == []
    assert sent == [str(job.pk)]


def test_without_a_broker_the_row_waits_and_is_offered_again(
    volunteer: Person, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks: Any
) -> None:
    monkeypatch.setattr(current_app.conf, "broker_write_url", "redis+socket:///nowhere/vk")
    with django_capture_on_commit_callbacks(execute=True):
        job = ask(volunteer)
    job.refresh_from_db()
    assert (job.state, job.offered_at) == ("waiting", None)
    later(job, created_at=clock.now() - timedelta(minutes=1))
    offered: list[str] = []
    monkeypatch.setattr(current_app, "send_task", lambda name, args, **options: offered.append(args[0]))
    assert running.offer_waiting() == 1
    assert running.offer_waiting() == 0
    assert offered == [str(job.pk)]


def test_what_the_broker_lost_is_sent_again_after_a_while(volunteer: Person, sent: list[str]) -> None:
    job = ask(volunteer)
    later(job, offered_at=clock.now() - timedelta(minutes=9), created_at=clock.now() - timedelta(hours=1))
    assert running.offer_waiting() == 0
    later(job, offered_at=clock.now() - timedelta(minutes=11))
    assert running.offer_waiting() == 1


def test_silent_work_is_offered_again_and_given_up_after_three_tries(volunteer: Person, sent: list[str]) -> None:
    job = ask(volunteer)
    silent = clock.now() - timedelta(minutes=3)
    later(job, state="running", attempts=1, heard_at=clock.now())
    assert running.offer_waiting() == 0
    later(job, heard_at=silent)
    assert running.offer_waiting() == 1
    later(job, attempts=3, heard_at=silent)
    assert running.offer_waiting() == 0
    job.refresh_from_db()
    assert job.state == "failed"
    assert str(job.pk) in job.error


@pytest.mark.django_db(transaction=True)
def test_long_steps_show_a_sign_of_life(db: None) -> None:
    job = Job.objects.create(kind="tests.job", title="A test", state="running", attempts=1, heard_at=LONG_AGO)
    with heartbeat(job, every=0.02):
        for _ in range(100):
            job.refresh_from_db()
            if job.heard_at != LONG_AGO:
                break
    assert job.heard_at > LONG_AGO


def test_expired_results_go_and_what_is_not_over_stays(volunteer: Person, kind: Any) -> None:
    kind(lambda progress, job: progress.keep(b"a list", name="list.csv", media_type="text/csv"))
    job, fresh, waiting = ask(volunteer), ask(volunteer), ask(volunteer)
    running.run(job.pk)
    running.run(fresh.pk)
    later(job, expires_at=clock.now() - timedelta(seconds=1))
    assert result_path(job.pk).read_bytes() == b"a list"
    assert running.clear_expired() == 1
    assert not result_path(job.pk).exists()
    assert result_path(fresh.pk).exists()
    assert set(Job.objects.values_list("pk", flat=True)) == {fresh.pk, waiting.pk}


def test_what_is_asked_for_again_while_the_night_clears_is_done(volunteer: Person, kind: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def torn(progress: Progress, job: Job) -> Outcome:
        raise DampPaper

    kind(torn)
    first, second = ask(volunteer), ask(volunteer)
    for job in (first, second):
        running.run(job.pk)
        later(job, expires_at=clock.now() - timedelta(seconds=1))

    def meanwhile(job_id: Any) -> Any:
        other = second if job_id == first.pk else first
        actions.retry(Actor.of(volunteer), other.pk)
        return result_path(job_id)

    monkeypatch.setattr(running, "result_path", meanwhile)
    assert running.clear_expired() == 1
    assert Job.objects.get().state == "waiting"


def test_progress_is_told_now_and_then_and_at_the_end(volunteer: Person, kind: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[dict[str, Any]] = []
    real = Progress._tell

    def tell(self: Progress, **fields: Any) -> None:
        told.append(fields)
        real(self, **fields)

    monkeypatch.setattr(Progress, "_tell", tell)

    def work(progress: Progress, job: Job) -> None:
        progress.of(10_000)
        for done in range(1, 10_001):
            progress.step(done)

    kind(work)
    running.run(ask(volunteer).pk)
    assert told[-1] == {"done": 10_000}
    assert len(told) < 20


def test_two_kinds_of_one_name_are_a_fault_of_the_program(kind: Any) -> None:
    kind(lambda progress, job: None)
    with pytest.raises(ValueError):
        job_kind("tests.job", title="Another")(lambda progress, job: None)


def test_the_programs_own_work_acts_as_the_program(db: None) -> None:
    job = actions.enqueue(PROGRAM, "tests.job", None, {}, "A test")
    assert acting(job).program
    assert acting(job).key == job.pk
