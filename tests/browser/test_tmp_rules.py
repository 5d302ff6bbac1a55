from datetime import timedelta
import pytest
from collection.objects.actions.bookings import book
from conservation.rules.actions import change_rule
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, PHONE, Browsers
from tests.browser.looking import barriers, too_wide
from conservation.rules.every import TABLES


@pytest.fixture(scope="module")
def made(museum: Museum):
    by = Actor.of(museum.ivo)
    row = dict(TABLES["terms"].shipped()["RUST_SPOT"]) | {"name": "rust spots", "cue": "orange and loose"}
    change_rule(by, "terms", "RUST_SPOT", row, reason="we have always said rust spots", version=0)
    d = clock.today() + timedelta(40)
    b = book(
        by, museum.helmet.pk, booking_id=uuid7(), kind="display", from_on=d, until_on=d + timedelta(20), standing="firm", purpose="Fire week, front gallery"
    )
    book(by, museum.helmet.pk, booking_id=uuid7(), kind="loan", from_on=d, until_on=d + timedelta(5), standing="asked", purpose="harbour museum")
    return b


def test_look(museum: Museum, browsers: Browsers, made) -> None:
    h = f"/things/{museum.helmet.pk}/planned/"
    wrong = {}
    for size, device in (("d", DESK), ("p", PHONE)):
        page = browsers.page(museum.ivo, device)
        for name, path in {
            "tables": "/rules/",
            "rules": "/rules/rules/",
            "terms": "/rules/terms/",
            "row": "/rules/terms/row/RUST_SPOT/",
            "form": "/rules/terms/row/RUST_SPOT/change/",
            "matrix": "/rules/rules/row/grade_matrix/change/",
            "urg": "/rules/rules/row/urgency/",
            "map": "/rules/rules/row/full_days_by_material/change/",
            "add": "/rules/materials/add/",
            "planned": h,
            "plan": h + "new/",
            "booking": h + f"{made.pk}/",
        }.items():
            page.goto(path)
            page.screenshot(path=f"/tmp/shot-{name}-{size}.png", full_page=name not in ("terms",))
            found = barriers(page) + too_wide(page)
            if found:
                wrong[name + size] = found
    assert wrong == {}
