"""Every role at every address, by GET and by POST: the one permission table holds at each door."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from museum.ids import uuid7
from museum.people.models import Person
from museum.people.permissions import Role, roles_that_may
from tests import stock
from tests.conftest import cast

#: addresses that ask for nobody, with the reason
OPEN = {
    "people:sign_in": "this is where one signs in",
    "people:sign_out": "ends whatever there is",
    "people:second_factor": "the second half of signing in",
    "people:enrol": "before the second factor is shown nothing may be asked; whoever has no business here is sent to sign in",
    "people:enrol_picture": "as enrol",
    "people:who": "a shared tablet asks who is there",
    "web:styleguide": "shows no content of the house",
    "desk:feed": "the secret is in the address",
    "people:invited": "the secret is in the address; whoever comes has no account yet",
    "people:api_invited": "as people:invited",
}
NOT_ASKED = object()


@dataclass(frozen=True)
class Door:
    """One address: its name, its path with keys filled in, and the permission its view asks."""

    name: str
    path: str
    permission: Any


def patterns(resolver: URLResolver, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from patterns(entry, f"{entry.namespace}:" if entry.namespace else space)
        else:
            yield f"{space}{entry.name}", entry


def filled(pattern: URLPattern, object_id: str) -> str:
    """The path with a real thing's key where one is meant, and keys of nothing elsewhere."""
    values = {"str": "x", "path": "x", "slug": "fire", "int": "480"}
    path = str(pattern.pattern)
    for name, converter in pattern.pattern.converters.items():
        kind = type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        value = object_id if name == "object_id" else str(uuid7()) if kind == "uuid" else values[kind]
        path = path.replace(f"<{kind}:{name}>", value)
    return f"/{path}"


def permission_of(view: Any) -> Any:
    if (api := getattr(view, "cls", None)) is not None:
        return api.permission_classes[0].permission if api.permission_classes else NOT_ASKED
    return getattr(view, "permission", NOT_ASKED)


def doors(object_id: str) -> list[Door]:
    return [Door(name, filled(found, object_id), permission_of(found.callback)) for name, found in patterns(get_resolver())]


def test_every_address_asks_or_says_why_not() -> None:
    unasked = {door.name for door in doors("x") if door.permission is NOT_ASKED}
    assert unasked <= set(OPEN), f"these ask for nobody: {sorted(unasked - set(OPEN))}"


@pytest.mark.django_db
@pytest.mark.parametrize("role", [None, *Role], ids=str)
def test_a_role_at_every_door(role: Role | None, society: Any, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    browser = as_person(cast("Somebody", role)) if role else Client()
    browser.raise_request_exception = True
    wrong = []
    for door in doors(str(thing.pk)):
        if door.permission is NOT_ASKED or door.name == "people:sign_out":
            continue
        may = role is not None and (door.permission is None or role in roles_that_may(door.permission))
        for answer in (browser.get(door.path), browser.post(door.path, content_type="application/json", data="{}")):
            if not _right(answer, role, may):
                wrong.append((door.name, answer.request["REQUEST_METHOD"], answer.status_code))
    assert not wrong


def _right(answer: Any, role: Role | None, may: bool) -> bool:
    """405 tells of the method only; who may not is turned away; who may is never sent to sign in."""
    to_sign_in = answer.status_code == 302 and answer["Location"].startswith(("/sign-in/", "/who/"))
    if answer.status_code == 405:
        return True
    if role is None:
        return to_sign_in or answer.status_code == 401
    if not may:
        return answer.status_code in (403, 404)
    return not to_sign_in and answer.status_code not in (401, 500)


@pytest.mark.django_db
def test_the_ways_through_the_house_are_on_every_page(registrar: Person, as_person: Callable[[Person], Client]) -> None:
    browser, thing = as_person(registrar), stock.helmet()
    _hall, _store, board = stock.shelf()
    for path in ("/", "/things/", f"/things/{thing.pk}/", f"/things/{thing.pk}/move/", f"/places/{board.pk}/", "/rounds/", "/papers/", "/import/"):
        page = browser.get(path).content.decode()
        assert page.split('class="mast-nav"')[1].split("</nav>")[0].count('<li><a href="/') == 5, path
