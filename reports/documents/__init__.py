"""The documents there are. Importing this enters them all into the list."""

from reports.documents import (
    accession,
    board,
    calibrations,
    climate_year,
    condition,
    incidents,
    lender,
    lessons,
    light,
    lived,
    materials,
    plan,
    proposals,
    rounds,
    worked,
)

__all__ = [
    "accession", "board", "calibrations", "climate_year", "condition", "incidents", "lender", "lessons", "light", "lived", "materials", "plan", "proposals",
    "rounds", "worked",
]  # fmt: skip
