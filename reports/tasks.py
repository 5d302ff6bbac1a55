"""The worker's work on papers."""

from collections.abc import Sequence
from uuid import UUID

from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from museum.errors import NotFound
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.papers.models import IssuedPaper
from museum.people.models import Society
from reports.issuing import issue
from reports.labels.content import Wanted, labels_for
from reports.labels.setting import set_labels
from reports.labels.stock import STOCKS
from reports.registry import Options
from reports.reprint import reprinted


@job_kind("issue_paper", title=gettext_lazy("Issue a paper"))
def issue_paper(
    progress: Progress, job: Job, *, document: str, subject: str, issued_to: str = "", supersedes: str | None = None, options: Options | None = None
) -> Outcome:  # fmt: skip
    """Issues one paper; run again after a lost worker, the same paper is answered."""
    progress.say(_("Writing and setting the paper"))
    replaced = UUID(supersedes) if supersedes else None
    paper = issue(acting(job), document, UUID(subject), issued_to=issued_to, supersedes=replaced, options=options)
    return {"address": reverse("papers:paper", args=[paper.pk]), "name": paper.number}


@job_kind("reprint_paper", title=gettext_lazy("Reprint a paper"))
def reprint_paper(progress: Progress, job: Job, *, paper: str) -> Outcome:
    """Stamps a copy of the frozen file; the owner fetches it from the job."""
    actor = acting(job)
    found = IssuedPaper.objects.visible_to(actor).select_related("file").filter(pk=paper).first()
    if found is None:
        raise NotFound
    name = _("%(number)s reprint.pdf") % {"number": found.number}
    return progress.keep(reprinted(found, actor.name), name=name, media_type="application/pdf")


@job_kind("print_labels", title=gettext_lazy("Set labels"))
def print_labels(progress: Progress, job: Job, *, stock: str, things: Sequence[str], places: Sequence[str], inside: bool, parts: bool, start: int) -> Outcome:
    """Sets labels as they are true now; their owner fetches them from the job."""
    wanted = Wanted([UUID(key) for key in things], [UUID(key) for key in places], inside, parts)
    with translation.override(Society.load().language):
        pdf = set_labels(STOCKS[stock], labels_for(acting(job), wanted), start)
    return progress.keep(pdf, name=_("labels.pdf"), media_type="application/pdf")
