"""Reads a question of the gate table into what the gate takes. A key that a question lacks has the default of the table."""

from datetime import date
from typing import Any

from conservation.rules.contraindications import Found, Surface
from conservation.rules.gate import Deposit, Question, deed_of
from conservation.rules.grading import Hazard
from conservation.rules.leave import Approval, Beside, Competence, House, Standing

Row = dict[str, Any]
#: who asks where nobody is named and no record names the one who holds it
SOMEBODY = "somebody"


def question_of(row: Row) -> Question:
    step, agents, person = row.get("rule"), frozenset(row.get("agents", [])), asker(row)
    return Question(
        day=date.fromisoformat(row["on"]),
        person=person,
        role=row["by"],
        zone=row["zone"],
        surface=surface_of(row),
        zone_grade=row["zone_grade"],
        zone_activity=row["zone_activity"],
        step=step,
        agents=agents,
        act=row.get("act", "work"),
        happened=row.get("happened", False),
        piece=row.get("piece", "collection"),
        ours=row.get("owner", "own") == "own",
        owner_consent=row.get("owner_consent", False),
        screen=row.get("screen", "full"),
        deposits=[Deposit(row.get("deposit_kind", ""), row.get("deposit"))] if {"deposit", "deposit_kind"} & set(row) else [],
        deposit_defaults=row.get("deposit_defaults", {}),
        competence=competence_of(row, person, step),
        beside=beside_of(row.get("beside")),
        approvals=[approval_of(row["approval"], deed_of(agents))] if row.get("approval") else [],
        standing=[standing_of(row["standing"])] if row.get("standing") else [],
        house=House(curators=row.get("curators", 2), open_second=[date.fromisoformat(day) for day in row.get("open_second", [])]),
    )


def asker(row: Row) -> str:
    record = row.get("competence")
    return str(row.get("person") or (record.get("person") if isinstance(record, dict) else "") or SOMEBODY)


def surface_of(row: Row) -> Surface:
    return Surface(
        material=row["surface"],
        zone_materials=frozenset(row["zone_materials"]),
        object_materials=frozenset(row["object_materials"]),
        findings=tuple(Found(found["term"], found.get("activity")) for found in row["findings"]),
        hazards=tuple(Hazard(hazard["code"], hazard["level"]) for hazard in row["hazards"]),
    )


def competence_of(row: Row, person: str, step: str | None) -> list[Competence]:
    """On file for this row unless the question says otherwise."""
    if "competence" not in row:
        return [Competence(step=step or "", person=person, on=date.fromisoformat(row["on"]), shown_by="the one who taught it")]
    return [record_of(row["competence"])] if isinstance(row["competence"], dict) else []


def record_of(record: Row) -> Competence:
    return Competence(
        step=record["step"],
        person=record["person"],
        on=date.fromisoformat(record["on"]),
        valid_to=day_or_none(record.get("valid_to")),
        shown_by=record.get("shown_by") or "",
        prior_practice=record.get("prior_practice") or "",
        signed_by=record.get("signed_by") or "",
        second_later=record.get("second_later", False),
    )


def beside_of(row: Row | None) -> Beside | None:
    if not row:
        return None
    return Beside(person=row["person"], role=row.get("role", "volunteer"), record=record_of(row) if "step" in row else None)


def approval_of(row: Row, deed: str) -> Approval:
    """An act without a row is named in the table by one word of its own; the gate names it by its agents."""
    return Approval(
        step=row["step"] if row["step"].startswith("TR") or not deed else deed,
        zone=row["zone"],
        proposed_by=row["proposed_by"],
        approved_by=row["approved_by"],
        approver_role=row["approver_role"],
        on=date.fromisoformat(row["on"]),
        valid_to=date.fromisoformat(row["valid_to"]),
        zone_grade=row["zone_grade"],
        zone_activity=row["zone_activity"],
        conservator_proposal=row.get("conservator_proposal", False),
        reason=row.get("reason") or "",
        second_later=row.get("second_later", False),
        countersigned_by=row.get("countersigned_by") or "",
        countersigned_on=day_or_none(row.get("countersigned_on")),
    )


def standing_of(row: Row) -> Standing:
    return Standing(
        person=row["person"],
        step=row["step"],
        material=row["material"],
        given_by=row["given_by"],
        giver_role=row["giver_role"],
        on=date.fromisoformat(row["on"]),
        valid_to=date.fromisoformat(row["valid_to"]),
    )


def day_or_none(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
