"""Rusted percent of a zone as ISO 4628-3 and ASTM D610 codes. A code is a measurement, never a verdict.

Both are derived from the percent; one is never converted into the other, since published pairings differ.
"""

from bisect import bisect_left
from decimal import Decimal
from typing import Final

#: upper bounds of Ri 0 to Ri 4: the nearest ISO 4628-3 step on a log scale (ours), so the geometric means of its areas
#: 0.05, 0.5, 1, 8 and 40 percent, rounded
RI_UPPER: Final = (0.0, 0.158, 0.707, 2.83, 17.9)
#: ASTM D610-08: upper bound of percent rusted for grades 10 down to 1; above is 0
D610_UPPER: Final = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 16.0, 33.0, 50.0)


def ri(percent: float | Decimal) -> int:
    """ISO 4628-3 degree of rusting, 0 to 5, for 0 to 100 percent. A bound belongs to the lower step.

    Raises ValueError outside 0 to 100.
    """
    return bisect_left(RI_UPPER, checked_percent(percent))


def d610(percent: float | Decimal) -> int:
    """ASTM D610 rust grade, 10 (at most 0.01 percent) to 0 (over 50), for 0 to 100 percent.

    A bound belongs to the better grade. Raises ValueError outside 0 to 100.
    """
    return 10 - bisect_left(D610_UPPER, checked_percent(percent))


def checked_percent(percent: float | Decimal) -> float:
    """A percent of a zone as a float, so that a decimal 2.83 meets the printed bound. Raises ValueError if none."""
    if not 0 <= percent <= 100:
        raise ValueError(f"{percent} is no percent of a zone")
    return float(percent)
