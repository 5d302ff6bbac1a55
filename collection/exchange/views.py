"""Pages of imports: send a file, name its columns, look through the rows, bring them in, take them back."""

from typing import Final, cast
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from collection.exchange import actions
from collection.exchange.columns import TARGETS
from collection.exchange.elsewhere import stands_elsewhere
from collection.exchange.erasing import MOST, answer_of, erase_words, personal_words
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, in_the_way, reasons_of
from collection.exchange.reading import MOST_BYTES, MOST_ROWS, demand_size
from collection.exchange.sentences import short
from collection.exchange.showing import answers_from, column_choices, shown, sorts
from collection.exchange.table import table_of
from collection.objects import fields
from collection.objects.models import Kind
from collection.objects.queries import text_of
from collection.objects.views.common import key_in
from museum.delivery import attachment
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.papers.files import Upload
from museum.people.doors import actor_of, needs

A_PAGE: Final = 50
#: rows shown on the page of columns
SAMPLE: Final = 20
SHOWN_SESSIONS: Final = 50


@require_http_methods(["GET", "POST"])
@needs("import.run")
def imports(request: HttpRequest) -> HttpResponse:
    """What was brought in so far; a file is sent here."""
    error = ""
    if request.method == "POST":
        try:
            return redirect("exchange:columns", _started(request).pk)
        except Invalid as refused:
            error = refused.sentence
    sessions = ImportSession.objects.select_related("owner").order_by("-made_at")[:SHOWN_SESSIONS]
    context = {
        "sessions": sessions,
        "error": error,
        "key": uuid7(),
        "most_mb": MOST_BYTES // 1024 // 1024,
        "most_rows": MOST_ROWS,
    }
    return render(request, "exchange/imports.html", context, status=400 if error else 200)


