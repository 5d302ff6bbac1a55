"""Museums of a size, each in a database of its own, made once a run by the program's own commands."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from io import StringIO

from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper


@contextmanager
def museum_of(objects: int) -> Iterator[None]:
    """Meanwhile the program works on the museum of that many generated objects. Changing costs no connection."""
    before = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = _filled(objects)
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS] = before


@cache
def _filled(objects: int) -> BaseDatabaseWrapper:
    name = f"bench_{objects}"
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name}")
    own = connections.create_connection(DEFAULT_DB_ALIAS)
    own.settings_dict = own.settings_dict | {"NAME": name, "CONN_MAX_AGE": None}
    before = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = own
    try:
        for command in (["prepare"], ["first_administrator"], ["generate", str(objects)]):
            call_command(*command, stdout=StringIO())
        with own.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")
    finally:
        connections[DEFAULT_DB_ALIAS] = before
    return own
