"""How a file is read, what has to be asked before, and the refusal."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, Final, Self

#: what a column of figures may be
QUANTITIES: Final = ("t", "rh", "lux")
ORDERS: Final = ("ymd", "dmy", "mdy")
UNITS: Final = ("C", "F")
#: what may be said to the questions about a file
ANSWERS: Final = {
    "order": ORDERS, "decimal": (".", ","), "unit": UNITS, "columns": (*QUANTITIES, "t rh", "rh t"), "exchanged": ("yes", "no"),
    "clock": ("follows", "standard", "utc"), "share": ("yes", "no"),
}  # fmt: skip


class Unreadable(ValueError):
    """A file that is not taken: a code, and the line and cell where it was seen."""

    def __init__(self, code: str, *, line: int | None = None, cell: str = "", **data: object) -> None:
        super().__init__(code)
        self.code, self.line, self.cell = code, line, cell[:60]
        self.data = data

    def plain(self) -> dict[str, Any]:
        """As JSON can carry it."""
        return {"code": self.code, "line": self.line, "cell": self.cell, **self.data}

    @classmethod
    def of(cls, plain: Mapping[str, Any]) -> Self:
        """From what `plain` gave."""
        return cls(**plain)


@dataclass(frozen=True, slots=True)
class Form:
    """How a file is read. Columns count from 0, `first` is the line of the first reading, from 0. None = not decided."""

    first: int
    times: tuple[int, ...]
    t: int | None = None
    rh: int | None = None
    lux: int | None = None
    order: str | None = None
    decimal: str | None = None
    unit: str | None = None
    clock: str | None = None
    offset: int = 0
    #: humidity is written as a part of one, not in %
    share: bool = False
    heading: tuple[str, ...] = ()

    def column(self, quantity: str) -> int | None:
        """The column of t, rh or lux."""
        found: int | None = getattr(self, quantity)
        return found

    @property
    def open(self) -> tuple[str, ...]:
        """What must be decided before it can be read."""
        wanted = ("order", "decimal", "unit", "clock")
        return tuple(name for name in wanted if getattr(self, name) is None)

    def plain(self) -> dict[str, Any]:
        """As JSON can carry it."""
        return asdict(self)

    @classmethod
    def of(cls, plain: Mapping[str, Any]) -> Self:
        """From what `plain` gave; names of another version are left alone."""
        known = {one.name for one in fields(cls)}
        said: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in plain.items() if name in known}
        return cls(**said)


@dataclass(frozen=True, slots=True)
class Question:
    """What two readings are possible of: a code, the answers, the proposed one, and what was seen."""

    code: str
    answers: tuple[str, ...]
    proposed: str = ""
    seen: str = ""


@dataclass(frozen=True, slots=True)
class Proposal:
    """How a file would be read, with its first lines."""

    form: Form
    questions: tuple[Question, ...]
    serial: str = ""
    lines: tuple[tuple[int, tuple[str, ...]], ...] = field(default=())
