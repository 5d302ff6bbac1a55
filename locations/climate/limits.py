"""What each material bears: its band of humidity, its class of mould, how fast it ages. The tables are data."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from conservation.rules.placing import shipped_bands

TABLE = Path(__file__).with_name("materials.csv")


@dataclass(frozen=True, slots=True)
class Limits:
    """`low` and `high` % of its own band (None: no band is known), class of mould, kJ/mol of its ageing (None: the formula has no meaning for it).

    `light`: its category of CIE 157:2004 by the headgear examples of ours, dyed where it may be; empty where light does not fade it.
    """

    low: float | None
    high: float | None
    mould: str
    energy: float | None
    light: str = ""


@cache
def limits_of(material: str) -> Limits:
    """The limits of a material; one the table does not know counts as the most sensitive to mould, without a band and without ageing."""
    row = _table().get(material, {"mould": "VS", "energy": "", "light": ""})
    band = next((one for one in shipped_bands() if material in one.materials and not one.terms and not one.active), None)
    energy = float(row["energy"]) if row["energy"] else None
    return Limits(band.low if band else None, band.high if band else None, row["mould"], energy, row["light"])


@cache
def _table() -> dict[str, dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return {row["code"]: row for row in csv.DictReader(lines)}
