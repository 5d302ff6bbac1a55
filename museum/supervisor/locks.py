"""Locks in a data folder. The kernel lets one go when its last holder ends, kill -9 included."""

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

#: how often a lock that somebody holds is asked for again
ASK_AGAIN_SECONDS = 0.1


class Taken(Exception):
    """Somebody else holds the lock."""


@contextmanager
def held(path: Path, *, shared: bool = False, patience: float = 0.0) -> Iterator[int]:
    """Holds a lock meanwhile; gives its file descriptor. A child that is passed it holds the lock too, until it ends.

    Raises Taken when others hold it for longer than `patience` seconds.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    line = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _take(line, fcntl.LOCK_SH if shared else fcntl.LOCK_EX, time.monotonic() + patience)
        yield line
    finally:
        os.close(line)


def _take(line: int, kind: int, deadline: float) -> None:
    while True:
        try:
            fcntl.flock(line, kind | fcntl.LOCK_NB)
            return
        except BlockingIOError:
            if time.monotonic() >= deadline:
                raise Taken from None
        time.sleep(ASK_AGAIN_SECONDS)
