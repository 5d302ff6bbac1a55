"""Pictures as files: which are taken, which refused and why, and the smaller ones made from them.

The original is kept byte for byte; a smaller picture is upright and carries nothing that a camera wrote into it. One picture is
unfolded at a time in a process. Most memory for one of 60 megapixels, as measured, besides its bytes: JPEG 0.15 GB, HEIC and progressive
JPEG 0.45 GB, PNG 0.5 GB, WebP 1 GB, whose library unfolds it whole; tests/objects/test_hostile_pictures.py holds it to that.
"""

import hashlib
import io
import re
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, BinaryIO, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

from museum import clock
from museum.errors import Invalid

try:
    import pillow_heif
except ImportError:
    pillow_heif = None  # type: ignore[assignment,unused-ignore]
else:
    pillow_heif.register_heif_opener(thumbnails=False)

MOST_BYTES: Final = 40 * 1024 * 1024
#: cameras said to have 60 megapixels have a few more
MOST_PIXELS: Final = 60_500_000
#: widths of the smaller pictures: for a list in the hand, for a whole page
WIDTHS: Final = (480, 1600)
QUALITY: Final = 82
#: a larger colour profile is not a camera's
MOST_PROFILE: Final = 16 * 1024
MEDIA_TYPES: Final = {"JPEG": "image/jpeg", "MPO": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "HEIF": "image/heic"}
SUFFIXES: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic"}

#: the standard views; their codes are lasting
VIEWS: Final[dict[str, Promise]] = {
    "V01": _("front"),
    "V02": _("back"),
    "V03": _("wearer’s right"),
    "V04": _("wearer’s left"),
    "V05": _("three-quarter front right"),
    "V06": _("three-quarter back left"),
    "V07": _("top"),
    "V08": _("interior, whole"),
    "V09": _("interior, raking light"),
    "V10": _("front plate square-on"),
    "V11": _("marks and labels"),
    "V12": _("strap and fittings"),
    "V13": _("detail of a finding with scale"),
    "V14": _("packed, each layer"),
}

# More than is taken is an error as soon as a file is opened, before anything of it is unfolded.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)

_one_at_a_time = threading.Lock()
#: long enough that the noise of a photograph of 40 MB holds none of them by chance (once in 100,000 at the most)
_SCRIPT = re.compile(rb"<script|<\?php\s|<html[\s>]|<!doctype", re.IGNORECASE)
_HEIC = re.compile(rb"....ftyp(heic|heix|heim|heis|hevc|mif1|msf1)", re.DOTALL)
#: a ZIP archive ends with this, followed by at most 64 KiB of remarks
_ZIP_END = b"PK\x05\x06\0\0\0\0"
_ZIP_TAIL = 65_557
_ORIENTATION, _CAMERA, _TAKEN, _OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
_ON_ITS_SIDE = (5, 6, 7, 8)
_FIRST_CAMERAS = datetime(1990, 1, 1, tzinfo=UTC)


class Empty(Invalid):
    """Nothing came."""

    code = "picture_empty"
    template = _("The file %(name)s is empty. The phone may still be fetching it: open it there once, then choose it again.")


class TooLarge(Invalid):
    """More bytes or more pixels than are taken."""

    code = "picture_too_large"
    template = _(
        "The picture %(name)s is too large: up to 40 MB and 60 megapixels are taken. Nothing of it was stored. "
        "Choose a smaller size in the camera, or send a smaller copy and keep the original."
    )


class NotAPicture(Invalid):
    """Another kind of file, whatever its name says."""

    code = "not_a_picture"
    template = _("The file %(name)s is not a JPEG, PNG or WebP picture. Nothing of it was stored. Choose the photograph itself.")


class NoHeic(Invalid):
    """A phone's own form, which this installation cannot read."""

    code = "no_heic"
    template = _(
        "The picture %(name)s is in the HEIC form of some phones, which cannot be read here. Nothing of it was stored. Set the "
        "phone’s camera to ‘most compatible’ (JPEG), or ask the keeper of the computer for the extra that reads HEIC."
    )


class Damaged(Invalid):
    """A picture that breaks off or cannot be unfolded."""

    code = "picture_damaged"
    template = _("The picture %(name)s is damaged or came only in part. Nothing of it was stored. Look at it on the phone, then send it again.")


