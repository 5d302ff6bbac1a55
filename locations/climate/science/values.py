"""What the modules share: numbers one by one or as arrays, and the two ways of saying that there is none.

Functions of air, reading by reading, answer NaN where a reading is missing or outside their range (`psychrometrics.air_doubt`
says why); they take and give floats or arrays alike. Functions that answer one question about a record, a room or a case
raise `NoValue` with a code and its data instead. Nothing is ever put in place of what is missing.
"""

import math
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
Value = TypeVar("Value", float, Floats)


class NoValue(ValueError):
    """No value can be given: a code for programs and the data of the sentence that is made of it."""

    def __init__(self, code: str, **data: object) -> None:
        super().__init__(code)
        self.code = code
        self.data = data

    def __str__(self) -> str:
        return ", ".join([self.code, *(f"{name} {value}" for name, value in self.data.items())])


def lift(given: float | Floats) -> Floats:
    """Numbers as an array of floats."""
    return np.asarray(given, dtype=np.float64)


def like(given: Value, result: Floats) -> Value:
    """A result as what was given: a float where it is one number."""
    return cast(Value, float(result) if result.ndim == 0 else result)


def only(values: Floats, where: Flags) -> Floats:
    """The values, NaN where the condition does not hold."""
    return np.where(where, values, np.nan)


def within(what: str, given: float | None, low: float, high: float = math.inf) -> float:
    """The number if it is there and low <= number <= high. Raises NoValue: `missing`, `outside_range`."""
    if given is None or math.isnan(given):
        raise NoValue("missing", what=what)
    if not low <= given <= high:
        raise NoValue("outside_range", what=what, given=given, low=low, high=high)
    return given
