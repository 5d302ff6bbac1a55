"""Reads a case of the condition table into what the rules take. A key that a case lacks is passed over."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from conservation.rules.assess import Judgement, assess
from conservation.rules.grading import Context, Hazard, PlannedUse, Seen
from conservation.rules.ruleset import shipped_rules
from tests.reference.tables import reference_table

TABLE: dict[str, Any] = reference_table("condition_cases.json")
GIVEN: dict[str, Any] = TABLE.get("rules", {})
CASES: list[dict[str, Any]] = TABLE.get("cases", [])
RULES = shipped_rules()


def expecting(*keys: str) -> list[dict[str, Any]]:
    """The cases that say what they expect of all these."""
    return [case for case in CASES if all(key in case.get("expected", {}) for key in keys)]


def judged(case: dict[str, Any]) -> Judgement:
    return assess([seen_of(row) for row in case.get("observations", [])], context_of(case), RULES)


def seen_of(row: dict[str, Any]) -> Seen:
    return Seen(
        zone=row["zone"],
        code=row["zone"],
        term=row["term"],
        percent=row["extent_pct"],
        severity=row["severity"],
        activity=row.get("activity"),
        material=row.get("material", ""),
        new=bool(row.get("new_since_last_report")),
    )


def context_of(case: dict[str, Any]) -> Context:
    given = case["context"]
    planned = given.get("planned_use")
    return Context(
        materials=frozenset(given.get("materials", [])),
        place=given.get("location", "store"),
        high_significance=given.get("significance") == "high",
        planned=PlannedUse(planned["type"], planned["in_days"]) if planned else None,
        unsecured_part=bool(given.get("unsecured_loose_part")),
        wet=bool(given.get("wet")),
        loan_return_new_damage=bool(given.get("loan_return_new_damage")),
        hazards=[Hazard(row["code"], row["level"]) for row in case.get("hazards", [])],
        damp_spells=[(row["rh_pct"], row["days"]) for row in given.get("rh_events", [])],
        work=work_of(case),
    )


def work_of(case: dict[str, Any]) -> list[str]:
    treated = case["context"].get("treated")
    return [treated] if isinstance(treated, str) else list(treated or [])


def day(case: dict[str, Any], name: str) -> date:
    return date.fromisoformat(case["context"][name])


def written(days: Iterable[date]) -> list[str]:
    return [one.isoformat() for one in days]
