"""The catalogues of translations: gathered from the sources, compiled for the program. Needs no database and no settings.

python -m museum.catalogues gather     # brings museum/locale/*/LC_MESSAGES/django.po up to date with the sources
python -m museum.catalogues compile    # writes the .mo files that the program reads
"""

import csv
import io
import json
import sys
from collections.abc import Container, Iterator, Sequence
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, Final

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_python
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

ROOT: Final = Path(__file__).resolve().parent.parent
LOCALE: Final = ROOT / "museum" / "locale"
SOURCES: Final = ("museum", "collection", "locations", "conservation", "reports")
#: as Babel wants them: None = the first argument; else which are the singular, the plural, the context
KEYWORDS: Final[dict[str, Any]] = {
    "_": None, "_now": None, "gettext": None, "gettext_lazy": None, "gettext_noop": None,
    "ngettext": (1, 2), "ngettext_lazy": (1, 2), "pgettext": ((1, "c"), 2), "pgettext_lazy": ((1, "c"), 2), "npgettext": ((1, "c"), 2, 3),
}  # fmt: skip
#: tables whose words are shown to people, and the columns that hold them
TABLES: Final = {
    "terms.csv": ("name", "response"),
    "zones.csv": ("name", "look_for"),
    "hazards.csv": ("name", "where", "clue", "do", "do_not", "who"),
    "events.csv": ("name", "reason"),
    "views.csv": ("name",),
    "treatment_rules.csv": ("problem", "recommended_low_intervention_step", "tools_materials", "cautions"),
    "contraindications.csv": ("material", "agent_or_action", "why_not", "instead"),
}
RULES: Final = ROOT / "conservation" / "rules" / "data"

#: one text: where it stands, the text (with its plural), its context
Found = tuple[str, "str | tuple[str, ...]", "str | None"]


def found_in(path: Path) -> Iterator[Found]:
    """The texts of one Python file or template."""
    source = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        # What is left of a template are calls among blanks; a Python tokenizer wants no indentation there.
        source = "\n".join(line.lstrip() for line in templatize(source).splitlines())
    calls: Iterator[tuple[Any, ...]] = extract_python(io.BytesIO(source.encode()), KEYWORDS, (), {"encoding": "utf-8"})
    for _line, keyword, texts, _comments in calls:
        if (found := _meant(KEYWORDS[keyword], texts if isinstance(texts, tuple) else (texts,))) is not None:
            yield path.relative_to(ROOT).as_posix(), *found


def _meant(places: Any, texts: Sequence[str | None]) -> tuple[str | tuple[str, ...], str | None] | None:
    """The text of a call and its context; None where it is no text but a variable."""
    context = None
    numbers = []
    for place in places or (1,):
        if isinstance(place, tuple):
            context = texts[place[0] - 1]
        else:
            numbers.append(place)
    said = [texts[n - 1] for n in numbers if n <= len(texts)]
    if len(said) < len(numbers) or not all(said):
        return None
    whole = tuple(text for text in said if text)
    return (whole if len(whole) > 1 else whole[0]), context


def table_words() -> Iterator[Found]:
    """The words of the rules' tables that people read."""
    for name, columns in TABLES.items():
        with (RULES / name).open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                yield from ((f"conservation/rules/data/{name}", row[column], None) for column in columns if row[column])
    with (RULES.parent / "labels.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            yield from (("conservation/rules/labels.csv", row[column], None) for column in ("label", "about") if row[column])
    for row in json.loads((RULES / "screen.json").read_text(encoding="utf-8")):
        for question in (row, row.get("closer")):
            if question:
                yield "conservation/rules/data/screen.json", question["question"], None
    yield from divided_words()
    yield from guiding_words()


def divided_words() -> Iterator[Found]:
    """Both sides of a practice on which the trade is divided, each by itself: 'for: ...; against: ...'."""
    with (RULES / "treatment_rules.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            pro, _between, contra = row["disputed"].removeprefix("for: ").partition("; against: ")
            yield from (("conservation/rules/data/treatment_rules.csv", side, None) for side in (pro, contra) if side)


def guiding_words() -> Iterator[Found]:
    """The texts by which work is led and taught."""
    for name, silent in (("sequences.json", {"code", "name", "steps", "source"}), ("lessons.json", {"step"})):
        for text in _texts_in(json.loads((RULES / name).read_text(encoding="utf-8")), silent):
            yield f"conservation/rules/data/{name}", text, None


def _texts_in(told: Any, silent: Container[str]) -> Iterator[str]:
    """Every text in lists and under names, but under those that nobody is shown."""
    if isinstance(told, str):
        yield from [told] if told else []
    elif isinstance(told, (list, dict)):
        inside = told if isinstance(told, list) else [value for name, value in told.items() if name not in silent]
        for one in inside:
            yield from _texts_in(one, silent)


def every_text() -> Iterator[Found]:
    """All that can be translated, in a lasting order."""
    for folder in SOURCES:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".html", ".txt") and "migrations" not in path.parts and (path.suffix == ".py" or "templates" in path.parts):
                yield from found_in(path)
    yield from table_words()


def template() -> Catalog:
    """An empty catalogue of every text, with where it stands."""
    catalogue = Catalog(project="Burgonet", charset="utf-8")
    for where, text, context in every_text():
        catalogue.add(text, locations=[(where, 0)], context=context)
    return catalogue


def load(path: Path) -> Catalog:
    """A catalogue as it is kept."""
    with path.open("rb") as lines:
        return read_po(lines, locale=path.parts[-3])


def kept() -> list[Path]:
    """The catalogues there are."""
    return sorted(LOCALE.glob("*/LC_MESSAGES/django.po"))


def gather() -> None:
    """Adds what is new, empty; takes out what no source says any more. Nothing is guessed."""
    fresh = template()
    for path in kept():
        catalogue = load(path)
        catalogue.update(fresh, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        with path.open("wb") as lines:
            write_po(lines, catalogue, width=140, include_lineno=False, sort_output=False)
        empty = sum(1 for message in catalogue if message.id and not is_said(message.string))
        print(f"{path.parts[-3]}: {len(catalogue)} texts, {empty} still in English")


def compile_all() -> None:
    """Writes each catalogue in the form that is read at work; whole or not at all."""
    for path in kept():
        with NamedTemporaryFile(dir=path.parent, suffix=".half", delete=False) as half:
            write_mo(half, load(path))
        Path(half.name).chmod(0o644)
        Path(half.name).replace(path.with_suffix(".mo"))


def is_said(string: Any) -> bool:
    """Whether a text is told, in each of its forms."""
    return all(string) if isinstance(string, (list, tuple)) else bool(string)


if __name__ == "__main__":
    {"gather": gather, "compile": compile_all}[sys.argv[1]]()
