"""The outline drawings: whole, plain, light to send, and true about left and right."""

import gzip
import re
from xml.etree import ElementTree

import pytest

from collection.objects import outlines
from collection.objects.outlines import Mark, middle_of, render_paper, render_svg, sets, zones_in

EACH = [(set_code, view) for set_code in sets() for view in outlines.VIEWS]
NAMES = {code: f"name of {code}" for set_code, view in EACH for code in zones_in(set_code, view)}
SIDES = {"L": "wearer’s left", "R": "wearer’s right"}


def on_page(set_code: str, view: str, **more: object) -> str:
    return render_svg(set_code, view, title="Drawing", names=NAMES, link=lambda code, side: f"?zone={code}{side}", **more)  # type: ignore[arg-type]


def rows(set_code: str, view: str) -> list[dict[str, object]]:
    return list(outlines._load(set_code)[view]["zones"])


def test_eleven_sets_of_six_views() -> None:
    assert set(sets()) == {
        "fire_metal", "fire_leather", "miner", "diving", "flying", "motorcycle", "police", "civil_defence", "sun",
        "ceremonial", "other",
    }  # fmt: skip
    assert len(EACH) == 66


@pytest.mark.parametrize(("set_code", "view"), EACH)
def test_a_drawing_is_well_formed_and_plain(set_code: str, view: str) -> None:
    for markup in (on_page(set_code, view), render_paper(set_code, view, marks=[Mark(1, "SH")])):
        root = ElementTree.fromstring(markup)
        assert root.get("viewBox") == "0 0 400 400"
        for element in root.iter():
            assert element.tag.rpartition("}")[2] in {
                "svg",
                "defs",
                "pattern",
                "rect",
                "circle",
                "g",
                "a",
                "path",
                "text",
            }
            assert not [key for key in element.attrib if key.startswith("on") or key == "style"]
    assert "var(" not in render_paper(set_code, view), "the printer knows no custom properties"


@pytest.mark.parametrize(("set_code", "view"), EACH)
def test_a_view_is_light_to_send(set_code: str, view: str) -> None:
    """The walk sends one view first; of its 100 kB at most 8 are the drawing."""
    assert len(gzip.compress(on_page(set_code, view).encode())) <= 8_000


@pytest.mark.parametrize(("set_code", "view"), EACH)
def test_every_zone_of_a_view_can_be_touched_and_is_named(set_code: str, view: str) -> None:
    drawn = on_page(set_code, view, sides=SIDES)
    for row in rows(set_code, view):
        code, side = str(row["code"]), str(row["side"])
        said = f"{code} name of {code}" + (f", {SIDES[side]}" if side else "")
        assert f'<a href="?zone={code}{side}" aria-label="{said}"' in drawn
    stops = re.findall(r'aria-label="([^"]+)" data-swap', drawn)
    assert len(stops) == len(set(stops)), "the keyboard stops once for each"


def test_the_zones_that_any_headgear_has_are_on_every_set() -> None:
    for set_code in sets():
        outside = {code for view in outlines.VIEWS[:5] for code in zones_in(set_code, view)}
        assert {"SH", "FX"} <= outside
        assert {"IN", "LB"} <= set(zones_in(set_code, "inside"))


def test_left_and_right_are_the_wearer_s() -> None:
    """The wearer's left is on the right from the front and looking in, on the left from behind and from above."""
    left_is_on = {"front": "right", "back": "left", "top": "left", "inside": "right"}
    seen = 0
    for set_code, view in EACH:
        if view in left_is_on:
            for row in rows(set_code, view):
                if row["side"] and row["room"]:
                    x = row["at"][0]  # type: ignore[index]
                    left = left_is_on[view] == "left"
                    assert (x < 200) == (left == (row["side"] == "L")), (set_code, view, row["code"])
                    seen += 1
        elif view in ("left", "right"):
            assert {row["side"] for row in rows(set_code, view)} == {view[0].upper()}
    assert seen > 100


