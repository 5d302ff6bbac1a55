"""Issuing a paper: gathered, numbered, rendered, kept. The worker's side: nothing else may import this."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import DomainError, NotFound
from museum.papers.files import store
from museum.papers.models import IssuedPaper
from museum.papers.numbers import next_number
from museum.people.action import Act, action
from museum.people.models import Society
from reports import documents
from reports.registry import Document, Gathered, Options, document_called
from reports.render import Envelope, render

__all__ = ["documents", "issue"]


class NotReplaceable(DomainError):
    """A paper takes the place of one of its own kind about the same thing, once."""

    code = "not_replaceable"
    template = _(
        "%(number)s cannot be replaced by this paper: it is of another kind, about something else, or replaced already."
        " Nothing was issued. Open %(number)s to see what took its place."
    )


@action("reports.issue", may="paper.see")
def issue(
    act: Act, document: str, subject: UUID, *, issued_to: str = "", supersedes: UUID | None = None, options: Options | None = None
) -> IssuedPaper:  # fmt: skip
    """A frozen PDF/A of what is known now, under the next number of the year, with the data it was made from."""
    form = document_called(document, act.actor)
    society = Society.load()
    with translation.override(society.language):
        gathered = form.gathered(subject, act.actor, options)
        # Nobody else issues from here on: what is replaced cannot be replaced by another meanwhile. The number stands on every
        # page and in the address beside it, and none may be left out, so it is held while the paper is set; what waits for it
        # is other papers, which workers set one after the other anyway, and never a page.
        number = next_number(clock.day_of(act.now).year)
        before = _replaced(form, gathered, supersedes, act)
        envelope = _envelope(act, form, gathered, number=number, issued_to=issued_to, before=before, society=society)
        pdf = render(form.template, gathered.data, envelope)
    file = store(act, pdf, name=f"{number}.pdf", media_type="application/pdf")
    paper = IssuedPaper.objects.create(
        act_id=act.id, happened_at=act.now, happened_on=clock.day_of(act.now), recorded_at=act.now, number=number,
        document=form.name, template_version=form.version, subject=gathered.about[0][1], address=gathered.address,
        title=gathered.title, seen_by=form.seen_by, file=file, data=gathered.data, data_hash=gathered.hash,
        issued_by_id=act.actor.person, issued_to=issued_to, supersedes=before,
    )  # fmt: skip
    act.wrote("paper.issued", paper, after=_told(paper), about=gathered.about)
    return paper


def _replaced(form: Document, gathered: Gathered, key: UUID | None, act: Act) -> IssuedPaper | None:
    if key is None:
        return None
    before = IssuedPaper.objects.visible_to(act.actor).filter(pk=key).first()
    if before is None:
        raise NotFound
    same = before.document == form.name and before.subject == gathered.about[0][1]
    if not same or IssuedPaper.objects.filter(supersedes=before).exists():
        raise NotReplaceable(number=before.number)
    return before


def _envelope(
    act: Act,
    form: Document,
    gathered: Gathered,
    *,
    number: str,
    issued_to: str,
    before: IssuedPaper | None,
    society: Society,
) -> Envelope:
    return Envelope(
        number=number, data_hash=gathered.hash, title=gathered.title, version=form.version,
        issued_at=act.now.replace(microsecond=0), issued_by=act.actor.name,
        issued_to=issued_to, supersedes=before.number if before else "",
        address=settings.SITE_URL.rstrip("/") + reverse("papers:by_number", args=[number]), society=society,
    )  # fmt: skip


def _told(paper: IssuedPaper) -> dict[str, Any]:
    return {
        "number": paper.number, "document": paper.document, "data": paper.data_hash, "file": paper.file.sha256,
        "supersedes": paper.supersedes.number if paper.supersedes else None,
    }  # fmt: skip
