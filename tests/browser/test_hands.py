"""Other ways to hold the program: a keyboard alone, a tablet that goes from hand to hand."""

from playwright.sync_api import Locator, Page, expect

from conservation.checks.models import ConditionCheck
from locations.places.models import Stay
from museum.people import actions
from museum.people.actor import Actor
from museum.people.secret import Secret
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers
from tests.browser.looking import barriers
from tests.conftest import PASSWORD

#: so many tabs lead round a whole page
MOST_TABS = 120


def reach(page: Page, what: Locator) -> None:
    """Tabs until it has the focus; the focus can be seen there."""
    what.first.wait_for(state="attached")
    for _ in range(MOST_TABS):
        if what.first.evaluate("element => element === document.activeElement"):
            break
        page.keyboard.press("Tab")
    else:
        raise AssertionError(f"the keyboard does not come to {what}")
    outline = what.first.evaluate("""element => {
        const shown = [element, element.nextElementSibling, element.parentElement].filter(Boolean).map((one) => getComputedStyle(one));
        return shown.some((style) => style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2);
    }""")
    assert outline, f"nothing shows that {what} has the focus"


def press(page: Page, what: Locator) -> None:
    reach(page, what)
    page.keyboard.press("Enter")


def test_a_keyboard_alone_signs_in_finds_looks_and_moves(browsers: Browsers, museum: Museum) -> None:
    page = browsers.page(device=DESK)
    page.goto("/sign-in/")
    reach(page, page.get_by_label("E-mail"))
    page.keyboard.type(museum.ivo.email)
    reach(page, page.get_by_label("Password"))
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    press(page, page.get_by_role("link", name="Things"))
    reach(page, page.get_by_label("Number, name or any word"))
    page.keyboard.type(museum.helmet.card.number)
    page.keyboard.press("Enter")
    press(page, page.get_by_role("link", name=museum.helmet.card.number))
    press(page, page.get_by_role("link", name="Quick look"))
    reach(page, page.get_by_label("Note, if there is something to say"))
    page.keyboard.type("in its place")
    press(page, page.get_by_role("button", name="Nothing new"))
    expect(page.get_by_text("Saved. Next quick look")).to_be_visible()
    assert ConditionCheck.objects.get(object=museum.helmet).note == "in its place"
    press(page, page.get_by_role("link", name="Move it"))
    reach(page, page.get_by_label("Place", exact=True))
    page.keyboard.type("H-S-2")
    press(page, page.get_by_role("button", name="Store where it is"))
    expect(page.get_by_text(museum.other_shelf.name).first).to_be_visible()
    assert Stay.objects.get(component__object=museum.helmet, during__upper_inf=True).place == museum.other_shelf


def test_the_skip_link_leads_past_the_menu(browsers: Browsers, museum: Museum) -> None:
    page = browsers.page(museum.ivo, DESK)
    page.goto("/things/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_label("Number, name or any word")).to_be_focused()


def test_a_shared_tablet_goes_from_hand_to_hand_by_a_tap_and_a_pin(browsers: Browsers, museum: Museum) -> None:
    for person, pin in ((museum.marit, "481516"), (museum.bo, "234234")):
        actions.set_pin(Actor.of(person), pin=Secret(pin))
    page = browsers.page(museum.ivo)
    page.goto("/tablet/")
    page.get_by_role("textbox").first.fill("store tablet")
    page.get_by_role("button", name="Share this browser").tap()
    page.get_by_role("link", name="Marit").wait_for()
    assert barriers(page) == []
    page.get_by_role("link", name="Marit").tap()
    page.get_by_label("PIN").fill("000000")
    page.get_by_role("button", name="That is me").tap()
    expect(page.get_by_text("This is not the PIN of Marit.", exact=True)).to_be_visible()
    page.get_by_label("PIN").fill("481516")
    page.get_by_role("button", name="That is me").tap()
    expect(page.locator(".who-bar")).to_contain_text("Marit")
    page.get_by_role("link", name="Change person").tap()
    page.get_by_role("link", name="Bo").tap()
    page.get_by_label("PIN").fill("234234")
    page.get_by_role("button", name="That is me").tap()
    expect(page.locator(".who-bar")).to_contain_text("Bo")
