"""A row that holds several things: each of them after the first has a row of its own, made once."""

from collections.abc import Iterable, Sequence
from uuid import uuid5

from collection.exchange.models import ImportRow, ImportSession
from museum.ids import uuid7


def follow(session: ImportSession, rows: Iterable[ImportRow]) -> None:
    """Makes the further parts of rows as they are answered now; parts that are no more are left out, never lost."""
    heads = {row.n: row for row in rows if row.part == 0}
    before = {(part.n, part.part): part for part in session.rows.filter(n__in=list(heads), part__gt=0)}
    new: list[ImportRow] = []
    for row in heads.values():
        new += [_part(row, part) for part in range(2, len(_texts(row)) + 1) if (row.n, part) not in before]
    changed = [part for part in before.values() if not part.settled and _agree(heads[part.n], part)]
    ImportRow.objects.bulk_create(new)
    ImportRow.objects.bulk_update(changed, ["answers", "version"])


def _texts(row: ImportRow) -> Sequence[str]:
    """The numbers into which a row is split; none where it is one thing."""
    number = row.answers.get("number") or {}
    return list(number.get("texts", ())) if number.get("do") == "split" else []


def _part(row: ImportRow, part: int) -> ImportRow:
    answers = row.answers | {"part": _texts(row)}
    return ImportRow(
        id=uuid7(), session_id=row.session_id, n=row.n, part=part, cells=row.cells, marks=row.marks, key=uuid5(row.key, str(part)), answers=answers,
    )  # fmt: skip


def _agree(row: ImportRow, part: ImportRow) -> bool:
    """Gives a part the number it has by now; without one it is left out. Answers whether anything changed."""
    texts = _texts(row)
    told = {"number": row.answers["number"], "part": texts} if part.part <= len(texts) else {}
    if part.answers.get("part") == told.get("part"):
        return False
    part.answers = {name: value for name, value in part.answers.items() if name not in ("number", "part")} | told
    part.version += 1
    return True
