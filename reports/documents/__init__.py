"""The documents there are. Importing this enters them all into the list."""

from reports.documents import accession, climate_year, condition, incidents, lender, lessons, materials, plan, proposals, rounds, worked

__all__ = ["accession", "climate_year", "condition", "incidents", "lender", "lessons", "materials", "plan", "proposals", "rounds", "worked"]
