"""Pictures as files: which are taken, which refused and why, and the smaller ones made from them.

The original is kept byte for byte; a smaller picture is upright and carries nothing that a camera wrote into it.
Most memory for one picture of 60 megapixels, as measured (tests/objects/test_photographs.py): 0.5 GB for JPEG and PNG,
1.0 GB for WebP, whose library unfolds it whole. One picture is unfolded at a time in a process.
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
from PIL import Image, ImageOps, UnidentifiedImageError

from museum import clock
from museum.errors import Invalid

try:
    import pillow_heif
except ImportError:
    pillow_heif = None  # type: ignore[assignment]
else:
    pillow_heif.register_heif_opener(thumbnails=False)

MOST_BYTES: Final = 40 * 1024 * 1024
#: cameras said to have 60 megapixels have a few more
MOST_PIXELS: Final = 60_500_000
#: widths of the smaller pictures: a hand's list, a whole page
WIDTHS: Final = (480, 1600)
QUALITY: Final = 82
#: larger colour profiles are not of a camera
MOST_PROFILE: Final = 16 * 1024
MEDIA_TYPES: Final = {"JPEG": "image/jpeg", "MPO": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "HEIF": "image/heic"}
SUFFIXES: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic"}

#: the standard views; the codes are lasting
VIEWS: Final[dict[str, Promise]] = {
    "V01": _("front"),
    "V02": _("back"),
    "V03": _("wearer's right"),
    "V04": _("wearer's left"),
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

# More than is taken is an error when a file is opened, before anything of it is unfolded.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)

_one_at_a_time = threading.Lock()
_SCRIPT = re.compile(rb"<script|<\?php|<html|<svg|<!doctype", re.IGNORECASE)
_HEIC = re.compile(rb"^....ftyp(heic|heix|heim|heis|hevc|mif1|msf1)", re.DOTALL)
#: a ZIP archive ends with this, followed by at most 64 KiB of comment
_ZIP_END = b"PK\x05\x06"
_ZIP_TAIL = 65_557
_EXIF_FOLDER, _TAKEN, _OFFSET = 0x8769, 0x9003, 0x9011


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
        "The picture %(name)s is in the HEIC form of some phones, which this computer cannot read. Set the phone's camera to "
        "'most compatible' (JPEG), or ask the keeper of the computer to add the extra for HEIC. Nothing of it was stored."
    )


class Damaged(Invalid):
    """A picture that breaks off or cannot be unfolded."""

    code = "picture_damaged"
    template = _("The picture %(name)s is damaged or came only in part. Nothing of it was stored. Look at it on the phone, then send it again.")


class TwoThingsInOne(Invalid):
    """A picture that is a programme, a page or an archive as well."""

    code = "picture_with_more"
    template = _(
        "The file %(name)s holds something else besides a picture (a page, a script or an archive). Nothing of it was stored. "
        "Send the photograph as the camera made it."
    )


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it came; its SHA-256 stands for it when a request is repeated."""

    file: BinaryIO
    name: str
    sha256: str
    size: int

    @classmethod
    def of(cls, file: BinaryIO, name: str) -> "Upload":
        """Reads it once. Raises Empty, TooLarge."""
        code, size = hashlib.sha256(), 0
        file.seek(0)
        while piece := file.read(1 << 20):
            code.update(piece)
            if (size := size + len(piece)) > MOST_BYTES:
                raise TooLarge(name=name, field="file")
        if not size:
            raise Empty(name=name, field="file")
        return cls(file, name, code.hexdigest(), size)


@dataclass(frozen=True, slots=True)
class Picture:
    """What a file was found to be: its true form, its upright size, when the camera says it was taken."""

    media_type: str
    width: int
    height: int
    taken: datetime | None


def look_at(upload: Upload) -> Picture:
    """Unfolds a file to see that it is a whole picture and nothing else.

    Raises TooLarge, NotAPicture, NoHeic, Damaged, TwoThingsInOne.
    """
    _refuse_more_than_a_picture(upload)
    with _opened(upload) as image:
        exif = _exif(image)
        width, height = image.size
        if exif.get(0x0112, 1) in (5, 6, 7, 8) and image.format in ("JPEG", "MPO", "PNG", "WEBP"):
            width, height = height, width
        image.draft("RGB", (1, 1))
        _unfolded(image, upload.name)
        return Picture(MEDIA_TYPES[image.format or ""], width, height, _taken(exif))


