"""Batches received, tested, opened, used, recalled; safety sheets put on file."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from collection.objects.queries import zones_of
from conservation.checks import derived
from conservation.checks.actions.calls import call_for
from conservation.rules.supplies import STAYS_ON, supplies
from conservation.treatments import stock
from conservation.treatments.models import Batch, BatchMark, BatchTest, BatchUse, SafetySheet, WorkStep
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.jobs.actions import enqueue
from museum.papers.files import Upload, store
from museum.people.action import Act, action, claim_version

#: looks at more things than this are called for in the background
AT_ONCE: Final = 50
#: letters and figures of a number of a batch, which stands in lists and on labels
LONGEST_NUMBER: Final = 60
CALL_LOOKS: Final = "treatments.call_recalled"
MARKS: Final = (BatchMark.Sort.OPENED, BatchMark.Sort.USED_UP)
#: the first bytes of what is taken as a safety sheet
SHEETS: Final = {b"%PDF-": "application/pdf", b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n": "image/png"}


class BatchRefused(DomainError):
    """A batch that may not be used, or not without a tick at its warning."""

    code = "batch_refused"
    template = _("Refused: batch %(number)s, because %(why)s. Instead: %(instead)s.")


@action("treatments.add_batch", may="stock.keep")
def add_batch(
    act: Act,
    *,
    supply: str,
    number: str,
    received_on: date,
    expires_on: date | None = None,
    maker: str = "",
    kept_at: str = "",
    note: str = "",
) -> Batch:
    """Takes a delivery into stock. Tools are kit and have no batches."""
    row = supplies().get(supply)
    if row is None or row.kit:
        raise Invalid(_("Choose a material of the list; tools are kit and need no batch."), field="supply")
    if received_on > clock.today():
        raise Invalid(_("This day is still to come. When did it arrive?"), field="received_on")
    number = _number(supply, number)
    batch = Batch.objects.create(
        supply=supply, number=number, received_on=received_on, expires_on=expires_on, maker=maker.strip(), kept_at=kept_at.strip(), note=note.strip()
    )
    act.wrote("batch.received", batch, after={"supply": supply, "number": number, "received_on": received_on, "expires_on": expires_on})
    return batch


@action("treatments.change_batch", may="stock.keep")
def change_batch(act: Act, batch_id: UUID, *, version: int, expires_on: date | None, maker: str, kept_at: str, note: str) -> Batch:
    """Another last day, maker, place or note. VersionConflict when somebody else changed it meanwhile."""
    mine: dict[str, Any] = {"expires_on": expires_on, "maker": maker.strip(), "kept_at": kept_at.strip(), "note": note.strip()}
    batch = claim_version(Batch.objects.all(), batch_id, version, mine)
    before = {name: getattr(batch, name) for name, value in mine.items() if getattr(batch, name) != value}
    if not before:
        return batch
    for name in before:
        setattr(batch, name, mine[name])
    batch.version += 1
    batch.save()
    act.wrote("batch.changed", batch, before=before, after={name: mine[name] for name in before})
    return batch


@action("treatments.record_batch_test", may="stock.keep")
def record_batch_test(act: Act, batch_id: UUID, *, sort: str, how: str, passed: bool, on: date) -> BatchTest:
    """A batch was tested, for what and how, and passed or failed. The last test of a sort counts."""
    batch = _locked(batch_id)
    if sort not in BatchTest.Sort:
        raise Invalid(_("Say what it was tested for."), field="sort")
    if not how.strip():
        raise Invalid(_("Say which test it was and what was seen."), field="how")
    if on > clock.today():
        raise Invalid(_("This day is still to come. When was it tested?"), field="on")
    test = BatchTest.objects.create(
        act_id=act.id, batch=batch, sort=sort, how=how.strip(), passed=passed, by_id=act.actor.person, happened_on=on, recorded_at=act.now
    )
    act.wrote("batch.tested", batch, after={"for": sort, "how": test.how, "passed": passed, "on": on})
    return test


@action("treatments.mark_batch", may="stock.keep")
def mark_batch(act: Act, batch_id: UUID, sort: str, *, on: date | None = None) -> BatchMark:
    """A batch was opened, or is used up or thrown out; said twice, it stands once."""
    batch = _locked(batch_id)
    if sort not in MARKS:
        raise Invalid(_("Say what happened to the batch."), field="sort")
    day = on or clock.today()
    if day > clock.today():
        raise Invalid(_("This day is still to come."), field="on")
    before = batch.marks.filter(sort=sort).first()
    return before or _mark(act, batch, sort, on=day)


@action("treatments.record_use", may="stock.keep")
def record_use(
    act: Act, batch_id: UUID, object_id: UUID, *, zone: str = "", amount: str = "", on: date | None = None, acknowledged: Sequence[str] = ()
) -> BatchUse:
    """A batch went into an object's packing, padding or tags; in work on the object it is told with the step.

    What stays on the thing is told with the step alone: without one no gate would have been asked. Raises Invalid, and
    BatchRefused where the table refuses it, or warns and the warning is not ticked.
    """
    thing = Object.objects.visible_to(act.actor).filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    if zone and zone not in {one.key for one in zones_of(thing)}:
        raise Invalid(_("This object has no such zone."), field="zone")
    batch = _locked(batch_id)
    if batch.supply in supplies() and supplies()[batch.supply].group == STAYS_ON:
        raise Invalid(_("This stays on the thing it is put on. Tell it with the step of the work that brings it there."), field="batch")
    return _use(act, batch, object_id, None, zone=zone, amount=amount, on=on or clock.today(), acknowledged=acknowledged)


def use_in_step(act: Act, step: WorkStep, batch_ids: Iterable[UUID], *, acknowledged: Sequence[str] = ()) -> list[BatchUse]:
    """The batches that a step of work brought to its zone. Raises BatchRefused, NotFound; then nothing of the step is stored."""
    work = step.work
    day = clock.day_of(act.now)
    return [
        _use(act, _locked(key), work.object_id, step, zone=work.zone_key, amount=step.amounts, on=day, acknowledged=acknowledged)
        for key in sorted(set(batch_ids))
    ]


@action("treatments.recall_batch", may="stock.recall")
def recall_batch(act: Act, batch_id: UUID, *, reason: str, due_on: date) -> BatchMark:
    """Nobody uses this batch from now on, and whatever it was used on is due for a look. Many looks are called for by a job."""
    batch = _locked(batch_id)
    if not reason.strip():
        raise Invalid(_("Say why it is recalled: the look begins with that."), field="reason")
    if due_on < clock.today():
        raise Invalid(_("This day has passed. By when is it looked at?"), field="due_on")
    if stock.held_of([batch])[batch.pk].recalled:
        raise Invalid(_("This batch is recalled already."))
    mark = _mark(act, batch, BatchMark.Sort.RECALLED, reason=reason.strip())
    touched = _touched(batch)
    if len(touched) > AT_ONCE:
        title = gettext("Looks for batch %(number)s") % {"number": batch.number}
        enqueue(act, CALL_LOOKS, act.actor.person, {"mark": mark.pk, "due_on": due_on}, title)
    else:
        _call(act, mark, touched, due_on)
    return mark


@action("treatments.call_recalled", may="stock.recall")
def call_recalled(act: Act, mark_id: UUID, object_ids: Sequence[UUID], *, due_on: date) -> int:
    """Calls for the looks of a recall at these things; what was called for already is not called for again."""
    mark = BatchMark.objects.select_related("batch").filter(pk=mark_id, sort=BatchMark.Sort.RECALLED).first()
    if mark is None:
        raise NotFound
    return _call(act, mark, object_ids, due_on)


@action("treatments.lift_recall", may="stock.recall")
def lift_recall(act: Act, batch_id: UUID, *, reason: str) -> BatchMark:
    """The batch may be used again as far as its tests go; looks that were called for stay due."""
    batch = _locked(batch_id)
    if not reason.strip():
        raise Invalid(_("Say why it may be used again."), field="reason")
    if not stock.held_of([batch])[batch.pk].recalled:
        raise Invalid(_("This batch is not recalled."))
    return _mark(act, batch, BatchMark.Sort.LIFTED, reason=reason.strip())


@action("treatments.file_sheet", may="stock.keep")
def file_sheet(act: Act, supply: str, sheet: Upload, *, of_day: date | None = None) -> SafetySheet:
    """Puts the safety sheet of a supply on file, byte for byte. The last one counts, earlier ones stay."""
    if supply not in supplies():
        raise NotFound
    media_type = next((media for first, media in SHEETS.items() if sheet.data.startswith(first)), None)
    if media_type is None:
        raise Invalid(_("A safety sheet is a PDF or a picture of its pages (JPEG, PNG). This file is neither."), field="file")
    stored = store(act, sheet.data, name=sheet.name, media_type=media_type)
    row = SafetySheet.objects.create(act_id=act.id, supply=supply, file=stored, of_day=of_day, by_id=act.actor.someone, recorded_at=act.now)
    act.wrote("sheet.filed", row, after={"supply": supply, "file": stored.sha256, "of_day": of_day})
    return row


def touched_by(mark: BatchMark) -> list[UUID]:
    """The things on which a recalled batch was used."""
    return _touched(mark.batch)


def _number(supply: str, number: str) -> str:
    number = " ".join(number.split())
    if not number:
        raise Invalid(_("Write the number that stands on the pack; where none does, give it one of your own and write it there."), field="number")
    if len(number) > LONGEST_NUMBER:
        raise Invalid(_("A batch is known by at most %(n)s letters and figures; put the rest into the note."), field="number", n=LONGEST_NUMBER)
    lock(f"supply:{supply}")
    if Batch.objects.filter(supply=supply, number=number).exists():
        raise Invalid(_("This batch is in stock already."), field="number")
    return number


def _locked(batch_id: UUID) -> Batch:
    batch = Batch.objects.select_for_update().filter(pk=batch_id).first()
    if batch is None:
        raise NotFound
    return batch


def _mark(act: Act, batch: Batch, sort: str, *, on: date | None = None, reason: str = "") -> BatchMark:
    day = on or clock.day_of(act.now)
    mark = BatchMark.objects.create(act_id=act.id, batch=batch, sort=sort, reason=reason, by_id=act.actor.person, happened_on=day, recorded_at=act.now)
    act.wrote(f"batch.{sort}", batch, after={"on": day}, reason=reason)
    return mark


def _use(act: Act, batch: Batch, object_id: UUID, step: WorkStep | None, *, zone: str, amount: str, on: date, acknowledged: Sequence[str]) -> BatchUse:
    verdict = stock.may_use(batch, step.step if step else None, agents=step.agents if step else (), day=on)
    unread = [code for code in verdict.standing.codes if code not in acknowledged]
    if verdict.refused or (verdict.warned and unread):
        raise BatchRefused(number=batch.number, why="; ".join(verdict.why), instead=verdict.instead, codes=list(verdict.standing.codes), warned=verdict.warned)
    use = BatchUse.objects.create(
        act_id=act.id, batch=batch, object_id=object_id, zone=zone, work_step=step, amount=amount.strip(), warned=list(verdict.standing.codes),
        by_id=act.actor.person, happened_on=on, recorded_at=act.now,
    )  # fmt: skip
    after = {"supply": batch.supply, "number": batch.number, "zone": zone, "amount": use.amount, "warned": use.warned}
    act.wrote("batch.used", batch, after=after, about=[("object", object_id)])
    return use


def _touched(batch: Batch) -> list[UUID]:
    return sorted(set(BatchUse.objects.filter(batch=batch, corrected_by=None, withdraws=False).values_list("object_id", flat=True)))


def _call(act: Act, mark: BatchMark, object_ids: Sequence[UUID], due_on: date) -> int:
    reason = gettext("Batch %(number)s is recalled: %(reason)s") % {"number": mark.batch.number, "reason": mark.reason}
    called = call_for(act, object_ids, why="recall", sort="quick", due_on=due_on, reason=reason, source=mark.pk)
    derived.refresh([call.object_id for call in called])
    return len(called)
