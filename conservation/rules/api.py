"""The rules for programs: what counts, what was shipped, and a curator's change."""

from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from conservation.rules import showing
from conservation.rules.actions import change_rule, return_to_shipped
from conservation.rules.book import current
from conservation.rules.changes import latest
from conservation.rules.every import TABLES
from conservation.rules.ruleset import rules_in_force
from museum.errors import Invalid
from museum.people.doors import Needs, actor_of, body_of


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see_all")])
def rules(request: Request) -> Response:
    """The version that a judgement of now would store, and the tables there are."""
    return Response({"version": rules_in_force().version, "tables": list(TABLES)})


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see_all")])
def table(request: Request, table: str) -> Response:
    """Code to {"content", "shipped", "version"} of a table; version 0 = the society never changed it."""
    shipped = showing.table_named(table).shipped()
    versions = {row.code: row.version for row in latest() if row.table == table}
    rows = current().rows(table)
    return Response({"rows": {code: {"content": rows[code], "shipped": shipped.get(code), "version": versions.get(code, 0)} for code in rows}})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("rules.change")])
def change(request: Request, table: str, row_code: str) -> Response:
    """{"id", "version", "reason", "content", "source"}, or "return": true instead of content: the shipped row counts again."""
    body = body_of(request)
    try:
        by = actor_of(request).keyed(UUID(str(body.get("id"))))
    except ValueError:
        raise Invalid(field="id") from None
    version, reason = body.get("version"), str(body.get("reason", ""))
    if not isinstance(version, int):
        raise Invalid(field="version")
    if body.get("return") is True:
        made = return_to_shipped(by, table, row_code, reason=reason, version=version)
    else:
        made = change_rule(by, table, row_code, body.get("content"), reason=reason, version=version, source=str(body.get("source", "")))
    return Response({"table": table, "code": row_code, "version": made.version, "content": made.content}, status=201)
