"""Metals: what was seen of chlorides, and the band of a thing made of several materials. No rate is derived from humidity alone."""

from dataclasses import dataclass

from locations.climate.science.values import NoValue, within

#: Wang 2007, British Museum Technical Research Bulletin 1: over a year at room temperature; nothing is known between
STAYED_POWDER, LIQUEFIED = 44.0, 75.0


def ferrous_chloride_liquefies(rh: float) -> bool:
    """Whether powdered ferrous chloride took up water until liquid: not in a year up to 44 %, within hours from 75 % (Wang 2007).

    rh 0..100 %; between the two nothing was observed: NoValue `not_observed`. Akaganeite formed at 44 % all the same.
    """
    within("rh", rh, 0, 100)
    if STAYED_POWDER < rh < LIQUEFIED:
        raise NoValue("not_observed", given=rh, between=(STAYED_POWDER, LIQUEFIED))
    return rh >= LIQUEFIED


@dataclass(frozen=True, slots=True)
class Band:
    """low..high %, both inclusive; `conflict`: the parts agree at one value or at none, which is for a conservator."""

    low: float
    high: float
    conflict: bool


def common_band(bands: list[tuple[float, float]]) -> Band:
    """What the bands (low, high, in %) of all parts have in common; never an average. None of any: NoValue `no_bands`.

    With nothing in common low is above high. Source: set logic; the bands' own.
    """
    if not bands:
        raise NoValue("no_bands")
    low, high = max(low for low, _ in bands), min(high for _, high in bands)
    return Band(low, high, low >= high)
