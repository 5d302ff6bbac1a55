"""Erasing personal words of the record: who held a thing, whom it came from.

It stands here, above the catalogue and the checks, since the same words lie in what was read for an import, in forms that wait for
their author and in papers. What can be erased is; what cannot is named, so that a person knows where else to look.
"""

import json
import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Final
from uuid import UUID

from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast
from django.utils.translation import gettext_lazy as _

from collection.exchange.columns import FIELD_OF, cell_at
from collection.exchange.models import Erasure, ImportRow
from collection.objects import card
from collection.objects.models import Statement
from conservation.checks.models import ConditionCheck, Draft, Observation
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.models import Act as ActRow
from museum.history.models import PersonalText, subject_of
from museum.history.record import lock
from museum.papers.models import IssuedPaper
from museum.people import held
from museum.people.action import Act, action

MOST: Final = 500
TARGET_OF: Final = {code: target for target, code in FIELD_OF.items()}


@dataclass(slots=True)
class Remains:
    """Where else the words stand, which nobody can erase: papers by number, files by name, and how many of what else."""

    papers: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    statements: int = 0
    checks: int = 0
    drafts: int = 0


def personal_words(words: str = "", thing: UUID | None = None) -> "QuerySet[Statement]":
    """Every statement of a personal field that still has its words, whether it stands, was replaced or only proposed."""
    rows = Statement.objects.filter(field__personal=True, value__isnull=False, withdraws=False, erasure=None)
    if thing is not None:
        rows = rows.filter(component__object=thing)
    for word in words.split():
        rows = rows.alias(whole=Cast("value", TextField())).filter(
            Q(words__icontains=word) | Q(whole__icontains=_as_json(word)) | Q(source__icontains=word) | Q(cell__icontains=word)
        )
    rows = rows.select_related("field", "component__object__card", "author", "acceptance__replaced_by")
    return rows.order_by("component__object__card__number_sort", "recorded_at", "id")


@action("exchange.erase_words", may="personal.erase")
def erase_words(act: Act, statement_ids: Collection[UUID], *, reason: str) -> dict[str, Any]:
    """Erases for ever the words of these personal statements wherever the program can; field, day, author and acceptance stay.

    Answers how much was erased and where the words still stand. Raises NotFound, and Invalid without a reason or with one
    that repeats the words, for it stays.
    """
    if not (reason := reason.strip()):
        raise Invalid(_("Say why, without naming the person: the reason stays for ever."), field="reason")
    for thing in sorted(set(personal_words().filter(pk__in=statement_ids).values_list("component__object", flat=True))):
        lock(f"object:{thing}")
    rows = list(personal_words().filter(pk__in=statement_ids))
    if not rows or len(rows) != len(set(statement_ids)):
        raise NotFound
    texts = _texts(rows)
    if any(text.casefold() in reason.casefold() for text in texts):
        raise Invalid(_("The reason names the person, and it stays for ever. Say it without the name."), field="reason")
    for row in rows:
        Erasure.objects.create(act_id=act.id, statement=row, erased_on=clock.today(), reason=reason, by_id=act.actor.person)
        about = [("object", row.component.object_id)]
        act.wrote("statement.erased", row, after={"field": row.field.code}, reason=reason, about=about)
    PersonalText.objects.filter(change__subject__in=[subject_of(row) for row in rows]).delete()
    files = _erase_cells(act, rows, reason)
    card.refresh({row.component.object_id for row in rows})
    forms = _drop_held({str(row.component.object_id) for row in rows}, texts)
    return {"erased": len(rows), "forms": forms} | asdict(_remains(rows, texts, files))


def answer_of(key: str) -> dict[str, Any] | None:
    """What an erasing by the act of this key answered."""
    known = re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", key)
    row = ActRow.objects.filter(pk=key, action=erase_words.action_name).first() if known else None
    return row.answer if row else None


def _texts(rows: Iterable[Statement]) -> list[str]:
    """What is erased, each text once. What a value says beside its words (a role, a place) alone names nobody."""
    said = {text.strip() for row in rows for text in (row.words, str((row.value or {}).get("text", "")))}
    return sorted(said - {""})


