"""Stored files: bytes as they came, kept once under their SHA-256, on the disk before the row says so."""

import errno
import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.utils.translation import gettext_lazy as _

from museum.disk import settle, write_synced
from museum.errors import DomainError
from museum.papers.models import StoredFile
from museum.people.action import Act


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent, small enough to be held whole."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        """What it counts as among an action's content."""
        return hashlib.sha256(self.data).hexdigest()


class NotStored(DomainError):
    """The disk did not take the bytes."""

    code = "not_stored"
    status = 507
    template = _(
        "The file did not reach the server: its disk is full. Nothing of it was stored, and what you sent is still "
        "with you. Tell the keeper of the computer, then send it again."
    )


class FileLost(DomainError):
    """The row is there and the bytes are not: a restore without its files, or a broken disk."""

    code = "file_lost"
    status = 500
    template = _("The file %(name)s is not on the server's disk. Its record is kept. Tell the keeper of the computer: it is in the backup under %(sha256)s.")


def path_of(file: StoredFile | str) -> Path:
    """Where the bytes of a stored file lie; a text is taken as its SHA-256."""
    code = file if isinstance(file, str) else file.sha256
    if len(code) != 64 or not set(code) <= set("0123456789abcdef"):
        raise ValueError("not a SHA-256")
    return Path(settings.FILES_DIR) / code[:2] / code[2:4] / code


def open_file(file: StoredFile) -> BinaryIO:
    """The bytes, to read; FileLost if they are gone."""
    try:
        return path_of(file).open("rb")
    except FileNotFoundError:
        raise FileLost(name=file.name, sha256=file.sha256) from None


def store(act: Act, data: bytes | BinaryIO, *, name: str, media_type: str) -> StoredFile:
    """Keeps the bytes and answers their row; of the same bytes again, the first row under its first name."""
    with _disk_may_be_full():
        written = write_synced(data, Path(settings.FILES_DIR) / "incoming")
        settle(written, path_of(written.sha256))
    row = StoredFile(act_id=act.id, sha256=written.sha256, size=written.size, media_type=media_type, name=name, recorded_at=act.now)
    # Two at once: the second waits here for the first and then finds its row.
    StoredFile.objects.bulk_create([row], ignore_conflicts=True)
    stored = StoredFile.objects.get(sha256=written.sha256)
    if stored.pk == row.pk:
        act.wrote("file.stored", stored, after={"sha256": stored.sha256, "size": stored.size, "name": name})
    return stored


@contextmanager
def _disk_may_be_full() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            raise NotStored from error
        raise
