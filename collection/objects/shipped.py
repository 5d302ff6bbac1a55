"""The words this part ships: kinds with their zones and names, materials, fields."""

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from collection.objects.models import Field, Kind, Material
from museum.history.models import Word
from museum.people.action import Act, action
from museum.people.actor import Actor


@cache
def shipped_data() -> Mapping[str, Any]:
    """The file of words."""
    raw: Mapping[str, Any] = json.loads((Path(__file__).parent / "data" / "kinds.json").read_text(encoding="utf-8"))
    return raw


def load(actor: Actor) -> int:
    """Brings in what is new; what the society changed stays, with the shipped text beside it."""
    if not _missing():
        return 0
    return bring_words(actor)


def _missing() -> bool:
    data = shipped_data()
    wanted: dict[type[Word], set[str]] = {
        Kind: {row["code"] for row in data["kinds"]},
        Material: set(data["materials"]),
        Field: {row["code"] for row in data["fields"]},
    }
    return any(codes - set(model._default_manager.values_list("code", flat=True)) for model, codes in wanted.items())


@action("objects.bring_words", may="words.edit")
def bring_words(act: Act) -> int:
    """Adds the shipped words that are not there yet; answers how many."""
    data = shipped_data()
    added = _add(Material, {code: {"texts": texts} for code, texts in data["materials"].items()})
    added += _add(Kind, {row["code"]: _kind(row) for row in data["kinds"]})
    added += _add(Field, {row["code"]: _field(row, n) for n, row in enumerate(data["fields"])})
    act.wrote("words.brought", ("words", act.id), after={"added": added})
    return added


def _add(model: type[Word], rows: Mapping[str, Mapping[str, Any]]) -> int:
    known = set(model._default_manager.values_list("code", flat=True))
    fresh = [model(code=code, shipped=row["texts"], **row) for code, row in rows.items() if code not in known]
    model._default_manager.bulk_create(fresh)
    return len(fresh)


def _kind(row: Mapping[str, Any]) -> dict[str, Any]:
    zones = {code: row["names"].get(code, shipped_data()["zones"][code]) for code in row["zones"]}
    return {"texts": row["texts"], "outline_set": row["set"], "zones": zones}


def _field(row: Mapping[str, Any], position: int) -> dict[str, Any]:
    taken = {name: row[name] for name in ("texts", "sort", "repeatable", "personal", "public")}
    return {**taken, "choices": shipped_data()["choices"].get(row["code"], []), "position": position}
