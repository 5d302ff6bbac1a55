"""The style: what a page may carry, how much it weighs, whether it can be read."""

import gzip
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont

from tests.web.stylesheet import STATIC, colours, contrast, defined_classes, templates, used_classes

# Hooks of scripts and tests that need no rule of their own.
BARE = {"zones-fold"}
GROUNDS = ("paper", "sheet", "well")


@pytest.mark.parametrize("path", templates(), ids=lambda path: path.name)
def test_a_page_carries_no_style_and_no_script_within(path: Path) -> None:
    """The policy of the program's answers refuses them; they would be dead."""
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\sstyle=|<style|\son[a-z]+=\"|javascript:", text)
    assert not [tag for tag in re.findall(r"<script[^>]*>", text) if "src=" not in tag]
    assert not re.search(r"(src|href)=\"(https?:)?//", text), "nothing comes from a third party"


@pytest.mark.parametrize("path", templates(), ids=lambda path: path.name)
def test_every_class_of_a_page_has_a_rule(path: Path) -> None:
    used = used_classes(path.read_text(encoding="utf-8"))
    assert used - BARE <= defined_classes("components.css", "styleguide.css")


def test_style_and_type_of_a_first_visit_stay_small() -> None:
    """goals.md, speed 1: a first visit at most 100 kB with its fonts; of these at most 45 kB are style and type."""
    styles = sum(len(gzip.compress((STATIC / name).read_bytes())) for name in ("tokens.css", "components.css"))
    fonts = sum((STATIC / "fonts" / name).stat().st_size for name in ("next-latin.woff2", "mono-latin.woff2"))
    assert styles + fonts <= 45_000


def test_the_two_files_of_a_face_agree() -> None:
    """Faces that differ in weight are different faces: text would stand in the one without Latin letters."""
    faces = re.findall(r"@font-face \{[^}]*\}", (STATIC / "tokens.css").read_text(encoding="utf-8"))
    upright = [face for face in faces if "Next" in face and "italic" not in face]
    assert len(upright) == 2
    assert len({re.findall(r"font-weight: [^;]+", face)[0] for face in upright}) == 1
    for name in ("next-latin", "next-latin-ext"):
        (axis,) = TTFont(STATIC / "fonts" / f"{name}.woff2")["fvar"].axes
        assert (axis.minValue, axis.maxValue) == (400, 750)


@pytest.mark.parametrize(
    ("file", "letters"),
    [
        ("next-latin", "Straße Größe Öl Übung œuvre façade où Noël Å æ ø ñ €  ½ ° ² × – — ’ “ ” „ … −"),
        ("next-latin-ext", "łŁžšČőűğİąę"),
        ("mono-latin", "1974.12.3a/b 310 × 240 mm 65 % 21 °C ±3 −4 mm² É ß – #()[]"),
        ("next-latin-italic", "fragile, reversible: é ü"),
    ],
)
def test_faces_have_the_letters_of_the_languages(file: str, letters: str) -> None:
    assert {ord(letter) for letter in letters} <= set(TTFont(STATIC / "fonts" / f"{file}.woff2").getBestCmap())


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_words_can_be_read(theme: str) -> None:
    """WCAG 2.2: 4.5 for text, 3 for what marks; running text 7 (goals.md)."""
    c = colours(theme)
    for ground in GROUNDS:
        assert contrast(c["ink"], c[ground]) >= 7
        assert contrast(c["slate"], c[ground]) >= 4.5
        assert contrast(c["edge"], c[ground]) >= 3
    for ground in ("paper", "sheet"):
        for words in ("link", "brass", "oxide", "verdigris"):
            assert contrast(c[words], c[ground]) >= 4.5, (words, ground)
    for wash in ("brass", "oxide", "verdigris", "slate"):
        assert contrast(c["ink"], c[f"{wash}-wash"]) >= 7
        assert contrast(c[wash], c[f"{wash}-wash"]) >= 4.5
    assert contrast(c["on-stop"], c["stop"]) >= 4.5
    assert contrast(c["sheet"], c["ink"]) >= 7


def test_the_device_s_own_dark_is_the_chosen_dark() -> None:
    text = (STATIC / "tokens.css").read_text(encoding="utf-8")
    blocks = [text[text.index(start) :].split("{", 1)[1].split("}", 1)[0] for start in (":root:not(", ':root[data-theme="dark"]')]
    assert len({re.sub(r"\s+", " ", block) for block in blocks}) == 1


@pytest.mark.parametrize("percent", ["0.1", "0.5", "1", "3", "8", "16", "33", "50"])
def test_black_in_a_tile_is_exactly_the_share(percent: str) -> None:
    """A tile has 100 x 100 cells; counted one by one."""
    sprite = ElementTree.parse(STATIC / "areas.svg").getroot()
    name = f"area-{percent.replace('.', '_')}"
    (symbol,) = [s for s in sprite.iter("{http://www.w3.org/2000/svg}symbol") if s.get("id") == name]
    black: set[tuple[int, int]] = set()
    for path in symbol:
        for x, y, width, height in re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-\d+z", path.get("d", "")):
            cells = {(int(x) + i, int(y) + j) for i in range(int(width)) for j in range(int(height))}
            assert not cells & black, "no cell is drawn twice"
            black |= cells
    assert all(0 <= x < 100 and 0 <= y < 100 for x, y in black)
    assert len(black) == round(float(percent) * 100)


@pytest.mark.parametrize("path", templates(), ids=lambda path: path.name)
def test_every_symbol_that_a_page_names_is_there(path: Path) -> None:
    sprite = (STATIC / "icons.svg").read_text(encoding="utf-8")
    named = re.findall(r'\{% icon "([\w-]+)"', path.read_text(encoding="utf-8"))
    assert all(f'id="i-{name}"' in sprite for name in named)


@pytest.mark.parametrize("name", ["icons.svg", "areas.svg", "icon.svg", "specimen.svg"])
def test_pictures_are_plain(name: str) -> None:
    for element in ElementTree.parse(STATIC / name).iter():
        assert element.tag.rpartition("}")[2] not in {"script", "foreignObject", "style", "image"}
        assert not [key for key in element.attrib if key.startswith("on")]
