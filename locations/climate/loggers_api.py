"""Loggers for programs: made, changed, put somewhere, checked, told to speak for a place, judged; suspicions against them settled."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from locations.climate.actions import loggers as actions
from locations.climate.actions.doubts import settle
from locations.climate.models import Logger, Settlement, Suspicion, Verdict
from locations.climate.sentences import doubted
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.bodies import Keyed, OneOf, Words, read_by
from museum.people.doors import Needs, actor_of


class LoggerBody(Keyed):
    name = serializers.CharField()
    serial = Words()
    clock_kind = OneOf(Logger.Clock.choices, allow_blank=True, default="")
    zone = Words()
    interval = serializers.IntegerField(default=3600)
    silent_after = serializers.IntegerField(default=35)
    battery_on = serializers.DateField(required=False, allow_null=True, default=None)


class ChangedLoggerBody(LoggerBody):
    version = serializers.IntegerField()
    ended_on = serializers.DateField(required=False, allow_null=True, default=None)


class PlaceBody(Keyed):
    """Without a place it was taken away; `corrects` a placement that was told wrongly, which without a place never happened."""

    place = serializers.UUIDField(required=False, allow_null=True, default=None)
    at = serializers.DateTimeField(required=False, allow_null=True, default=None)
    corrects = serializers.UUIDField(required=False, allow_null=True, default=None)
    note = Words()


class CheckBody(Keyed):
    """One or two points: what it showed and what was true, in %."""

    points = serializers.ListField(child=serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2), min_length=1, max_length=2)
    at = serializers.DateTimeField(required=False, allow_null=True, default=None)
    note = Words()


class SpeaksBody(Keyed):
    """`ends`: the nearest up the tree speaks for the place again."""

    place = serializers.UUIDField()
    ends = serializers.BooleanField(default=False)
    at = serializers.DateTimeField(required=False, allow_null=True, default=None)
    reason = Words()


class VerdictBody(Keyed):
    begin = serializers.DateTimeField()
    end = serializers.DateTimeField()
    says = OneOf([(one.value, one.label) for one in Verdict.OF_ALL])
    reason = Words()


class ChoiceBody(Keyed):
    """`file`: the one that brought another value. `seen`: what was said of it last; none where nobody has said anything."""

    file = serializers.UUIDField()
    says = OneOf([(one.value, one.label) for one in Verdict.OF_TWO])
    reason = Words()
    seen = serializers.UUIDField(required=False, allow_null=True, default=None)


class SettleBody(Keyed):
    says = OneOf(Settlement.Says.choices)
    reason = Words()
    begin = serializers.DateTimeField(required=False, allow_null=True, default=None)
    end = serializers.DateTimeField(required=False, allow_null=True, default=None)
    of = serializers.UUIDField(required=False, allow_null=True, default=None)


@extend_schema(request=LoggerBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def new_logger(request: Request) -> Response:
    """Adds a logger under the key that is sent."""
    said = read_by(LoggerBody, request)
    key = said.pop("id")
    return Response(logger_row(actions.make_logger(actor_of(request).keyed(key), logger_id=key, **said)), status=201)


@extend_schema(request=ChangedLoggerBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def change(request: Request, logger_id: UUID) -> Response:
    """Changes what is told of a logger: all of it, with the version that it was read in."""
    said = read_by(ChangedLoggerBody, request)
    return Response(logger_row(actions.change_logger(actor_of(request).keyed(said.pop("id")), logger_id, **said)))


@extend_schema(request=PlaceBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def place(request: Request, logger_id: UUID) -> Response:
    """A logger was put somewhere, or it was told wrongly where."""

    def told(by: Actor, said: dict[str, Any]) -> Any:
        if said["corrects"] is None:
            return actions.place_logger(by, logger_id, place_id=said["place"], at=said["at"], note=said["note"])
        return actions.correct_placement(by, said["corrects"], reason=said["note"], place_id=said["place"], at=said["at"])

    return _told(PlaceBody, request, told)


@extend_schema(request=CheckBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def check(request: Request, logger_id: UUID) -> Response:
    """A logger was checked over salts."""
    return _told(
        CheckBody, request,
        lambda by, said: actions.calibrate(by, logger_id, points=[(one, other) for one, other in said["points"]], at=said["at"], note=said["note"]),
    )  # fmt: skip


@extend_schema(request=SpeaksBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def speaks(request: Request, logger_id: UUID) -> Response:
    """A logger speaks for a place in which it does not stand."""
    return _told(
        SpeaksBody, request,
        lambda by, said: actions.cover(by, said["place"], logger_id=None if said["ends"] else logger_id, at=said["at"], reason=said["reason"]),
    )  # fmt: skip


@extend_schema(request=VerdictBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def judge(request: Request, logger_id: UUID) -> Response:
    """What somebody found about its readings of a time."""
    return _told(
        VerdictBody, request,
        lambda by, said: actions.judge_readings(by, logger_id, begin=said["begin"], end=said["end"], says=said["says"], reason=said["reason"]),
    )  # fmt: skip


@extend_schema(request=ChoiceBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def choose(request: Request, logger_id: UUID) -> Response:
    """Which holds of two values for one time."""
    return _told(
        ChoiceBody, request,
        lambda by, said: actions.choose_value(by, logger_id, file_id=said["file"], says=said["says"], reason=said["reason"], seen=said["seen"]),
    )  # fmt: skip


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("climate.see")])
def suspicions(request: Request) -> Response:
    """What speaks against a logger and waits for somebody."""
    rows = Suspicion.objects.filter(settlement=None).select_related("logger", "other").order_by("recorded_at")
    return Response({"suspicions": [_suspicion(row) for row in rows]})


@extend_schema(request=SettleBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def settle_it(request: Request, suspicion_id: UUID) -> Response:
    """Somebody looked into it: the readings hold, or those from `begin` to `end` (else all of its time) are not to be used."""
    said = read_by(SettleBody, request)
    settle(actor_of(request).keyed(said.pop("id")), suspicion_id, **said)
    found = Suspicion.objects.select_related("logger", "other", "settlement").filter(pk=suspicion_id).first()
    if found is None:
        raise NotFound
    done = found.settlement
    return Response({**_suspicion(found), "says": done.says, "reason": done.reason, "verdict": done.verdict_id})


def _told(form: type[Keyed], request: Request, work: Callable[[Actor, dict[str, Any]], Any]) -> Response:
    """A fact of a logger, by its key."""
    said = read_by(form, request)
    fact = work(actor_of(request).keyed(said["id"]), said)
    return Response({"id": str(fact.pk)}, status=201)


def logger_row(row: Logger) -> dict[str, Any]:
    """A logger as it is told to programs."""
    return {"id": str(row.pk), "name": row.name, "serial": row.serial, "interval": row.interval, "clock": row.clock_kind, "version": row.version}


def _suspicion(row: Suspicion) -> dict[str, Any]:
    return {
        "id": str(row.pk), "logger": str(row.logger_id), "other": str(row.other_id) if row.other_id else None, "kind": row.kind, "begin": row.begin,
        "end": row.end, "evidence": row.evidence, "rests_on": doubted(row.kind, row.evidence),
    }  # fmt: skip
