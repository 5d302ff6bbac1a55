"""Lines of a paper are as full as they can be: what stands in a cell of a template on a line of its own does not leave a short word alone."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from reports import render

SAID = "\nDry but for 8 hours above 65 %, never a whole day on end.\n Much is not known.\n"


@pytest.mark.parametrize("cell", [SAID, f"<b>{SAID}</b>", f"\n<span>{SAID}</span>"])
def test_no_word_stands_alone_on_a_line_in_cells_of_any_width(cell: str, monkeypatch: pytest.MonkeyPatch) -> None:
    widths = [50 + n / 2 for n in range(80)]
    rows = "".join(f'<table class="laid" style="width:{width}mm"><tr><td>{cell}</td></tr></table>' for width in widths)
    monkeypatch.setattr(render, "render_to_string", lambda _template, _context: f"<html><body>{rows}</body></html>")
    pages = PdfReader(BytesIO(render.render_plain("reports/paper.html", {}))).pages
    lines = [line.strip() for page in pages for line in page.extract_text().splitlines() if line.strip()]
    assert len(lines) > 2 * len(widths)
    assert [line for line in lines if len(line) < 4] == []
