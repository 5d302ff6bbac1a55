"""Pictures for paper: small enough to send, upright, without what a camera wrote into them."""

import io
from pathlib import Path
from typing import Final

from PIL import Image, ImageOps

#: 100 mm at 300 dots an inch
LONGEST: Final = 1200
QUALITY: Final = 82


def for_paper(path: Path) -> bytes:
    """A JPEG of at most LONGEST pixels a side; the same original gives the same bytes. OSError if it is no picture."""
    with Image.open(path) as picture:
        picture.draft("RGB", (LONGEST, LONGEST))
        upright = ImageOps.exif_transpose(picture)
        upright.thumbnail((LONGEST, LONGEST))
        flat = Image.new("RGB", upright.size, "white")
        flat.paste(upright.convert("RGBA"), mask=upright.convert("RGBA").getchannel("A"))
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
