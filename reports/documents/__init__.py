"""The documents there are. Importing this enters them all into the list."""

from reports.documents import accession, calibrations, climate_year, condition, incidents, lender, lessons, materials, plan, proposals, rounds, worked

__all__ = ["accession", "calibrations", "climate_year", "condition", "incidents", "lender", "lessons", "materials", "plan", "proposals", "rounds", "worked"]