def smaller(file: BinaryIO, name: str = "") -> Iterator[tuple[int, int, bytes]]:
    """The smaller pictures of an original, largest first: width asked for, height, JPEG bytes.

    None is larger than the original or higher than twice its width. The same original gives the same bytes.
    """
    with _one_at_a_time, Image.open(file, formats=_formats()) as image:
        image.draft("RGB", (max(WIDTHS), max(WIDTHS)))
        profile = image.info.get("icc_profile") if image.mode == "RGB" else None
        current: Image.Image = image
        for width in sorted(WIDTHS, reverse=True):
            if current is image:
                current = _upright(image, width)
            current.thumbnail((width, 2 * width), reducing_gap=2)
            out = io.BytesIO()
            kept = profile if profile and len(profile) <= MOST_PROFILE else b""
            current.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True, icc_profile=kept, exif=b"")
            yield width, current.height, out.getvalue()


def _upright(image: Image.Image, width: int) -> Image.Image:
    """A small copy on white, turned as it was held; shrunk before it is turned, to save memory."""
    small = _shrinkable(image)
    small.thumbnail((2 * width, 2 * width), reducing_gap=2)
    turned = ImageOps.exif_transpose(small)
    if turned.mode == "RGBA":
        flat = Image.new("RGB", turned.size, "white")
        flat.paste(turned, mask=turned.getchannel("A"))
    else:
        flat = turned.convert("RGB")
    flat.info.clear()
    return flat


def _shrinkable(image: Image.Image) -> Image.Image:
    """Palettes and greys of sixteen bits cannot be shrunk as they are; of the latter the high bits count."""
    if image.mode.startswith(("I", "F")):
        return image.convert("I").point(lambda value: value / 256).convert("L")
    if image.mode in ("P", "PA", "LA", "La", "RGBa") or "transparency" in image.info:
        return image.convert("RGBA")
    return image if image.mode in ("RGB", "RGBA", "L", "CMYK") else image.convert("RGB")


def _refuse_more_than_a_picture(upload: Upload) -> None:
    """A file that a browser or another program could take for a page, a script, a paper or an archive."""
    upload.file.seek(0)
    data = upload.file.read()
    if b"%PDF-" in data[:1024] or _ZIP_END in data[-_ZIP_TAIL:] or _SCRIPT.search(data):
        picture = data.startswith((b"\xff\xd8\xff", b"\x89PNG", b"RIFF")) or data[4:8] == b"ftyp"
        raise (TwoThingsInOne if picture else NotAPicture)(name=upload.name, field="file")
    if pillow_heif is None and _HEIC.match(data[:12]):
        raise NoHeic(name=upload.name, field="file")


@contextmanager
def _opened(upload: Upload) -> Iterator[Image.Image]:
    upload.file.seek(0)
    with _one_at_a_time:
        try:
            image = Image.open(upload.file, formats=_formats())
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise TooLarge(name=upload.name, field="file") from None
        except UnidentifiedImageError:
            raise NotAPicture(name=upload.name, field="file") from None
        except Exception as error:  # whatever a hostile head makes a decoder do, the file is refused
            raise Damaged(name=upload.name, field="file") from error
        try:
            if image.width * image.height > MOST_PIXELS:
                raise TooLarge(name=upload.name, field="file")
            yield image
        finally:
            image.close()


def _unfolded(image: Image.Image, name: str) -> None:
    try:
        image.load()
    except Exception as error:  # decoders answer damage with errors of many classes
        raise Damaged(name=name, field="file") from error


def _formats() -> list[str]:
    return ["JPEG", "MPO", "PNG", "WEBP", *(["HEIF"] if pillow_heif else [])]


def _exif(image: Image.Image) -> dict[int, Any]:
    """Orientation and time of a picture, as far as they can be read."""
    try:
        exif = image.getexif()
        return {0x0112: exif.get(0x0112, 1), **exif.get_ifd(_EXIF_FOLDER)}
    except Exception:  # a camera's notes may be damaged while its picture is whole
        return {}


def _taken(exif: dict[int, Any]) -> datetime | None:
    """When the camera says it was taken: its offset, else the society's zone; none where it cannot be so."""
    try:
        local = datetime.strptime(str(exif[_TAKEN]).strip("\0 "), "%Y:%m:%d %H:%M:%S")
        taken = local.replace(tzinfo=_offset(exif) or clock.zone()).astimezone(UTC)
    except (KeyError, ValueError, OverflowError):
        return None
    return taken if datetime(1990, 1, 1, tzinfo=UTC) < taken <= clock.now() else None


def _offset(exif: dict[int, Any]) -> timezone | None:
    found = re.match(r"([+-])(\d\d):(\d\d)", str(exif.get(_OFFSET, "")))
    if found is None:
        return None
    minutes = int(found[2]) * 60 + int(found[3])
    return timezone(timedelta(minutes=-minutes if found[1] == "-" else minutes))
