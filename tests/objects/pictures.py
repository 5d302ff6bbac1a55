"""Photographs and what only pretends to be one, made for the tests."""

import io
import struct
import zlib
from typing import Any

from PIL import Image

from collection.objects.photos import Upload

#: degrees, minutes, seconds of no real society's store
POSITION = {1: "N", 2: (54.0, 31.0, 12.5), 3: "W", 4: (1.0, 2.0, 3.0)}
TAKEN = "2025:03:05 14:20:00"


def picture(size: tuple[int, int] = (640, 480), mode: str = "RGB") -> Image.Image:
    """Dark red on the left, pale on the right: so one sees how it was turned."""
    image = Image.new("RGB", size, "#8e2c1a")
    image.paste("#e8e4d8", (size[0] // 2, 0, *size))
    return image.convert(mode)


def made(form: str = "JPEG", image: Image.Image | None = None, *, orientation: int = 0, position: bool = False, taken: str = "", **options: Any) -> bytes:
    """A photograph as bytes, with what a camera writes into it."""
    notes = Image.Exif()
    if orientation:
        notes[0x0112] = orientation
    if taken:
        notes.get_ifd(0x8769)[0x9003] = taken
    if position:
        notes.get_ifd(0x8825).update(POSITION)
    out = io.BytesIO()
    (image or picture()).save(out, form, exif=notes, **options)
    return out.getvalue()


def sent(data: bytes, name: str = "front.jpg") -> Upload:
    return Upload.of(io.BytesIO(data), name)


def png_that_says(width: int, height: int) -> bytes:
    """A few bytes that call themselves an enormous picture."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")


def png_with_swollen_text() -> bytes:
    """A small picture with a remark that unfolds to 200 MB."""
    whole = made("PNG", picture((20, 20)))
    body = b"remark\0\0" + zlib.compress(b"\0" * 200_000_000, 9)
    text = struct.pack(">I", len(body)) + b"zTXt" + body + struct.pack(">I", zlib.crc32(b"zTXt" + body))
    return whole[:33] + text + whole[33:]


ZIP = b"PK\x03\x04" + b"\0" * 26 + b"a.txt" + b"PK\x01\x02" + b"\0" * 42 + b"PK\x05\x06" + b"\0" * 18