def _erase_cells(act: Act, rows: Sequence[Statement], reason: str) -> list[str]:
    """Empties the cells from which these were read, in each import that has the row; answers the files, whose originals are kept."""
    by_thing: dict[UUID, list[Statement]] = {}
    for row in rows:
        by_thing.setdefault(row.component.object_id, []).append(row)
    files = []
    for thing, said in by_thing.items():
        for brought in _rows_of(thing):
            if columns := {column for one in said for column in _columns(one, brought)}:
                _empty(act, brought, sorted(columns), reason)
                files.append(brought.session.name)
    return sorted(set(files))


def _rows_of(thing: UUID) -> list[ImportRow]:
    """The rows that made this thing or were known by it, those made of the same row, and the same row of other files."""
    own = ImportRow.objects.filter(object=thing).values_list("key", "session", "n")
    keys, places = {key for key, _session, _n in own}, {(session, n) for _key, session, n in own}
    same = Q(object=thing) | Q(key__in=keys)
    for session, n in places:
        same |= Q(session=session, n=n)
    return list(ImportRow.objects.filter(same).select_related("session__file").order_by("session", "n", "part")) if keys else []


def _columns(said: Statement, row: ImportRow) -> list[int]:
    """The columns of the statement's field whose cell is in its words."""
    columns = row.session.way.of(TARGET_OF.get(said.field.code, said.field.code))
    return [column for column in columns if (text := cell_at(row.cells, column)) and text in said.words]


def _empty(act: Act, row: ImportRow, columns: Sequence[int], reason: str) -> None:
    """The cells without their words. The key of the row stays: by it the same file is known again and brings nothing back."""
    gone = {cell_at(row.cells, column) for column in columns}
    row.cells = ["" if column in columns else cell for column, cell in enumerate(row.cells)]
    row.findings = [one for one in row.findings if not any(text in json.dumps(one, ensure_ascii=False) for text in gone)]
    row.version += 1
    row.save(update_fields=["cells", "findings", "version"])
    headings = [row.session.way.heading_of(column) for column in columns]
    act.wrote("import.erased", row, after={"file": row.session.name, "row": row.called, "columns": headings}, reason=reason)


def _drop_held(things: Collection[str], texts: Sequence[str]) -> int:
    """Forms about these things that wait for their author to sign in again, and say one of the texts, are dropped."""
    dropped = 0
    for row in Session.objects.filter(expire_date__gt=clock.now()):
        waits = row.get_decoded().get(held.KEY)
        if waits and any(thing in waits["path"] for thing in things) and any(text in value for text in texts for _name, value in waits["fields"]):
            store = SessionStore(row.session_key)
            del store[held.KEY]
            store.save()
            dropped += 1
    return dropped


def _remains(rows: Sequence[Statement], texts: Sequence[str], files: list[str]) -> Remains:
    things = {row.component.object_id for row in rows}
    papers = IssuedPaper.objects.alias(whole=Cast("data", TextField())).filter(_any_of("whole", map(_as_json, texts)))
    drafts = Draft.objects.alias(whole=Cast("content", TextField())).filter(_any_of("whole", map(_as_json, texts)), object__in=things)
    checks = Q(object__in=things) & (_any_of("note", texts) | _any_of("limits", texts) | Q(pk__in=_noted(things, texts)))
    others = Statement.objects.filter(_any_of("words", texts) | _any_of("source", texts), component__object__in=things)
    return Remains(
        papers=list(papers.order_by("number").values_list("number", flat=True)[:MOST]), files=files, statements=others.count(),
        checks=ConditionCheck.objects.filter(checks).count(), drafts=drafts.count(),
    )  # fmt: skip


def _noted(things: Collection[UUID], texts: Sequence[str]) -> "QuerySet[Observation, UUID]":
    return Observation.objects.filter(_any_of("note", texts), of_check__object__in=things).values_list("of_check", flat=True)


def _any_of(name: str, texts: Iterable[str]) -> Q:
    found = Q(pk__in=[])
    for text in texts:
        found |= Q(**{f"{name}__icontains": text})
    return found


def _as_json(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)[1:-1]
