"""Passwords and codes that the program makes up: easy to read aloud and to type, hard to guess."""

import secrets
from typing import Final

#: without what is mixed up when read from paper: i, l, o, 0, 1
ALPHABET: Final = "abcdefghjkmnpqrstuvwxyz23456789"


def new_code() -> str:
    """Twelve letters and figures, 59 bits."""
    return "".join(secrets.choice(ALPHABET) for _ in range(12))


def in_groups(code: str) -> str:
    """A code as it is shown."""
    return "-".join(code[at : at + 4] for at in range(0, len(code), 4))


def new_password() -> str:
    """A password to hand over, which its owner then changes."""
    return in_groups(new_code())
