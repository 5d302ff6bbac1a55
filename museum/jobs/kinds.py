"""The kinds of background work and what their functions are given.

    @job_kind("thumbnails", title=_("Small pictures"))
    def make_thumbnails(progress, job: Job, *, photograph: str) -> Outcome | None: ...

A kind stands in its app's module `tasks`, which the worker imports by itself. The function takes plain
values, calls actions by `acting(job)` and may be run twice: the actor carries the job's key, so that the
same action with the same content is carried out once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from museum.jobs.models import Job
from museum.people.actor import PROGRAM, Actor

#: what a job leaves: {'address': page of what came of it}, or what `Progress.keep` answered
Outcome = dict[str, Any]
Work = Callable[..., Outcome | None]


@dataclass(frozen=True, slots=True)
class JobKind:
    """One kind of work."""

    name: str
    title: Any
    work: Work


KINDS: Final[dict[str, JobKind]] = {}


def job_kind(name: str, *, title: Any) -> Callable[[Work], Work]:
    """Makes a function the work of this kind."""

    def register(work: Work) -> Work:
        if name in KINDS and KINDS[name].work is not work:
            raise ValueError(f"two kinds of work are called {name}")
        KINDS[name] = JobKind(name, title, work)
        return work

    return register


def acting(job: Job) -> Actor:
    """Who acts in a job: its owner with the rights they hold by now, or the program itself."""
    actor = PROGRAM if job.owner is None else Actor.of(job.owner, tablet=job.tablet, device="job")
    return actor.keyed(job.pk)
