"""What is no photograph, or more than one, or too much of one, is refused in plain words; the rest keeps within its memory."""

import io
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from collection.objects import photos
from collection.objects.photos import Damaged, Empty, MoreThanAPicture, NoHeic, NotAPicture, TooLarge, Upload, look_at
from museum.errors import Invalid
from tests.objects.pictures import ZIP, made, picture, png_that_says, png_with_swollen_text, sent

PNG, WEBP, JPEG = made("PNG"), made("WEBP"), made()

NOT_TAKEN: dict[str, tuple[bytes, type[Invalid]]] = {
    "words": (b"not a picture", NotAPicture),
    "a page": (b"<!doctype html><html><script>alert(1)</script>", NotAPicture),
    "a drawing with a script": (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", NotAPicture),
    "a paper": (b"%PDF-1.7\n1 0 obj", NotAPicture),
    "an archive": (ZIP, NotAPicture),
    "a programme": (b"MZ\x90\x00" + b"\0" * 500, NotAPicture),
    "a picture of another form": (made("GIF"), NotAPicture),
    "another, with a good name": (made("TIFF"), NotAPicture),
    "a bitmap": (made("BMP"), NotAPicture),
    "the first bytes of one": (b"\xff\xd8\xff", NotAPicture),
    "a JPEG cut off": (made(image=Image.effect_noise((400, 300), 60).convert("RGB"))[:-2000], Damaged),
    "a PNG cut off": (PNG[: len(PNG) // 2], Damaged),
    "a WebP cut off": (made("WEBP", Image.effect_noise((400, 300), 60).convert("RGB"))[:-2000], Damaged),
    "a PNG with a broken checksum": (PNG[:60] + bytes([PNG[60] ^ 255]) + PNG[61:], Damaged),
    "a page behind it": (JPEG + b"<script>alert(1)</script>", MoreThanAPicture),
    "a server's script behind it": (PNG + b"<?php system($_GET['c']); ?>", MoreThanAPicture),
    "a server's script in a remark": (made(comment=b"<?php system($_GET['c']); ?>"), MoreThanAPicture),
    "an archive behind a JPEG": (JPEG + ZIP, MoreThanAPicture),
    "an archive behind a PNG": (PNG + ZIP, MoreThanAPicture),
    "an archive behind a WebP": (WEBP + ZIP, MoreThanAPicture),
    "a paper in its head": (made(comment=b"%PDF-1.4\n1 0 obj"), MoreThanAPicture),
    "a head that promises 900 megapixels": (png_that_says(30_000, 30_000), TooLarge),
    "a head that promises 61 megapixels": (png_that_says(8_000, 7_625), TooLarge),
    "a head that promises the most there is": (png_that_says(2**31 - 1, 2**31 - 1), TooLarge),
    "a remark that unfolds to 200 MB": (png_with_swollen_text(), Damaged),
}


@pytest.mark.parametrize("name", NOT_TAKEN)
def test_what_is_no_photograph_is_refused_and_said(name: str) -> None:
    data, refusal = NOT_TAKEN[name]
    with pytest.raises(Invalid) as refused:
        look_at(sent(data, "front.jpg"))
    assert type(refused.value) is refusal
    assert "front.jpg" in refused.value.sentence
    assert refused.value.field == "photo"


def test_nothing_at_all_is_refused() -> None:
    with pytest.raises(Empty):
        sent(b"")


def test_more_than_40_mb_are_not_even_read_to_their_end() -> None:
    class Endless(io.RawIOBase):
        asked = 0

        def seek(self, *_: int) -> int:
            return 0

        def read(self, size: int = -1) -> bytes:
            self.asked += size
            return b"\xff" * size

    source = Endless()
    with pytest.raises(TooLarge):
        Upload.of(source, "film.mov")  # type: ignore[arg-type]
    assert source.asked <= photos.MOST_BYTES + (1 << 20)


def test_a_name_does_not_make_a_form() -> None:
    assert look_at(sent(PNG, "front.jpg")).media_type == "image/png"


def test_what_cameras_hang_behind_a_picture_is_taken() -> None:
    """Brightness maps and short films stand behind the JPEG of many phones."""
    assert look_at(sent(JPEG + made(image=picture((80, 60))))).width == 640
    assert look_at(sent(JPEG + b"\0\0\0\x18ftypmp42" + b"\0" * 3000)).width == 640


def test_the_noise_of_a_photograph_is_no_script() -> None:
    """Four letters turn up by chance in a few megabytes."""
    assert look_at(sent(JPEG[:-2] + b"<SvG PK\x05\x06 <?pHp" + JPEG[-2:])).width == 640


def test_a_phone_s_heic_is_read_or_the_way_out_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "pillow_heif", None)
    with pytest.raises(NoHeic) as refused:
        look_at(sent(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 100, "IMG_1.HEIC"))
    assert "most compatible" in refused.value.sentence


@pytest.mark.skipif(photos.pillow_heif is None, reason="the extra that reads HEIC is not installed")
def test_heic_is_taken_where_the_extra_is() -> None:
    out = io.BytesIO()
    picture().save(out, "HEIF")
    found = look_at(sent(out.getvalue(), "IMG_1.HEIC"))
    assert (found.media_type, found.width, found.height) == ("image/heic", 640, 480)
    assert len(list(photos.smaller(io.BytesIO(out.getvalue())))) == 2


#: largest of one camera that calls itself a 60-megapixel one; form, options, and how many MB it may take at most
LARGE = (9504, 6336)
BOUNDS = [
    pytest.param("JPEG", "{}", 200, id="JPEG"),
    pytest.param("JPEG", "{'progressive': True, 'subsampling': 0}", 550, id="progressive JPEG"),
    pytest.param("PNG", "{'compress_level': 1}", 600, id="PNG"),
    pytest.param("WEBP", "{'method': 0, 'quality': 50}", 1150, id="WebP"),
]
MEASURE = """
import django, io, resource, sys
django.setup()
from collection.objects import photos
path = sys.argv[1]
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
with open(path, "rb") as file:
    found = photos.look_at(photos.Upload.of(file, "large"))
    sizes = [(width, len(data)) for width, _height, data in photos.smaller(file)]
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024, found.width, len(sizes))
"""


@pytest.mark.parametrize(("form", "options", "most_mb"), BOUNDS)
def test_sixty_megapixels_keep_within_their_memory(form: str, options: str, most_mb: int, tmp_path: Path) -> None:
    """Looked at and made smaller, in a process of its own; the stated bounds are ours, with room for another library's version."""
    path = tmp_path / "large"
    tile = Image.effect_noise((297, 198), 30).convert("RGB").resize((594, 396))
    image = Image.new("RGB", LARGE)
    for x in range(0, LARGE[0], 594):
        for y in range(0, LARGE[1], 396):
            image.paste(tile, (x, y))
    image.save(path, form, **eval(options))
    done = subprocess.run([sys.executable, "-c", MEASURE, str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    peak, width, made_smaller = map(int, done.stdout.split())
    assert (width, made_smaller) == (9504, 2)
    assert peak <= most_mb
