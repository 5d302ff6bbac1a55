"""How fast and how heavy a page is on a slow phone: Chromium with the processor 4 times slower, 1.6 Mbit/s, 150 ms."""

import statistics
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from playwright.sync_api import BrowserContext, Page

SLOWER: Final = 4
LATENCY_MS: Final = 150
BYTES_A_SECOND: Final = 1_600_000 / 8
#: what the page itself tells: the largest paint, the shifts, the longest wait after a touch
_WATCH: Final = """
window.seen = { lcp: 0, cls: 0, inp: 0 };
const watch = (type, take, more) => new PerformanceObserver((list) => list.getEntries().forEach(take)).observe({ type, buffered: true, ...more });
watch('largest-contentful-paint', (one) => { seen.lcp = one.startTime; });
watch('layout-shift', (one) => { if (!one.hadRecentInput) seen.cls += one.value; });
watch('event', (one) => { if (one.interactionId) seen.inp = Math.max(seen.inp, one.duration); }, { durationThreshold: 16 });
"""


@dataclass
class Visit:
    """What one visit cost and how it felt. Seconds; bytes as they came over the line, heads included."""

    lcp: float = 0.0
    inp: float = 0.0
    cls: float = 0.0
    sizes: dict[str, int] = field(default_factory=dict)

    @property
    def bytes(self) -> int:
        return sum(self.sizes.values())

    def of(self, *ends: str) -> int:
        """Bytes of the files with these endings."""
        return sum(size for url, size in self.sizes.items() if url.split("?")[0].endswith(ends))

    @property
    def without_pictures(self) -> dict[str, int]:
        return {url: size for url, size in self.sizes.items() if "/photos/" not in url}


def slow(context: BrowserContext, page: Page) -> Any:
    """Makes the browser a slow phone on a slow line; answers the session by which it was told."""
    session = context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    line = {"offline": False, "latency": LATENCY_MS, "downloadThroughput": BYTES_A_SECOND, "uploadThroughput": BYTES_A_SECOND}
    session.send("Network.emulateNetworkConditions", line)
    return session


def visit(context: BrowserContext, path: str, touch: Callable[[Page], None] | None = None) -> Visit:
    """One visit in a new tab, with one touch once all is there."""
    seen, addresses = Visit(), {}
    page = context.new_page()
    page.add_init_script(_WATCH)
    session = slow(context, page)

    def answered(event: dict[str, Any]) -> None:
        addresses[event["requestId"]] = event["response"]["url"]

    def loaded(event: dict[str, Any]) -> None:
        if event["encodedDataLength"]:
            seen.sizes[addresses.get(event["requestId"], "?")] = int(event["encodedDataLength"])

    session.on("Network.responseReceived", answered)
    session.on("Network.loadingFinished", loaded)
    page.goto(path, wait_until="networkidle")
    page.wait_for_timeout(300)
    seen.lcp = page.evaluate("seen.lcp") / 1000
    seen.cls = page.evaluate("seen.cls")
    if touch is not None:
        touch(page)
        page.wait_for_timeout(400)
        seen.inp = page.evaluate("seen.inp") / 1000
    page.close()
    return seen


def median(visits: list[Visit], name: str) -> float:
    return statistics.median(getattr(one, name) for one in visits)
