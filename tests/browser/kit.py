"""A browser as a test holds it: what to watch while it runs, and a hand that counts its taps."""

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Locator, Page, Request, Response, WebError

from museum.people.models import Person

CHROMIUM: Final = Path("/usr/bin/chromium")
ARGUMENTS: Final = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE: Final[dict[str, Any]] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
DESK: Final[dict[str, Any]] = {"viewport": {"width": 1280, "height": 800}}
#: a busy machine is no failure
PATIENCE_MS: Final = 20_000
#: what the browser says of an answer that is not 2xx; the answers themselves are watched
OF_ANSWERS: Final = re.compile(r"Failed to load resource: (the server responded with a status of|net::ERR_(FAILED|INTERNET_DISCONNECTED))")


@dataclass
class Watch:
    """Whatever a browser met that no page of the program may cause."""

    address: str
    problems: list[str] = field(default_factory=list)

    def over(self, context: BrowserContext) -> None:
        context.on("console", self._console)
        context.on("weberror", self._thrown)
        context.on("request", self._request)
        context.on("response", self._response)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error" and not OF_ANSWERS.match(message.text):
            self.problems.append(f"console: {message.text}")

    def _thrown(self, error: WebError) -> None:
        self.problems.append(f"thrown: {error.error}")

    def _request(self, request: Request) -> None:
        if not request.url.startswith((self.address, "data:", "blob:", "about:")):
            self.problems.append(f"third party: {request.url}")

    def _response(self, response: Response) -> None:
        # A page may say that something is not there or not right; a file that a page needs may not be missing.
        page = response.request.resource_type in ("document", "fetch")
        if response.status >= 500 or (response.status >= 400 and not page):
            self.problems.append(f"{response.status}: {response.url}")


@dataclass
class Browsers:
    """Opens browsers: each its own device, signed in or not, watched until the test ends."""

    chromium: Browser
    watch: Watch
    contexts: list[BrowserContext] = field(default_factory=list)

    def device(self, person: Person | None = None, device: dict[str, Any] = PHONE, **options: Any) -> BrowserContext:
        context = self.chromium.new_context(base_url=self.watch.address, locale="en-GB", **{**device, **options})
        context.set_default_timeout(PATIENCE_MS)
        self.contexts.append(context)
        self.watch.over(context)
        if person is not None:
            sign_in(context, person, self.watch.address)
        return context

    def page(self, person: Person | None = None, device: dict[str, Any] = PHONE, **options: Any) -> Page:
        return self.device(person, device, **options).new_page()

    def close(self) -> None:
        for context in self.contexts:
            context.close()


def sign_in(context: BrowserContext, person: Person, address: str) -> None:
    """Signs in without typing: the session is made on the server, its cookie given to the browser."""
    client = Client()
    client.force_login(person, backend="museum.people.backends.ByPassword")
    name = settings.SESSION_COOKIE_NAME
    context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": address}])


@dataclass
class Hand:
    """One thumb: every touch counts, as does every key that is not needed."""

    page: Page
    taps: int = 0

    def tap(self, what: Locator) -> None:
        what.tap()
        self.taps += 1


def ready(page: Page) -> Page:
    """Waits until the scripts of the page have run."""
    page.locator("body[data-ready]:not(:has([data-walk]:not([data-ready])))").wait_for()
    return page
