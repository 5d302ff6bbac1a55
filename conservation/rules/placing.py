"""Where and how a thing may stand: support and stacking, the place, humidity that its materials can share, neighbours.

Only what is planned is refused. What already stands so is stored, and what is wrong with it becomes an urgent task.
"""

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

from conservation.rules.book import DATA, BadRules
from conservation.rules.contraindications import Found
from conservation.rules.gate import Answer, Question, decide
from conservation.rules.grading import NOT_KNOWN
from conservation.rules.neighbours import Clash, clashes
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import RuleSet
from conservation.rules.treatment_tables import CAUTION, TreatmentRules

#: a box below this is what the tables call a low humidity, above the other a high one (percent; Scott, JAIC 29: 46)
LOW_RH: Final = 40
HIGH_RH: Final = 46
#: kilograms from which two people or a trolley are needed (ours)
HEAVY: Final = 10
#: centimetres off the floor (CCAHA advice; NHCOLL list 2008 says 15)
OFF_FLOOR: Final = 10
#: millimetres of free air in a box, round the object and above decals (ours)
CLEARANCE: Final = 25
CLEARANCE_ABOVE_DECALS: Final = 50
REFUSE: Final = "refuse"
WARN: Final = "warn"
PLACE: Final = "place"


@dataclass(frozen=True, slots=True)
class Band:
    """Percent of relative humidity that a material in a state needs; the first band that fits a part is its own."""

    code: str
    low: float
    high: float
    materials: frozenset[str]
    terms: frozenset[str]
    active: bool
    source: str


