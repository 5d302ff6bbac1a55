"""Numbers of issued papers: P2026.17, counted by year without a gap."""

from django.db.models import IntegerField, Max
from django.db.models.functions import Cast, Substr

from museum.history.record import lock
from museum.papers.models import IssuedPaper


def next_number(year: int) -> str:
    """The next number of a year. Nobody else issues until this transaction ends; without a commit it is not used up."""
    lock("papers issued")
    prefix = f"P{year}."
    counted = IssuedPaper.objects.filter(number__startswith=prefix).aggregate(last=Max(Cast(Substr("number", len(prefix) + 1), IntegerField())))
    return f"{prefix}{(counted['last'] or 0) + 1}"
