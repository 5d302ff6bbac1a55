"""A reprint: the frozen file with a line on every page that says that it is a copy, by whom and when."""

from io import BytesIO
from typing import Final

from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject

from museum import clock
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper
from reports.render import render_plain

#: for readers by ear the stamp is no part of the text that is read page by page
BEGIN: Final = b"/Artifact BMC\n"
END: Final = b"\nEMC"


def reprinted(paper: IssuedPaper, by: str) -> bytes:
    """The copy. Text, tags, metadata, colour and attachment stay those of the frozen file."""
    stamp = PdfReader(BytesIO(render_plain("reports/stamp.html", {"paper": paper, "by": by, "at": clock.now()}))).pages[0]
    content = DecodedStreamObject()
    content.set_data(BEGIN + stamp.get_contents().get_data() + END)  # type: ignore[union-attr]
    stamp[NameObject("/Contents")] = content
    with open_file(paper.file) as original:
        writer = PdfWriter(clone_from=original)
    for page in writer.pages:
        page.merge_page(stamp)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()
