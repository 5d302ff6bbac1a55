"""Pages and the saving of a check: ours against the bare SQL that they need and the same template on plain values, and
at full size against a hundredth of it.

BENCH_OBJECTS sets the size, 100,000 unless it says otherwise.
"""

import os
import re
import time
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection, transaction
from django.template import Context
from django.template.context import make_context
from django.test import Client
from django.test.utils import CaptureQueriesContext

from collection.objects.models import Card, Object
from collection.objects.queries import Zone, zones_of
from collection.objects.views import lists
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import ConditionCheck
from conservation.checks.views import rounds
from conservation.rules.book import held
from museum import clock
from museum.desk import views as desk
from museum.history import chain
from museum.history.models import Change
from museum.history.record import CHAIN_LOCK
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests.bench import bare
from tests.bench.harness import Work, measure
from tests.bench.museums import museum_of

LARGE = int(os.environ.get("BENCH_OBJECTS", "100000"))
SMALL = max(100, LARGE // 100)
settings.SECOND_FACTOR = False
#: a key as a statement spells it
KEY = re.compile(r"\b[0-9a-f]{8}-?(?:[0-9a-f]{4}-?){3}[0-9a-f]{12}\b")
COMMON, RARE, PLACE = "helmet", "rivets dented vent", "Granary 1"
#: two words that fill a page in a small museum too: a page of fifty against a page of none would measure the fifty
FILLING = "harbour diver"


def in_museum(objects: int, work: Work) -> Work:
    """The work, done in the museum of that size."""

    def there() -> object:
        with museum_of(objects):
            return work()

    return there


@cache
def browser(objects: int) -> Client:
    """Somebody of that museum who may see and do everything, signed in."""
    with museum_of(objects):
        person = Person.objects.get(email="admin@example.org")
        store = SessionStore()
        store[SESSION_KEY], store[HASH_SESSION_KEY] = str(person.pk), person.get_session_auth_hash()
        store[BACKEND_SESSION_KEY] = "museum.people.backends.ByPassword"
        store.save()
    client = Client(headers={"host": "localhost"})
    client.cookies[settings.SESSION_COOKIE_NAME] = store.session_key or ""
    return client


def visit(objects: int, page: Callable[[], str]) -> Work:
    """A visit of a page; it must come."""
    with museum_of(objects):
        address = page()
    client = browser(objects)

    def get() -> object:
        answer = client.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address} answers {answer.status_code}")
        return answer

    return in_museum(objects, get)


def floor_of(objects: int, page: Callable[[], str], door: Any, asked: Callable[[str], Sequence[tuple[str, Sequence[Any]]]]) -> Work:
    """The page's own template on the values it had once, after the bare SQL that fetches as much."""
    with museum_of(objects):
        address = page()
        template, context = _shown(browser(objects), address, door)
        statements = [*bare.everybody(browser(objects).cookies[settings.SESSION_COOKIE_NAME].value), *asked(address)]

    def floor() -> object:
        with connection.cursor() as cursor:
            for sql, values in statements:
                cursor.execute(sql, values)
                cursor.fetchall()
        return template.render(Context(context))

    return in_museum(objects, floor)


def _shown(client: Client, address: str, door: Any) -> tuple[Any, dict[str, Any]]:
    """The template of a page with its values, all fetched: rendering it again asks nothing."""
    kept: list[tuple[Any, dict[str, Any]]] = []
    original = door.render

    def render(request: Any, name: str, context: dict[str, Any], **more: Any) -> Any:
        from django.template import loader

        template = loader.get_template(name).template
        bound = make_context({key: list(value) if hasattr(value, "query") else value for key, value in context.items()}, request)
        with bound.bind_template(template):
            kept.append((template, bound.flatten()))
        return original(request, name, context, **more)

    door.render = render
    try:
        client.get(address)
    finally:
        door.render = original
    template, values = kept[0]
    template.render(Context(values))
    with CaptureQueriesContext(connection) as asked:
        template.render(Context(values))
    if len(asked):
        raise RuntimeError(f"The floor of {address} asks the database while it renders: {asked.captured_queries[0]['sql']}")
    return template, values


