"""Where a thing may stand. Humidity bands by the sources in the table; figures of the place are advice or ours."""

from datetime import date

import pytest

from conservation.rules.contraindications import Found, Surface
from conservation.rules.gate import Question
from conservation.rules.grading import Hazard
from conservation.rules.placing import Part, Placed, Position, apart_within, between, needs_of, place, read_bands, shipped_bands
from conservation.rules.ruleset import BadRules, shipped_rules
from conservation.rules.treatment_tables import shipped


def asking(*materials: str, happened: bool = False, hazards: tuple[Hazard, ...] = (), role: str = "volunteer") -> Question:
    first = materials[0] if materials else "paint"
    surface = Surface(material=first, zone_materials=frozenset({first}), object_materials=frozenset(materials), hazards=hazards)
    return Question(day=date(2025, 6, 1), person="mina", role=role, zone="SH", surface=surface, zone_grade=1, zone_activity=0, act="place", happened=happened)


def codes(placed: Placed) -> list[tuple[str, str]]:
    return [(one.level, one.code) for one in placed.objections]


@pytest.mark.parametrize(
    ("position", "code"),
    [
        (Position(resting="stack"), "CX36"),
        (Position(resting="hanging"), "CX37"),
        (Position(resting="brim"), "CX38"),
        (Position(kind="attic"), "CX41"),
        (Position(kind="boiler_room"), "CX41"),
        (Position(touching=frozenset({"pvc_film"})), "CX26"),
        (Position(touching=frozenset({"acid_paper"})), "CX34"),
    ],
)
def test_planned_it_is_refused_found_so_it_is_stored_and_urgent(position: Position, code: str) -> None:
    planned = place(asking("paint", "steel"), position, shipped())
    assert (planned.result, codes(planned), planned.urgent) == ("refused", [("refuse", code)], False)
    assert planned.objections[0].why.sentence()
    assert planned.objections[0].instead.sentence()
    found = place(asking("paint", "steel", happened=True), position, shipped())
    assert (found.result, codes(found), found.urgent) == ("stored", [("refuse", code)], True)


def test_a_form_of_its_own_on_a_shelf_of_the_store_is_allowed() -> None:
    assert place(asking("paint", "steel"), Position(off_floor_cm=10, clearance_mm=25, clearance_above_mm=25), shipped()) == place(
        asking("paint", "steel"), Position(), shipped()
    )
    assert place(asking("paint", "steel"), Position(), shipped()).result == "allowed"


def test_what_is_held_is_not_planned_anywhere_and_where_it_stands_is_stored() -> None:
    held = (Hazard("ASBESTOS", 3),)
    assert codes(place(asking("paint", hazards=held), Position(), shipped()))[0] == ("refuse", "HOLD")
    assert place(asking("paint", hazards=held, happened=True), Position(), shipped()).result == "stored"


@pytest.mark.parametrize(
    ("mine", "theirs", "closed", "result", "found"),
    [
        (["rubber"], ["silver_plate"], True, "refused", [("refuse", "NEIGHBOUR")]),
        (["rubber"], ["copper_alloy"], True, "allowed", [("warn", "NEIGHBOUR")]),
        (["rubber"], ["silver_plate"], False, "allowed", []),
        (["steel"], ["leather"], True, "allowed", []),
    ],
)
def test_neighbours_in_a_closed_box(mine: list[str], theirs: list[str], closed: bool, result: str, found: list[tuple[str, str]]) -> None:
    clashing = between(mine, [theirs], shipped_rules())
    placed = place(asking(*mine), Position(closed_box=closed), shipped(), neighbours=clashing)
    assert (placed.result, codes(placed)) == (result, found)
    stored = place(asking(*mine, happened=True), Position(closed_box=closed), shipped(), neighbours=clashing)
    assert (stored.result, stored.urgent) == ("stored", result == "refused")


def test_a_box_below_40_percent_for_steel_with_leather_is_the_conservators_choice() -> None:
    """Western Australian Museum: below 40 % leather embrittles (CX64)."""
    dry = Position(closed_box=True, humidity=35)
    assert codes(place(asking("steel", "leather"), dry, shipped())) == [("refuse", "CX64")]
    assert place(asking("steel", "leather"), dry, shipped()).result == "refused"
    assert place(asking("steel", "leather", role="conservator"), dry, shipped()).result == "allowed"
    assert place(asking("steel", "leather"), Position(closed_box=True, humidity=40), shipped()).result == "allowed"


def test_floor_air_and_weight_are_warnings() -> None:
    position = Position(off_floor_cm=9, clearance_mm=20, clearance_above_mm=40)
    placed = place(asking("paint", "decal"), position, shipped(), kilograms=10)
    assert codes(placed) == [("warn", "FLOOR"), ("warn", "CLEARANCE"), ("warn", "CLEARANCE_ABOVE"), ("warn", "HEAVY")]
    assert placed.result == "allowed"
    assert codes(place(asking("paint"), Position(clearance_above_mm=40, people=2), shipped(), kilograms=18)) == []


ACTIVE = (Found("RUST_SPOT", 2),)
STABLE = (Found("RUST_SPOT", 0),)


@pytest.mark.parametrize(
    ("parts", "low", "high", "conflicts"),
    [
        ([Part("steel"), Part("leather")], 45, 55, ()),
        ([Part("steel", STABLE), Part("leather")], 45, 55, ()),
        ([Part("steel", ACTIVE), Part("leather")], 45, 35, (("leather", "steel"),)),
        ([Part("steel", (Found("RUST_SPOT"),)), Part("leather")], 45, 35, (("leather", "steel"),)),
        ([Part("cellulose_nitrate"), Part("copper_alloy")], 35, 30, (("cellulose_nitrate", "copper_alloy"),)),
        ([Part("steel", (Found("RUST_WEEP", 0),))], 0, 15, ()),
        ([Part("copper_alloy", (Found("BRONZE_DISEASE", 0),))], 0, 42, ()),
        ([Part("copper_alloy"), Part("felt")], 40, 55, ()),
        ([Part("glass")], 0, 100, ()),
    ],
)
def test_the_humidity_that_materials_can_share(parts: list[Part], low: float, high: float, conflicts: tuple[tuple[str, str], ...]) -> None:
    """CCI Notes 9/2, Western Australian Museum, Scott 1990, NPS Conserve O Gram 1/3: see the table of bands."""
    needs = needs_of(parts, shipped_bands())
    assert max((need.band.low for need in needs), default=0) == low
    assert min((need.band.high for need in needs), default=100) == high
    assert [(pair.one, pair.other) for pair in apart_within(needs)] == list(conflicts)


def test_a_band_that_is_none_is_told() -> None:
    with pytest.raises(BadRules) as caught:
        read_bands([{"code": "mine", "low": "60", "high": "40", "materials": "steel", "terms": "", "state": "any", "source": "ours"}])
    assert "'mine'" in caught.value.problems[0]
