"""The list of materials used: which agent and which batch came to which thing; of one thing, of one batch, or of a time."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Object
from collection.objects.queries import material_words, zones_called
from conservation.rules.supplies import supplies
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import stock
from conservation.treatments.models import Batch, BatchUse, WorkStep
from museum.people.actor import Actor
from museum.people.models import Society
from reports.documents import common, treating
from reports.documents.periods import Period, period
from reports.registry import Gathered, document

ALL = UUID(Society.KEY)


@document(
    "material_list", title=gettext_lazy("Materials used"), version="1", permission="stock.see", seen_by="stock.see", options=("begin", "end")
)  # fmt: skip
def material_list(subject: UUID, actor: Actor, begin: str = "", end: str = "") -> Gathered:
    """Of a thing, of a batch, or (the society's key) of all things from `begin` to `end`, else of this year."""
    batch = Batch.objects.filter(pk=subject).first()
    span = period(begin, end) if begin or end or subject == ALL else None
    uses, steps = _uses(actor, span), _steps(actor, span)
    if subject == ALL:
        title = _("Materials used, %(first)s to %(last)s") % {"first": _said(span), "last": _said(span, last=True)}
        return _gathered(uses, steps, title, reverse("stock:stock"), [("society", ALL)], span)
    if batch is not None:
        title = _("Use of %(supply)s, batch %(number)s") % {"supply": treating.supply_name(batch.supply), "number": batch.number}
        return _gathered(uses.filter(batch=batch), steps.none(), title, reverse("stock:batch", args=[batch.pk]), [("batch", batch.pk)], span, batch=batch)
    thing = common.object_for(actor, subject)
    title = _("Materials used, %(number)s %(name)s") % {"number": thing.card.number, "name": thing.card.name}
    return _gathered(uses.filter(object=thing), steps.filter(work__object=thing), title, common.page_of(thing), [("object", thing.pk)], span, thing=thing)


def _uses(actor: Actor, span: Period | None) -> "QuerySet[BatchUse]":
    rows = BatchUse.objects.filter(corrected_by=None, withdraws=False, object__in=Object.objects.visible_to(actor))
    if span:
        rows = rows.filter(happened_on__range=(span.first, span.last))
    return rows.select_related("batch", "object__card", "by", "work_step").order_by("batch__supply", "batch__number", "happened_on", "recorded_at", "id")


def _steps(actor: Actor, span: Period | None) -> "QuerySet[WorkStep]":
    rows = WorkStep.objects.filter(corrected_by=None, withdraws=False, work__corrected_by=None, work__object__in=Object.objects.visible_to(actor))
    if span:
        rows = rows.filter(happened_on__range=(span.first, span.last))
    return rows.select_related("work__object__card", "work__person").order_by("happened_on", "recorded_at", "id")


def _gathered(
    uses: "QuerySet[BatchUse]", steps: "QuerySet[WorkStep]", title: str, address: str, about: list[tuple[str, UUID]], span: Period | None, *,
    batch: Batch | None = None, thing: Object | None = None,
) -> Gathered:  # fmt: skip
    rows, done = list(uses), list(steps)
    zones = zones_called({place for row in rows if (place := _place(row.zone))} | {(row.work.component_id, row.work.zone) for row in done})
    data = {
        "object": common.heading(thing) if thing else None, "title": title, "batch": _batch(batch) if batch else None,
        "first": span.first.isoformat() if span else "", "last": span.last.isoformat() if span else "",
        "groups": _groups(rows, zones, name_batch=batch is None), "count": len(rows), "things": len({row.object_id for row in rows}),
        "steps": [_step(row, zones) for row in done], "of_thing": thing is not None, "asked": span.asked if span else {},
    }  # fmt: skip
    return Gathered(data, title.replace("  ", " ").strip(), address, about)


def _place(key: str) -> tuple[UUID, str] | None:
    """Where a batch was used, from its 'component/zone'; nothing where it only came to the thing."""
    component, _slash, code = key.rpartition("/")
    return (UUID(component), code) if component else None


def _groups(rows: Iterable[BatchUse], zones: Mapping[str, str], *, name_batch: bool) -> list[dict[str, Any]]:
    """By supply, then by batch and day."""
    by_supply: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        by_supply.setdefault(row.batch.supply, []).append(_use(row, zones))
    known = supplies()
    return [
        {"name": treating.supply_name(code), "group": str(stock.GROUPS[known[code].group]) if code in known else "", "rows": found, "name_batch": name_batch}
        for code, found in sorted(by_supply.items(), key=lambda one: treating.supply_name(one[0]))
    ]  # fmt: skip


def _use(row: BatchUse, zones: Mapping[str, str]) -> dict[str, Any]:
    return {
        "on": row.happened_on.isoformat(), "batch": row.batch.number, "number": row.object.card.number, "name": row.object.card.name,
        "zone": row.zone.rpartition("/")[2], "zone_words": zones.get(row.zone, ""), "step": row.work_step.step if row.work_step else "", "amount": row.amount,
        "by": row.by.name if row.by else "", "warned": [said["words"] for said in treating.ticked(row.warned)],
    }  # fmt: skip


def _step(row: WorkStep, zones: Mapping[str, str]) -> dict[str, Any]:
    """A step of work with what it brought to the surface, from the shelf or not."""
    rules = treatment_rules_in_force()
    step = rules.steps.get(row.step)
    agents = sorted({*row.agents, *(step.agents if step else ())})
    card = row.work.object.card
    return {
        "on": row.happened_on.isoformat(), "number": card.number, "name": card.name, "zone": row.work.zone, "zone_words": zones.get(row.work.zone_key, ""),
        "step": row.step, "surface": ", ".join(material_words([row.surface])) or row.surface, "agents": treating.agents_in_words(agents, rules),
        "amounts": row.amounts, "others": row.batches, "by": row.work.person.name, "stopped": row.result == WorkStep.Result.STOPPED,
    }  # fmt: skip


def _batch(row: Batch) -> dict[str, Any]:
    """What is known of a batch, without maker and trade name."""
    verdict = stock.may_use(row)
    return {
        "name": treating.supply_name(row.supply), "number": row.number, "received_on": row.received_on.isoformat(),
        "expires_on": row.expires_on.isoformat() if row.expires_on else "", "kept_at": row.kept_at, "refused": verdict.refused, "why": verdict.why,
        "instead": verdict.instead, "storage": verdict.supply.storage, "disposal": verdict.supply.disposal,
        "tests": [
            {"on": one.happened_on.isoformat(), "sort": one.get_sort_display(), "passed": one.passed, "how": one.how}
            for one in row.tests.filter(corrected_by=None, withdraws=False).order_by("happened_on", "recorded_at")
        ],
        "marks": [{"on": one.happened_on.isoformat(), "sort": one.get_sort_display(), "reason": one.reason} for one in stock.marks_of([row.pk])],
    }  # fmt: skip


def _said(span: Period | None, *, last: bool = False) -> str:
    day: date | None = (span.last if last else span.first) if span else None
    return formats.date_format(day, "j F Y") if day else ""
