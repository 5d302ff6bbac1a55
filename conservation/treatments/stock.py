"""What is in stock, whether a batch may be used today, where one was used: the facts of batches read against the table in force."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final
from uuid import UUID

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from conservation.rules.supplies import FINE, REFUSE, WARN, Held, Standing, Supply, judge, supplies
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.models import Batch, BatchMark, BatchTest, BatchUse, SafetySheet
from museum import clock
from museum.errors import NotFound

GROUPS: Final[Mapping[str, Promise]] = {
    "on": _("Stays on the object"),
    "against": _("Lies against the object"),
    "packing": _("Packs it, without contact"),
    "spent": _("Runs out"),
    "kit": _("Kit: tools, without batch"),
}
#: code of a standing to why and what to do instead
WORDS: Final[Mapping[str, tuple[Promise, Promise]]] = {
    "RECALLED": (_("this batch is recalled"), _("take another batch; what this one touched is being looked at")),
    "USED_UP": (_("this batch is marked as used up or thrown out"), _("take another batch")),
    "FAILED": (_("a test of this batch failed"), _("put it apart; take a batch that passed")),
    "EXPIRED": (_("it is past its last day"), _("take a fresh batch; a wax or adhesive may be tried on paper first")),
    "TRIED": (_("it is past its last day, and passed a trial on paper since"), _("use it sparingly, and order a fresh one")),
    "UNTESTED": (_("it is not tested for what the table asks"), _("test it, or have it tested, and put the result on file")),
    "OTHER_STEP": (_("the step does not name this material"), _("look at what the step brings to the surface, or ask the curator")),
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a batch may be used, with the reasons as codes and in words."""

    batch: Batch
    supply: Supply
    standing: Standing

    @property
    def refused(self) -> bool:
        return self.standing.result == REFUSE

    @property
    def warned(self) -> bool:
        return self.standing.result == WARN

    @property
    def why(self) -> list[str]:
        """The reasons, in words."""
        return [str(WORDS[code][0]) for code in self.standing.codes]

    @property
    def instead(self) -> str:
        """What to do instead; '' where nothing is amiss."""
        return str(WORDS[self.standing.codes[0]][1]) if self.standing.codes else ""


@dataclass(frozen=True, slots=True)
class Line:
    """One supply with its batches that are at hand, and its safety sheet."""

    supply: Supply
    verdicts: Sequence[Verdict]
    sheet: SafetySheet | None


def may_use(batch: Batch, step: str | None = None, *, agents: Collection[str] = (), day: date | None = None) -> Verdict:
    """Whether a batch may be used today, in this step or, without one, for packing, padding and tags.

    `agents` are what the act brings besides those of its step.
    """
    return verdicts([batch], step, agents=agents, day=day)[0]


def verdicts(batches: Iterable[Batch], step: str | None = None, *, agents: Collection[str] = (), day: date | None = None) -> list[Verdict]:
    """The same of several batches, in three statements."""
    rows, table, today = list(batches), supplies(), day or clock.today()
    held = held_of(rows)
    brought = None if step is None and not agents else {*agents, *_agents_of(step)}
    answers = []
    for batch in rows:
        supply = table.get(batch.supply) or _unknown(batch.supply)
        answers.append(Verdict(batch, supply, judge(supply, held[batch.pk], today, brought)))
    return answers


def _agents_of(step: str | None) -> frozenset[str]:
    row = treatment_rules_in_force().steps.get(step) if step else None
    return row.agents if row else frozenset()


def _unknown(code: str) -> Supply:
    """A supply whose row the society took away: what is left of it is used no more."""
    return Supply(code, code, "against", frozenset(), ("other",), REFUSE, REFUSE, "", "", "")


def held_of(batches: Iterable[Batch]) -> dict[UUID, Held]:
    """What is known of each batch: of each sort of test the last one counts, of a recall and its lifting the later."""
    rows = list(batches)
    keys = [row.pk for row in rows]
    tested: dict[UUID, dict[str, tuple[date, bool]]] = {key: {} for key in keys}
    for test in BatchTest.objects.filter(batch__in=keys, corrected_by=None, withdraws=False).order_by(*BatchTest.ORDER):
        tested[test.batch_id][test.sort] = (test.happened_on, test.passed)
    last: dict[UUID, dict[str, BatchMark]] = {key: {} for key in keys}
    for mark in marks_of(keys):
        last[mark.batch_id][mark.sort] = mark
    return {row.pk: Held(expires_on=row.expires_on, recalled=_recalled(last[row.pk]), used_up="used_up" in last[row.pk], tested=tested[row.pk]) for row in rows}


def marks_of(keys: Iterable[UUID]) -> Iterable[BatchMark]:
    """What happened to these batches, in the order in which it was recorded."""
    return BatchMark.objects.filter(batch__in=list(keys), corrected_by=None, withdraws=False).select_related("by").order_by("recorded_at", "id")


def _recalled(last: Mapping[str, BatchMark]) -> bool:
    recall, lifted = last.get("recalled"), last.get("lifted")
    return recall is not None and (lifted is None or (lifted.recorded_at, lifted.pk) < (recall.recorded_at, recall.pk))


def uses_of(batch: Batch) -> Iterable[BatchUse]:
    """Where a batch was used, the latest first."""
    rows = BatchUse.objects.filter(batch=batch, corrected_by=None, withdraws=False).select_related("object__card", "by", "work_step")
    return rows.order_by("-happened_on", "-id")


def used_on(object_id: UUID) -> Iterable[BatchUse]:
    """What of the stock was used on an object, the latest first."""
    rows = BatchUse.objects.filter(object=object_id, corrected_by=None, withdraws=False).select_related("batch", "by", "work_step")
    return rows.order_by("-happened_on", "-id")


def sheet_of(supply: str) -> SafetySheet | None:
    """The safety sheet that counts."""
    return SafetySheet.objects.filter(supply=supply, corrected_by=None, withdraws=False).select_related("file").order_by("recorded_at", "id").last()


def lines(*, day: date | None = None, all_batches: bool = False) -> list[Line]:
    """Every supply in the order of its group, with what is at hand of it; `all_batches`: what is used up too."""
    by_supply: dict[str, list[Verdict]] = {}
    for verdict in verdicts(Batch.objects.order_by("-received_on", "-id"), day=day):
        if all_batches or "USED_UP" not in verdict.standing.codes:
            by_supply.setdefault(verdict.supply.code, []).append(verdict)
    sheets = {row.supply: row for row in SafetySheet.objects.filter(corrected_by=None, withdraws=False).order_by("recorded_at", "id")}
    known = sorted(supplies().values(), key=lambda supply: list(GROUPS).index(supply.group))
    return [Line(supply, by_supply.get(supply.code, []), sheets.get(supply.code)) for supply in known]


def at_hand(step: str | None = None, *, agents: Collection[str] = ()) -> list[Verdict]:
    """The batches to choose from in a step: what may be used first, refused ones last, each with its reason."""
    found = [one for one in verdicts(Batch.objects.order_by("supply", "-received_on"), step, agents=agents) if "USED_UP" not in one.standing.codes]
    order = (FINE, WARN, REFUSE)
    return sorted(found, key=lambda one: order.index(one.standing.result))


def batch_called(batch_id: UUID) -> Batch:
    """The batch. Raises NotFound."""
    row = Batch.objects.filter(pk=batch_id).first()
    if row is None:
        raise NotFound
    return row
