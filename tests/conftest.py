"""The cast and the house that every test may use. The database is prepared as a real one is: guard, grants, words."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.db import connection
from django.db.backends.postgresql.operations import DatabaseOperations
from django.db.backends.signals import connection_created
from django.test import Client

from conservation.rules import book
from museum.history import guard
from museum.people.actor import Actor
from museum.people.models import Person, Society
from museum.people.permissions import Role

PASSWORD = "a lamp in the hose tower"

# How long one example takes is for benches to say; on a busy machine it says nothing.
hypothesis.settings.register_profile("house", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.load_profile("house")

#: while tests are gathered there is no database: the rules count as shipped
AS_SHIPPED = book.using(book.shipped_book())
AS_SHIPPED.__enter__()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--whole", action="store_true", help="run what is large by count in full, not as a sample")


def _flush_keeping_words(original: Callable[..., list[str]]) -> Callable[..., list[str]]:
    """Flushing empties facts too, which the triggers refuse, and would lose the shipped words."""

    def sql_flush(self: DatabaseOperations, style: Any, tables: list[str], **options: Any) -> list[str]:
        emptied = [table for table in tables if table not in kept_tables()]
        if not emptied:
            return []
        return [
            "RESET ROLE",
            "SET session_replication_role = replica",
            *(f"DELETE FROM {self.quote_name(table)}" for table in emptied),
            "SET session_replication_role = origin",
            f"SET ROLE {guard.PROGRAM_ROLE}",
        ]

    return sql_flush


def kept_tables() -> set[str]:
    """Tables of shipped words and of the framework, which stay between tests."""
    from django.apps import apps

    from museum.history.models import Word

    words = {model._meta.db_table for model in apps.get_models() if issubclass(model, Word)}
    return words | {"django_content_type", "auth_permission"}


def _take_program_role(sender: Any, connection: Any, **kwargs: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SET ROLE {guard.PROGRAM_ROLE}")


def _forget_history() -> None:
    """Each test begins with an empty history: what brought the words is forgotten, the words stay."""
    tables = ("history_personaltext", "history_about", "history_change", "history_act")
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE; SET session_replication_role = replica")
        for table in tables:
            cursor.execute(f"DELETE FROM {table}")
        cursor.execute("SET session_replication_role = origin")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Migrated by the owner; from then on every connection of the tests has the program's role only."""
    with django_db_blocker.unblock():
        guard.install(connection)
        DatabaseOperations.sql_flush = _flush_keeping_words(DatabaseOperations.sql_flush)  # type: ignore[method-assign]
        connection_created.connect(_take_program_role)
        connection.close()
        from museum.people.shipped import load_shipped_words

        load_shipped_words()
        _forget_history()
        connection.close()
    yield
    connection_created.disconnect(_take_program_role)


@pytest.fixture(autouse=True)
def _rules_that_count(request: pytest.FixtureRequest) -> Iterator[None]:
    """With a database, what stands there; without one, the rules as shipped."""
    stands = request.node.get_closest_marker("django_db") or {"db", "transactional_db", "django_db_setup"} & set(request.fixturenames)
    with book.using(None if stands else book.shipped_book()):
        yield


@pytest.fixture(autouse=True)
def _files_apart(settings: Any, tmp_path: Path) -> None:
    """Each test has its own folder for files."""
    settings.VAR_DIR = tmp_path
    settings.FILES_DIR = tmp_path / "files"


@pytest.fixture
def society(db: None) -> Society:
    return Society.objects.create(
        id=Society.KEY, name="Tallowick Rescue Heritage Society", short_name="Tallowick Rescue",
        address="The Hose Tower, Tallowick", email="store@example.org",
    )  # fmt: skip


def cast(name: str, *roles: Role, kind: str = "") -> Person:
    """A person of the cast with these roles, given by the first act of the house."""
    from museum.people.action import Act, action
    from museum.people.actor import PROGRAM
    from museum.people.models import RoleFact

    @action("tests.cast", may="people.manage")
    def join(act: Act) -> Person:
        person = Person(name=name, email=f"{name.lower()}@example.org")
        person.set_password(PASSWORD)
        person.save()
        for role in roles:
            RoleFact.objects.create(act_id=act.id, person=person, role=role.value, kind=kind)
        return person

    return join(PROGRAM)


@pytest.fixture
def volunteer(society: Society) -> Person:
    return cast("Marit", Role.VOLUNTEER)


@pytest.fixture
def curator(society: Society) -> Person:
    return cast("Ivo", Role.CURATOR)


@pytest.fixture
def registrar(society: Society) -> Person:
    return cast("Nell", Role.REGISTRAR)


@pytest.fixture
def reader(society: Society) -> Person:
    return cast("Tove", Role.READER, kind="trustee")


@pytest.fixture
def administrator(society: Society) -> Person:
    return cast("Oda", Role.ADMINISTRATOR)


@pytest.fixture
def actor_of() -> Callable[[Person], Actor]:
    return Actor.of


@pytest.fixture
def as_person(settings: Any) -> Callable[[Person], Client]:
    """A signed-in browser without scripts; the second factor has tests of its own."""
    settings.SECOND_FACTOR = False

    def signed_in(person: Person) -> Client:
        client = Client()
        client.force_login(person, backend="museum.people.backends.ByPassword")
        return client

    return signed_in
