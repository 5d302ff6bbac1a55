"""Pages of the files of loggers: many sent at once, and one with what it asks and what came of it."""

from typing import Any
from uuid import UUID, uuid5

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.views.common import acting, done, key_in, number_in
from locations.climate.actions.files import answer_file, drop_file, hold_file, take_file, understood
from locations.climate.files.sheets import MOST_BYTES
from locations.climate.models import ClimateFile, Logger
from locations.climate.queries import open_rivals
from locations.climate.sentences import ANSWERS, against_the_record, left_out, noticed, question
from locations.climate.storing import moment
from museum.delivery import attachment
from museum.errors import DomainError, Invalid, NotFound
from museum.ids import uuid7
from museum.papers import files as papers
from museum.papers.files import Upload
from museum.people.doors import actor_of, needs

MOST_AT_ONCE = 200


@require_http_methods(["GET", "POST"])
@needs("climate.send_files")
def send(request: HttpRequest) -> HttpResponse:
    """Takes many files at once; each is taken or refused by itself, and the page says which."""
    told: list[dict[str, Any]] = []
    if request.method == "POST":
        told = [_taken(request, n, sent) for n, sent in enumerate(request.FILES.getlist("file")[:MOST_AT_ONCE])]
        if len(told) == 1 and told[0]["row"]:
            return redirect("climate:file", told[0]["row"].pk)
    page = Paginator(ClimateFile.objects.select_related("logger", "sent_by").order_by("-sent_at"), 30).get_page(request.GET.get("page"))
    context = {
        "told": told, "page": page, "key": uuid7(), "loggers": Logger.objects.filter(ended_on=None).order_by("name"), "most": MOST_BYTES // 1_000_000,
        "logger": request.POST.get("logger") or request.GET.get("logger", ""),
    }  # fmt: skip
    return render(request, "climate/send.html", context, status=400 if told and not any(one["row"] for one in told) else 200)


def _taken(request: HttpRequest, n: int, sent: Any) -> dict[str, Any]:
    key = key_in(request.POST.get("act")) or uuid7()
    try:
        upload = Upload(sent.name or _("a file"), sent.read())
        row = take_file(actor_of(request).keyed(uuid5(key, str(n))), upload, logger_id=key_in(request.POST.get("logger")))
    except DomainError as refused:
        return {"name": sent.name, "row": None, "error": refused.sentence}
    return {"name": sent.name, "row": row, "error": ""}


@require_http_methods(["GET", "POST"])
@needs("climate.send_files")
def file(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """One file: what it asks, its first lines as they are read, what came of it."""
    row, fields, error = _file(file_id), request.POST, ""
    if request.method == "POST":
        answers = {name.removeprefix("answer-"): str(value) for name, value in fields.items() if name.startswith("answer-") and value}
        try:
            answer_file(actor_of(request), row.pk, version=number_in(fields.get("version"), 0), logger_id=key_in(fields.get("logger")), answers=answers)
        except DomainError as refused:
            error = refused.sentence
        else:
            messages.success(request, _("Stored."))
            return redirect("climate:file", row.pk)
    context = {"file": row, "error": error, "loggers": Logger.objects.filter(ended_on=None).order_by("name"), **_shown(row), **_outcome(row)}
    return render(request, "climate/file.html", context, status=400 if error else 200)


@require_safe
@needs("climate.send_files")
def original(request: HttpRequest, file_id: UUID) -> FileResponse:
    """The file, byte for byte as it came."""
    row = _file(file_id)
    return attachment(papers.open_file(row.file), name=row.name, media_type="application/octet-stream")


@require_POST
@needs("climate.send_files")
def drop(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Says that a file that asks is not to be read."""
    version, reason = number_in(request.POST.get("version"), 0), request.POST.get("reason", "")
    return done(request, lambda: drop_file(acting(request), file_id, version=version, reason=reason), "climate:file", file_id)


@require_POST
@needs("climate.send_files")
def hold(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Says that a file which contradicts the record holds nevertheless."""
    version, reason = number_in(request.POST.get("version"), 0), request.POST.get("reason", "")
    return done(request, lambda: hold_file(acting(request), file_id, version=version, reason=reason), "climate:file", file_id)


def _shown(row: ClimateFile) -> dict[str, Any]:
    """The questions, and the first lines with what each column is taken for; only while it is not read."""
    if row.state != ClimateFile.State.ASKS:
        return {}
    with papers.open_file(row.file) as opened:
        try:
            proposal, _logger = understood(opened.read(), row.logger, {}, row)
        except Invalid as refused:
            return {"error": refused.sentence}
    form = proposal.form
    names = {form.t: _("temperature"), form.rh: _("humidity"), form.lux: _("light")} | dict.fromkeys(form.times, _("time"))
    width = max((len(cells) for _n, cells in proposal.lines), default=0)
    return {
        "questions": [question(**one) for one in row.questions if one["code"] not in ("logger", ClimateFile.CONTRADICTS)],
        "asks_logger": row.logger is None, "serial": proposal.serial,
        "columns": [names.get(n, "") for n in range(width)],
        "lines": [(line, [(names.get(n, ""), cell) for n, cell in enumerate(cells)]) for line, cells in proposal.lines],
        **_against(row),
    }  # fmt: skip


def _against(row: ClimateFile) -> dict[str, Any]:
    """What a file that contradicts the record says otherwise, and the clocks that may be chosen where nothing in the file says which it is."""
    asked = next((one["figures"] for one in row.questions if one["code"] == ClimateFile.CONTRADICTS), None)
    if asked is None or row.logger is None:
        return {}
    clocks = Logger.Clock.values if row.form.get("clock") in Logger.Clock.values else []
    probable = Logger.objects.filter(name=asked["name"], ended_on=None).first() if asked["cause"] == "other" else None
    return {
        "against": against_the_record(row.logger.name, asked), "first": moment(asked["first"]), "last": moment(asked["last"]),
        "clocks": [(one, ANSWERS[one]) for one in clocks], "probable": probable,
    }  # fmt: skip


def _outcome(row: ClimateFile) -> dict[str, Any]:
    counts = row.counts
    return {
        "waits": open_rivals(row.logger).filter(file=row.number).count() if row.logger and counts.get("contradicting") else 0,
        "left": left_out(counts, counts.get("left", {})),
        "noticed": [(noticed(int(bit)), count) for bit, count in counts.get("noticed", {}).items()],
        "holes": [(moment(begin), moment(end)) for begin, end in counts.get("holes", [])],
    }  # fmt: skip


def _file(file_id: UUID) -> ClimateFile:
    found = ClimateFile.objects.select_related("logger", "file", "sent_by").filter(pk=file_id).first()
    if found is None:
        raise NotFound
    return found
