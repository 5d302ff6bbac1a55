"""Figures as they stand in the files of loggers, and their units."""

import re
from typing import Final

from locations.climate.science.values import NoValue, Value, lift, like

#: what stands for no reading
NOTHING: Final = frozenset({"", "-", "--", "---", "ofl", "nan", "n/a", "na", "null", "err", "error", "999.9", "-999.9"})
PLAIN: Final = re.compile(r"[+-]?\d+([.,]\d+)?")
GROUPED: Final = re.compile(r"[+-]?\d{1,3}([.,])\d{3}")
SPACES: Final = re.compile(r"[\s\u00a0\u2009\u202f]")


def read_figure(text: str, decimal: str | None = None) -> float | None:
    """A figure; None for what stands for no reading. `decimal` is the sign of the file, where known.

    Raises NoValue: `ambiguous` for a figure like 1,234 with no sign known, `not_a_figure`.
    """
    plain = SPACES.sub("", text).removeprefix("\ufeff").replace("\u2212", "-")
    if plain.lower() in NOTHING:
        return None
    if not PLAIN.fullmatch(plain):
        raise NoValue("not_a_figure", given=text)
    if decimal is None and GROUPED.fullmatch(plain):
        raise NoValue("ambiguous", given=text)
    if decimal is not None and ("," if decimal == "." else ".") in plain:
        raise NoValue("not_a_figure", given=text, decimal=decimal)
    return float(plain.replace(",", "."))


def celsius(fahrenheit: Value) -> Value:
    """A temperature in °F as °C. For differences and limits see `kelvins`. Exact."""
    return like(fahrenheit, (lift(fahrenheit) - 32) * 5 / 9)


def kelvins(difference: Value) -> Value:
    """A difference in °F as K: no offset. Exact."""
    return like(difference, lift(difference) * 5 / 9)
