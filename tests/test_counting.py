"""Counting many sorts by one question: as many as each would count by itself."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.objects.models import Card, Kind, Object
from museum.counting import counted
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db


def test_each_counts_as_by_itself_and_all_are_one_question(registrar: Person, curator: Person) -> None:
    first = stock.helmet()
    stock.helmet("1974.12.5")
    rows = {
        "all": Object.objects.order_by("created_on"),
        "joined": Object.objects.filter(kind__in=Kind.objects.filter(code=first.kind.code)).select_related("card"),
        "one": Card.objects.filter(object=first),
        "cut": Person.objects.order_by("name")[:1],
        "none": Object.objects.none(),
        "no_match": Object.objects.filter(withdrawn="%s and 'quotes'"),
    }
    with CaptureQueriesContext(connection) as asked:
        found = counted(rows)
    assert len(asked) == 1
    assert found == {"all": 2, "joined": 2, "one": 1, "cut": 1, "none": 0, "no_match": 0}
    assert found == {name: len(one) for name, one in rows.items()}


def test_nothing_is_asked_where_nothing_can_be() -> None:
    with CaptureQueriesContext(connection) as asked:
        assert counted({"none": Object.objects.none()}) == {"none": 0}
        assert counted({}) == {}
    assert not len(asked)
