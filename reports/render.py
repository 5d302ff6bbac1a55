"""From data to PDF: PDF/A-3a, tagged, bundled fonts, the data attached.

Only the worker imports this module, and only one document is rendered at a time in a process: two at
once may crash it. What is rendered takes nothing from outside the house, and a picture that is missing
fails the document rather than leave a hole in it.
"""

import logging
import re
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from io import BytesIO
from typing import Any, Final

import segno
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _
from PIL import Image
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from collection.objects.actions.photographs import derivative_path
from collection.objects.models import Derivative
from collection.objects.photos import WIDTHS, smaller
from museum.errors import DomainError
from museum.history.chain import canonical_json
from museum.papers.files import open_file, path_of
from museum.papers.models import StoredFile
from museum.papers.templatetags.hashes import grouped
from museum.people.models import Society
from reports.drawn import titled
from reports.pictures import for_paper

VARIANT: Final = "pdf/a-3a"
#: spaces with which a block ends: never seen, yet the renderer breaks lines by them and leaves a short word alone on its line
ENDS_WITH_SPACE: Final = re.compile(r"\s+((?:</(?:b|i|em|strong|span)>\s*)*</(?:p|li|t[dh]|d[dt]|h\d|div|(?:fig)?caption)>)")
_one_at_a_time = threading.Lock()


class PictureMissing(DomainError):
    """A picture that belongs on the paper cannot be read."""

    code = "picture_missing"
    template = _(
        "The paper was not made: the picture %(name)s cannot be read. Nothing was issued and no number was used. "
        "Tell the keeper of the computer; or take the picture off the record, and issue the paper again."
    )


class RenderFault(Exception):
    """The template or the style has a fault: WeasyPrint warned of something."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """What stands on a paper besides its data."""

    number: str
    data_hash: str
    title: str
    version: str
    issued_at: datetime
    issued_by: str
    issued_to: str
    supersedes: str
    address: str
    society: Society

    @property
    def short_hash(self) -> str:
        """The first sixteen digits, in groups."""
        return grouped(self.data_hash[:16])

    @property
    def whole_hash(self) -> str:
        """All sixty-four, in groups."""
        return grouped(self.data_hash)

    @property
    def code(self) -> SafeString:
        """The code that leads back to the record of the paper."""
        drawn: str = segno.make(self.address, error="m", micro=False).svg_inline(scale=1, border=0, omitsize=True)
        title = _("Code to the record of this paper: %(address)s") % {"address": self.address}
        return titled(drawn, str(title))


def render(template: str, data: Mapping[str, Any], envelope: Envelope) -> bytes:
    """The document as bytes; the same data in the same envelope gives the same bytes."""
    context = {"data": data, "envelope": envelope, "language": get_language()}
    attached = Attachment(
        string=canonical_json(data), name=f"{envelope.number}.json", relationship="Data",
        description=str(_("What this paper was made from")), created=envelope.issued_at, modified=envelope.issued_at,
    )  # fmt: skip
    with _strictly():
        page = HTML(string=_worded(template, context), url_fetcher=House(), base_url="house:")
        made: bytes = page.write_pdf(
            pdf_variant=VARIANT, attachments=[attached], stylesheets=[_style()], font_config=_fonts(),
            pdf_identifier=envelope.data_hash[:32].encode(),
        )  # fmt: skip
    return made


def render_plain(template: str, context: Mapping[str, Any]) -> bytes:
    """A page without envelope, tags and attachment, to be laid over another."""
    with _strictly():
        page = HTML(
            string=_worded(template, {**context, "language": get_language()}),
            url_fetcher=House(),
            base_url="house:",
        )
        made: bytes = page.write_pdf(stylesheets=[_style()], font_config=_fonts())
    return made


def render_sheets(template: str, context: Mapping[str, Any], style: str, size: str) -> bytes:
    """Pages of their own size and style, such as labels: `style` is a file of ours, `size` the rule of the page."""
    with _strictly():
        page = HTML(string=_worded(template, {**context, "language": get_language()}), url_fetcher=House(), base_url="house:")
        styles = [_style(), CSS(url=f"house:{style}", url_fetcher=House(), font_config=_fonts()), CSS(string=size)]
        made: bytes = page.write_pdf(stylesheets=styles, font_config=_fonts())
    return made


def _worded(template: str, context: Mapping[str, Any]) -> str:
    return ENDS_WITH_SPACE.sub(r"\1", render_to_string(template, context))


@cache
def _fonts() -> FontConfiguration:
    """One for the process: faster, and the safe way."""
    return FontConfiguration()


@cache
def _style() -> CSS:
    return CSS(url="house:reports/print.css", url_fetcher=House(), font_config=_fonts())


class House(URLFetcher):  # type: ignore[misc]
    """Knows the program's own static files (house:), stored pictures (stored:) and the smaller ones that pages show (smaller:), and nothing else."""

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        """The bytes; anything else ends the rendering."""
        scheme, _colon, rest = url.partition(":")
        try:
            if scheme == "house":
                return URLFetcherResponse(url, _static(rest))
            if scheme == "smaller":
                return URLFetcherResponse(url, _smaller(rest), {"Content-Type": "image/jpeg"})
            if scheme == "stored":
                return URLFetcherResponse(url, _picture(rest), {"Content-Type": "image/jpeg"})
        except PictureMissing as error:
            raise _Ended(error) from error
        raise _Ended(RenderFault(f"the paper asks for {scheme}: from outside the house"))


class _Ended(FatalURLFetchingError):  # type: ignore[misc]
    """Carries our error through WeasyPrint, which swallows others."""

    def __init__(self, error: Exception) -> None:
        self.error = error
        super().__init__(str(error))


def _static(name: str) -> BytesIO:
    try:
        path = finders.find(name)
    except SuspiciousFileOperation:
        path = None
    if not isinstance(path, str):
        raise _Ended(RenderFault(f"there is no static file {name}"))
    with open(path, "rb") as opened:
        return BytesIO(opened.read())


def _picture(code: str) -> bytes:
    stored = StoredFile.objects.filter(sha256=code).first()
    if stored is None:
        raise PictureMissing(name=code[:12])
    try:
        return for_paper(path_of(stored))
    except (OSError, Image.DecompressionBombError) as error:
        raise PictureMissing(name=stored.name) from error


def _smaller(code: str) -> bytes:
    """The smaller picture on which zones were drawn; made again where it is not on the disk, with the same bytes."""
    row = Derivative.objects.filter(photograph__file__sha256=code, width=max(WIDTHS)).first()
    if row is not None and derivative_path(row).exists():
        return derivative_path(row).read_bytes()
    stored = StoredFile.objects.filter(sha256=code).first()
    if stored is None:
        raise PictureMissing(name=code[:12])
    try:
        with open_file(stored) as original:
            return next(data for _width, _height, data in smaller(original))
    except (OSError, Image.DecompressionBombError) as error:
        raise PictureMissing(name=stored.name) from error


@contextmanager
def _strictly() -> Iterator[None]:
    """One render at a time; whatever the renderer warns of fails it."""
    logger, heard = logging.getLogger("weasyprint"), _Heard()
    with _one_at_a_time:
        logger.addHandler(heard)
        try:
            yield
        except _Ended as ended:
            raise ended.error from ended
        finally:
            logger.removeHandler(heard)
    if heard.warnings:
        raise RenderFault("; ".join(heard.warnings))


class _Heard(logging.Handler):
    """Listens to warnings."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.warnings: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.warnings.append(record.getMessage())
