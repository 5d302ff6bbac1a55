"""From a finding to looking again in the browser: the volunteer on a phone, the curator at a desk, on a helmet of a real register."""

from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, expect

from collection.objects.models import Object
from conservation.checks.models import Call, CallAnswer, ConditionCheck
from conservation.treatments.models import Approval, Kept, Proposal, Work, WorkEnd, WorkStep
from locations.places.actions import move_object
from museum import clock
from museum.people import actions as people
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock as house
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers, Hand, ready
from tests.browser.test_walk import begun
from tests.conftest import cast
from tests.objects.pictures import made, picture
from tests.treatments import stock
from tests.treatments.imported import brought_in


@pytest.fixture(scope="module")
def conservator(museum: Museum) -> Person:
    person = cast("Rhea", Role.VOLUNTEER)
    people.give_qualification(Actor.of(museum.ivo), person.pk, "conservator", evidence="a diploma, seen")
    return person


def from_a_register(museum: Museum) -> Object:
    thing = brought_in(Actor.of(museum.nell), ["51.472"])[0]
    move_object(PROGRAM, thing.pk, place_id=museum.shelf.pk)
    return thing


def photo(page: Page, form: Locator, shade: int) -> None:
    form.locator("input[type=file][name=photo]").set_input_files(
        {"name": f"front-{shade}.jpg", "mimeType": "image/jpeg", "buffer": made(image=picture((400 + shade, 300)))}
    )


def at_zone(page: Page, thing: Object, code: str) -> None:
    page.goto(f"/things/{thing.pk}/check/?zone={house.zone(thing, code)}")
    ready(page)


def say(hand: Hand, term: str, percent: str, activity: str, *, last: bool = True) -> None:
    """A finding at the zone at hand, its word chosen among all; the last one goes on to the next zone."""
    form = hand.page.locator("form[data-finding]")
    word = form.locator(f".choice:has(input[name=term][value={term}])")
    if not word.is_visible():
        hand.tap(form.locator("details[data-keep-open=terms] summary"))
    hand.tap(word)
    hand.tap(form.locator(f'.area:has(input[value="{percent}"])'))
    hand.tap(form.locator(".choice:has(input[name=severity][value='2'])"))
    hand.tap(form.locator(f".choice:has(input[name=activity][value='{activity}'])"))
    hand.tap(form.locator(f"button[value={'save' if last else 'save_more'}]"))


def checked(browsers: Browsers, museum: Museum, thing: Object) -> None:
    """The first check of it: rust at the rim, mould on the band, nothing else."""
    page = ready(begun(browsers.page(museum.marit), thing))
    hand = Hand(page)
    for n, (code, term, percent) in enumerate((("RB", "RUST_SPOT", "3"), ("HB", "MOULD_DORMANT", "3")), start=1):
        at_zone(page, thing, code)
        say(hand, term, percent, "1")
        expect(page.locator("[data-progress]")).to_contain_text(f"{n}/")
    zones = int(page.locator("[data-progress]").inner_text().split("/")[1])
    for n in range(3, zones + 1):
        page.get_by_role("button", name="Nothing seen").tap()
        expect(page.locator("[data-progress]")).to_have_text(f"{n}/{zones}")
    page.get_by_role("link", name="All zones answered").tap()
    page.get_by_role("button", name="Store this check").tap()
    expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()


def form_of(page: Page, address: str, step: str) -> Locator:
    """The form that sends a step to this address."""
    return page.locator(f"form[action$='{address}']:has(input[name=step][value={step}])").first


def opened(page: Page, form: Locator) -> Locator:
    """The form with every fold above it open."""
    form.evaluate("form => { for (let up = form.closest('details'); up; up = up.parentElement.closest('details')) up.open = true; }")
    return form


