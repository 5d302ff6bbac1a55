"""Pages of issued papers: found again, looked at, fetched."""

from typing import Final
from uuid import UUID

from django.core.paginator import Paginator
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from museum.delivery import attachment
from museum.errors import NotFound
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper
from museum.people.doors import actor_of, needs

A_PAGE: Final = 50


@require_safe
@needs("paper.see")
def papers(request: HttpRequest) -> HttpResponse:
    """Issued papers, the newest first; searched by number, hash or title. One exact hit opens at once."""
    words = request.GET.get("q", "").strip()
    rows = IssuedPaper.objects.visible_to(actor_of(request)).select_related("issued_by", "superseded_by")
    if words:
        rows = rows.found_by(words)
        if len(hits := rows[:2]) == 1:
            return redirect("papers:paper", hits[0].pk)
    page = Paginator(rows.order_by("-recorded_at"), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "papers/papers.html", {"page": page, "words": words})


@require_safe
@needs("paper.see")
def paper(request: HttpRequest, paper_id: UUID) -> HttpResponse:
    """One paper: what it is, who issued it, how to tell that a sheet in hand is this one."""
    found = _seen(request, pk=paper_id)
    earlier = IssuedPaper.objects.visible_to(actor_of(request)).filter(data_hash=found.data_hash).exclude(pk=found.pk)
    anew = actor_of(request).may("paper.issue") or found.issued_by_id == actor_of(request).person
    return render(request, "papers/paper.html", {"paper": found, "same": earlier.order_by("recorded_at"), "anew": anew})


@require_safe
@needs("paper.see")
def by_number(request: HttpRequest, number: str) -> HttpResponse:
    """Where the printed code leads."""
    return redirect("papers:paper", _seen(request, number__iexact=number).pk)


@require_safe
@needs("paper.see")
def file(request: HttpRequest, paper_id: UUID) -> FileResponse:
    """The frozen file."""
    found = _seen(request, pk=paper_id)
    return attachment(open_file(found.file), name=found.file.name, media_type=found.file.media_type)


def _seen(request: HttpRequest, **wanted: object) -> IssuedPaper:
    rows = IssuedPaper.objects.visible_to(actor_of(request)).select_related("file", "issued_by", "supersedes")
    found = rows.filter(**wanted).first()
    if found is None:
        raise NotFound
    return found
