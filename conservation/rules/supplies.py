"""What is kept in stock for care, and whether one batch of it may be used: materials and packing by generic name.

Tools are kit and need no batch. What stays on or against an object is tested for acidity or sulphur, or tried on
paper; which of these, and what follows where it is missing or the day is past, stands in the table, row by row,
with what it rests on.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from conservation.rules.book import BadRules, csv_table, in_force, register

#: stays on the object, lies against it, packs without contact, runs out, tools
GROUPS: Final = ("on", "against", "packing", "spent", "kit")
STAYS_ON: Final = "on"
TESTS: Final = ("acidity", "sulphur", "paper", "other")
FINE: Final = "pass"
WARN: Final = "warn"
REFUSE: Final = "refuse"
#: past its day only after a trial on paper that was made since
TRIAL: Final = "trial"
UNTESTED: Final = (FINE, WARN, REFUSE)
EXPIRED: Final = (FINE, WARN, REFUSE, TRIAL)


@dataclass(frozen=True, slots=True)
class Supply:
    """One row: its group, the agents it brings, the tests asked of a batch, what follows where they are missing or its day is past."""

    code: str
    name: str
    group: str
    agents: frozenset[str]
    tests: tuple[str, ...]
    untested: str
    expired: str
    storage: str
    disposal: str
    source: str

    @property
    def kit(self) -> bool:
        """Whether it is a tool, without batch and test."""
        return self.group == "kit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What is known of one batch: its last day, whether it was recalled or used up, the latest result of each test."""

    expires_on: date | None = None
    recalled: bool = False
    used_up: bool = False
    tested: Mapping[str, tuple[date, bool]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a batch may be used: pass, warn or refuse, and every code that says why."""

    result: str
    codes: tuple[str, ...]


def judge(supply: Supply, held: Held, day: date, agents: Collection[str] | None = None) -> Standing:
    """Whether this batch may be used on this day. `agents`: all that the step brings to the surface; None = no step is asked about.

    Codes: RECALLED, USED_UP, FAILED, EXPIRED, TRIED (past its day, tried on paper since), UNTESTED, OTHER_STEP (the step
    does not name this material).
    """
    found: dict[str, str] = {}
    if held.recalled:
        found["RECALLED"] = REFUSE
    if held.used_up:
        found["USED_UP"] = REFUSE
    if any(not passed for _, passed in held.tested.values()):
        found["FAILED"] = REFUSE
    if held.expires_on is not None and held.expires_on < day:
        found |= _past(supply, held, held.expires_on)
    if any(test not in held.tested for test in supply.tests):
        found["UNTESTED"] = supply.untested
    if agents is not None and supply.agents and not supply.agents & set(agents):
        found["OTHER_STEP"] = WARN
    told = {code: result for code, result in found.items() if result != FINE}
    worst = REFUSE if REFUSE in told.values() else WARN if told else FINE
    return Standing(worst, tuple(code for code, result in told.items() if result == worst))


def _past(supply: Supply, held: Held, last: date) -> dict[str, str]:
    if supply.expired != TRIAL:
        return {"EXPIRED": supply.expired}
    tried = held.tested.get("paper")
    return {"TRIED": WARN} if tried is not None and tried[0] > last else {"EXPIRED": REFUSE}


def read_supplies(rows: Sequence[Mapping[str, str]]) -> dict[str, Supply]:
    """The table from its rows. Raises BadRules with a sentence for every fault."""
    if faults := [fault for row in rows for fault in _faults(row)]:
        raise BadRules(faults)
    return {row["code"]: _supply(row) for row in rows}


def _faults(row: Mapping[str, str]) -> list[str]:
    code = row.get("code", "")
    faults = [] if code and row.get("name") else [f"The supply '{code}' needs a code and a name."]
    for column, known in (("group", GROUPS), ("untested", UNTESTED), ("expired", EXPIRED)):
        if row.get(column) not in known:
            faults.append(f"The supply '{code}' has '{row.get(column, '')}' as {column}; it is one of: {', '.join(known)}.")
    faults += [f"The supply '{code}' asks for an unknown test '{test}'." for test in _parts(row, "tests") if test not in TESTS]
    known_agents = {agent.code for agent in in_force("agents")}
    return faults + [f"The supply '{code}' names an unknown agent '{agent}'." for agent in _parts(row, "agents") if agent not in known_agents]


def _supply(row: Mapping[str, str]) -> Supply:
    return Supply(
        row["code"], row["name"], row["group"], frozenset(_parts(row, "agents")), _parts(row, "tests"), row["untested"], row["expired"],
        row.get("storage", ""), row.get("disposal", ""), row.get("source", ""),
    )  # fmt: skip


def _parts(row: Mapping[str, str], column: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in row.get(column, "").split(";") if part.strip())


register(csv_table("supplies", "What is kept in stock", read_supplies, grows=True, sorts={"group": GROUPS, "untested": UNTESTED, "expired": EXPIRED}))


def supplies() -> Mapping[str, Supply]:
    """The supplies that count here and now."""
    table: Mapping[str, Supply] = in_force("supplies")
    return table
