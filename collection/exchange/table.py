"""The rows of an import as a table: each with what became of it, why, and its cells as they stood."""

import csv
import io
from collections.abc import Iterator

from django.utils.translation import gettext as _

from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.sentences import sentence
from collection.exchange.showing import why_of

#: with which a cell begins that a spreadsheet would carry out
_CARRIED_OUT = ("=", "+", "-", "@", "\t", "\r")


def table_of(session: ImportSession) -> io.BytesIO:
    """CSV in UTF-8 with a mark at its beginning, so that spreadsheets read its letters."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    headings = [session.way.heading_of(column) for column in range(max((len(row) for row in session.rows.values_list("cells", flat=True)), default=0))]
    writer.writerow([_("row"), _("outcome"), _("why"), _("number given"), _("thing"), *map(safe, headings)])
    for row in session.rows.select_related("object__card").order_by("n", "part").iterator(chunk_size=2_000):
        writer.writerow(map(safe, _cells(row)))
    return io.BytesIO(text.getvalue().encode("utf-8-sig"))


def _cells(row: ImportRow) -> Iterator[str]:
    card = getattr(row.object, "card", None) if row.object and not row.object.withdrawn else None
    asks = [sentence(one["code"], one["data"]) for one in row.findings if one["asks"]]
    notes = [sentence(one["code"], one["data"]) for one in row.findings if not one["asks"]]
    yield row.called
    yield str(row.get_outcome_display())
    yield " ".join([*asks, *([why_of(row)] if row.reason and not asks else []), *notes])
    yield card.number if card else ""
    yield str(row.object_id) if card else ""
    yield from row.cells


def safe(text: str) -> str:
    """The text, with an apostrophe before it where a spreadsheet would carry it out; a plain figure stays."""
    figure = text[1:].replace(".", "", 1).replace(",", "", 1)
    return f"'{text}" if text.startswith(_CARRIED_OUT) and not (text[0] in "+-" and figure.isdigit()) else text
