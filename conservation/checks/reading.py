"""Reads a draft, a form or a JSON body into a check entry; every refusal names the field in plain words."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import ConditionCheck
from museum.errors import Invalid

TRUE = (True, "1", "on", "true", "yes")


def entry_of_draft(content: Mapping[str, Any], object_id: UUID, *, sort: str, now: datetime, today: date, stop: UUID | None) -> CheckEntry:
    """The check that a finished draft says. Raises Invalid."""
    facts = content.get("facts", {})
    return CheckEntry(
        id=_uuid(content["check"], "check"), object_id=object_id, sort=sort, happened_on=today, happened_at=now,
        purpose=facts.get("purpose") or ConditionCheck.Purpose.ROUTINE,
        looks=dict(content.get("zones", {})),
        seen=tuple(seen_of(key, fields) for key, fields in content.get("seen", {}).items()),
        result=facts.get("result", ""), note=facts.get("note", ""), limits=facts.get("limits", ""),
        wet=_flag(facts, "wet"), unsecured_part=_flag(facts, "unsecured_part"), no_treatment=_flag(facts, "no_treatment"),
        screen=content.get("screen") or None, stop=stop,
    )  # fmt: skip


def entry_of_json(body: Mapping[str, Any]) -> CheckEntry:
    """The check that an API request says. Raises Invalid."""
    try:
        object_id, on = _uuid(body["object"], "object"), date.fromisoformat(str(body["happened_on"]))
        key, sort = _uuid(body["id"], "id"), str(body["sort"])
    except KeyError as missing:
        raise Invalid(_("'%(name)s' is missing."), field=str(missing.args[0]), name=str(missing.args[0])) from None
    except ValueError:
        raise Invalid(_("This is not a day: write it as 2026-11-25."), field="happened_on") from None
    seen = body.get("seen", [])
    if not isinstance(seen, list) or not all(isinstance(row, dict) for row in seen):
        raise Invalid(_("'seen' is a list of observations."), field="seen")
    return CheckEntry(
        id=key, object_id=object_id, sort=sort, happened_on=on, happened_at=_instant(body.get("happened_at")),
        purpose=str(body.get("purpose", ConditionCheck.Purpose.ROUTINE)), stage=str(body.get("stage", "")),
        looks=_words(body.get("looks", {}), "looks"), seen=tuple(seen_of(row.get("id"), row) for row in seen),
        result=str(body.get("result", "")), note=str(body.get("note", "")), limits=str(body.get("limits", "")),
        wet=_flag(body, "wet"), unsecured_part=_flag(body, "unsecured_part"), no_treatment=_flag(body, "no_treatment"),
        screen=_words(body["screen"], "screen") if body.get("screen") else None,
        corrects=_uuid(body["corrects"], "corrects") if body.get("corrects") else None,
        stop=_uuid(body["stop"], "stop") if body.get("stop") else None,
    )  # fmt: skip


def seen_of(key: Any, fields: Mapping[str, Any]) -> Seen:
    """One observation from plain values. Raises Invalid."""
    if not fields.get("term"):
        raise Invalid(_("Say what you see: choose a word."), field="term")
    return Seen(
        id=_uuid(key, "id"), finding=_uuid(fields.get("finding"), "finding"), zone=ZoneKey.parse(str(fields.get("zone", ""))),
        term=str(fields["term"]), change=str(fields.get("change", "new")), material=str(fields.get("material", "")),
        percent=_decimal(fields.get("percent"), "percent"), size_mm=_decimal(fields.get("size_mm"), "size_mm"),
        severity=_whole(fields.get("severity"), "severity"), activity=_whole(fields.get("activity"), "activity"),
        side=str(fields.get("side", "")), hour=_whole(fields.get("hour"), "hour"), view=str(fields.get("view", "")),
        x=_point(fields.get("x")), y=_point(fields.get("y")), note=str(fields.get("note", "")),
    )  # fmt: skip


def _uuid(value: Any, field: str) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(_("'%(value)s' is not a key."), field=field, value=str(value)[:60]) from None


def _decimal(value: Any, field: str) -> Decimal | None:
    """A number as people write it: comma or point."""
    if value in (None, ""):
        return None
    try:
        number = Decimal(str(value).strip().replace(",", ".").removesuffix("%").strip())
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise Invalid(_("'%(value)s' is not a number."), field=field, value=str(value)[:60])
    return number.quantize(Decimal("0.01")) if field == "percent" else number.quantize(Decimal("0.1"))


def _whole(value: Any, field: str) -> int | None:
    if value in (None, ""):
        return None
    if isinstance(value, bool) or not str(value).isdigit():
        raise Invalid(_("'%(value)s' is not a whole number."), field=field, value=str(value)[:60])
    return int(str(value))


def _point(value: Any) -> float | None:
    """A place in the drawing, 0 to 400."""
    if value in (None, ""):
        return None
    number = _decimal(value, "x")
    assert number is not None
    if not 0 <= number <= 400:
        raise Invalid(_("A point lies in the drawing, from 0 to 400."), field="x")
    return float(number)


def _instant(value: Any) -> datetime | None:
    if value in (None, ""):
        return None
    try:
        instant = datetime.fromisoformat(str(value))
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise Invalid(_("An instant has a day, a time and a zone: 2026-11-25T09:12:00Z."), field="happened_at")
    return instant


def _words(value: Any, field: str) -> dict[str, str]:
    if not isinstance(value, dict) or not all(isinstance(item, str) for item in value.values()):
        raise Invalid(_("'%(name)s' maps names to words."), field=field, name=field)
    return dict(value)


def _flag(fields: Mapping[str, Any], name: str) -> bool:
    return fields.get(name) in TRUE
