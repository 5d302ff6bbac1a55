"""Pages of what is kept in stock: the list, a batch, a supply with its safety sheet."""

from collections.abc import Callable
from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods

from collection.objects.models import Object
from collection.objects.search import carrying
from collection.objects.views.common import acting
from conservation.rules.supplies import Supply, supplies
from conservation.treatments import stock
from conservation.treatments.actions import stock as actions
from conservation.treatments.forms.stock import BatchForm, ChangeForm, LiftForm, MarkForm, RecallForm, SheetForm, TestForm, UseForm
from conservation.treatments.models import Batch, BatchTest
from museum import clock
from museum.delivery import attachment
from museum.errors import Invalid, NotFound
from museum.papers.files import Upload, open_file
from museum.people.doors import actor_of, needs
from museum.people.forms import Entry
from museum.people.models import Society

TITLES: Final = {
    "test": gettext_lazy("Put a test on file"),
    "use": gettext_lazy("Used to pack, pad or tag a thing"),
    "mark": gettext_lazy("Opened, or used up"),
    "change": gettext_lazy("Change what is written of it"),
    "recall": gettext_lazy("Recall it"),
    "lift": gettext_lazy("Lift the recall"),
}


@require_GET
@needs("stock.see")
def stock_list(request: HttpRequest) -> HttpResponse:
    """Everything by group, with what is amiss of each batch; `all`: what is used up too."""
    whole = "all" in request.GET
    lines = stock.lines(all_batches=whole)
    of_group = {group: [line for line in lines if line.supply.group == group] for group in stock.GROUPS}
    groups = [
        (words, [line for line in of_group[group] if line.verdicts], [line for line in of_group[group] if not line.verdicts])
        for group, words in stock.GROUPS.items()
    ]
    return render(request, "treatments/stock.html", {"groups": groups, "whole": whole, "whole_house": Society.KEY, "today": clock.today()})


@require_http_methods(["GET", "POST"])
@needs("stock.keep")
def add_batch(request: HttpRequest) -> HttpResponse:
    """A delivery is taken into stock."""
    form = BatchForm(request.POST or None, initial={"supply": request.GET.get("supply", "")})
    if request.method == "POST" and form.is_valid():
        added = form.carry_out(lambda: actions.add_batch(acting(request), **form.cleaned_data))
        if added is not None:
            return redirect("stock:batch", added.pk)
    return render(request, "treatments/add_batch.html", {"form": form})


@require_http_methods(["GET", "POST"])
@needs("stock.see")
def batch(request: HttpRequest, batch_id: UUID) -> HttpResponse:
    """One batch: may it be used, how was it tested, where was it used; a form for each act."""
    found = stock.batch_called(batch_id)
    verdict = stock.may_use(found)
    forms = _forms(request, found, verdict)
    if (which := request.POST.get("form", "")) in forms:
        form = forms[which] = type(forms[which])(request.POST)
        if form.is_valid() and form.carry_out(lambda: _carry_out(request, found, which, form, verdict)) is not None:
            messages.success(request, _("Stored."))
            return redirect("stock:batch", found.pk)
    return render(request, "treatments/batch.html", _context(request, found, verdict, forms))


@require_http_methods(["GET", "POST"])
@needs("stock.see")
def supply(request: HttpRequest, supply_code: str) -> HttpResponse:
    """One supply: how it is kept and thrown out, which tests it asks for, its safety sheet."""
    known, form = _supply(supply_code), SheetForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        sent, day = form.cleaned_data["file"], form.cleaned_data["of_day"]
        sheet = Upload(sent.name, sent.read())
        if form.carry_out(lambda: actions.file_sheet(acting(request), supply_code, sheet, of_day=day)) is not None:
            return redirect("stock:supply", supply_code)
    context = {
        "supply": known,
        "group": stock.GROUPS[known.group],
        "tests": [BatchTest.Sort(test).label for test in known.tests],
        "sheet": stock.sheet_of(supply_code),
        "batches": stock.verdicts(Batch.objects.filter(supply=supply_code).order_by("-received_on", "-id")),
        "form": form,
    }
    return render(request, "treatments/supply.html", context)


@require_GET
@needs("stock.see")
def sheet(request: HttpRequest, supply_code: str) -> FileResponse:
    """The safety sheet that counts, as it came."""
    found = stock.sheet_of(_supply(supply_code).code)
    if found is None:
        raise NotFound
    return attachment(open_file(found.file), name=found.file.name, media_type=found.file.media_type)


def _supply(code: str) -> Supply:
    known = supplies().get(code)
    if known is None:
        raise NotFound
    return known


def _forms(request: HttpRequest, found: Batch, verdict: stock.Verdict) -> dict[str, Entry]:
    """The forms that this reader may use of this batch as it stands."""
    actor = actor_of(request)
    said = {"version": found.version, "expires_on": found.expires_on, "maker": found.maker, "kept_at": found.kept_at, "note": found.note}
    forms: dict[str, Entry] = {}
    if actor.may("stock.keep"):
        forms |= {"use": UseForm()} if not verdict.refused else {}
        forms |= {"test": TestForm(), "mark": MarkForm(), "change": ChangeForm(initial=said)}
    if actor.may("stock.recall"):
        forms |= {"lift": LiftForm()} if "RECALLED" in verdict.standing.codes else {"recall": RecallForm()}
    return forms


def _carry_out(request: HttpRequest, found: Batch, which: str, form: Entry, verdict: stock.Verdict) -> Any:
    by, said = acting(request), dict(form.cleaned_data)
    acts: dict[str, Callable[[], Any]] = {
        "test": lambda: actions.record_batch_test(by, found.pk, **said),
        "mark": lambda: actions.mark_batch(by, found.pk, **said),
        "change": lambda: actions.change_batch(by, found.pk, **said),
        "recall": lambda: actions.recall_batch(by, found.pk, **said),
        "lift": lambda: actions.lift_recall(by, found.pk, **said),
        "use": lambda: actions.record_use(by, found.pk, _thing(request, said["number"]), amount=said["amount"], acknowledged=_ticked(said, verdict)),
    }
    try:
        return acts[which]()
    except actions.BatchRefused as refused:
        raise Invalid(refused.sentence.replace("%", "%%")) from refused


def _ticked(said: dict[str, Any], verdict: stock.Verdict) -> tuple[str, ...]:
    """One tick is for all that stood above the form when it was shown."""
    return verdict.standing.codes if said["ticked"] else ()


def _thing(request: HttpRequest, number: str) -> UUID:
    keys = carrying(actor_of(request), number)
    if len(keys) != 1:
        raise Invalid(_("No thing, or more than one, carries the number %(number)s."), field="number", number=number)
    return keys[0]


def _context(request: HttpRequest, found: Batch, verdict: stock.Verdict, forms: dict[str, Entry]) -> dict[str, Any]:
    visible = set(Object.objects.visible_to(actor_of(request)).filter(batch_uses__batch=found).values_list("pk", flat=True))
    return {
        "batch": found,
        "verdict": verdict,
        "supply": verdict.supply,
        "tests": BatchTest.objects.filter(batch=found, corrected_by=None, withdraws=False).select_related("by").order_by("-happened_on", "-recorded_at"),
        "marks": list(stock.marks_of([found.pk])),
        "uses": [use for use in stock.uses_of(found) if use.object_id in visible],
        "forms": [(name, TITLES[name], form) for name, form in forms.items()],
    }