def test_the_whole_loop_in_the_browser(browsers: Browsers, museum: Museum, conservator: Person) -> None:
    thing = from_a_register(museum)
    checked(browsers, museum, thing)
    stock.shown(museum.marit, conservator, "TR14")
    marit, ivo = browsers.page(museum.marit), browsers.page(museum.ivo, DESK)
    may = f"/things/{thing.pk}/may/"

    for person in (museum.marit, museum.ivo, conservator):
        page = browsers.page(person)
        page.goto(may)
        page.locator("input[name=words]").fill("a little household bleach")
        page.locator("select[name=spot]").select_option(f"{house.zone(thing, 'HB')}|leather")
        page.get_by_role("button", name="Ask", exact=True).tap()
        refused = page.locator(".note--refused:has-text('CX')").first
        expect(refused).to_contain_text("Instead:")
        expect(refused).to_contain_text("CX")
        expect(refused).to_contain_text("nobody")
    assert not Proposal.objects.filter(object=thing).exists()

    marit.goto(may)
    marit.locator("a[href*='/propose/?'][href*='step=TR14']").first.tap()
    proposing = marit.locator("form:has([name=aim]):has(input[name=zone])")
    proposing.locator("[name=aim]").fill("loose rust off, so that it can be stored safely")
    for why in proposing.locator("[name=earlier]").all():
        why.fill("dry since March, the powder goes on falling")
    proposing.locator("button[value=send]").tap()
    marit.wait_for_url("**/proposals/*/")
    proposal = Proposal.objects.get(object=thing)

    ivo.goto("/proposals/")
    deciding = ivo.locator(f"form[action='/proposals/{proposal.pk}/decide/']:has(button[value=return])")
    for fold in deciding.locator("details:not([open]) > summary").all():
        fold.click()
    deciding.locator("[name=reason]").fill("Which brush? Natural bristle, and a tray under it.")
    deciding.locator("button[value=return]").click()
    expect(ivo.locator("body")).to_contain_text("Returned with your remark")
    marit.goto(f"/proposals/{proposal.pk}/")
    expect(marit.locator("main")).to_contain_text("Which brush?")
    again = marit.locator("form:has(button[value=again])")
    again.locator("[name=aim]").fill("loose rust off with natural bristle over a tray")
    again.locator("button[value=again]").tap()
    expect(marit.locator("body")).to_contain_text("Sent again")
    ivo.goto(f"/proposals/{proposal.pk}/")
    ivo.locator("button[value=approve]").click()
    expect(ivo.locator("body")).to_contain_text("Approved")
    assert Approval.objects.get(object=thing).approved_by == museum.ivo

    worked(marit, thing)
    followed_up(marit, thing, museum)


def worked(marit: Page, thing: Object) -> None:
    """Begun with a photograph, tried, done once, stopped at a stop sign, a part kept, ended with the same view."""
    marit.goto(f"/things/{thing.pk}/may/")
    begin = opened(marit, form_of(marit, "/work/", "TR14"))
    photo(marit, begin, 0)
    begin.locator("button").last.tap()
    marit.wait_for_url("**/work/**")
    work = Work.objects.get(object=thing)
    marit.locator("form:has(input[name=do][value=spot]) button[name=unchanged][value=yes]").tap()
    expect(marit.locator("body")).to_contain_text("Test spot written down")
    step = marit.locator("form:has(input[name=do][value=step])")
    for box in step.locator("input[name=acknowledged]").all():
        box.check(force=True)
    step.locator("button").last.tap()
    expect(marit.locator("body")).to_contain_text("Written down")
    kept = opened(marit, marit.locator("form:has(input[name=do][value=keep])"))
    kept.locator("[name=name]").fill("flake of blacking")
    kept.locator("[name=because]").fill("it lay loose under the rim")
    kept.locator("[name=bag]").fill("vial 3, drawer 2")
    kept.locator("button").last.tap()
    expect(marit.locator("main")).to_contain_text("it lay loose under the rim")
    stop = opened(marit, marit.locator("form:has(input[name=do][value=stop])"))
    stop.locator("[name=note]").fill("bright metal where it was dark")
    photo(marit, stop, 1)
    stop.locator("button").last.tap()
    expect(marit.locator("body")).to_contain_text("Stopped")
    end = opened(marit, marit.locator("form:has(input[name=do][value=end])"))
    photo(marit, end, 2)
    end.locator("button").last.tap()
    expect(marit.locator("main")).to_contain_text("Ended")
    assert WorkEnd.objects.filter(work=work).exists()
    assert sorted(WorkStep.objects.filter(work=work).values_list("result", flat=True)) == ["done", "stopped"]
    assert Kept.objects.get(work=work).component.letter


def followed_up(marit: Page, thing: Object, museum: Museum) -> None:
    """30 days later it stands among what is due; looked at, the follow-up is done and the next is still to come."""
    first = Call.objects.filter(object=thing, why="follow_up").order_by("due_on").first()
    assert first is not None
    assert (first.due_on - clock.today()).days == 30
    marit.goto(f"/things/{thing.pk}/")
    expect(marit.locator("main")).to_contain_text("the same views again")
    with clock.at(clock.now() + timedelta(days=30)):
        rust = ConditionCheck.objects.filter(object=thing).latest("recorded_at").observations.get(term="RUST_SPOT")
        stock.record(Actor.of(museum.marit), thing, house.seen(thing, "RB", "RUST_SPOT", change="same", finding=rust.finding_id))
    assert CallAnswer.objects.filter(call=first).exists()
    marit.goto(f"/things/{thing.pk}/")
    expect(marit.locator("main")).to_contain_text("the same views again")