@require_http_methods(["GET", "POST"])
@needs("import.run")
def columns(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """What each column is; whether numbers follow our form, asked once."""
    session, error, wrong, typed = _session(session_id), "", "", request.POST
    if request.method == "POST":
        try:
            _mapped(request, session)
        except (Invalid, actions.NotNow) as refused:
            error, wrong = refused.sentence, refused.field or ""
        except VersionConflict as conflict:
            error = conflict.sentence
            session = _session(session_id)
        else:
            return redirect("exchange:preview", session.pk)
    sample = list(session.rows.filter(n__gt=session.heading).order_by("n")[:SAMPLE])
    context = {
        "session": session, "error": error, "wrong": wrong, "columns": column_choices(session, sample, typed),
        "targets": TARGETS.items(), "numbers": ImportSession.Numbers.choices,
        "follow": typed.get("numbers_follow", session.numbers_follow), "kinds": _kinds(),
        "kind": typed.get("default_kind", session.default_kind), "sample": sample,
        "open": session.state in (ImportSession.State.MAPPING, ImportSession.State.PREVIEW),
    }  # fmt: skip
    return render(request, "exchange/columns.html", context, status=400 if error else 200)


@require_http_methods(["GET", "HEAD"])
@needs("import.run")
def preview(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Every row with what becomes of it and why; questions are answered in place."""
    session = _session(session_id)
    if session.state == ImportSession.State.MAPPING:
        return redirect("exchange:columns", session.pk)
    counts = counts_of(session)
    outcome = request.GET.get("outcome") or ("question" if counts["question"] else "")
    reason = request.GET.get("reason", "")
    rows = session.rows.select_related("object__card").order_by("n", "part")
    if outcome in ImportRow.Outcome.values:
        rows = rows.filter(outcome=outcome)
    rows = rows.filter(Q(reason=reason) | Q(findings__contains=[{"code": reason}])) if reason else rows
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "session": session, "page": page, "outcome": outcome, "reason": reason,
        "query": f"{urlencode({'outcome': outcome or 'all', 'reason': reason})}&",
        "counts": [(value, label, counts[value]) for value, label in ImportRow.Outcome.choices],
        "reasons": [(code, short(code), n) for code, n in reasons_of(session, outcome) if code] if outcome else [],
        "rows": [shown(session.way, row) for row in page], "new": counts["new"], "taken": counts["taken"],
        "kinds": _kinds(), "sorts": sorts(session) if _open(session) else [], "open": _open(session), "parts": session.rows.filter(part__gt=0).count(),
        "total": sum(counts.values()), "way": in_the_way(session) if session.state == ImportSession.State.DONE else [],
    }  # fmt: skip
    return render(request, "exchange/preview.html", context)


@require_POST
@needs("import.run")
def answer(request: HttpRequest, session_id: UUID, row_id: UUID) -> HttpResponse:
    """Answers what one row asks."""
    row = ImportRow.objects.filter(pk=row_id, session=session_id).first()
    if row is None:
        raise NotFound
    try:
        version = int(request.POST.get("version", ""))
        answered = actions.answer_row(actor_of(request), row_id, version=version, answers=answers_from(request.POST, row))
    except ValueError:
        messages.error(request, _("The row was not stored: load the page again."))
    except DomainError as refused:
        messages.error(request, _rows_words(refused, row))
    else:
        left = answered.outcome == ImportRow.Outcome.QUESTION
        told = _("Row %(n)s still asks something.") if left else _("Row %(n)s is answered.")
        (messages.warning if left else messages.success)(request, told % {"n": row.n})
    back = urlencode({name: request.POST[name] for name in ("outcome", "reason", "page") if request.POST.get(name)})
    return redirect(f"{reverse('exchange:preview', args=[session_id])}?{back}#rows")


@require_POST
@needs("import.run")
def answer_alike(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Answers all questions of a sort the same."""
    fields = request.POST
    text = fields.get("kind", "") if fields.get("code") == "kind_unknown" and fields.get("choice") != "skip" else fields.get("text", "")
    try:
        told = actions.answer_alike(actor_of(request), session_id, code=fields.get("code", ""), choice=fields.get("choice", ""), text=text)
    except (Invalid, actions.NotNow) as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, ngettext("%(n)d row is answered.", "%(n)d rows are answered.", told.answered) % {"n": told.answered})
        if told.left:
            messages.warning(request, ngettext("%(n)d row cannot be answered so.", "%(n)d rows cannot be answered so.", told.left) % {"n": told.left})
    return redirect("exchange:preview", session_id)


@require_http_methods(["GET", "HEAD"])
@needs("import.run")
def rows_table(request: HttpRequest, session_id: UUID) -> HttpResponseBase:
    """Every row with what became of it, as a table to keep."""
    session = _session(session_id)
    return attachment(table_of(session), name=f"{session.name}-rows.csv", media_type="text/csv; charset=utf-8")


@require_POST
@needs("import.run")
def run(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Brings in what has no question."""
    try:
        job = actions.run_import(actor_of(request), session_id)
    except (Invalid, actions.NotNow) as refused:
        messages.error(request, refused.sentence)
        return redirect("exchange:preview", session_id)
    return redirect("jobs:job", job.pk)


@require_POST
@needs("import.run")
def undo(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Takes back what nothing later touched."""
    try:
        job = actions.undo_import(actor_of(request), session_id, reason=request.POST.get("reason", ""))
    except (Invalid, actions.NotNow) as refused:
        messages.error(request, refused.sentence)
        return redirect("exchange:preview", session_id)
    return redirect("jobs:job", job.pk)


def _started(request: HttpRequest) -> ImportSession:
    sent = request.FILES.get("file")
    if sent is None or isinstance(sent, list):
        raise Invalid(_("Choose a file."), field="file")
    demand_size(sent.size or 0)
    upload = Upload(sent.name or "register", sent.read())
    return actions.start_import(actor_of(request).keyed(_key(request)), upload, sheet=request.POST.get("sheet", ""))


def _mapped(request: HttpRequest, session: ImportSession) -> None:
    fields = request.POST
    chosen = {name.removeprefix("column_"): fields[name] for name in fields if name.startswith("column_") and name[7:].isdecimal()}
    number = fields.get("heading", "")
    actions.map_import(
        actor_of(request), session.pk, version=int(fields["version"]) if fields.get("version", "").isdecimal() else 0,
        columns=chosen, numbers_follow=fields.get("numbers_follow", ""), default_kind=fields.get("default_kind", ""),
        heading=int(number) if number.isdecimal() and len(number) < 6 else None,
        name_from_title=fields.get("name_from_title") == "on",
    )  # fmt: skip


def _open(session: ImportSession) -> bool:
    return session.state in (ImportSession.State.PREVIEW, ImportSession.State.DONE)


def _session(session_id: UUID) -> ImportSession:
    session = ImportSession.objects.select_related("file", "owner").filter(pk=session_id).first()
    if session is None:
        raise NotFound
    return session


def _rows_words(refused: DomainError, row: ImportRow) -> str:
    return _("Row %(n)s: %(why)s") % {"n": row.n, "why": refused.sentence}


def _kinds() -> list[tuple[str, str]]:
    return [(kind.code, text_of(kind.texts)) for kind in Kind.objects.filter(retired=False).order_by("id")]


def _key(request: HttpRequest) -> UUID | None:
    try:
        return UUID(str(request.POST.get("id")))
    except ValueError:
        return None


@require_http_methods(["GET", "POST"])
@needs("personal.erase")
def erase(request: HttpRequest) -> HttpResponse:
    """Personal words of the record, looked for by what they say or by their thing, ticked and erased for ever; then where they still stand.

    Looked for by POST: an address with a name in it would stay in the logs of the web server.
    """
    actor, typed, error = actor_of(request), request.POST, ""
    thing = key_in(typed.get("thing") or request.GET.get("thing"))
    if typed.get("do") == "erase":
        try:
            return redirect(f"{reverse('exchange:erase')}?{urlencode({'done': str(_erased(request))})}")
        except Invalid as refused:
            error = refused.sentence
    looks = bool(thing or typed.get("words", "").strip())
    found = list(personal_words(typed.get("words", ""), thing)[: MOST + 1]) if looks else []
    everywhere = typed.get("do") == "everywhere"
    context = {
        "everywhere": everywhere, "elsewhere": stands_elsewhere(typed.get("words", "")) if everywhere else [],
        "rows": [{"statement": row, "field": text_of(row.field.texts), "text": fields.shown(row.field, row.value, row.words)} for row in found[:MOST]],
        "more": len(found) > MOST, "looks": looks, "typed": typed, "ticked": typed.getlist("statement"), "thing": thing or "", "error": error, "key": uuid7(),
        "done": answer_of(request.GET.get("done", "")), "sees": actor.may("catalogue.see_all"),
    }  # fmt: skip
    return render(request, "exchange/erase.html", context, status=400 if error else 200)


def _erased(request: HttpRequest) -> UUID:
    """Erases what was ticked; answers the key of the act. Raises Invalid."""
    ticked = [key for text in request.POST.getlist("statement") if (key := key_in(text))]
    if not ticked:
        raise Invalid(_("Tick what is to be erased."), field="statement")
    if request.POST.get("sure") != "on":
        raise Invalid(_("Tick that you know that this cannot be undone."), field="sure")
    by = actor_of(request).keyed(key_in(request.POST.get("act")) or uuid7())
    erase_words(by, ticked, reason=request.POST.get("reason", ""))
    return cast(UUID, by.key)
