"""Loggers, their files and hand readings for programs: repeatable by the key that the client makes."""

import base64
import binascii
from typing import Any

from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from locations.climate import typed
from locations.climate.actions.files import answer_file, drop_file, hold_file, take_file
from locations.climate.actions.spots import SpotEntry, correct_spot, read_by_hand
from locations.climate.chart_views import asked_life, month_rows, part_rows
from locations.climate.loggers_api import logger_row
from locations.climate.models import ClimateAlarm, ClimateFile, Logger, Spot
from locations.climate.rooms import SPANS, room_climate, span_of
from locations.climate.science.mould import MouldState
from locations.climate.sentences import against_the_record
from museum.delivery import attachment
from museum.errors import NotFound
from museum.papers.files import Upload, open_file
from museum.people.bodies import Keyed, OneOf, Words, read_by
from museum.people.doors import Needs, actor_of


class FileBody(serializers.Serializer[Any]):
    """A file, its bytes as base64."""

    id = serializers.UUIDField()
    name = serializers.CharField(max_length=200)
    logger = serializers.UUIDField(required=False, allow_null=True)
    content = serializers.CharField()

    def validate_content(self, value: str) -> bytes:
        try:
            return base64.b64decode(value, validate=True)
        except binascii.Error:
            raise serializers.ValidationError("no base64") from None


