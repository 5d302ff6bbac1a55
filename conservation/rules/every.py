"""Every rule table of the program: importing them makes them known."""

from conservation.rules import ruleset, supplies, tables, treatment_book
from conservation.rules.book import TABLES

__all__ = ["TABLES", "ruleset", "supplies", "tables", "treatment_book"]
