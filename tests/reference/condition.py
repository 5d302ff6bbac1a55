"""Reads a case of the condition table into what the rules take. A key that a case lacks is passed over."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from conservation.rules.assess import Judgement, assess
from conservation.rules.candidates import Offered, offered
from conservation.rules.contraindications import Found, Surface
from conservation.rules.grading import Context, Hazard, PlannedUse, Seen
from conservation.rules.ruleset import shipped_rules
from conservation.rules.treatment_tables import shipped
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


def surfaces_of(case: dict[str, Any]) -> list[Surface]:
    """Every material of the object with the findings of its zones; the materials of a zone are those of its observations."""
    rows = case.get("observations", [])
    zones = {row["zone"]: [other for other in rows if other["zone"] == row["zone"]] for row in rows}
    places = [(row["material"], zones[row["zone"]]) for row in rows if "material" in row]
    places += [(material, []) for material in case["context"].get("materials", [])]
    return [surface_at(case, material, here) for material, here in places]


def surface_at(case: dict[str, Any], material: str, rows: list[dict[str, Any]]) -> Surface:
    return Surface(
        material=material,
        zone_materials=frozenset(row["material"] for row in rows if "material" in row) | {material},
        object_materials=frozenset(case["context"].get("materials", [])),
        findings=tuple(Found(row["term"], row.get("activity")) for row in rows),
        hazards=tuple(Hazard(row["code"], row["level"]) for row in case.get("hazards", [])),
    )


def offers_of(case: dict[str, Any]) -> list[Offered]:
    """What the tables offer for each observation, in the order of the case."""
    rows = case.get("observations", [])
    here = {row["zone"]: [other for other in rows if other["zone"] == row["zone"]] for row in rows}
    return [offered(row["term"], surface_at(case, row["material"], here[row["zone"]]), shipped()) for row in rows if "material" in row]