@dataclass(frozen=True, slots=True)
class Part:
    """A material of the object with what was found on it."""

    material: str
    findings: tuple[Found, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """How a thing is to stand, as far as it was said; None = not said.

    `resting` is support (a form of its own), brim, hanging or stack. `humidity` is that of a closed box in percent.
    Heights and clearances in cm and mm; `kind` of the place: store, attic, cellar, outside_wall, boiler_room, outdoors.
    `touching` are agents of the tables that lie against it (pvc_film, acid_paper, ...).
    """

    resting: str = "support"
    closed_box: bool = False
    humidity: float | None = None
    kind: str = "store"
    sun: bool = False
    off_floor_cm: float | None = None
    clearance_mm: float | None = None
    clearance_above_mm: float | None = None
    touching: frozenset[str] = frozenset()
    people: int | None = None


@dataclass(frozen=True, slots=True)
class Objection:
    """What speaks against a position: refuse (where it is planned) or warn; why, and what to do instead."""

    level: str
    code: str
    why: Reason
    instead: Reason


@dataclass(frozen=True, slots=True)
class Placed:
    """The answer to a placing: refused, allowed or stored; all objections, and whether an urgent task follows."""

    result: str
    objections: tuple[Objection, ...]
    gate: Answer

    @property
    def urgent(self) -> bool:
        """What already stands so and would have been refused is to be put right at once."""
        return self.result == "stored" and any(objection.level == REFUSE for objection in self.objections)


#: what the tables of treatment call a way of resting, a kind of place
RESTS: Final[Mapping[str, str]] = {"brim": "rest_on_brim", "hanging": "hang", "stack": "stack"}
#: those of CX41; outdoors: ours
BAD_PLACES: Final = ("attic", "cellar", "outside_wall", "boiler_room", "outdoors")


def agents_of(position: Position) -> frozenset[str]:
    """What a position does to a thing, in the words of the tables."""
    said = {
        RESTS.get(position.resting, ""): True,
        "bad_place": position.kind in BAD_PLACES,
        "sun": position.sun,
        "low_rh": position.humidity is not None and position.humidity < LOW_RH,
        "high_rh": position.humidity is not None and position.humidity > HIGH_RH,
    }
    return frozenset(agent for agent, so in said.items() if so and agent) | position.touching


def place(question: Question, position: Position, rules: TreatmentRules, *, kilograms: float | None = None, neighbours: Sequence[Clash] = ()) -> Placed:
    """May this thing stand so? `question` is about the object (act = place); its agents are added to by the position.

    `neighbours` are the clashes with what shares its closed box or case (neighbours.clashes).
    """
    asked = agents_of(position) | question.agents
    gate = decide(_with(question, asked), rules)
    seen = decide(_with(question, asked, happened=True), rules)
    objections = [_of_row(row.code, row.severity, row.what, row.why, row.instead) for row in seen.shows]
    if gate.code == "HOLD" and gate.why and gate.instead:
        objections.insert(0, Objection(REFUSE, "HOLD", gate.why, gate.instead))
    objections += [*_of_neighbours(neighbours, position), *_of_measures(question, position, kilograms)]
    refused = gate.result == "refused" or any(one.level == REFUSE for one in objections if one.code == "NEIGHBOUR")
    result = "stored" if question.happened else "refused" if refused else "allowed"
    return Placed(result, tuple(objections), gate)


def _with(question: Question, agents: frozenset[str], happened: bool | None = None) -> Question:
    return replace(question, agents=agents, act=PLACE, step=None, happened=question.happened if happened is None else happened)


def _of_row(code: str, severity: str, what: str, why: str, instead: str) -> Objection:
    level = WARN if severity == CAUTION else REFUSE
    return Objection(level, code, Reason("placing_row", {"what": what, "why": why}), Reason("gate_cx_instead", {"instead": instead}))


def _of_neighbours(found: Iterable[Clash], position: Position) -> Iterable[Objection]:
    """Vapours count where the box or case is closed."""
    if not position.closed_box:
        return
    for clash in found:
        values = {"emitter": clash.emitter, "sufferer": clash.sufferer, "vapour": clash.vapour}
        yield Objection(REFUSE if clash.refused else WARN, "NEIGHBOUR", Reason("placing_neighbour", values), Reason("placing_neighbour_instead"))


def _of_measures(question: Question, position: Position, kilograms: float | None) -> Iterable[Objection]:
    """Floor, free air, weight: warnings, for the figures are advice or ours."""
    has_decal = "decal" in question.surface.whole
    needs = {
        "floor": (position.off_floor_cm, OFF_FLOOR),
        "clearance": (position.clearance_mm, CLEARANCE),
        "clearance_above": (position.clearance_above_mm, CLEARANCE_ABOVE_DECALS if has_decal else CLEARANCE),
    }
    for name, (is_so, least) in needs.items():
        if is_so is not None and is_so < least:
            yield Objection(WARN, name.upper(), Reason(f"placing_{name}", {"least": least}), Reason(f"placing_{name}_instead", {"least": least}))
    if kilograms is not None and kilograms >= HEAVY and (position.people or 1) < 2:
        yield Objection(WARN, "HEAVY", Reason("placing_heavy", {"kilograms": f"{kilograms:g}"}), Reason("placing_heavy_instead"))


def between(mine: Iterable[str], theirs: Iterable[Iterable[str]], rules: RuleSet) -> list[Clash]:
    """The clashes of one thing's materials with those of each thing that shares its box."""
    own = frozenset(mine)
    return list(dict.fromkeys(clash for other in theirs for clash in clashes(own, frozenset(other), rules)))


@dataclass(frozen=True, slots=True)
class Need:
    """The humidity that a material asks for; `told` is what it would ask for if nothing went on of which nobody told that it does."""

    material: str
    band: Band
    told: Band | None

    def apart(self, other: "Need") -> "Apart | None":
        """What no humidity suits both; None where one does."""
        if not _no_common(self.band, other.band):
            return None
        sure = self.told is not None and other.told is not None and _no_common(self.told, other.told)
        return Apart(self.material, other.material, f"{self.band.code}/{other.band.code}{'' if sure else '?'}", sure)


@dataclass(frozen=True, slots=True)
class Apart:
    """Two materials that no humidity suits, by which bands (`asks`), and whether that is known for sure.

    It is not sure where it rests on rust of which nobody told whether it goes on.
    """

    one: str
    other: str
    asks: str
    sure: bool

    @property
    def turned(self) -> "Apart":
        """The same, said of the other one."""
        first, second = self.asks.removesuffix("?").split("/")
        return Apart(self.other, self.one, f"{second}/{first}{'' if self.sure else '?'}", self.sure)


def needs_of(parts: Iterable[Part], bands: Sequence[Band]) -> frozenset[Need]:
    """What the parts of a thing ask for; materials without a band of their own ask for nothing."""
    return frozenset(Need(part.material, band, band_of(_as_told(part), bands)) for part in parts if (band := band_of(part, bands)))


def apart_within(needs: Iterable[Need]) -> list[Apart]:
    """What of one thing no humidity suits, each pair once."""
    rows = sorted(needs, key=lambda need: need.material)
    return [found for n, one in enumerate(rows) for other in rows[n + 1 :] if (found := one.apart(other))]


def _no_common(one: Band, other: Band) -> bool:
    return one.high < other.low or other.high < one.low


def _as_told(part: Part) -> Part:
    """The part as if what nobody told of its findings were not going on."""
    return Part(part.material, tuple(replace(found, activity=0) if found.activity in (None, NOT_KNOWN) else found for found in part.findings))


def band_of(part: Part, bands: Sequence[Band]) -> Band | None:
    """The first band whose material and finding fit; an activity that is not known counts as active."""
    return next((band for band in bands if part.material in band.materials and _shows(part, band)), None)


def _shows(part: Part, band: Band) -> bool:
    return not band.terms or any(found.term in band.terms and (found.active or not band.active) for found in part.findings)


def read_bands(rows: Sequence[Mapping[str, str]]) -> tuple[Band, ...]:
    """The bands of a table in their order, special states before general ones. Raises BadRules."""
    faults = [f"The band '{row.get('code', '')}' needs a low and a high percent, 0 to 100, low first." for row in rows if not _in_order(row)]
    if faults:
        raise BadRules(faults)
    return tuple(
        Band(
            code=row["code"],
            low=float(row["low"]),
            high=float(row["high"]),
            materials=frozenset(row["materials"].split(";")),
            terms=frozenset(row["terms"].split(";")) - {""},
            active=row["state"] == "active",
            source=row["source"],
        )
        for row in rows
    )


def _in_order(row: Mapping[str, str]) -> bool:
    try:
        return 0 <= float(row["low"]) < float(row["high"]) <= 100
    except (KeyError, ValueError):
        return False


@cache
def shipped_bands() -> tuple[Band, ...]:
    """The bands as shipped."""
    with (DATA / "humidity_bands.csv").open(encoding="utf-8", newline="") as lines:
        return read_bands(list(csv.DictReader(lines)))
