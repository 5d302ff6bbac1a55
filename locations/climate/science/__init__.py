"""The science of climate: pure functions on numbers and numpy arrays, with no framework. One module a topic, named by it.

Each function says its units, its range, its error and its source. Outside the range there is no value: NaN of readings, `NoValue`
with a code of everything else (`values`). The limits stand in tables with their sources (`tables.limit`).
"""

from locations.climate.science import (
    ageing,
    calibration,
    clocks,
    control,
    cusum,
    damp,
    drift,
    faults,
    figures,
    fluctuations,
    light,
    lived,
    loans,
    localtime,
    metals,
    moisture,
    mould,
    psychrometrics,
    saturation,
    series,
    sorbents,
    surfaces,
    tables,
    tank,
    traps,
)
from locations.climate.science.values import NoValue

__all__ = [
    "NoValue",
    "ageing",
    "calibration",
    "clocks",
    "control",
    "cusum",
    "damp",
    "drift",
    "faults",
    "figures",
    "fluctuations",
    "light",
    "lived",
    "loans",
    "localtime",
    "metals",
    "moisture",
    "mould",
    "psychrometrics",
    "saturation",
    "series",
    "sorbents",
    "surfaces",
    "tables",
    "tank",
    "traps",
]
