"""How many questions each page asks of the database, kept in query_counts.json so that a slower page shows in the diff.

Changed on purpose? Write the file anew and commit it: QUERY_COUNTS=write bin/test tests/desk/test_query_counts.py
"""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from locations.places.actions import move_object
from museum import clock
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
BASELINE = Path(__file__).with_name("query_counts.json")
#: a page asks no more than this
MOST = 12
#: the pages that ask more: to be brought down, and none to be added
ASK_MORE = {"today", "thing", "walk"}


def asked_by(client: Client, page: str) -> int:
    """Questions of the second visit: what is read once and kept is not counted."""
    client.get(page)
    with CaptureQueriesContext(connection) as asked:
        assert client.get(page).status_code == 200, page
    kinds = ("SELECT", "INSERT", "UPDATE", "DELETE", "WITH")
    words = [query["sql"].lstrip("\n (") for query in asked.captured_queries]
    return sum(1 for sql in words if sql.startswith(kinds) and "set_config" not in sql)


def test_pages_ask_what_the_baseline_says_whatever_the_size(registrar: Person, curator: Person, as_person: Callable[[Person], Client]) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    record_check(Actor.of(curator), stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT"), stock.seen(thing, "SH", "SCRATCH")))
    call_command("generate", "20", verbosity=0)
    round_ = make_round(Actor.of(curator), name="Cold store", due_by=clock.today(), walkers=[curator.pk])
    one = f"/things/{thing.pk}"
    pages = {
        "today": "/", "things": "/things/", "things_found": "/things/?q=helmet", "things_at": "/things/?place=Granary", "thing": f"{one}/",
        "edit": f"{one}/edit/", "parts": f"{one}/parts/", "dangers": f"{one}/dangers/", "photographs": f"{one}/photographs/", "move": f"{one}/move/",
        "walk": f"{one}/check/", "quick": f"{one}/look/", "due": "/rounds/due/", "rounds": "/rounds/", "round": f"/rounds/{round_.pk}/",
        "places": "/places/", "place": f"/places/{store.pk}/", "papers": "/papers/",
    }  # fmt: skip
    client = as_person(curator)
    found = {name: asked_by(client, page) for name, page in pages.items()}
    call_command("generate", "60", verbosity=0)
    assert {name: asked_by(client, page) for name, page in pages.items()} == found
    if os.environ.get("QUERY_COUNTS") == "write":
        BASELINE.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    assert found == json.loads(BASELINE.read_text(encoding="utf-8"))
    assert {name for name, n in found.items() if n > MOST} <= ASK_MORE
