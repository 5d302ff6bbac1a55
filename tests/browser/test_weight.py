"""What a visit to the check page costs over the line, for a volunteer with a poor signal in the store."""

from tests.browser.conftest import Museum
from tests.browser.kit import Browsers
from tests.browser.speed import visit
from tests.browser.whole import Whole, pages

KILO = 1000


def test_the_check_page_is_light_at_first_and_lighter_after(browsers: Browsers, museum: Museum) -> None:
    whole = Whole(museum)
    phone, path = browsers.device(whole.keeper), whole.path(pages()["checks:full"])
    first = visit(phone, path)
    told = {address.rsplit("/", 1)[-1]: size for address, size in first.sizes.items()}
    assert sum(first.without_pictures.values()) <= 100 * KILO, told
    assert len(first.without_pictures) <= 12, told
    assert first.of(".js") <= 25 * KILO
    again = visit(phone, path)
    assert sum(again.without_pictures.values()) <= 15 * KILO, again.sizes
