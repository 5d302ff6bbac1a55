"""Sizes and weights in words: label, figure and unit as written, millimetres and grams beside them; hat sizes.

A line is read whole or kept whole: what has figures that do not fit goes to `unread`, and nothing is guessed (no unit
is supplied where none is written). Where a text gives two systems, the first counts and the second confirms it; what
contradicts it is said. 1 in = 25.4 mm, 1 lb = 453.59237 g, exactly (NIST Special Publication 811, appendix B).
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import pi
from typing import Final

IN_MM: Final[Mapping[str, Decimal]] = {
    "mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4"), "ft": Decimal("304.8"),
}  # fmt: skip
IN_G: Final[Mapping[str, Decimal]] = {
    "g": Decimal(1), "kg": Decimal(1000), "lb": Decimal("453.59237"), "oz": Decimal("28.349523125"),
}  # fmt: skip
#: inches in fractions are taken to the nearest sixteenth: right to half of that
HALF_SIXTEENTH: Final = Decimal(1) / 32
_UNITS: Final[Mapping[str, str]] = {
    "in": "in", "ins": "in", "inch": "in", "inches": "in", '"': "in", "ft": "ft", "feet": "ft", "foot": "ft",
    "mm": "mm", "cm": "cm", "m": "m", "kg": "kg", "g": "g", "gr": "g", "gm": "g", "grams": "g",
    "lb": "lb", "lbs": "lb", "oz": "oz", "ounces": "oz", "pounds": "lb",
}  # fmt: skip
_DIMENSIONS: Final[Mapping[str, str]] = {
    "h": "height", "height": "height", "w": "width", "width": "width", "l": "length", "length": "length",
    "depth": "depth", "diam": "diameter", "diameter": "diameter",
    "circumference": "circumference", "circ": "circumference",
    "weight": "weight", "wt": "weight",
}  # fmt: skip

_NUMBER = r"[0-9]+\s+[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]*\.[0-9]+|[0-9]+(?:,[0-9]{1,2})?(?![0-9,])"
_UNIT = r'(?:in(?:ch(?:es)?|s)?|f(?:t|oot|eet)|mm|cm|m|kg|grams|g[rm]?|lbs?|pounds|oz|ounces)(?![a-z])\.?|"'
_LABEL = r"(?P<label>[^\W\d][^;\n]*?|)[\s:]*"
_ITEM = re.compile(
    rf"{_LABEL}(?<![0-9./,])(?P<number>{_NUMBER})(?:\s*(?P<unit>{_UNIT}))?(?=\s*(?:[x×,;()]|by\b|$|[^\W\d][^:;\d]*:)|\s)",
    re.IGNORECASE,
)
_NEXT = re.compile(r"\s*(?:[x×]|by\b|,)\s*|\s+(?=[a-z][a-z.]*:)", re.IGNORECASE)
_BRACKET = re.compile(r"\s*\(([^()]*)\)")
_REMARK = re.compile(r"[^0-9;(]*$")
_VULGAR: Final[Mapping[str, str]] = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Measure:
    """One figure as written. `other`: the same by the text's second system. `note`: what stands behind it."""

    label: str
    value: Decimal
    unit: str
    other: Decimal | None = None
    other_unit: str = ""
    note: str = ""

    @property
    def mm(self) -> Decimal | None:
        """Millimetres, exactly as converted; None for a weight."""
        return self.value * IN_MM[self.unit] if self.unit in IN_MM else None

    @property
    def g(self) -> Decimal | None:
        """Grams, exactly as converted; None for a size."""
        return self.value * IN_G[self.unit] if self.unit in IN_G else None

    @property
    def dimension(self) -> str:
        """height, width, length, depth, diameter, circumference or weight where the label says so; else ''."""
        words = re.findall("[a-z]+", self.label.lower())
        return next((_DIMENSIONS[word] for word in words if word in _DIMENSIONS), "weight" if self.unit in IN_G else "")


@dataclass(frozen=True, slots=True)
class Measured:
    """What was read of a text. `contradictions`: measures whose two systems disagree, or `unlike`, lines whose systems
    have not the same count of figures. `unread`: lines with figures, kept whole."""

    measures: Sequence[Measure] = ()
    contradictions: Sequence[Measure] = ()
    unlike: Sequence[str] = ()
    unread: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class _Figure:
    """A figure with how far it may be off by the way it is written, in its unit."""

    label: str
    value: Decimal
    unit: str
    off: Decimal


class _Unreadable(Exception):
    """This line is kept whole."""


def read_measures(text: str) -> Measured:
    """Reads sizes and weights as catalogues write them."""
    measures: list[Measure] = []
    contradictions: list[Measure] = []
    unlike: list[str] = []
    unread: list[str] = []
    for line in _lines(text):
        try:
            for found, both, alike in _groups(line):
                measures += found
                contradictions += both
                unlike += () if alike else (line,)
        except _Unreadable:
            unread.append(line)
    return Measured(measures, contradictions, unlike, unread)


