"""Asking for a paper or a reprint: both are made by the worker."""

from uuid import UUID

from django.utils import translation
from django.utils.translation import gettext as _

from museum.errors import NotFound
from museum.jobs.actions import enqueue
from museum.jobs.models import Job
from museum.papers.models import IssuedPaper
from museum.people.action import Act, action
from museum.people.actor import Actor
from museum.people.models import Society
from reports import documents
from reports.registry import Gathered, Options, document_called

__all__ = ["ask_for", "ask_for_reprint", "documents", "gather", "identical_to"]


def gather(actor: Actor, document: str, subject: UUID, options: Options | None = None) -> Gathered:
    """What the paper would say now, in the language of papers; NotFound, Forbidden or the document's own refusal."""
    form = document_called(document, actor)
    with translation.override(Society.load().language):
        return form.gathered(subject, actor, options)


def identical_to(actor: Actor, document: str, gathered: Gathered) -> IssuedPaper | None:
    """The newest paper that says the very same, if one was issued."""
    same = IssuedPaper.objects.visible_to(actor).filter(document=document, data_hash=gathered.hash)
    return same.order_by("-recorded_at").first()


@action("reports.ask_for", may="paper.see")
def ask_for(
    act: Act, document: str, subject: UUID, *, issued_to: str = "", supersedes: UUID | None = None, options: Options | None = None
) -> Job:  # fmt: skip
    """Has the paper issued in the background. What can be refused is refused at once."""
    gathered = gather(act.actor, document, subject, options)
    arguments = {"document": document, "subject": subject, "issued_to": issued_to.strip(), "supersedes": supersedes, "options": dict(options or {})}
    return enqueue(act, "issue_paper", act.actor.person, arguments, gathered.title)


@action("reports.ask_for_reprint", may="paper.see")
def ask_for_reprint(act: Act, paper_id: UUID) -> Job:
    """A copy of an issued paper that says on every page that it is one."""
    paper = IssuedPaper.objects.visible_to(act.actor).filter(pk=paper_id).first()
    if paper is None:
        raise NotFound
    title = _("Reprint of %(number)s, %(title)s") % {"number": paper.number, "title": paper.title}
    return enqueue(act, "reprint_paper", act.actor.person, {"paper": paper_id}, title)