class MoreThanAPicture(Invalid):
    """A picture that is a page, a script or an archive as well."""

    code = "more_than_a_picture"
    template = _(
        "The file %(name)s holds something else besides a picture: a page, a script or an archive. Nothing of it was stored. "
        "Send the photograph as the camera made it."
    )


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it came. Its SHA-256 stands for it where a request is repeated."""

    file: BinaryIO
    name: str
    sha256: str

    @classmethod
    def of(cls, file: BinaryIO, name: str) -> "Upload":
        """Reads it once, no further than is taken. Raises Empty, TooLarge."""
        code, size = hashlib.sha256(), 0
        file.seek(0)
        while piece := file.read(1 << 20):
            code.update(piece)
            if (size := size + len(piece)) > MOST_BYTES:
                raise TooLarge(name=name, field="photo")
        if not size:
            raise Empty(name=name, field="photo")
        return cls(file, name, code.hexdigest())


@dataclass(frozen=True, slots=True)
class Picture:
    """What a file was found to be: its true form, its upright size, when the camera says it was taken."""

    media_type: str
    width: int
    height: int
    taken: datetime | None


def look_at(upload: Upload) -> Picture:
    """Unfolds a file to see that it is a whole picture and nothing besides.

    Raises TooLarge, NotAPicture, NoHeic, Damaged, MoreThanAPicture.
    """
    _refuse_what_is_seen_at_once(upload)
    with _opened(upload) as image, _damage_refused(upload):
        image.verify()
    with _opened(upload) as image:
        exif, (width, height), form = _exif(image), image.size, image.format or ""
        if form != "HEIF" and exif.get(_ORIENTATION) in _ON_ITS_SIDE:
            width, height = height, width
        image.draft("RGB", (1, 1))
        with _damage_refused(upload):
            image.load()
        return Picture(MEDIA_TYPES[form], width, height, _taken(exif))


def smaller(original: BinaryIO) -> Iterator[tuple[int, int, bytes]]:
    """The smaller pictures of an original, largest first: width asked for, height, JPEG bytes.

    None is larger than the original, nor higher than twice its width. The same original gives the same bytes.
    """
    with _one_at_a_time, Image.open(original, formats=_formats()) as image:
        image.draft("RGB", (max(WIDTHS), max(WIDTHS)))
        profile = image.info.get("icc_profile", b"") if image.mode == "RGB" else b""
        upright = _upright(image, max(WIDTHS))
    for width in sorted(WIDTHS, reverse=True):
        upright.thumbnail((width, 2 * width), reducing_gap=2)
        out = io.BytesIO()
        kept = profile if len(profile) <= MOST_PROFILE else b""
        upright.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True, icc_profile=kept)
        yield width, upright.height, out.getvalue()


def _upright(image: Image.Image, width: int) -> Image.Image:
    """A small copy on white, turned as it was held; shrunk before it is turned, to save memory."""
    small = _shrinkable(image)
    small.thumbnail((2 * width, 2 * width), reducing_gap=2)
    turned = ImageOps.exif_transpose(small)
    flat = turned.convert("RGB")
    if turned.mode == "RGBA":
        flat = Image.new("RGB", turned.size, "white")
        flat.paste(turned, mask=turned.getchannel("A"))
    flat.info.clear()
    return flat


def _shrinkable(image: Image.Image) -> Image.Image:
    """Palettes and greys of sixteen bits cannot be shrunk as they are; of the latter the high bits count."""
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda value: value / 256).convert("L")
    if image.mode in ("P", "PA", "LA", "La", "RGBa") or "transparency" in image.info:
        return image.convert("RGBA")
    return image if image.mode in ("RGB", "RGBA", "L", "CMYK") else image.convert("RGB")


def _refusal(kind: type[Invalid], upload: Upload) -> Invalid:
    return kind(name=upload.name, field="photo")


def _refuse_what_is_seen_at_once(upload: Upload) -> None:
    """A form that cannot be read here, or what could also be taken for a page, a script or an archive."""
    upload.file.seek(0)
    data = upload.file.read()
    if pillow_heif is None and _HEIC.match(data[:12]):
        raise _refusal(NoHeic, upload)
    if b"%PDF-" in data[:1024] or _ZIP_END in data[-_ZIP_TAIL:] or _SCRIPT.search(data):
        begins_as_one = data.startswith((b"\xff\xd8\xff", b"\x89PNG", b"RIFF")) or data[4:8] == b"ftyp"
        raise _refusal(MoreThanAPicture if begins_as_one else NotAPicture, upload)


@contextmanager
def _whole_or_not() -> Iterator[None]:
    """One picture at a time, and what breaks off is damaged, though a library for papers may have told Pillow to bear with it."""
    with _one_at_a_time:
        before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before


@contextmanager
def _opened(upload: Upload) -> Iterator[Image.Image]:
    with _whole_or_not():
        try:
            upload.file.seek(0)
            image = Image.open(upload.file, formats=_formats())
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise _refusal(TooLarge, upload) from None
        except UnidentifiedImageError:
            raise _refusal(NotAPicture, upload) from None
        except Exception as error:  # whatever a hostile head makes a decoder do, the file is refused
            raise _refusal(Damaged, upload) from error
        with image:
            yield image


@contextmanager
def _damage_refused(upload: Upload) -> Iterator[None]:
    """Decoders answer damage with errors of many classes."""
    try:
        yield
    except Exception as error:
        raise _refusal(Damaged, upload) from error


def _formats() -> list[str]:
    return ["JPEG", "PNG", "WEBP", *(["HEIF"] if pillow_heif else [])]


def _exif(image: Image.Image) -> dict[int, Any]:
    """Orientation and time of a picture, as far as they can be read."""
    try:
        exif = image.getexif()
        return {_ORIENTATION: exif.get(_ORIENTATION), **exif.get_ifd(_CAMERA)}
    except Exception:  # a camera's notes may be damaged while its picture is whole
        return {}


def _taken(exif: dict[int, Any]) -> datetime | None:
    """When the camera says it was taken, by its own offset, else in the society's zone; none where that cannot be."""
    try:
        local = datetime.strptime(str(exif[_TAKEN]).strip("\0 "), "%Y:%m:%d %H:%M:%S")
        taken = local.replace(tzinfo=_offset(exif) or clock.zone()).astimezone(UTC)
    except (KeyError, ValueError, OverflowError):
        return None
    return taken if _FIRST_CAMERAS < taken <= clock.now() else None


def _offset(exif: dict[int, Any]) -> timezone | None:
    found = re.match(r"([+-])(\d\d):(\d\d)", str(exif.get(_OFFSET, "")))
    if found is None:
        return None
    minutes = int(found[2]) * 60 + int(found[3])
    return timezone(timedelta(minutes=-minutes if found[1] == "-" else minutes))
