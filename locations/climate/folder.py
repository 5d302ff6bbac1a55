"""The watched folder: what is put there is taken as if sent; what is refused lies in `refused` with the reason beside it."""

import re
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from django.conf import settings
from django.utils import translation

from locations.climate.actions.files import take_file
from locations.climate.files.sheets import MOST_BYTES
from museum import clock
from museum.errors import DomainError
from museum.papers.files import Upload
from museum.people.actor import PROGRAM

ENDINGS: Final = {".csv", ".txt", ".tsv", ".xlsx"}
#: somebody may still be writing what changed so lately (s)
SETTLES: Final = 20
REFUSED: Final = "refused"
#: a reason in one language, as `_in_all_languages` writes it
TOLD_IN: Final = re.compile(r"\[([a-z-]+)\] (.*)")
#: a page tells no more of them at once
MOST_TOLD: Final = 20


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
    return time.time() - path.stat().st_mtime >= SETTLES


def _take(path: Path) -> None:
    try:
        take_file(PROGRAM, Upload(path.name, _bytes_of(path)))
    except DomainError as refused:
        _aside(path, REFUSED).with_suffix(".reason.txt").write_text(_in_all_languages(refused), encoding="utf-8")
    else:
        _aside(path, "taken")


def _in_all_languages(refused: DomainError) -> str:
    """A line in each language: nobody knows who will read it."""
    lines = []
    for code, _name in settings.LANGUAGES:
        with translation.override(code):
            lines.append(f"[{code}] {' '.join(refused.sentence.split())}\n")
    return "".join(lines)


def _bytes_of(path: Path) -> bytes:
    """No more than tells that it is too large."""
    with path.open("rb") as opened:
        return opened.read(MOST_BYTES + 1)


@dataclass(frozen=True, slots=True)
class Refused:
    """A file of the folder that was not taken, when, and why."""

    name: str
    at: datetime
    reason: str


def refused() -> list[Refused]:
    """What lies refused in the folder, the latest first, as long as it lies there: somebody put it there and nobody stood by."""
    told = [(at, path) for path in (place() / REFUSED).glob("*.reason.txt") if (at := _changed_at(path)) is not None]
    return [_refused(path, at) for at, path in sorted(told, reverse=True)[:MOST_TOLD]]


def _changed_at(path: Path) -> float | None:
    """None where somebody took it away just now."""
    try:
        return path.stat().st_mtime
    except OSError:
        return None


def _refused(path: Path, at: float) -> Refused:
    """What people leave there themselves may be written in any way, or be for nobody to read."""
    try:
        reason = path.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        reason = ""
    return Refused(path.name.removesuffix(".reason.txt"), datetime.fromtimestamp(at, clock.zone()), _in_my_language(reason))


def _in_my_language(reason: str) -> str:
    """The line in the reader's language; all of it where people wrote something else there."""
    told = {str(found[1]): str(found[2]) for line in reason.splitlines() if (found := TOLD_IN.fullmatch(line))}
    return told.get(translation.get_language() or "", next(iter(told.values()), reason))


def _aside(path: Path, where: str) -> Path:
    """Moves it out of the way, over nothing that lies there."""
    folder = path.parent / where
    folder.mkdir(exist_ok=True)
    target = folder / path.name
    if target.exists():
        target = folder / f"{path.stem}-{time.time_ns()}{path.suffix}"
    return path.rename(target)
