"""Files on their way to a browser: always to be saved, never shown as a page of ours."""

import unicodedata
from typing import BinaryIO

from django.http import FileResponse


def attachment(data: BinaryIO, *, name: str, media_type: str) -> FileResponse:
    """An answer that is saved under this name, whatever stands in it."""
    response = FileResponse(data, as_attachment=True, filename=plain_name(name), content_type=media_type)
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["Cache-Control"] = "private, no-store"
    return response


def plain_name(name: str) -> str:
    """A file name without folders, line ends and other signs that a system may trip over."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = "".join(sign for sign in last if not unicodedata.category(sign).startswith("C"))
    return kept.strip(" .")[:150] or "file"
