"""All rule tables as they count at one moment: the shipped rows and, over them, the society's own.

A table is a name and rows, each row a lasting code with content that JSON can hold. Its reader makes of the whole
table what the evaluators ask, and raises BadRules where it cannot be judged by. What counts now is asked by
`in_force(name)`; who knows the society's rows (the database) tells this module by `ask`.
"""

import csv
import hashlib
import json
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final

DATA: Final = Path(__file__).parent / "data"

Rows = Mapping[str, Any]


class BadRules(ValueError):
    """Rule tables that cannot be judged by. `problems` are whole sentences, one a fault."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__(" ".join(problems))


@dataclass(frozen=True, slots=True)
class Table:
    """A rule table. `read` takes code to content of the whole table and raises BadRules.

    `grows`: the society may add rows of its own. `sorts` says how a column is asked for where that is not a
    line of text: 'text' (several lines), or the answers to choose from.
    """

    name: str
    title: str
    shipped: Callable[[], Rows]
    read: Callable[[Rows], Any]
    grows: bool = False
    sorts: Mapping[str, str | Sequence[str]] = field(default_factory=dict)


#: every table of the program by its name, in the order in which they are shown
TABLES: Final[dict[str, Table]] = {}


def register(table: Table) -> Table:
    """Makes a table known: shown, compared, changed by the society, in force through `in_force(table.name)`."""
    TABLES[table.name] = table
    return table


def csv_table(name: str, title: str, read: Callable[[Sequence[Mapping[str, str]]], Any], *, key: str = "code", **more: Any) -> Table:
    """A table whose rows stand in `data/<name>.csv`; `read` takes its rows as they stand there, with the key column."""

    def shipped() -> Rows:
        with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
            return {row.pop(key): row for row in csv.DictReader(lines)}

    return Table(name, title, cache(shipped), lambda rows: read([{key: code, **content} for code, content in rows.items()]), **more)


class Book:
    """Every table at one moment, read when first asked for. `changes` are the society's rows by (table, code)."""

    def __init__(self, changes: Mapping[tuple[str, str], Any] | None = None) -> None:
        self.changes = dict(changes or {})
        self._read: dict[str, Any] = {}

    def rows(self, name: str) -> dict[str, Any]:
        """Code to content: shipped ones in their order, then those that the society added."""
        mine = {code: content for (table, code), content in self.changes.items() if table == name}
        return {**TABLES[name].shipped(), **mine}

    def value(self, name: str) -> Any:
        """The table as its reader makes it. Raises BadRules."""
        if name not in self._read:
            with using(self):
                self._read[name] = TABLES[name].read(self.rows(name))
        return self._read[name]

    def with_row(self, name: str, code: str, content: Any) -> "Book":
        """The same with one row of the society's; None = as shipped. Nothing of it is read yet."""
        changes = {key: value for key, value in self.changes.items() if key != (name, code)}
        return Book(changes if content is None else {**changes, (name, code): content})

    def problems(self) -> list[str]:
        """What keeps any table from being judged by, in whole sentences; nothing for a good book."""
        found: list[str] = []
        for name in TABLES:
            try:
                self.value(name)
            except BadRules as bad:
                found += bad.problems
            except (TypeError, ValueError, KeyError, AttributeError):
                found.append(f"The table '{name}' has a value of another form than the shipped one.")
        return found

    def changes_code(self, names: Collection[str]) -> str:
        """Eight letters that name the society's rows of these tables; empty where there are none."""
        ours = sorted(((key, content) for key, content in self.changes.items() if key[0] in names), key=lambda pair: pair[0])
        said = json.dumps([[*key, content] for key, content in ours], sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(said.encode()).hexdigest()[:8] if ours else ""


@cache
def shipped_book() -> Book:
    """Every table as the program ships it."""
    return Book()


class _Holder:
    """What one request or one piece of work sees from beginning to end."""

    book: Book | None = None


_held: ContextVar[_Holder | None] = ContextVar("rules_held", default=None)
_asked: list[Callable[[], Book]] = [shipped_book]


def ask(provider: Callable[[], Book]) -> None:
    """Says who knows what counts now."""
    _asked[0] = provider


def current() -> Book:
    """The book that counts here and now."""
    holder = _held.get()
    if holder is None:
        return _asked[0]()
    if holder.book is None:
        holder.book = _asked[0]()
    return holder.book


def in_force(name: str) -> Any:
    """A table that counts here and now, as its reader makes it."""
    return current().value(name)


@contextmanager
def held() -> Iterator[None]:
    """Within the block the tables are asked for at most once."""
    token = _held.set(_Holder())
    try:
        yield
    finally:
        _held.reset(token)


@contextmanager
def using(book: Book | None) -> Iterator[None]:
    """Within the block these tables count; None = whatever counts now, asked each time."""
    holder = None if book is None else _Holder()
    if holder is not None:
        holder.book = book
    token = _held.set(holder)
    try:
        yield
    finally:
        _held.reset(token)


def forget() -> None:
    """After a change: what is held is asked for anew."""
    if (holder := _held.get()) is not None:
        holder.book = None
