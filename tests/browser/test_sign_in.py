"""Signing in and out, as somebody does it for the first time."""

from playwright.sync_api import Page, expect

from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers
from tests.browser.looking import barriers
from tests.conftest import PASSWORD


def typed(page: Page, email: str, password: str) -> None:
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_in_by_typing_and_out_again(browsers: Browsers, museum: Museum) -> None:
    page = browsers.page()
    page.goto("/things/")
    typed(page, museum.marit.email, PASSWORD)
    expect(page).to_have_url(f"{browsers.watch.address}/things/")
    page.get_by_role("link", name="Your account").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.goto("/things/")
    expect(page.get_by_label("Password")).to_be_visible()


def test_what_is_not_there_is_said_in_words_without_a_barrier(browsers: Browsers, museum: Museum) -> None:
    page = browsers.page(museum.marit)
    answer = page.goto("/things/nothing-of-the-kind/")
    assert answer is not None
    assert answer.status == 404
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert barriers(page) == []


def test_a_wrong_password_says_so_and_keeps_the_email(browsers: Browsers, museum: Museum) -> None:
    page = browsers.page(device=DESK)
    page.goto("/sign-in/")
    typed(page, museum.marit.email, "a lamp in the cellar")
    expect(page.get_by_text("do not go together here")).to_be_visible()
    expect(page.get_by_label("E-mail")).to_have_value(museum.marit.email)
    expect(page.get_by_label("Password")).to_have_value("")
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("navigation", name="Main")).to_be_visible()
