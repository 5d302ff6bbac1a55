"""Whether a batch may be used: recalled, expired, untested, failed, for another step."""

from datetime import date, timedelta

import pytest

from conservation.rules.book import BadRules
from conservation.rules.supplies import FINE, REFUSE, WARN, Held, judge, read_supplies, supplies

DAY = date(2026, 11, 25)
GOOD = {"acidity": (DAY - timedelta(days=40), True), "sulphur": (DAY - timedelta(days=40), True), "paper": (DAY - timedelta(days=40), True)}
YESTERDAY = DAY - timedelta(days=1)


@pytest.mark.parametrize("code", [code for code, row in supplies().items() if not row.kit])
def test_a_tested_batch_within_its_day_passes(code: str) -> None:
    held = Held(expires_on=DAY, tested=GOOD)
    assert judge(supplies()[code], held, DAY) == judge(supplies()[code], Held(tested=GOOD), DAY)
    assert judge(supplies()[code], held, DAY).result == FINE


# common practice, no source: a wax or adhesive past its day needs a test on paper first; cards, gloves and filters are
# thrown out; gel is dried and weighed again
@pytest.mark.parametrize(
    ("code", "result", "codes"),
    [
        ("wax", REFUSE, ("EXPIRED",)),
        ("pva", REFUSE, ("EXPIRED",)),
        ("gloves", REFUSE, ("EXPIRED",)),
        ("mask", REFUSE, ("EXPIRED",)),
        ("humidity_card", REFUSE, ("EXPIRED",)),
        ("silica_gel", WARN, ("EXPIRED",)),
        ("unbuffered_tissue", WARN, ("EXPIRED",)),
    ],
)
def test_past_its_day(code: str, result: str, codes: tuple[str, ...]) -> None:
    standing = judge(supplies()[code], Held(expires_on=YESTERDAY, tested=GOOD), DAY)
    assert (standing.result, standing.codes) == (result, codes)


def test_a_trial_on_paper_after_its_day_lets_wax_be_used_with_a_warning() -> None:
    tried = GOOD | {"paper": (DAY, True)}
    assert judge(supplies()["wax"], Held(expires_on=YESTERDAY, tested=tried), DAY).codes == ("TRIED",)
    assert judge(supplies()["wax"], Held(expires_on=YESTERDAY, tested=GOOD | {"paper": (DAY, False)}), DAY).result == REFUSE


# ours: what is on no list of packing materials is tested or refused; polyester film and polyethylene sheet need no test
@pytest.mark.parametrize(
    ("code", "result"),
    [("other_padding", REFUSE), ("rag_paper", REFUSE), ("pva", REFUSE), ("unbuffered_tissue", WARN), ("polyester_film", FINE), ("gloves", FINE)],
)
def test_untested(code: str, result: str) -> None:
    assert judge(supplies()[code], Held(), DAY).result == result


def test_half_tested_is_untested() -> None:
    assert judge(supplies()["other_padding"], Held(tested={"acidity": (DAY, True)}), DAY).codes == ("UNTESTED",)


def test_a_failed_test_a_recall_and_an_empty_pack_refuse() -> None:
    film = supplies()["polyester_film"]
    assert judge(film, Held(tested={"other": (DAY, False)}), DAY).codes == ("FAILED",)
    assert judge(film, Held(recalled=True, used_up=True), DAY).codes == ("RECALLED", "USED_UP")


def test_a_material_that_the_step_does_not_name_is_warned_of() -> None:
    assert judge(supplies()["wax"], Held(tested=GOOD), DAY, {"brush"}).codes == ("OTHER_STEP",)
    assert judge(supplies()["wax"], Held(tested=GOOD), DAY, {"wax"}).result == FINE
    assert judge(supplies()["pva"], Held(tested=GOOD), DAY, {"padded_clamp"}).result == FINE


def test_tools_are_kit_without_test() -> None:
    kit = [row for row in supplies().values() if row.kit]
    assert {"cloth", "brush", "wooden_point", "eraser", "sponge", "tweezers"} <= {row.code for row in kit}
    assert all((row.tests, row.untested, row.expired) == ((), FINE, FINE) for row in kit)


@pytest.mark.parametrize(
    ("column", "value"), [("group", "shed"), ("untested", "trial"), ("expired", "never"), ("tests", "smell"), ("agents", "magic"), ("name", "")]
)
def test_a_faulty_row_is_told_in_words(column: str, value: str) -> None:
    row = {"code": "x", "name": "x", "group": "on", "agents": "", "tests": "", "untested": "warn", "expired": "warn"}
    assert read_supplies([row])["x"].group == "on"
    with pytest.raises(BadRules, match="supply 'x'"):
        read_supplies([row | {column: value}])