@pytest.mark.parametrize(("set_code", "view"), EACH)
def test_numbers_stand_where_the_zone_is_seen(set_code: str, view: str) -> None:
    """No two zones that can be seen share a point; the brim's number is not on the crown."""
    points = [middle_of(set_code, view, code) for code in zones_in(set_code, view)]
    assert all(point and 0 < point[0] < 400 and 0 < point[1] < 400 for point in points)
    seen = [tuple(row["at"]) for row in rows(set_code, view) if row["room"]]  # type: ignore[arg-type]
    assert len(seen) == len(set(seen))


def rings(markup: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r'class="mark-ring" cx="([\d.]+)" cy="([\d.]+)"', markup)]


def test_numbers_do_not_cover_one_another() -> None:
    found = rings(on_page("fire_metal", "front", marks=[Mark(n, "SH") for n in range(1, 40)]))
    assert len(found) == 39
    for i, (x, y) in enumerate(found):
        assert all(abs(x - u) >= 26 or abs(y - v) >= 26 for u, v in found[:i])


def test_a_number_stands_at_its_point_on_its_side_or_not_at_all() -> None:
    assert rings(on_page("sun", "front", marks=[Mark(1, "SH", 120.5, 80)])) == [(120.5, 80)]
    (left,), (right,) = (rings(on_page("fire_metal", "front", marks=[Mark(1, "CC", side=side)])) for side in "LR")
    assert right[0] < 200 < left[0]
    assert rings(on_page("fire_metal", "front", marks=[Mark(1, "LB"), Mark(2, "PT")])) == []
    assert 'class="mark-ring"' in render_paper("sun", "front", marks=[Mark(1, "SH")])


def test_state_and_words() -> None:
    drawn = on_page("other", "front", state={"SH": "on", "RB": "seen"}, words=("wearer’s right", "FRONT", "wearer’s left"))
    assert 'class="zone is-on" data-zone="SH"' in drawn
    assert 'class="zone is-seen" data-zone="RB"' in drawn
    assert drawn.count('id="zone-on"') == drawn.count('id="zone-seen"') == 1
    assert drawn.index("wearer’s right") < drawn.index("FRONT") < drawn.index("wearer’s left")


def test_a_drawing_to_look_at_has_no_links_and_no_ids() -> None:
    drawn = render_svg("miner", "left", title="A miner's cap", names=NAMES)
    assert 'role="img"' in drawn
    assert "<a " not in drawn
    assert " id=" not in drawn, "so that a page can show several"


def test_a_zone_without_a_name_here_is_drawn_but_not_touched() -> None:
    drawn = render_svg("miner", "left", title="x", names={"SH": "cap"}, link=lambda code, side: "?")
    assert set(re.findall(r'<a href="[^"]*" aria-label="(\w+)', drawn)) == {"SH"}
    assert 'data-zone="CB"' in drawn


def test_names_cannot_bring_markup() -> None:
    drawn = render_svg(
        "other",
        "front",
        title='"><script>',
        names={"SH": "<i>"},
        link=lambda code, side: '"&x',
        words=("<b>", "", ""),
        sides={"L": "<u>"},
    )
    ElementTree.fromstring(drawn)
    assert not re.search(r"<(script|i|b|u)>", drawn)


@pytest.mark.parametrize(("set_code", "view"), [("bowler", "front"), ("other", "beneath"), ("../models", "front")])
def test_what_is_not_drawn_is_refused(set_code: str, view: str) -> None:
    with pytest.raises(KeyError):
        zones_in(set_code, view)
    with pytest.raises(KeyError):
        render_paper(set_code, view)


@pytest.mark.parametrize(("set_code", "view"), EACH)
def test_a_number_stands_on_what_is_in_the_light(set_code: str, view: str) -> None:
    """On a signed report a number in the shade of a brim would say its underside."""
    for code in zones_in(set_code, view):
        lit = [tuple(row["at"]) for row in rows(set_code, view) if row["code"] == code and row["room"] and any(path[0] == "a" for path in row["paths"])]
        if lit:
            assert middle_of(set_code, view, code) in lit
