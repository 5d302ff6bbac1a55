"""What can be seen to be wrong with a page: axe, what overflows, what is too small to touch."""

from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Page

AXE: Final = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
TAGS: Final = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
#: in CSS pixels; the house asks for more than the 24 of WCAG 2.2 AA
TARGET: Final = 44
_RUN: Final = """async (only) => {
    const found = await axe.run(document, { runOnly: only, resultTypes: ['violations'] });
    return found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ') + ' ' + (node.any[0]?.message ?? '')).join(' | ')}`);
}"""
#: a link within a sentence is exempt, and what stands in a label that is large enough
_SMALL: Final = """(least) => [...document.querySelectorAll('a[href], button, select, summary, input:not([type=hidden]), textarea')].filter((one) => {
    const style = getComputedStyle(one);
    const inline = one.tagName === 'A' && style.display === 'inline' && one.closest('p, li, dd, td, th, figcaption, footer, label, .help');
    if (inline || style.visibility === 'hidden' || one.closest('[hidden], svg') || one.matches('.skip')) return false;
    const box = ((one.matches('input') && one.closest('label')) || one.querySelector('img') || one).getBoundingClientRect();
    return box.width > 0 && box.height > 0 && (box.height < least - 0.5 || box.width < least - 0.5);
}).map((one) => `${one.outerHTML.slice(0, 90)} ${Math.round(one.getBoundingClientRect().width)}x${Math.round(one.getBoundingClientRect().height)}`)"""
_WIDE: Final = """() => {
    const width = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= width) return [];
    return [...document.body.querySelectorAll('*')].filter((one) => one.getBoundingClientRect().right > width + 1)
        .slice(0, 5).map((one) => one.outerHTML.slice(0, 100));
}"""


def barriers(page: Page, *, contrast_only: bool = False) -> list[str]:
    """What axe finds on the page as it stands."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    only: dict[str, Any] = {"type": "rule", "values": ["color-contrast"]} if contrast_only else {"type": "tag", "values": TAGS}
    return list(page.evaluate(_RUN, only))


def too_small(page: Page) -> list[str]:
    """Controls that a thumb misses."""
    return list(page.evaluate(_SMALL, TARGET))


def too_wide(page: Page) -> list[str]:
    """What makes the page scroll sideways."""
    return list(page.evaluate(_WIDE))
