"""Photographs that a form sent: kept one by one; what is refused is said for each, the others are kept."""

from collections.abc import Sequence
from typing import Any, BinaryIO, cast

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest
from django.utils.translation import ngettext

from collection.objects.actions.photographs import Subject, add_photograph
from collection.objects.photos import Upload
from museum.delivery import plain_name
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.doors import actor_of


def take_photographs(request: HttpRequest, shows: Sequence[Subject], *, view: str = "", caption: str = "") -> int:
    """Keeps the files under `photo` as photographs of these; answers how many."""
    taken = 0
    for sent in request.FILES.getlist("photo"):
        try:
            add_photograph(actor_of(request), uuid7(), upload_of(sent), shows=shows, view=view, caption=caption)
        except Invalid as refused:
            messages.error(request, refused.sentence)
        else:
            taken += 1
    if taken:
        messages.success(request, ngettext("%(n)d photograph is kept.", "%(n)d photographs are kept.", taken) % {"n": taken})
    return taken


def upload_of(sent: "UploadedFile[Any]") -> Upload:
    """A file of a request. Raises the refusals of `Upload.of`."""
    return Upload.of(cast(BinaryIO, sent.file), plain_name(sent.name or ""))