class SpotBody(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    place = serializers.UUIDField()
    t = serializers.FloatField(required=False, allow_null=True)
    rh = serializers.FloatField(required=False, allow_null=True)
    lux = serializers.FloatField(required=False, allow_null=True)
    uv = serializers.FloatField(required=False, allow_null=True)
    litres = serializers.FloatField(required=False, allow_null=True)
    insects = serializers.IntegerField(required=False, allow_null=True)
    note = serializers.CharField(required=False, allow_blank=True)


class SpotsBody(serializers.Serializer[Any]):
    """What one person read at one time."""

    id = serializers.UUIDField()
    at = serializers.DateTimeField(required=False, allow_null=True)
    readings = SpotBody(many=True)


@extend_schema(request=FileBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.send_files")])
def files(request: Request) -> Response:
    """Takes a file of a logger; what it asks is answered on its page."""
    said = read_by(FileBody, request)
    row = take_file(actor_of(request).keyed(said["id"]), Upload(said["name"], said["content"]), logger_id=said.get("logger"))
    return Response(_row(row), status=201)


class AnswerBody(Keyed):
    """`answers`: code of each question to its answer, as the file's `questions` offer them; `version` as it was read."""

    version = serializers.IntegerField()
    logger = serializers.UUIDField(required=False, allow_null=True, default=None)
    answers = serializers.DictField(child=serializers.CharField(), default=dict)


@extend_schema(request=AnswerBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.send_files")])
def file_answer(request: Request, file_id: Any) -> Response:
    """Answers what a file asks; with nothing open it is read."""
    said = read_by(AnswerBody, request)
    row = answer_file(actor_of(request).keyed(said["id"]), file_id, version=said["version"], logger_id=said["logger"], answers=said["answers"])
    return Response(_row(row))


class ReasonBody(Keyed):
    """`reason`: why; `version` as it was read."""

    version = serializers.IntegerField()
    reason = serializers.CharField()


@extend_schema(request=ReasonBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.send_files")])
def file_dropped(request: Request, file_id: Any) -> Response:
    """Says that a file that asks is not to be read."""
    said = read_by(ReasonBody, request)
    return Response(_row(drop_file(actor_of(request).keyed(said["id"]), file_id, version=said["version"], reason=said["reason"])))


@extend_schema(request=ReasonBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.send_files")])
def file_holds(request: Request, file_id: Any) -> Response:
    """Says that a file which contradicts the record holds nevertheless: it is read, and both values stay."""
    said = read_by(ReasonBody, request)
    return Response(_row(hold_file(actor_of(request).keyed(said["id"]), file_id, version=said["version"], reason=said["reason"])))


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("climate.send_files")])
def file(request: Request, file_id: Any) -> Response:
    """How far a file is and what came of it."""
    row = ClimateFile.objects.filter(pk=file_id).first()
    if row is None:
        raise NotFound
    return Response(_row(row))


@extend_schema(responses={(200, "application/octet-stream"): OpenApiTypes.BINARY})
@api_view(["GET"])
@permission_classes([Needs("climate.send_files")])
def file_original(request: Request, file_id: Any) -> FileResponse:
    """The file, byte for byte as it came."""
    row = ClimateFile.objects.select_related("file").filter(pk=file_id).first()
    if row is None:
        raise NotFound
    return attachment(open_file(row.file), name=row.name, media_type="application/octet-stream")


@extend_schema(request=SpotsBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.record")])
def spots(request: Request) -> Response:
    """Readings by hand, of several places; all of them or none."""
    said = read_by(SpotsBody, request)
    entries = [SpotEntry(id=one["id"], place_id=one["place"], **{name: one[name] for name in one if name not in ("id", "place")}) for one in said["readings"]]
    stored = read_by_hand(actor_of(request).keyed(said["id"]), entries, at=said.get("at"))
    return Response({"id": str(said["id"]), "stored": stored}, status=201)


class TakenBackBody(Keyed):
    reason = Words()


@extend_schema(request=TakenBackBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.record")])
def spot_taken_back(request: Request, spot_id: Any) -> Response:
    """Takes back a reading by hand that was typed wrongly."""
    said = read_by(TakenBackBody, request)
    return Response({"id": str(correct_spot(actor_of(request).keyed(said["id"]), spot_id, reason=said["reason"]).pk)}, status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("climate.see")])
def loggers(request: Request) -> Response:
    """The loggers in use."""
    rows = Logger.objects.filter(ended_on=None).order_by("name")
    return Response([logger_row(row) for row in rows])


def _mould(state: MouldState) -> dict[str, Any]:
    return {"now": round(state.index, 2), "highest": round(state.highest, 2), "at_least": state.at_least}


def _by_hand(spot: Spot) -> dict[str, Any]:
    return {"at": spot.happened_at, "t": spot.t, "rh": spot.rh, "by": spot.by.name if spot.by else None, "note": spot.note}


def _alarm(alarm: ClimateAlarm) -> dict[str, Any]:
    return {
        "id": str(alarm.thread), "place": {"id": str(alarm.place_id), "code": alarm.place.code}, "level": alarm.level, "kind": alarm.kind,
        "begin": alarm.begin, "raised": alarm.raised_at, "ended": alarm.ended_at, "hours": alarm.hours, "at_least": alarm.at_least, "figures": alarm.figures,
    }  # fmt: skip


def _row(row: ClimateFile) -> dict[str, Any]:
    return {
        "id": str(row.pk), "name": row.name, "logger": str(row.logger_id) if row.logger_id else None, "state": row.state,
        "questions": [_question(row, one) for one in row.questions], "counts": row.counts, "error": row.refusal, "version": row.version,
    }  # fmt: skip


def _question(row: ClimateFile, asked: dict[str, Any]) -> dict[str, Any]:
    """What a file that contradicts the record asks has figures, and their sentences; it is answered by another logger or clock, held or dropped."""
    if asked["code"] != ClimateFile.CONTRADICTS or row.logger is None:
        return asked
    return asked | {"words": against_the_record(row.logger.name, asked["figures"])}


class SpanQuery(serializers.Serializer[Any]):
    """The days shown: a year, or less or more, that ends `on` a day, else today."""

    span = OneOf(list(SPANS), default="year")
    on = serializers.DateField(required=False, default=None)


@extend_schema(responses=dict, parameters=[SpanQuery])
@api_view(["GET"])
@permission_classes([Needs("climate.see")])
def room(request: Request, place_id: Any) -> Response:
    """A room's months, its longest damp run, mould index, alarms and hand readings, of the span (ten, year, month, week, day) that ends on a day."""
    asked = SpanQuery(data=request.query_params)
    asked.is_valid(raise_exception=True)
    found = room_climate(place_id, span_of(asked.validated_data["span"], asked.validated_data["on"]))
    run = found.whole.longest
    return Response(
        {
            "place": {"id": str(found.place.pk), "code": found.place.code}, "from": found.span.first, "to": found.span.last, "last": found.last,
            "hours": found.whole.hours, "known": found.whole.known, "damp_hours": found.whole.damp,
            "damp_longest": {"hours": run.hours, "at_least": run.at_least} if run else None,
            "mould_index": {code: _mould(state) for code, state in found.moulds},
            "months": month_rows(found), "by_hand": [_by_hand(spot) for spot in found.dials.spots],
            "alarms": [_alarm(one) for one in found.shown_alarms],
        }
    )  # fmt: skip


@extend_schema(responses=dict, parameters=[OpenApiParameter("since", str)])
@api_view(["GET"])
@permission_classes([Needs("climate.see")])
def lived(request: Request, object_id: Any) -> Response:
    """What each material of a thing lived through, since a day or since the first known; `since` of each part says from when it was counted."""
    typed.day(request.query_params.get("since"), "since")
    found = asked_life(request, object_id)
    return Response({"object": str(found.thing.pk), "last_check": found.last_check, "parts": part_rows(found)})
