"""One Chromium and one server for the browser tests of a worker, one small museum for each module."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import override_settings
from django.test.testcases import LiveServerThread
from playwright.sync_api import Browser, expect, sync_playwright

from collection.objects.models import Object
from locations.places.actions import make_place, move_object
from locations.places.models import Place
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person, Society
from museum.people.permissions import Role
from tests import stock
from tests.browser.kit import ARGUMENTS, CHROMIUM, PATIENCE_MS, Browsers, Watch
from tests.conftest import cast


def pytest_itemcollected(item: pytest.Item) -> None:
    item.add_marker(pytest.mark.browser)
    # So that the database of tests is made when none but these are asked for; see `_django_db_marker`.
    item.add_marker(pytest.mark.django_db)


@pytest.fixture(autouse=True)
def _django_db_marker() -> None:
    """No transaction that is rolled back: the server's threads would not see what stands in it."""


@pytest.fixture(autouse=True)
def _files_apart() -> None:
    """Files belong to the museum of the module here, see `museum`."""


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.fail("The browser tests need Debian's Chromium. An administrator installs it with: apt-get install --no-install-recommends chromium")
    # Playwright leaves an event loop in this thread, in which Django would refuse to ask the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture(scope="package")
def address(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """The program as it is served, files and compression included, at an address of this machine."""
    from museum.wsgi import application

    with django_db_blocker.unblock():
        server = LiveServerThread("localhost", static_handler=lambda _inner: application)
        server.daemon = True
        server.start()
        server.is_ready.wait()
        if server.error:
            raise server.error
        yield f"http://localhost:{server.port}"
        server.terminate()
        connection.close()


@dataclass(frozen=True)
class Museum:
    """The house that a module's tests share."""

    marit: Person  #: a volunteer
    bo: Person  #: another volunteer
    ivo: Person  #: a curator
    nell: Person  #: a registrar
    tove: Person  #: a reader
    oda: Person  #: an administrator
    store: Place
    shelf: Place
    other_shelf: Place
    helmet: Object

    def another(self, number: str, **more: Any) -> Object:
        """One more helmet, on the shelf; a test that changes things takes its own."""
        thing = stock.helmet(number, **more)
        move_object(PROGRAM, thing.pk, place_id=self.shelf.pk)
        return thing


def furnished() -> Museum:
    Society.objects.create(
        id=Society.KEY, name="Tallowick Rescue Heritage Society", short_name="Tallowick Rescue",
        address="The Hose Tower, Tallowick", email="store@example.org",
    )  # fmt: skip
    _hall, store, shelf = stock.shelf()
    other = make_place(PROGRAM, place_id=uuid7(), level="shelf", code="H-S-2", name="Shelf 2", parent_id=store.pk)
    helmet = stock.helmet()
    move_object(PROGRAM, helmet.pk, place_id=shelf.pk)
    return Museum(
        marit=cast("Marit", Role.VOLUNTEER), bo=cast("Bo", Role.VOLUNTEER), ivo=cast("Ivo", Role.CURATOR), nell=cast("Nell", Role.REGISTRAR),
        tove=cast("Tove", Role.READER, kind="trustee"), oda=cast("Oda", Role.ADMINISTRATOR),
        store=store, shelf=shelf, other_shelf=other, helmet=helmet,
    )  # fmt: skip


@pytest.fixture(scope="module")
def museum(address: str, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Museum]:
    folder = tmp_path_factory.mktemp("museum")
    with django_db_blocker.unblock(), override_settings(SECOND_FACTOR=False, VAR_DIR=folder, FILES_DIR=folder / "files"):
        yield furnished()
        call_command("flush", verbosity=0, interactive=False, reset_sequences=False, allow_cascade=False, inhibit_post_migrate=True)


@pytest.fixture
def browsers(chromium: Browser, address: str, museum: Museum) -> Iterator[Browsers]:
    """Opens browsers and says at the end what they met."""
    watch = Watch(address)
    opened = Browsers(chromium, watch)
    yield opened
    opened.close()
    assert not watch.problems
