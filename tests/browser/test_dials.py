"""The round of the dials on a phone: ten rooms in a minute, by one thumb."""

from typing import Final

import pytest
from playwright.sync_api import expect

from locations.climate.models import Spot
from locations.places.actions import make_place
from locations.places.models import Place
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests.browser.conftest import Museum
from tests.browser.kit import Browsers, Hand, ready

#: seconds that a touch with the scrolling to it, and a key of the phone's own pad, take a practised thumb (ours); walking between rooms is not counted
TOUCH, KEY, MOST = 1.5, 0.3, 60
READ: Final = [(f"{12 + n}.5", str(50 + 2 * n)) for n in range(10)]


@pytest.fixture
def rooms(museum: Museum) -> list[Place]:
    """Ten rooms and no more, in walking order."""
    house = Place.objects.get(level=Place.Level.BUILDING)
    kept = list(Place.objects.filter(level=Place.Level.ROOM))
    for n in range(10 - len(kept)):
        make_place(PROGRAM, place_id=uuid7(), level="room", code=f"Z-{n}", name=f"Room {n}", parent_id=house.pk, use="store")
    return list(Place.objects.filter(level=Place.Level.ROOM, closed_on=None).order_by("path_key", "code"))


def test_ten_rooms_are_read_in_a_minute(browsers: Browsers, museum: Museum, rooms: list[Place]) -> None:
    page = browsers.page(museum.marit)
    hand, keys = Hand(page), 0
    page.goto("/climate/")
    hand.tap(page.get_by_role("link", name="Read the dials"))
    ready(page)
    assert len(rooms) == 10
    for room, (t, rh) in zip(rooms, READ, strict=True):
        field = page.get_by_role("group", name=room.name)
        for label, figure in (("Temperature, °C", t), ("Humidity, %", rh)):
            entry = field.get_by_label(label)
            assert entry.get_attribute("inputmode") == "decimal", "the pad of figures comes up"
            hand.tap(entry)
            page.keyboard.type(figure)
            keys += len(figure)
    hand.tap(page.get_by_role("button", name="Store what was read"))
    expect(page.locator("main")).to_contain_text("Stored: 10")
    stored = {spot.place_id: (spot.t, spot.rh) for spot in Spot.objects.filter(place__in=rooms)}
    assert [stored[room.pk] for room in rooms] == [(float(t), float(rh)) for t, rh in READ]
    seconds = hand.taps * TOUCH + keys * KEY
    print(f"{hand.taps} touches and {keys} keys: {seconds:.0f} seconds")
    assert seconds < MOST, f"{hand.taps} touches and {keys} keys"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing to scroll sideways at 390 px"


def test_the_key_of_the_pad_leads_on_and_what_was_refused_stands_again(browsers: Browsers, museum: Museum, rooms: list[Place]) -> None:
    """A slip in one room costs none of the others."""
    page = browsers.page(museum.marit)
    page.goto("/climate/by-hand/")
    ready(page)
    first, last = rooms[0], rooms[-1]
    assert page.locator(f"#t-{first.pk}").get_attribute("enterkeyhint") == "next"
    for room, (t, rh) in zip(rooms, READ, strict=True):
        page.locator(f"#t-{room.pk}").fill(t)
        page.locator(f"#rh-{room.pk}").fill("150" if room == last else rh)
    page.get_by_role("button", name="Store what was read").tap()
    expect(page.get_by_role("alert")).to_contain_text("Nothing was stored")
    expect(page.locator(f"#t-{first.pk}")).to_have_value(READ[0][0])
    expect(page.locator(f"#rh-{last.pk}")).to_have_value("150")
    page.locator(f"#rh-{last.pk}").fill("68")
    page.get_by_role("button", name="Store what was read").tap()
    expect(page.locator("main")).to_contain_text("Stored: 10")
