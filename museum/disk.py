"""Bytes onto the disk so that they are there after a power cut: synced, then renamed, folders synced too."""

import hashlib
import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

PIECE: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class Written:
    """A temporary file whose bytes are on the disk."""

    path: Path
    sha256: str
    size: int


def write_synced(data: bytes | BinaryIO, folder: Path) -> Written:
    """Copies the bytes into a new file in the folder and waits until the disk has them."""
    make_folder(folder)
    handle, name = tempfile.mkstemp(dir=folder, prefix=".", suffix=".part")
    code, size = hashlib.sha256(), 0
    try:
        with os.fdopen(handle, "wb") as out:
            for piece in _pieces(data):
                code.update(piece)
                size += len(piece)
                out.write(piece)
            out.flush()
            os.fsync(out.fileno())
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return Written(Path(name), code.hexdigest(), size)


def settle(written: Written, path: Path) -> None:
    """Gives the file its lasting name; a power cut leaves the old state or the new, nothing between."""
    make_folder(path.parent)
    written.path.replace(path)
    sync_folder(path.parent)


def make_folder(folder: Path) -> None:
    """Makes the folder and those above it, each known to the disk before the next."""
    missing = [folder, *folder.parents]
    for one in reversed([part for part in missing if not part.exists()]):
        one.mkdir(exist_ok=True)
        sync_folder(one.parent)


def sync_folder(folder: Path) -> None:
    """Waits until the disk has the folder's list of names."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _pieces(data: bytes | BinaryIO) -> Iterator[bytes]:
    if isinstance(data, bytes):
        yield data
        return
    data.seek(0)
    while piece := data.read(PIECE):
        yield piece
