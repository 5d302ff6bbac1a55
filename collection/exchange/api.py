"""Imports for programs: the same steps as on the pages. Keys made by the client make each repeatable."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, parser_classes, permission_classes
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from collection.exchange import actions
from collection.exchange.elsewhere import stands_elsewhere
from collection.exchange.erasing import erase_words
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, in_the_way, reasons_of
from collection.exchange.reading import demand_size
from collection.exchange.sentences import sentence
from collection.exchange.showing import sorts, why_of
from museum.errors import Invalid, NotFound
from museum.papers.files import Upload
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of

MOST_ROWS = 500


class StartBody(Keyed):
    """Beside the file."""

    sheet = Words()


class MapBody(Keyed):
    """`columns` maps the number of a column to the field it is."""

    version = serializers.IntegerField()
    columns = serializers.DictField(child=serializers.CharField())
    numbers_follow = Words()
    heading = serializers.IntegerField(required=False, allow_null=True, min_value=0)
    default_kind = serializers.CharField(default="other")
    name_from_title = serializers.BooleanField(default=True)

    def validate_columns(self, columns: dict[str, str]) -> dict[str, str]:
        """Columns go by number."""
        if not all(column.isascii() and column.isdecimal() for column in columns):
            raise serializers.ValidationError(_("Columns go by their number, from 0."))
        return columns


class AnswerBody(Keyed):
    """{"skip": true, "why": ...} leaves the row out."""

    version = serializers.IntegerField()
    answers = serializers.DictField()


class AlikeBody(Keyed):
    code = Words()
    choice = Words()
    text = Words()


class UndoBody(Keyed):
    reason = Words()


class WordsBody(serializers.Serializer[Any]):
    """A name or words of it."""

    words = Words()


class ErasingBody(Keyed):
    """The keys of the statements whose words go."""

    statements = serializers.ListField(child=serializers.UUIDField(), allow_empty=False)
    reason = Words()


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
    said = StartBody(data=request.POST)
    said.is_valid(raise_exception=True)
    upload = Upload(sent.name or "register", sent.read())
    made = actions.start_import(actor_of(request).keyed(said.validated_data["id"]), upload, sheet=said.validated_data["sheet"])
    return Response(_session(made), status=201)


@extend_schema(methods=["POST"], request=MapBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("import.run")])
def one(request: Request, session_id: UUID) -> Response:
    """GET: how far it is, rows by outcome and reason, what can be answered alike, what would stay.
    POST: what its columns are."""
    if request.method == "GET":
        return Response(_session(_found(session_id)))
    sent = read_by(MapBody, request)
    told: dict[str, Any] = {name: sent.get(name) for name in ("version", "columns", "numbers_follow", "heading", "default_kind", "name_from_title")}
    actions.map_import(actor_of(request).keyed(sent["id"]), session_id, **told)
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


@extend_schema(request=AnswerBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def answer(request: Request, session_id: UUID, row_id: UUID) -> Response:
    """Answers what one row asks."""
    sent = read_by(AnswerBody, request)
    if not ImportRow.objects.filter(pk=row_id, session=session_id).exists():
        raise NotFound
    return Response(_row(actions.answer_row(actor_of(request).keyed(sent["id"]), row_id, version=sent["version"], answers=sent["answers"])))


@extend_schema(request=AlikeBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def alike(request: Request, session_id: UUID) -> Response:
    """The same answer for all of a sort."""
    sent = read_by(AlikeBody, request)
    done = actions.answer_alike(actor_of(request).keyed(sent["id"]), session_id, code=sent["code"], choice=sent["choice"], text=sent["text"])
    done = actions.Alike(**done) if isinstance(done, dict) else done
    return Response({"answered": done.answered, "left": done.left})


@extend_schema(request=Keyed, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def run(request: Request, session_id: UUID) -> Response:
    """Brings in, in the background, what has no question; answers the work."""
    by = actor_of(request).keyed(read_by(Keyed, request)["id"])
    return Response({"job": str(actions.run_import(by, session_id).pk)}, status=202)


@extend_schema(request=UndoBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("import.run")])
def undo(request: Request, session_id: UUID) -> Response:
    """Takes back, in the background, what nothing later touched; what stays is listed."""
    sent = read_by(UndoBody, request)
    stays = [_row(row) for row in in_the_way(_found(session_id))]
    job = actions.undo_import(actor_of(request).keyed(sent["id"]), session_id, reason=sent["reason"])
    return Response({"job": str(job.pk), "stays": stays}, status=202)


@extend_schema(request=ErasingBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("personal.erase")])
def erasing(request: Request) -> Response:
    """Erases the words of personal statements for ever; answers how many, and where they still stand and cannot be erased."""
    sent = read_by(ErasingBody, request)
    return Response(erase_words(actor_of(request).keyed(sent["id"]), sent["statements"], reason=sent["reason"]))


@extend_schema(request=WordsBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("personal.erase")])
def elsewhere(request: Request) -> Response:
    """Where these words stand besides the personal words of the record. Asked by POST: an address with a name in it would stay in logs."""
    said = read_by(WordsBody, request)
    rows = [{"what": one.what, "page": one.address, "text": one.text, "changes": one.changes, "more": one.more} for one in stands_elsewhere(said["words"])]
    return Response({"places": rows})


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
