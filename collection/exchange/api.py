"""Imports for programs: the same steps as on the pages. Keys made by the client make each repeatable."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, parser_classes, permission_classes
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from collection.exchange import actions
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, in_the_way, reasons_of
from collection.exchange.reading import demand_size
from collection.exchange.sentences import sentence
from collection.exchange.showing import sorts, why_of
from museum.errors import Invalid, NotFound
from museum.papers.files import Upload
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of, body_of

MOST_ROWS = 500


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
@parser_classes([MultiPartParser])
def start(request: Request) -> Response:
    """Multipart: id, file, sheet. Reads a register and keeps it; nothing enters the catalogue. Answers the guessed columns."""
    sent = request.FILES.get("file")
    if sent is None or isinstance(sent, list):
        raise Invalid(field="file")
    demand_size(sent.size or 0)
    upload = Upload(sent.name or "register", sent.read())
    return Response(_session(actions.start_import(_keyed(request, dict(request.POST.items())), upload, sheet=request.POST.get("sheet", ""))), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("import.run")])
def one(request: Request, session_id: UUID) -> Response:
    """GET: how far it is, rows by outcome and reason, what can be answered alike, what would stay.
    POST {"id", "version", "columns", "numbers_follow", "heading", "default_kind", "name_from_title"}: what its columns are."""
    if request.method == "GET":
        return Response(_session(_found(session_id)))
    body = body_of(request)
    columns, version, heading = body.get("columns"), body.get("version"), body.get("heading")
    if not isinstance(columns, dict) or not isinstance(version, int) or not all(str(column).isdecimal() for column in columns):
        raise Invalid(field="columns")
    actions.map_import(
        _keyed(request, body), session_id, version=version, columns={str(n): str(target) for n, target in columns.items()},
        numbers_follow=str(body.get("numbers_follow", "")), heading=heading if isinstance(heading, int) else None,
        default_kind=str(body.get("default_kind", "other")), name_from_title=body.get("name_from_title") is not False,
    )  # fmt: skip
    return Response(_session(_found(session_id)))


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("import.run")])
def rows(request: Request, session_id: UUID) -> Response:
    """?outcome=&after=: rows with what became of them, five hundred at a time after a row of the file."""
    found = _found(session_id).rows.select_related("object__card").order_by("n", "part")
    after, outcome = request.query_params.get("after", ""), request.query_params.get("outcome", "")
    found = found.filter(n__gt=int(after)) if after.isascii() and after.isdecimal() and len(after) < 7 else found
    found = found.filter(outcome=outcome) if outcome else found
    return Response({"rows": [_row(row) for row in found[:MOST_ROWS]]})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def answer(request: Request, session_id: UUID, row_id: UUID) -> Response:
    """{"id", "version", "answers"}: answers what one row asks; {"skip": true, "why": ...} leaves it out."""
    body = body_of(request)
    answers, version = body.get("answers"), body.get("version")
    if not isinstance(answers, dict) or not isinstance(version, int):
        raise Invalid(field="answers")
    if not ImportRow.objects.filter(pk=row_id, session=session_id).exists():
        raise NotFound
    return Response(_row(actions.answer_row(_keyed(request, body), row_id, version=version, answers=answers)))


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def alike(request: Request, session_id: UUID) -> Response:
    """{"id", "code", "choice", "text"}: the same answer for all of a sort."""
    body = body_of(request)
    told = [str(body.get(name) or "") for name in ("code", "choice", "text")]
    done = actions.answer_alike(_keyed(request, body), session_id, code=told[0], choice=told[1], text=told[2])
    done = actions.Alike(**done) if isinstance(done, dict) else done
    return Response({"answered": done.answered, "left": done.left})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def run(request: Request, session_id: UUID) -> Response:
    """{"id"}: brings in, in the background, what has no question; answers the work."""
    return Response({"job": str(actions.run_import(_keyed(request, body_of(request)), session_id).pk)}, status=202)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def undo(request: Request, session_id: UUID) -> Response:
    """{"id", "reason"}: takes back, in the background, what nothing later touched; what stays is listed."""
    body = body_of(request)
    stays = [_row(row) for row in in_the_way(_found(session_id))]
    job = actions.undo_import(_keyed(request, body), session_id, reason=str(body.get("reason") or ""))
    return Response({"job": str(job.pk), "stays": stays}, status=202)


def _session(session: ImportSession) -> dict[str, Any]:
    reasons = {outcome: dict(reasons_of(session, outcome)) for outcome in ("question", "skipped")}
    asked = {one.code: {"rows": one.rows, "choices": [choice.value for choice in one.choices]} for one in sorts(session)}
    return {
        "id": str(session.pk), "version": session.version, "name": session.name, "state": session.state, "columns": session.mapping,
        "headings": session.headings, "heading": session.heading, "counts": counts_of(session), "reasons": reasons, "asked": asked,
        "stays": [_row(row) for row in in_the_way(session)],
    }  # fmt: skip


def _row(row: ImportRow) -> dict[str, Any]:
    return {
        "id": str(row.pk), "version": row.version, "row": row.called, "outcome": row.outcome, "reason": row.reason,
        "why": why_of(row) if row.reason else "", "says": [sentence(found["code"], found["data"]) for found in row.findings],
        "findings": row.findings, "answers": row.answers, "object": str(row.object_id) if row.object_id else None,
    }  # fmt: skip


def _found(session_id: UUID) -> ImportSession:
    found = ImportSession.objects.filter(pk=session_id).first()
    if found is None:
        raise NotFound
    return found


def _keyed(request: Request, body: dict[str, Any]) -> Actor:
    try:
        return actor_of(request).keyed(UUID(str(body.get("id"))))
    except ValueError:
        raise Invalid(field="id") from None
