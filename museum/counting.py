"""How much there is of many sorts of things, by one question: a page that tells of twenty sorts, of which most days have three, reads those three."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import QuerySet


def counted(rows: Mapping[str, QuerySet[Any, Any]]) -> dict[str, int]:
    """Name to how many rows that queryset has; one cut short is counted to where it is cut."""
    asked: list[str] = []
    values: list[Any] = []
    for one in rows.values():
        try:
            sql, its = one.values("pk").query.sql_with_params()
        except EmptyResultSet:
            asked.append("0")
        else:
            asked.append(f"(SELECT count(*) FROM ({sql}) AS rows)")
            values += its
    if all(one == "0" for one in asked):
        return dict.fromkeys(rows, 0)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(asked)}", values)
        return dict(zip(rows, cursor.fetchone(), strict=True))
