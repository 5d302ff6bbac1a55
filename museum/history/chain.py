"""The hash chain over the history, free of the framework.

An entry's hash is SHA-256 over the hash of the entry before it (64 zeros for the first) followed by
the entry as canonical JSON: keys sorted, no spaces, UTF-8.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from typing import Any

FIRST = "0" * 64


def canonical_json(value: Any) -> str:
    """The one spelling of a value: sorted keys, no spaces, no escapes beyond what JSON needs."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def entry_hash(previous: str, entry: Mapping[str, Any]) -> str:
    """Hex SHA-256 that binds an entry to all before it."""
    return linked(previous, canonical_json(entry))


def linked(previous: str, canonical: str) -> str:
    """The same for an entry that is canonical JSON already."""
    return hashlib.sha256((previous + canonical).encode()).hexdigest()


def digest(value: Any) -> str:
    """Hex SHA-256 of a value's canonical JSON: whether two requests say the same."""
    return hashlib.sha256(canonical_json(value).encode()).hexdigest()


def new_salt() -> str:
    """128 random bits in hex, so that a short text cannot be guessed from its digest."""
    return os.urandom(16).hex()


def salted_digest(salt: str, text: str) -> str:
    """What stands in the hashed entry for a personal text, which can so be erased later."""
    return hashlib.sha256((salt + text).encode()).hexdigest()
