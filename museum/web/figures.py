"""Figures as the reader's language writes them."""

import re
from typing import Final

from django.utils.formats import number_format

#: a figure as the program spells it
PLAIN: Final = re.compile(r"([+−-]? ?)(\d+(?:\.\d+)?)")


def written(value: float | str | None, most: int | None = None) -> str:
    """With the sign between thousands and the point or comma of the language, `most` decimals and none of them for nothing; what is no figure as it is."""
    if value is None:
        return ""
    text = _spelt(value, most)
    found = PLAIN.fullmatch(text)
    return found[1].replace("-", "−") + number_format(found[2], force_grouping=True) if found else text


def _spelt(value: float | str, most: int | None) -> str:
    if most is None:
        return f"{value:.12g}" if isinstance(value, float) else str(value)
    text = f"{float(value):.{most}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
