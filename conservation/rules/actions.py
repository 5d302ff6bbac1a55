"""The society changes a rule, or takes its change back: whole tables are checked, nothing is kept half."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from collection.objects.actions.words import add_material
from collection.objects.models import Material
from conservation.rules import book
from conservation.rules.changes import book_now, last_change, last_shipped
from conservation.rules.editing import fitting
from conservation.rules.every import TABLES
from conservation.rules.models import RuleChange
from museum.errors import Invalid, NotFound, VersionConflict
from museum.history.record import lock
from museum.people.action import Act, action


@action("rules.change_rule", may="rules.change")
def change_rule(act: Act, table: str, code: str, content: Any, *, reason: str, version: int, source: str = "") -> RuleChange:
    """Puts the society's own row over a shipped one, or adds one where the table grows.

    `version` is that of the society's last version of this row, 0 where there is none. Every table is read as it
    would then stand. Raises Invalid with all faults in sentences, VersionConflict, NotFound.
    """
    before = _claim(table, code, version, content)
    known = TABLES[table]
    if code not in known.shipped() and not known.grows:
        raise NotFound
    content = fitting(known, code, content)
    now = book_now()
    standing = now.rows(table).get(code)
    if content == standing:
        raise Invalid(_("This is how it stands already."), field="content")
    change = _store(act, now.with_row(table, code, content), table, code, before, reason, content=content, source=source.strip())
    if table == "materials" and not Material.objects.filter(code=code).exists():
        add_material(act, code=code, name=content["name"])
    act.wrote("rule.changed", change, before={"row": f"{table}/{code}", "content": standing}, after={"content": content}, reason=change.reason)
    return change


@action("rules.return_to_shipped", may="rules.change")
def return_to_shipped(act: Act, table: str, code: str, *, reason: str, version: int) -> RuleChange:
    """Takes the society's row back: the shipped one counts again; a row of the society's own goes. Both stay in the history."""
    before = _claim(table, code, version, None)
    if before is None or before.withdrawn:
        raise Invalid(_("This row counts as shipped already."), field="version")
    change = _store(act, book_now().with_row(table, code, None), table, code, before, reason, withdrawn=True)
    act.wrote("rule.returned", change, before={"row": f"{table}/{code}", "content": before.content}, reason=change.reason)
    return change


def _claim(table: str, code: str, version: int, mine: Any) -> RuleChange | None:
    """The society's last version of the row. Rules are changed one after the other: their numbers rise as they are stored."""
    if table not in TABLES:
        raise NotFound
    lock("rules")
    last = last_change(table, code)
    stands = last.version if last else 0
    if stands != version:
        who = last.author.name if last and last.author else str(_("Somebody"))
        raise VersionConflict(who=who, theirs={"content": last.content if last else None}, mine={"content": mine}, version=stands)
    return last


def _store(act: Act, then: book.Book, table: str, code: str, before: RuleChange | None, reason: str, **more: Any) -> RuleChange:
    """One more version, if every table can be judged by as it would then stand."""
    if not reason.strip():
        raise Invalid(_("Say why: the reason stays with the rule."), field="reason")
    if faults := then.problems():
        raise Invalid(" ".join(faults), field="content", problems=faults)
    shipped = last_shipped(table, code)
    change = RuleChange.objects.create(
        act_id=act.id, table=table, code=code, version=before.version + 1 if before else 1, over=shipped.version if shipped else 0,
        reason=reason.strip(), author_id=act.actor.person, recorded_at=act.now, **more,
    )  # fmt: skip
    act.afterwards(book.forget)
    return change
