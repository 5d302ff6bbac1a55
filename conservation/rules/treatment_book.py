"""The tables of treatment among those that the society may change: steps, prohibitions, agents, the numbers of the gate.

They are read against each other where the gate is read, so that a change which leaves one pointing nowhere is refused.
"""

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, Final

from conservation.rules.book import DATA, Table, csv_table, current, in_force, register
from conservation.rules.treatment_tables import (
    KINDS,
    SEVERITIES,
    WORKS,
    TreatmentRules,
    read_agents,
    read_ambiguous,
    read_gate,
    read_prohibitions,
    read_steps,
    shipped_rows,
    treatment_rules,
)
from conservation.rules.who import STANDINGS

NAMES: Final = ("treatment_rules", "contraindications", "agents", "gate")
VERSION: Final = "1"


@cache
def _gate() -> Mapping[str, Any]:
    raw: dict[str, Any] = json.loads((DATA / "gate.json").read_text(encoding="utf-8"))
    return raw


def _whole(gate: Mapping[str, Any]) -> TreatmentRules:
    steps, prohibitions, agents = (in_force(name) for name in NAMES[:3])
    return treatment_rules(steps, prohibitions, agents, read_ambiguous(shipped_rows("agent_words")), read_gate(gate), version=VERSION)


register(csv_table("treatment_rules", "Steps of treatment", read_steps, grows=True, sorts={"kind": KINDS, "who_may_do_it": STANDINGS}))
register(csv_table("contraindications", "What harms what", read_prohibitions, grows=True, sorts={"severity": SEVERITIES}))
register(csv_table("agents", "What is put on things", read_agents, grows=True, sorts={"work": WORKS}))
register(Table("gate", "What is asked before work", _gate, _whole))


def treatment_rules_in_force() -> TreatmentRules:
    """The tables of treatment that count here and now. Where the society changed any of them, the version names which."""
    rules: TreatmentRules = in_force("gate")
    changes = current().changes_code(NAMES)
    return replace(rules, version=f"{rules.version}+{changes}") if changes else rules
