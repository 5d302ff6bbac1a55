"""Keys that sort by the time they were made (UUID version 7, RFC 9562)."""

import os
import time
import uuid


def uuid7() -> uuid.UUID:
    """A new key: 48 bits of Unix milliseconds, then 74 random bits."""
    random = int.from_bytes(os.urandom(10), "big")
    value = (time.time_ns() // 1_000_000) << 80
    value |= 0x7 << 76 | (random >> 68 & 0xFFF) << 64
    value |= 0b10 << 62 | random & (1 << 62) - 1
    return uuid.UUID(int=value)
