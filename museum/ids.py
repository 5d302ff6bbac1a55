"""Keys that sort by the time they were made (UUID version 7, RFC 9562)."""

import os
import time
import uuid


def uuid7() -> uuid.UUID:
    """A new key: 48 bits of Unix milliseconds, 12 of their fraction (RFC 9562, 6.2, method 3), 62 random bits.

    The fraction keeps what one act writes in its order: facts of one instant are sorted by their keys.
    """
    milliseconds, rest = divmod(time.time_ns(), 1_000_000)
    value = milliseconds << 80 | 0x7 << 76 | (rest * 4096 // 1_000_000) << 64
    value |= 0b10 << 62 | int.from_bytes(os.urandom(8), "big") >> 2
    return uuid.UUID(int=value)
