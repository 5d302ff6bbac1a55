"""Pages of the rules: every table, every row, shipped beside changed, who changed it and why; the curator's form."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from collection.objects.views.common import acting, number_in
from conservation.rules import actions, editing, showing
from conservation.rules.book import Table, current
from conservation.rules.changes import last_change
from conservation.rules.consistency import contradictions
from conservation.rules.every import TABLES
from conservation.rules.ruleset import rules_in_force
from conservation.rules.treatment_book import treatment_rules_in_force
from museum.errors import Invalid, NotFound, VersionConflict
from museum.people.doors import actor_of, needs
from museum.web.conflicts import both_versions

#: as many of the tables' contradictions are told one by one
SENTENCES: Final = 20


@require_GET
@needs("catalogue.see_all")
def tables(request: HttpRequest) -> HttpResponse:
    """Every table, with how much of it the society has changed."""
    changed = showing.counts()
    rows = [{"table": table, "rows": len(showing.listed(table)), "changed": changed.get(name, 0)} for name, table in TABLES.items()]
    apart = [found.sentence() for found in contradictions(treatment_rules_in_force())]
    return render(request, "rules/tables.html", {"rows": rows, "version": rules_in_force().version, "apart": apart[:SENTENCES], "more": len(apart) - SENTENCES})


@require_GET
@needs("catalogue.see_all")
def table(request: HttpRequest, table: str) -> HttpResponse:
    """The rows of one table."""
    known = showing.table_named(table)
    context = {"table": known, "rows": showing.listed(known), "adds": known.grows and actor_of(request).may("rules.change")}
    return render(request, "rules/table.html", context)


@require_GET
@needs("catalogue.see_all")
def row(request: HttpRequest, table: str, row_code: str) -> HttpResponse:
    """One row: as shipped, as it counts, and its history."""
    known = showing.table_named(table)
    lines = showing.compared(known, row_code)
    change = last_change(table, row_code)
    context = {
        "table": known, "code": row_code, "name": showing.name_of(known, row_code), "lines": lines,
        "history": showing.history(known, row_code), "moved": showing.moved(known, row_code),
        "changed": bool(change and not change.withdrawn), "version": change.version if change else 0, "source": change.source if change else "",
        "own": row_code not in known.shipped(), "may": actor_of(request).may("rules.change"),
    }  # fmt: skip
    return render(request, "rules/row.html", context)


@require_http_methods(["GET", "POST"])
@needs("rules.change")
def change(request: HttpRequest, table: str, row_code: str) -> HttpResponse:
    """The form of one row."""
    known = showing.table_named(table)
    if request.method == "POST" and (row_code in known.shipped() or last_change(table, row_code) is not None):
        return _changed(request, table, row_code, lambda typed: editing.content_of(known, row_code, typed))
    content, last = showing.content_in_force(known, row_code), last_change(table, row_code)
    return _form(request, table, row_code, editing.sheet_of(known, row_code, content), last.version if last else 0)


@require_http_methods(["GET", "POST"])
@needs("rules.change")
def add(request: HttpRequest, table: str) -> HttpResponse:
    """A row of the society's own."""
    known = showing.table_named(table)
    if not known.grows:
        raise NotFound
    if request.method == "POST":
        code = request.POST.get("code", "").strip()
        return _changed(request, table, code, lambda typed: editing.content_of(known, code, typed), new=True)
    return _form(request, table, "", editing.sheet_of(known, "", None), 0, new=True)


@require_POST
@needs("rules.change")
def give_back(request: HttpRequest, table: str, row_code: str) -> HttpResponse:
    """The shipped row counts again."""
    known, typed = showing.table_named(table), request.POST
    try:
        actions.return_to_shipped(acting(request), table, row_code, reason=typed.get("reason", ""), version=number_in(typed.get("version"), 0))
    except VersionConflict as conflict:
        return _both(request, known, row_code, conflict, _cells(known, row_code, known.shipped().get(row_code)))
    except Invalid as refused:
        messages.error(request, refused.sentence)
        return redirect("rules:row", table, row_code)
    messages.success(request, _("The shipped row counts again."))
    return redirect("rules:row", table, row_code) if row_code in known.shipped() else redirect("rules:table", table)


def _changed(request: HttpRequest, table: str, code: str, read: Callable[[Mapping[str, str]], Any], *, new: bool = False) -> HttpResponse:
    """Stores the form, or shows it again with what was typed and what is wrong with it."""
    typed = {name: str(value) for name, value in request.POST.items()}
    version = number_in(typed.get("version"), 0)
    try:
        if new and (last := last_change(table, code)) is not None:
            version = last.version if last.withdrawn else version
        if new and code in showing.table_named(table).shipped():
            raise Invalid(_("There is a row with this code. Change that one."), field="code")
        actions.change_rule(acting(request), table, code, read(typed), reason=typed.get("why_changed", ""), version=version, source=typed.get("rests_on", ""))
    except VersionConflict as conflict:
        known = showing.table_named(table)
        return _both(request, known, code, conflict, {cell.name: cell.value for cell in _typed(table, code, typed).all_cells()})
    except Invalid as refused:
        problems = refused.data.get("problems") or [refused.sentence]
        return _form(request, table, code, _typed(table, code, typed), version, problems=problems, typed=typed, new=new)
    messages.success(request, _("Stored. It counts from now on; what was judged before stays as it was."))
    return redirect("rules:row", table, code)


def _both(request: HttpRequest, known: Table, code: str, conflict: VersionConflict, mine: Mapping[str, str]) -> HttpResponse:
    """The row as it counts by now beside this person's, field by field where they differ."""
    said = conflict.data["theirs"]["content"]
    stands = known.shipped().get(code) if said is None else said
    theirs = _cells(known, code, stands)
    names = {cell.name: cell.label for cell in editing.sheet_of(known, code, stands).all_cells()}
    apart = [name for name in dict.fromkeys((*theirs, *mine)) if theirs.get(name, "").split() != mine.get(name, "").split()]
    sides = {side: {name: cells.get(name, "") for name in apart} for side, cells in (("theirs", theirs), ("mine", mine))}
    there = code in known.shipped() or said is not None
    back = reverse("rules:row", args=[known.name, code]) if there else reverse("rules:table", args=[known.name])
    return both_versions(request, VersionConflict(**{**conflict.data, **sides}), back=back, names=names)


def _cells(known: Table, code: str, content: Any) -> dict[str, str]:
    """What stands in each field; nothing where the table has no such row."""
    return {cell.name: cell.value for cell in editing.sheet_of(known, code, content).all_cells()}


def _typed(table: str, code: str, typed: Mapping[str, str]) -> editing.Sheet:
    known = showing.table_named(table)
    content = current().rows(table).get(code) if code else None
    return editing.sheet_of(known, code, content).holding(typed)


def _form(
    request: HttpRequest,
    table: str,
    code: str,
    sheet: editing.Sheet,
    version: int,
    *,
    problems: Any = (),
    typed: Mapping[str, str] | None = None,
    new: bool = False,
) -> HttpResponse:
    typed, known = typed or {}, showing.table_named(table)
    context = {
        "table": known, "code": code, "name": "" if new else showing.name_of(known, code), "sheet": sheet, "version": version, "problems": problems, "new": new,
        "reason": typed.get("why_changed", ""), "source": typed.get("rests_on", ""),
    }  # fmt: skip
    return render(request, "rules/change.html", context, status=400 if problems else 200)
