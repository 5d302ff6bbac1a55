"""8.3 and 8.4 of the reference, row by row, where a thing is put: the humidity that its materials can share, and its company in a box."""

from itertools import product
from typing import Final

import pytest

from collection.objects.models import Object
from conservation.rules.contraindications import Found
from conservation.rules.neighbours import clashes
from conservation.rules.placing import Part, band_of, shipped_bands
from conservation.rules.ruleset import shipped_rules
from conservation.rules.tables import materials
from locations.places import placing
from locations.places.actions import make_place, move_box, move_object
from locations.places.models import Misplaced
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.treatments import stock as bench

pytestmark = pytest.mark.django_db

#: 8.3: material, finding, its activity, the band in percent, source
BANDS: Final = (
    ("copper_alloy", "", None, 35, 55, "stable metals: CCI Notes 9/2"), ("steel", "", None, 35, 55, "stable metals: CCI Notes 9/2"),
    ("lead", "", None, 35, 55, "stable metals: CCI Notes 9/2"), ("aluminium", "", None, 35, 55, "stable metals: CCI Notes 9/2"),
    ("steel", "RUST_SPOT", 2, 0, 35, "actively corroding: CCI Notes 9/2"), ("steel", "RUST_GEN", None, 0, 35, "not known counts as active (ours)"),
    ("steel", "RUST_SPOT", 0, 35, 55, "stable again: CCI Notes 9/2"), ("steel", "RUST_WEEP", 0, 0, 15, "chloride iron: Western Australian Museum"),
    ("copper_alloy", "BRONZE_DISEASE", 0, 0, 42, "bronze with chlorides: Scott 1990"), ("leather", "", None, 45, 65, "Western Australian Museum"),
    *((material, "", None, 40, 55, "organic: NPS Conserve O Gram 1/3") for material in ("cork", "felt", "wool", "textile", "paper", "wood")),
    ("cellulose_nitrate", "", None, 20, 30, "Museum of Design in Plastics"), ("cellulose_acetate", "", None, 20, 30, "Museum of Design in Plastics"),
)  # fmt: skip


@pytest.mark.parametrize(("material", "term", "activity", "low", "high", "source"), BANDS)
def test_the_band_of_each_row(material: str, term: str, activity: int | None, low: int, high: int, source: str) -> None:
    band = band_of(Part(material, (Found(term, activity),) if term else ()), shipped_bands())
    assert band is not None
    assert (band.low, band.high) == (low, high), source


#: what a helmet is of, what was found on it, and the two that cannot share a humidity; none = they can
SHARED: Final = (
    (("steel", "leather"), (), None), (("copper_alloy", "felt"), (), None), (("steel", "leather"), (("RUST_SPOT", "steel", 0),), None),
    (("steel", "leather"), (("RUST_SPOT", "steel", 2),), ("leather", "steel")), (("steel", "leather"), (("RUST_SPOT", "steel", 1),), ("leather", "steel")),
    (("cellulose_nitrate", "copper_alloy"), (), ("cellulose_nitrate", "copper_alloy")),
    (("cellulose_acetate", "leather"), (), ("cellulose_acetate", "leather")),
    (("copper_alloy", "leather"), (("BRONZE_DISEASE", "copper_alloy", 3),), ("copper_alloy", "leather")),
    (("copper_alloy", "felt"), (("BRONZE_DISEASE", "copper_alloy", 3),), None), (("steel", "cork"), (("RUST_WEEP", "steel", 2),), ("cork", "steel")),
)  # fmt: skip


@pytest.mark.parametrize(("made_of", "found", "pair"), SHARED)
def test_a_humidity_that_does_not_suit_both_is_never_chosen_by_the_program(
    made_of: tuple[str, ...], found: tuple[tuple[str, str, int], ...], pair: tuple[str, str] | None, volunteer: Person
) -> None:
    """A closed box: where the bands do not meet it says so, names the two, asks for a reason, sends to a conservator, and stores what happened."""
    _hall, _store, board = stock.shelf()
    thing = stock.helmet(materials=made_of)
    bench.record(Actor.of(volunteer), thing, *(stock.seen(thing, "SH", term, material=material, activity=activity) for term, material, activity in found))
    box = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box", mobile=True, closed_container=True)
    move_box(PROGRAM, box.pk, place_id=board.pk)
    if pair is None:
        assert move_object(PROGRAM, thing.pk, place_id=box.pk, planned=True) == []
        return
    with pytest.raises(Invalid) as asked:
        move_object(PROGRAM, thing.pk, place_id=box.pk, planned=True)
    assert asked.value.field == "accepts"
    move_object(PROGRAM, thing.pk, place_id=box.pk)
    assert Misplaced.objects.get().code == "HUMIDITY"
    said = placing.read_row(Misplaced.objects.get())
    assert sorted(str(said.why.values[name]) for name in ("one", "other")) == sorted(pair)
    assert "conservator" in said.instead.sentence()


#: 8.4 (ours, on the lists of the AIC exhibit technote): who gives off what, who suffers from it, and what is refused
EMITS: Final = {
    "sulphur": {"rubber", "hard_rubber", "felt", "wool"}, "acid": {"cork", "wood", "cellulose_nitrate", "cellulose_acetate"}, "plasticiser": {"pvc"},
}  # fmt: skip
SUFFERS: Final = {
    "sulphur": {"silver_plate", "copper_alloy", "tinned_copper"},
    "acid": {"lead", "zinc_plate", "copper_alloy", "tinned_copper", "steel", "tinned_steel"},
    "plasticiser": {"cellulose_nitrate", "cellulose_acetate", "pvc", "phenolic", "resin_fabric", "pu_foam"},
}
REFUSED: Final = set(product(("rubber", "hard_rubber", "cork"), ("silver_plate", "lead")))


def test_every_pair_of_materials_is_warned_of_or_refused_as_the_rows_say_and_no_other() -> None:
    listed = {pair: vapour for vapour in EMITS for pair in product(EMITS[vapour], SUFFERS[vapour])}
    for mine, theirs in product(materials(), materials()):
        found = {(one.emitter, one.sufferer): one.refused for one in clashes([mine], [theirs], shipped_rules())}
        expected = {pair for pair in ((mine, theirs), (theirs, mine)) if pair in listed or pair in REFUSED}
        assert set(found) == expected, (mine, theirs)
        assert {pair for pair, refused in found.items() if refused} == expected & REFUSED, (mine, theirs)


def test_an_open_shelf_asks_for_no_company_and_a_closed_case_does(volunteer: Person) -> None:
    """The vapours count in a closed box or case; a case is a place that was said to be closed."""
    _hall, _store, board = stock.shelf()
    case = make_place(PROGRAM, place_id=uuid7(), level="shelf", code="H-S-2", name="Case 2", parent_id=board.parent_id, closed_container=True)
    silver: Object = stock.helmet("1974.1.1", materials=["silver_plate"])
    rubber: Object = stock.helmet("1974.1.2", materials=["rubber"])
    for thing in (silver, rubber):
        assert move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True) == []
    assert move_object(PROGRAM, silver.pk, place_id=case.pk, planned=True) == []
    with pytest.raises(placing.PlacingRefused):
        move_object(PROGRAM, rubber.pk, place_id=case.pk, planned=True)
