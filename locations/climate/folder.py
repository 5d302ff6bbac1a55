"""The watched folder: what is put there is taken as if sent; what is refused lies in `refused` with the reason beside it."""

import time
from pathlib import Path
from typing import Final

from django.conf import settings

from locations.climate.actions.files import take_file
from locations.climate.files.sheets import MOST_BYTES
from museum.errors import DomainError
from museum.papers.files import Upload
from museum.people.actor import PROGRAM

ENDINGS: Final = {".csv", ".txt", ".tsv", ".xlsx"}
#: somebody may still be writing what changed so lately (s)
SETTLES: Final = 20


def place() -> Path:
    """Where files are put."""
    return Path(settings.CLIMATE_FOLDER)


def look() -> int:
    """Takes every settled file, one by one; answers how many."""
    if not place().is_dir():
        return 0
    waiting = [path for path in sorted(place().iterdir()) if path.is_file() and path.suffix.lower() in ENDINGS and _settled(path)]
    for path in waiting:
        _take(path)
    return len(waiting)


def _settled(path: Path) -> bool:
    return time.time() - path.stat().st_mtime >= SETTLES and path.stat().st_size <= MOST_BYTES


def _take(path: Path) -> None:
    try:
        take_file(PROGRAM, Upload(path.name, path.read_bytes()))
    except DomainError as refused:
        _aside(path, "refused").with_suffix(".reason.txt").write_text(f"{refused.sentence}\n", encoding="utf-8")
    else:
        _aside(path, "taken")


def _aside(path: Path, where: str) -> Path:
    """Moves it out of the way, over nothing that lies there."""
    folder = path.parent / where
    folder.mkdir(exist_ok=True)
    target = folder / path.name
    if target.exists():
        target = folder / f"{path.stem}-{time.time_ns()}{path.suffix}"
    return path.rename(target)
