"""Reads the whole chain again and names the first entry that does not follow from those before it."""

from dataclasses import dataclass

from museum.history import chain
from museum.history.models import Change


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a reading of the chain found; `broken_at` is the first wrong number, `why` in plain words."""

    entries: int
    head: str
    broken_at: int | None = None
    why: str = ""


def verify() -> Verdict:
    """Recomputes every hash, in order. Memory stays flat: entries are streamed."""
    expected, previous = 0, chain.FIRST
    for change in Change.objects.order_by("n").iterator(chunk_size=5_000):
        expected += 1
        if change.n != expected:
            return Verdict(expected - 1, previous, expected, f"entry {expected} is missing; the next one found is {change.n}")
        if chain.entry_hash(previous, change.entry()) != change.hash:
            return Verdict(expected - 1, previous, expected, f"entry {expected} does not match its hash")
        previous = change.hash
    return Verdict(expected, previous)
