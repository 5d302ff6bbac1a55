"""A question kept ready answers as its queryset does, whatever it is asked next."""

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from uuid import UUID

import pytest
from django.db import connection
from django.urls import get_resolver
from pytest_django.fixtures import DjangoAssertNumQueries

from collection.objects.models import Component, Kind, Object
from museum.ids import uuid7
from museum.people.models import Person, Society
from museum.people.permissions import Role
from museum.prepared import ANY_DAY, ANY_KEY, ANY_KEYS, Prepared
from tests import stock

OURS = ("collection.", "conservation.", "locations.", "museum.", "reports.")
REAL = {ANY_KEY: uuid7(), ANY_DAY: date(2026, 11, 26), ANY_KEYS: [uuid7(), uuid7()]}


def every() -> Iterator[tuple[str, Prepared[object]]]:
    for module in [name for name in sys.modules if name.startswith(OURS)]:
        for name, value in vars(sys.modules[module]).items():
            if isinstance(value, Prepared):
                yield f"{module}.{name}", value


@pytest.mark.django_db
def test_every_question_that_is_kept_ready_can_be_asked_and_takes_each_of_its_values() -> None:
    assert get_resolver().url_patterns, "the doors, and with them all that they ask, are loaded"
    found = dict(every())
    assert len(found) > 20
    for name, question in found.items():
        values = [REAL[tuple(one) if isinstance(one, list) else one] for one in question._examples]
        assert question(*values) == list(question._make(*values)), name


@pytest.mark.django_db
def test_rows_come_with_what_is_selected_with_them(society: Society) -> None:
    one, other = stock.helmet("1974.1.1"), stock.helmet("1974.1.2")
    ready = Prepared(lambda key: Object.objects.filter(pk=key).select_related("kind")[:1], ANY_KEY)
    for thing in (one, other, one):
        found = ready.first(thing.pk)
        assert found == thing
        assert found is not None
        assert found.kind == thing.kind
        assert found.kind.zones == Kind.objects.get(pk=thing.kind_id).zones
        assert found.created_on == thing.created_on
    assert ready.first(uuid7()) is None


@pytest.mark.django_db
def test_any_number_of_keys_is_one_statement(society: Society, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    things = [stock.helmet(f"1974.1.{n}").pk for n in range(1, 4)]
    parts = Prepared(lambda keys: Component.objects.filter(object__pk__any_of=keys).values_list("object_id", flat=True), ANY_KEYS)
    for some in (things[:1], things, []):
        with django_assert_num_queries(1):
            assert set(parts(some)) == set(some)


@pytest.mark.django_db
def test_what_is_annotated_is_there_too(curator: Person) -> None:
    people = Prepared(lambda key: Person.objects.with_roles().filter(pk=key)[:1], ANY_KEY)
    found = people.first(curator.pk)
    assert found is not None
    assert found.roles() == frozenset({Role.CURATOR})


@pytest.mark.django_db(transaction=True)
def test_another_thread_asks_on_its_own_connection(society: Society) -> None:
    thing = stock.helmet()
    ready: Prepared[UUID] = Prepared(lambda key: Object.objects.filter(pk=key).values_list("pk", flat=True), ANY_KEY)
    assert ready(thing.pk) == [thing.pk]

    def elsewhere() -> list[UUID]:
        try:
            return ready(thing.pk)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(elsewhere).result() == [thing.pk]


@pytest.mark.django_db
def test_an_example_that_the_statement_lacks_is_told() -> None:
    with pytest.raises(ValueError, match="not every example"):
        Prepared(lambda key: Object.objects.all(), ANY_KEY)(uuid7())
