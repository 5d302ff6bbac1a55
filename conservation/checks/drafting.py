"""What a draft holds and how one touch changes it, free of the framework.

A draft is a JSON document; every touch is an operation on one key of it, so that two devices of one
person never overwrite each other's zones and a repeated touch changes nothing.

    {"check": key, "begun": instant, "screen": {question: answer} or None,
     "zones": {"component/zone": answer}, "seen": {observation key: {...}},
     "typing": {"component/zone": {...}}, "facts": {...}}
"""

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from conservation.checks.entry import LOOKS, UNMEASURED

#: what may be said of one observation
SEEN_FIELDS = (
    "finding", "zone", "term", "change", "material", "percent", "severity", "activity", "size_mm", "side", "hour", "view", "x", "y", "note",
)  # fmt: skip
FACT_FIELDS = ("wet", "unsecured_part", "no_treatment", "note", "limits", "result", "purpose")

Content = dict[str, Any]


def begin(check: str, begun: str) -> Content:
    """An empty draft of the check with this key."""
    return {"check": check, "begun": begun, "screen": None, "zones": {}, "seen": {}, "typing": {}, "facts": {}}


def answer_zone(content: Content, zone: str, answer: str) -> Content:
    """The zone answered. Anything but 'findings' takes back what this draft saw there as present."""
    if answer not in LOOKS:
        raise ValueError(answer)
    new = deepcopy(content)
    new["zones"][zone] = answer
    if answer != "findings":
        new["seen"] = {key: seen for key, seen in new["seen"].items() if seen["zone"] != zone}
        new["typing"].pop(zone, None)
    return new


def put_seen(content: Content, key: str, fields: Mapping[str, Any]) -> Content:
    """One observation, new or changed; its zone is thereby answered with findings."""
    new = deepcopy(content)
    seen = {name: fields[name] for name in SEEN_FIELDS if fields.get(name) not in (None, "")}
    new["seen"][key] = seen
    zone = seen["zone"]
    if seen.get("change") not in UNMEASURED or new["zones"].get(zone) in (None, "findings"):
        new["zones"][zone] = "findings"
    new["typing"].pop(zone, None)
    return new


def drop_seen(content: Content, key: str) -> Content:
    """The observation taken back; a zone that loses its last is unanswered again."""
    new = deepcopy(content)
    gone = new["seen"].pop(key, None)
    if gone is not None and not any(seen["zone"] == gone["zone"] for seen in new["seen"].values()):
        new["zones"].pop(gone["zone"], None)
    return new


def keep_typing(content: Content, zone: str, fields: Mapping[str, Any]) -> Content:
    """What is being typed for a zone and is not yet an observation."""
    new = deepcopy(content)
    new["typing"][zone] = {name: value for name, value in fields.items() if name in SEEN_FIELDS and value not in (None, "")}
    return new


def put_facts(content: Content, fields: Mapping[str, Any]) -> Content:
    """Answers that concern the whole object."""
    new = deepcopy(content)
    new["facts"].update({name: value for name, value in fields.items() if name in FACT_FIELDS})
    return new


def put_screen(content: Content, answers: Mapping[str, str]) -> Content:
    """The ten questions, as far as they are answered."""
    new = deepcopy(content)
    new["screen"] = {**(new.get("screen") or {}), **answers}
    return new


def as_last_time(content: Content, zone: str, standing: Mapping[str, Mapping[str, Any]]) -> Content:
    """The zone as it stood: 'same' for each standing finding, 'nothing' where none stood.

    `standing` maps new observation keys to the fields of the last observation.
    """
    new = answer_zone(content, zone, "nothing")
    for key, last in standing.items():
        new = put_seen(new, key, {**last, "zone": zone, "change": "same"})
    return new


def rest_as_last_time(content: Content, standing: Mapping[str, Mapping[str, Mapping[str, Any]]]) -> Content:
    """Every zone without an answer as it stood; `standing` has all zones of the object, in their order."""
    new = content
    for zone in silent_zones(content, list(standing)):
        new = as_last_time(new, zone, standing[zone])
    return new


def nothing_seen(content: Content, zone: str, standing: Mapping[str, Mapping[str, Any]]) -> Content:
    """Nothing seen: what stood there is told to be gone, so that it is a word and not an omission."""
    new = answer_zone(content, zone, "nothing")
    for key, last in standing.items():
        new = put_seen(new, key, {**last, "zone": zone, "change": "gone"})
    new["zones"][zone] = "nothing"
    return new


def silent_zones(content: Mapping[str, Any], zones: list[str]) -> list[str]:
    """The zones without an answer, in the given order."""
    return [zone for zone in zones if zone not in content.get("zones", {})]
