"""Facts stay as they were written: by trigger for everybody, by missing rights for the program."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.utils import IntegrityError, ProgrammingError

from museum.history import guard
from museum.history.models import Change
from museum.history.verify import verify
from museum.people import actions
from museum.people.actor import Actor
from museum.people.models import Person

pytestmark = pytest.mark.django_db
#: a column of the key of every table of facts
KEYS = {model._meta.db_table: model._meta.pk_fields[0].column for model in apps.get_models()}


@contextmanager
def as_owner() -> Iterator[None]:
    """The role that owns the tables."""
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"SET ROLE {guard.PROGRAM_ROLE}")


def run(sql: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


def tables() -> list[str]:
    return guard.append_only_tables()


def test_acts_changes_and_role_facts_are_guarded() -> None:
    assert {"history_act", "history_change", "history_about", "people_rolefact"} <= set(tables())


@pytest.mark.parametrize("change", ["UPDATE {table} SET {key} = {key}", "DELETE FROM {table}", "TRUNCATE {table} CASCADE"])
def test_the_program_may_not_change_any_fact(change: str) -> None:
    for table in tables():
        with pytest.raises(ProgrammingError, match="permission denied"):
            run(change.format(table=table, key=KEYS[table]))


@pytest.mark.parametrize("table", ["history_act", "history_change", "history_about", "people_rolefact"])
def test_the_trigger_refuses_the_owner_too(volunteer: Person, curator: Person, administrator: Person, table: str) -> None:
    actions.give_role(Actor.of(administrator), volunteer.id, "curator")
    column = KEYS[table]
    run("SET CONSTRAINTS ALL IMMEDIATE")
    with as_owner():
        for sql in (f"UPDATE {table} SET {column} = {column}", f"DELETE FROM {table}", f"TRUNCATE {table} CASCADE"):
            with pytest.raises(IntegrityError, match="never changed or removed"):
                run(sql)


@pytest.mark.parametrize(
    "sql",
    [
        "ALTER TABLE history_change DISABLE TRIGGER facts_stay",
        "ALTER TABLE history_change DISABLE TRIGGER ALL",
        "DROP TRIGGER facts_stay ON history_change",
        "SET session_replication_role = replica",
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN OLD; END $$",
    ],
)
def test_the_program_cannot_switch_the_guard_off(sql: str) -> None:
    with pytest.raises(ProgrammingError, match=r"must be owner|permission denied"):
        run(sql)


def tamper(sql: str) -> None:
    """What somebody with the whole database in hand could do."""
    with as_owner():
        run(f"SET session_replication_role = replica; {sql}; SET session_replication_role = origin")


def three_entries(administrator: Person, volunteer: Person) -> list[int]:
    actor = Actor.of(administrator)
    for role in ("curator", "registrar", "administrator"):
        actions.give_role(actor, volunteer.id, role)
    return list(Change.objects.order_by("n").values_list("n", flat=True))


def test_a_whole_chain_is_said_to_be_whole(administrator: Person, volunteer: Person, capsys: pytest.CaptureFixture[str]) -> None:
    assert three_entries(administrator, volunteer) == [1, 2, 3]
    call_command("check_history")
    assert "whole: 3 entries" in capsys.readouterr().out


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE history_change SET reason = 'another' WHERE n = 2",
        "UPDATE history_change SET who = NULL WHERE n = 2",
        """UPDATE history_change SET after = '{"role": "reader"}' WHERE n = 2""",
        "UPDATE history_change SET at = at + interval '1 microsecond' WHERE n = 2",
        "DELETE FROM history_about WHERE change_id = 2; DELETE FROM history_change WHERE n = 2",
    ],
)
def test_the_first_broken_entry_is_named(administrator: Person, volunteer: Person, sql: str) -> None:
    three_entries(administrator, volunteer)
    tamper(sql)
    assert verify().broken_at == 2
    with pytest.raises(CommandError, match="broken at entry 2"):
        call_command("check_history")
