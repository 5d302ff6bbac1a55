"""Whatever an action writes about a thing has its sentence in the time-line."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from museum.catalogues import ROOT, SOURCES
from museum.desk.timeline import SENTENCES, SHOWS

#: what is written about the house, its people and its lists, never about one thing
OF_THE_HOUSE = (
    "person.", "role.", "second_factor.", "society.", "tablet.", "account.", "competence.", "qualification.", "file.", "import.", "kind.", "material.",
    "word.", "words.", "zones.", "rule.", "rules.", "place.", "round.", "personal.",
    "climate.", "climate_file.", "logger.", "readings.", "standing.", "deposit.default", "batch.", "sheet.", "practice.", "lot.",
)  # fmt: skip
#: begins with one of those and stands on the page of a thing all the same
OF_A_THING = {"batch.used", "round.left_out", "import.row_taken_back", "place.changed", "place.wall_told", "place.wall_ended"}


def written() -> Iterator[tuple[str, str]]:
    """Each code that `act.wrote` is given as it stands in the sources, and where."""
    for top in SOURCES:
        for path in sorted((ROOT / top).rglob("*.py")):
            yield from ((code, path.name) for code in codes_in(path))


def codes_in(path: Path) -> Iterator[str]:
    """What is given to `wrote`, and where that is a variable `what`, what it is set to."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        told: ast.expr | None = None
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "wrote":
            told = node.args[0]
        elif isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "what":
            told = node.value
        texts = [part.value for part in ast.walk(told) if isinstance(part, ast.Constant)] if told else []
        yield from (text for text in texts if isinstance(text, str) and re.fullmatch(r"[a-z_]+\.[a-z_]+", text))


def test_every_entry_about_a_thing_has_a_sentence() -> None:
    known = set(written())
    assert len(known) > 40
    silent = {(code, where) for code, where in known if code not in SENTENCES and (code in OF_A_THING or not code.startswith(OF_THE_HOUSE))}
    assert not silent, "these need a sentence in museum/desk/timeline.py"


def test_every_sentence_belongs_to_a_group_that_can_be_shown() -> None:
    assert {group for _sentence, _icon, group in SENTENCES.values()} == {group for group, _words in SHOWS if group}


def test_every_sentence_has_a_symbol_that_is_drawn() -> None:
    sprite = (ROOT / "museum/web/static/web/icons.svg").read_text(encoding="utf-8")
    assert not {icon for _sentence, icon, _group in SENTENCES.values() if f'id="i-{icon}"' not in sprite}