def middle() -> Object:
    """A thing from the middle of the list that was checked twice."""
    rows = Card.objects.filter(object__condition_checks__isnull=False, photographs__gt=0, grade__gte=1).order_by("number_sort")
    return rows[rows.count() // 2].object


def thing() -> str:
    return f"/things/{middle().pk}/"


def listed() -> str:
    return "/things/"


def common() -> str:
    return f"/things/?q={COMMON}"


def several() -> str:
    return f"/things/?q={RARE.replace(' ', '+')}"


def filling() -> str:
    return f"/things/?q={FILLING.replace(' ', '+')}"


def numbered() -> str:
    return f"/things/?q={middle().card.number}"


def placed() -> str:
    return f"/things/?place={PLACE.replace(' ', '+')}"


def due() -> str:
    return "/rounds/due/"


PAGES: dict[str, tuple[Callable[[], str], Any, Callable[[str], Sequence[tuple[str, Sequence[Any]]]]]] = {
    "object_page": (thing, desk, lambda address: bare.thing(address.split("/")[2])),
    "list_page": (listed, lists, lambda _: bare.listed()),
    "search_box": (several, lists, lambda _: bare.found(RARE)),
    "search_number": (numbered, lists, lambda address: bare.found(address.split("=")[1])),
    "search_common": (common, lists, lambda _: bare.found(COMMON)),
    "search_place": (placed, lists, lambda _: bare.placed(PLACE)),
    "due_list": (due, rounds, lambda _: bare.due()),
}


#: where the small museum must show as much as the large one
GROWS: dict[str, Callable[[], str]] = {"search_box": filling}


def _register(name: str) -> None:
    page, door, asked = PAGES[name]
    grows = GROWS.get(name, page)
    measure(name, goal=2.0)(lambda: (visit(LARGE, page), floor_of(LARGE, page, door, asked)))
    measure(f"{name}_growth", goal=1.3)(lambda: (visit(LARGE, grows), visit(SMALL, grows)))


for _name in PAGES:
    _register(_name)


@measure("start_page_growth", goal=1.3)
def start_page_growth() -> tuple[Work, Work]:
    return visit(LARGE, lambda: "/"), visit(SMALL, lambda: "/")


# saving a check


def saver(objects: int) -> Work:
    """A full check with two findings, of the next thing in the list each time."""
    with museum_of(objects):
        actor = Actor.of(Person.objects.get(email="admin@example.org"))
        things = Object.objects.filter(condition_state__last_full__isnull=False).order_by("pk").select_related("kind")[:90]
        queue = iter([(thing, zones_of(thing)) for thing in things])
        return in_museum(objects, lambda: _saved_in_a_request(actor, *next(queue)))


def _saved_in_a_request(actor: Actor, thing: Object, zones: Sequence[Zone]) -> ConditionCheck:
    """As the door does it; the zones are known to whoever walked round the thing."""
    with held():
        return _save(actor, thing, zones)


def _save(actor: Actor, thing: Object, zones: Sequence[Zone]) -> ConditionCheck:
    seen = tuple(
        Seen(uuid7(), uuid7(), ZoneKey(zone.component_id, zone.code), "SCRATCH", "new", zone.materials[0] if zone.materials else "", bare.TWO, 1, 0)
        for zone in zones[:2]
    )
    looks = {zone.key: "findings" if n < len(seen) else "nothing" for n, zone in enumerate(zones)}
    entry = CheckEntry(id=uuid7(), object_id=thing.pk, sort="full", happened_on=clock.today(), happened_at=clock.now(), looks=looks, seen=seen)
    return record_check(actor.keyed(entry.id), entry)


def needed(objects: int) -> Work:
    """What one such saving has to read, each once, and what it writes with keys of its own, as bare statements under the chain's lock."""
    with museum_of(objects):
        actor = Actor.of(Person.objects.get(email="admin@example.org"))
        one = Object.objects.filter(condition_state__last_full__isnull=False).order_by("-pk").select_related("kind")[0]
        zones = zones_of(one)
        begun = uuid7().hex
        time.sleep(0.002)
        with CaptureQueriesContext(connection) as asked:
            _saved_in_a_request(actor, one, zones)
        n = Change.objects.order_by("-n").values_list("n", flat=True)[0]
        said = [row["sql"] for row in asked.captured_queries]
        reads = list(dict.fromkeys(sql for sql in said if sql.lstrip().startswith(("SELECT", "WITH")) and "advisory" not in sql))
        statements = [sql for sql in said if sql.startswith(("INSERT", "UPDATE", "DELETE"))]
        found = {found.replace("-", "") for sql in statements for found in KEY.findall(sql)}
        fresh = {key for key in found if key > begun}

    def floor() -> object:
        new = {key: uuid7().hex for key in fresh}
        with transaction.atomic(), connection.cursor() as cursor:
            for sql in reads:
                cursor.execute(sql)
                cursor.fetchall()
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CHAIN_LOCK])
            cursor.execute("SELECT n, hash FROM history_change ORDER BY n DESC LIMIT 1")
            head, previous = cursor.fetchone()
            chain.linked(previous, "{}")
            for sql in statements:
                own = KEY.sub(lambda found: new.get(found[0].replace("-", ""), found[0]), sql)
                cursor.execute(re.sub(rf"\b{n}\b", str(head + 1), own) if "history_" in sql else own)
        return head

    return in_museum(objects, floor)


@measure("check_save", goal=2.0)
def check_save() -> tuple[Work, Work]:
    return saver(LARGE), needed(LARGE)


@measure("check_save_growth", goal=1.3)
def check_save_growth() -> tuple[Work, Work]:
    return saver(LARGE), saver(SMALL)
