"""Labels as a PDF. The worker's side: nothing but its tasks may import this."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from reports.drawn import titled
from reports.labels.codes import code_of
from reports.labels.content import Label
from reports.labels.stock import Line, Stock, cells, lines_of
from reports.render import render_sheets


@dataclass(frozen=True, slots=True)
class Placed:
    """A label where it lies on its page."""

    left: float
    top: float
    lines: Sequence[Line]
    code: SafeString


def set_labels(stock: Stock, labels: Sequence[Label], start: int) -> bytes:
    """One PDF: sheets from label `start` of the first on, or a page for each label of a roll."""
    pages: list[list[Placed]] = []
    for label, (page, left, top) in zip(labels, cells(stock, start, len(labels)), strict=True):
        while len(pages) <= page:
            pages.append([])
        pages[page].append(Placed(left, top, lines_of(stock, label.words), _drawn(stock, label)))
    wide, high = stock.page
    size = f"@page {{ size: {wide}mm {high}mm; margin: 0; }}"
    return render_sheets("reports/labels.html", {"stock": stock, "pages": pages}, "reports/labels.css", size)


def _drawn(stock: Stock, label: Label) -> SafeString:
    if not stock.qr:
        return SafeString("")
    drawn: str = code_of(label.code).svg_inline(scale=1, border=0, omitsize=True)
    return titled(drawn, _("Code of %(number)s") % {"number": label.words.number})
