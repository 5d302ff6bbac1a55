"""Every rule table of the program: importing them makes them known."""

from conservation.rules import ruleset, tables, treatment_book
from conservation.rules.book import TABLES

__all__ = ["TABLES", "ruleset", "tables", "treatment_book"]
