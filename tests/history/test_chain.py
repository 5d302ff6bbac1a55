"""The chain's one spelling and its hashes, against the published check vector of the house's reference (OURS)."""

import hashlib
from datetime import UTC, datetime
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from museum.history import chain
from museum.history.models import Change

ENTRIES = [
    {"at": "2025-03-02T10:00:00Z", "n": 1, "object": "2025.1.1", "what": "accession", "who": "reg"},
    {"at": "2025-03-02T10:05:00Z", "n": 2, "object": "2025.1.1", "to": "MAIN/case 5", "what": "move", "who": "reg"},
]
# collections.md 9, check vector: made there by other means than this program
HASHES = [
    "60d2a6e998ff77c5ddc329b884e65fd7194a206082e6226f724466f123285eb2",
    "19162d9c1bfdd541e8ccbd51433ea4fb1c95de7328e18475726df14c30268dbc",
]


def test_both_hashes_of_the_check_vector() -> None:
    first = chain.entry_hash(chain.FIRST, ENTRIES[0])
    assert [first, chain.entry_hash(first, ENTRIES[1])] == HASHES


def test_the_order_of_keys_does_not_matter() -> None:
    turned = dict(reversed(ENTRIES[0].items()))
    assert chain.entry_hash(chain.FIRST, turned) == HASHES[0]


@pytest.mark.parametrize("name", ["at", "n", "object", "what", "who"])
def test_every_member_counts(name: str) -> None:
    assert chain.entry_hash(chain.FIRST, ENTRIES[0] | {name: "other"}) != HASHES[0]


def test_letters_beyond_ascii_stand_as_themselves() -> None:
    assert chain.canonical_json({"ü": "Kämme"}) == '{"ü":"Kämme"}'


def test_a_short_text_cannot_be_looked_up_by_its_digest() -> None:
    salt, other = chain.new_salt(), chain.new_salt()
    assert salt != other
    assert chain.salted_digest(salt, "Marit") != chain.salted_digest(other, "Marit")
    assert chain.salted_digest(salt, "Marit") != hashlib.sha256(b"Marit").hexdigest()


def test_an_instant_counts_the_same_on_every_clock() -> None:
    """What is told on a summer day by the society's clock is read back in UTC."""
    told = datetime(2025, 7, 1, 10, 0, tzinfo=ZoneInfo("Europe/London"))
    change = Change(n=1, act_id=uuid4(), at=told, what="told", subject="object:1")
    before = change.entry()
    change.at = told.astimezone(UTC)
    assert change.entry() == before
