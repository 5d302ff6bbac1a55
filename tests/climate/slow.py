"""For a real worker: files are stored in small pieces, and after the first it waits for a gate, to be killed before it."""

import time
from typing import Any

from django.conf import settings

from locations.climate import importing

importing.PIECE = 1_000  # type: ignore[misc]
_store, _first = importing.store_piece, iter([True])


def _store_at_the_gate(*given: Any) -> Any:
    while not (next(_first, False) or (settings.VAR_DIR / "gate").exists()):
        time.sleep(0.05)
    return _store(*given)


importing.store_piece = _store_at_the_gate