def _lines(text: str) -> Iterator[str]:
    """The lines that have figures, fractions spelt with a stroke, pounds with ounces and feet with inches in one."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    text = re.sub("[″”“]|''|′′", '"', text.replace("⁄", "/"))
    for pair, in_one in _PAIRS:
        text = pair.sub(in_one, text)
    for line in re.split(r"[;\n]", text):
        if re.search("[0-9]", line):
            yield line.strip()


def _groups(line: str) -> Iterator[tuple[list[Measure], list[Measure], bool]]:
    """The groups of a line: figures, the same by another system in brackets, labels in brackets."""
    position = 0
    while position < len(line):
        position += len(line[position:]) - len(line[position:].lstrip(" ,"))
        figures, position = _figures(line, position)
        others: list[_Figure] = []
        labels: list[str] = []
        while bracket := _BRACKET.match(line, position):
            if re.search("[0-9]", bracket[1]):
                others, end = _figures(bracket[1].strip(), 0)
                if bracket[1].strip()[end:].strip(" ,"):
                    raise _Unreadable
            else:
                labels = re.split(r"\s+[x×]\s+", bracket[1].strip())
            position = bracket.end()
        rest = _REMARK.match(line, position)
        note = rest[0].strip(" ,.") if rest else ""
        position = len(line) if rest else position
        yield _measures(figures, others, labels, note)


def _figures(line: str, position: int) -> tuple[list[_Figure], int]:
    """A list of figures parted by x or comma; those without a unit take that of the next to the right."""
    found: list[tuple[str, str, str]] = []
    while item := _ITEM.match(line, position):
        unit = (item["unit"] or "").lower().rstrip(".")
        found.append((item["label"].strip(" :,"), item["number"], _UNITS.get(unit, "")))
        position = item.end()
        gap = _NEXT.match(line, position)
        if gap is None or gap.end() == len(line):
            break
        position = gap.end()
    if not found or not found[-1][2]:
        raise _Unreadable
    figures: list[_Figure] = []
    unit = ""
    for label, number, own in reversed(found):
        unit = own or unit
        figures.append(_Figure(label, _value(number), unit, _off(number, unit)))
    return figures[::-1], position


def _value(number: str) -> Decimal:
    """'11 1/4', '5/8', '7.5', '10,5'."""
    if re.search("/0+$", number):
        raise _Unreadable
    value = sum((Fraction(piece) for piece in number.replace(",", ".").split()), Fraction(0))
    return Decimal(value.numerator) / Decimal(value.denominator)


def _off(number: str, unit: str) -> Decimal:
    """Half of the last place written."""
    decimals = len(re.sub("^[^.,]*[.,]?", "", number)) if re.search("[.,]", number) else 0
    if unit == "in" and not decimals:
        return HALF_SIXTEENTH
    return Decimal(1).scaleb(-decimals) / 2


def _pounds(found: re.Match[str]) -> str:
    """'3 lb 4 oz' as 3.25 lb."""
    return f"{int(found[1]) + _value(found[2]) / 16} lb"


def _inches(found: re.Match[str]) -> str:
    """'1 ft 3 in' as 15 in."""
    return f"{int(found[1]) * 12 + _value(found[2])} in"


_PAIRS: Final = (
    (re.compile(rf"([0-9]+)\s*(?:lbs?|pounds)\.?,?\s*({_NUMBER})\s*(?:oz|ounces)(?![a-z])\.?", re.IGNORECASE), _pounds),
    (re.compile(rf"([0-9]+)\s*(?:ft|feet|foot|['′])\.?,?\s*({_NUMBER})\s*(?:in(?![a-z])\.?|\")", re.I), _inches),
)


def _measures(figures: list[_Figure], others: list[_Figure], labels: list[str], note: str) -> tuple[list[Measure], list[Measure], bool]:
    measures = [Measure(figure.label, figure.value, figure.unit, note=note) for figure in figures]
    if len(labels) == len(measures):
        measures = [replace(one, label=f"{one.label} {label}".strip()) for one, label in zip(measures, labels, strict=True)]
    if len(others) != len(figures):
        return measures, [], not others
    both = [replace(one, other=other.value, other_unit=other.unit) for one, other in zip(measures, others, strict=True)]
    against = [one for one, figure, other in zip(both, figures, others, strict=True) if not _agree(figure, other)]
    return both, against, True


def _agree(one: _Figure, other: _Figure) -> bool:
    for table in (IN_MM, IN_G):
        if one.unit in table and other.unit in table:
            gap = abs(one.value * table[one.unit] - other.value * table[other.unit])
            return gap <= one.off * table[one.unit] + other.off * table[other.unit]
    return False


# Size stamps are marks, not measurements; these say what a mark means -------------------------------------------------


def us_hat_size(head_mm: float) -> Fraction:
    """Hat size by US reckoning: circumference in inches through pi, to the nearest eighth. British: an eighth less."""
    return Fraction(round(head_mm / 25.4 / pi * 8), 8)


def uk_hat_size(head_mm: float) -> Fraction:
    """Hat size by British reckoning."""
    return us_hat_size(head_mm) - Fraction(1, 8)


def head_mm(us_size: Fraction) -> float:
    """Circumference of the head for a US hat size, in millimetres; a British size is an eighth smaller."""
    return float(us_size) * pi * 25.4


def size_text(size: Fraction) -> str:
    """7 1/8 as a hatter stamps it."""
    whole, rest = divmod(size, 1)
    return f"{whole} {rest}" if rest else str(whole)
