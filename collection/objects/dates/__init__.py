"""Dates: words as found to EDTF and earliest and latest day, or a question; free of the framework."""

from collection.objects.dates.conventions import SHIPPED, Conventions, conventions
from collection.objects.dates.days import Day, in_order
from collection.objects.dates.edtf import Bounds, EdtfError, bounds
from collection.objects.dates.reading import Question, Reading, read_date

__all__ = [
    "SHIPPED",
    "Bounds",
    "Conventions",
    "Day",
    "EdtfError",
    "Question",
    "Reading",
    "bounds",
    "conventions",
    "in_order",
    "read_date",
]
