"""The documents there are. Importing this enters them all into the list."""

from reports.documents import accession, condition, rounds

__all__ = ["accession", "condition", "rounds"]
