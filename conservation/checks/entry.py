"""What a check says, as it arrives from a page, the API or a device: plain values, checked here for form."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from conservation.checks.models import ConditionCheck, Observation
from museum.errors import Invalid

LOOKS = ("nothing", "findings", "not_visible", "not_checked")
#: what an observation of these changes need not measure
UNMEASURED = ("gone", "not_visible", "not_checked")


@dataclass(frozen=True, slots=True)
class ZoneKey:
    """A zone is the pair of a component and a zone code; written 'component/zone'."""

    component: UUID
    code: str

    def __str__(self) -> str:
        return f"{self.component}/{self.code}"

    @classmethod
    def parse(cls, text: str) -> "ZoneKey":
        """Reads 'component/zone'. Raises Invalid."""
        component, parted, code = text.partition("/")
        try:
            key = UUID(component)
        except ValueError:
            parted = ""
        if not parted or not code:
            raise Invalid(_("'%(text)s' names no zone."), field="looks", text=text)
        return cls(key, code)


@dataclass(frozen=True, slots=True)
class Seen:
    """One observation. `finding` is the client-made key of the trouble, new or known."""

    id: UUID
    finding: UUID
    zone: ZoneKey
    term: str
    change: str
    material: str = ""
    percent: Decimal | None = None
    severity: int | None = None
    activity: int | None = None
    size_mm: Decimal | None = None
    side: str = ""
    hour: int | None = None
    view: str = ""
    x: float | None = None
    y: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class CheckEntry:
    """A whole check. `id` is made by the client and makes the saving repeatable."""

    id: UUID
    object_id: UUID
    sort: str
    happened_on: date
    happened_at: datetime | None = None
    purpose: str = ConditionCheck.Purpose.ROUTINE
    stage: str = ""
    looks: Mapping[str, str] = field(default_factory=dict)
    seen: tuple[Seen, ...] = ()
    result: str = ""
    no_treatment: bool = False
    wet: bool = False
    unsecured_part: bool = False
    note: str = ""
    limits: str = ""
    screen: Mapping[str, str] | None = None
    corrects: UUID | None = None
    stop: UUID | None = None

    def zones(self) -> dict[ZoneKey, str]:
        """The answers by zone."""
        return {ZoneKey.parse(text): answer for text, answer in self.looks.items()}


def check_form(entry: CheckEntry) -> None:
    """Raises Invalid where the entry contradicts itself; what it says of the object is for the guard."""
    if entry.sort not in ConditionCheck.Sort.values or entry.purpose not in ConditionCheck.Purpose.values:
        raise Invalid(_("This is not a kind of check that is known here."), field="sort")
    for text, answer in entry.looks.items():
        if answer not in LOOKS:
            raise Invalid(_("'%(answer)s' is no answer for a zone."), field="looks", answer=answer, zone=text)
    if entry.sort == ConditionCheck.Sort.QUICK and entry.result not in ("nothing_new", "needs_full"):
        raise Invalid(_("Say how the quick look ended: nothing new, or it needs a full check."), field="result")
    for seen in entry.seen:
        check_seen(seen)
    _agree(entry)


def check_seen(seen: Seen) -> None:
    """Raises Invalid where one observation lacks what it must say."""
    where: dict[str, Any] = {"zone": seen.zone.code, "seen": str(seen.id)}
    if seen.change not in Observation.Change.values:
        raise Invalid(_("Zone %(zone)s: say whether it is new, grown, the same or less."), field="change", **where)
    if seen.hour is not None and not 1 <= seen.hour <= 12:
        raise Invalid(_("Zone %(zone)s: the clock has hours from 1 to 12."), field="hour", **where)
    if seen.change in UNMEASURED:
        return
    if seen.percent is None or not 0 < seen.percent <= 100:
        raise Invalid(_("Zone %(zone)s: how much of the zone? More than 0, at most 100 percent; a trace is 0.1."), field="percent", **where)
    if seen.severity not in (1, 2, 3, 4):
        raise Invalid(_("Zone %(zone)s: how deep does it go? Choose one of the four."), field="severity", **where)
    if seen.activity is not None and seen.activity not in (0, 1, 2, 3):
        raise Invalid(_("Zone %(zone)s: is it still going on? 'Not known' is an answer."), field="activity", **where)


def _agree(entry: CheckEntry) -> None:
    """A zone with findings has observations; a zone with a present observation is said to have findings."""
    zones = entry.zones()
    present = {seen.zone for seen in entry.seen if seen.change not in UNMEASURED}
    for zone in present:
        if zones.get(zone) != "findings":
            raise Invalid(_("Zone %(zone)s has a finding but is answered otherwise."), field="looks", zone=zone.code)
    told = {seen.zone for seen in entry.seen}
    for zone, answer in zones.items():
        if answer == "findings" and zone not in told:
            raise Invalid(_("Zone %(zone)s is said to have findings: say what is seen."), field="looks", zone=zone.code)
    if len({seen.finding for seen in entry.seen}) != len(entry.seen):
        raise Invalid(_("One finding is told twice in this check."), field="seen")
