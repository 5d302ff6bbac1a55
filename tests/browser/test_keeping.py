"""Whatever happens to the phone, the session or the server: what somebody told the walk is kept."""

import re

from django.contrib.sessions.models import Session
from playwright.sync_api import Page, expect

from collection.objects.models import Object
from conservation.checks.models import Draft
from museum.people.models import Person
from tests.browser.conftest import Museum
from tests.browser.kit import Browsers, ready
from tests.conftest import PASSWORD

SENTENCE = "a dent like a thumb"


def in_the_walk(page: Page, thing: Object) -> Page:
    """In the walk, the ten questions answered 'no'."""
    page.goto(f"/things/{thing.pk}/check/")
    for number in range(1, 11):
        page.locator(f'input[name="{number}"][value="no"]').check(force=True)
    page.get_by_role("button", name="Go on to the walk").tap()
    return page


def answered(page: Page, count: int) -> None:
    expect(page.locator("[data-progress]")).to_have_text(re.compile(f"^{count}/"))


def write_a_note(page: Page) -> None:
    page.get_by_text("Where exactly, size, note, change").tap()
    page.get_by_label("Note").fill(SENTENCE)
    page.get_by_label("Note").blur()


def draft_of(person: Person, thing: Object) -> dict[str, object]:
    return dict(Draft.objects.get(person=person, object=thing).content)


def test_a_closed_tab_loses_nothing(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.21")
    phone = browsers.device(museum.marit)
    page = ready(in_the_walk(phone.new_page(), thing))
    page.get_by_role("button", name="Nothing seen").tap()
    answered(page, 1)
    with page.expect_response(re.compile("/api/drafts/")):
        write_a_note(page)
    page.close()
    again = phone.new_page()
    again.goto(f"/things/{thing.pk}/check/")
    answered(again, 1)
    assert again.locator("#note").input_value() == SENTENCE


def test_an_expired_session_loses_neither_the_last_touch_nor_what_was_typed(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.22")
    page = ready(in_the_walk(browsers.page(museum.bo), thing))
    page.get_by_role("button", name="Nothing seen").tap()
    answered(page, 1)
    Session.objects.all().delete()
    page.get_by_role("button", name="Nothing seen").tap()
    write_a_note(page)
    page.get_by_role("link", name="Sign in again").tap()
    page.get_by_label("E-mail").fill(museum.bo.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    expect(page).to_have_url(re.compile("/check/"))
    answered(page, 2)
    page.reload()
    assert SENTENCE in str(draft_of(museum.bo, thing)["typing"])


def test_without_scripts_an_expired_session_leads_back_to_what_is_kept(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.23")
    page = browsers.page(museum.marit, java_script_enabled=False)
    in_the_walk(page, thing)
    page.get_by_role("button", name="Nothing seen").tap()
    answered(page, 1)
    Session.objects.all().delete()
    page.get_by_role("button", name="Nothing seen").tap()
    page.get_by_label("E-mail").fill(museum.marit.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    expect(page).to_have_url(re.compile("/held/"))
    page.get_by_role("button", name="Send it now").tap()
    expect(page).to_have_url(re.compile("/check/"))
    answered(page, 2)


def test_a_server_gone_for_a_moment_gets_it_later(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.24")
    phone = browsers.device(museum.marit)
    page = ready(in_the_walk(phone.new_page(), thing))
    phone.set_offline(True)
    page.get_by_role("button", name="Nothing seen").tap()
    expect(page.get_by_text("No answer from the server. What you said waits on this device")).to_be_visible()
    assert draft_of(museum.marit, thing)["zones"] == {}
    with page.expect_response(re.compile("/api/drafts/")) as sent:
        phone.set_offline(False)
    assert sent.value.ok
    answered(page, 1)
    assert len(draft_of(museum.marit, thing)["zones"]) == 1  # type: ignore[arg-type]
