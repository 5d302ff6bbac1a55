"""The code on a label: small enough to be read where it is 10 mm wide and printed with 203 dots an inch.

At that size a dot is 0.125 mm, the code 80 dots. A reader wants three dots a cell or more: at most 26 cells, that is
version 2 with its 25 (ISO/IEC 18004: version n has 17 + 4n). In capitals that holds 38 signs with error correction M, 47 with L
(ISO/IEC 18004, table 7). So an address is written in capitals, which no scheme and no host distinguishes; one that does not fit gives way
to the number alone, which the search of the program takes.
"""

from typing import Final
from urllib.parse import quote, urlsplit

import segno

DOTS_OF_AN_INCH: Final = 203
LEAST_DOTS: Final = 3
SMALLEST_MM: Final = 10.0
MOST_VERSION: Final = 2


def content_for(site: str, door: str, text: str) -> str:
    """What the code of a label says: the address behind which the thing is found, where it fits and the site lies at the root of its host;
    else its number. `door` is a letter, `text` a number or the code of a place."""
    parts = urlsplit(site)
    address = f"{parts.scheme}://{parts.netloc}/{door}/{quote(text, safe='/ ').replace(' ', '%20')}".upper()
    if parts.netloc and parts.path in ("", "/") and _small(address) is not None:
        return address
    return text


def code_of(content: str) -> segno.QRCode:
    """The smallest code that says this, with as much correction as it has room for."""
    return _small(content) or segno.make(content, error="l", micro=False)


def dots_a_cell(content: str, wide: float = SMALLEST_MM) -> float:
    """How many dots of a label printer a cell has, in a code so wide (millimetres)."""
    cells = float(code_of(content).symbol_size(border=0)[0])
    return wide / 25.4 * DOTS_OF_AN_INCH / cells


def _small(content: str) -> segno.QRCode | None:
    for error in ("m", "l"):
        made = segno.make(content, error=error, micro=False)
        if int(made.version) <= MOST_VERSION:
            return made
    return None
