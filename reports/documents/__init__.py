"""The documents there are. Importing this enters them all into the list."""

from reports.documents import accession, condition, incidents, lessons, materials, plan, proposals, rounds, worked

__all__ = ["accession", "condition", "incidents", "lessons", "materials", "plan", "proposals", "rounds", "worked"]
