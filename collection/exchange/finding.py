"""One thing to say of a row of a register."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Finding:
    """What was noticed, in which column; `asks` holds the row back until somebody answers."""

    code: str
    column: int | None = None
    asks: bool = True
    data: Mapping[str, Any] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """As it is kept."""
        return {"code": self.code, "column": self.column, "asks": self.asks, "data": dict(self.data)}
