"""What if: against environment.md 1.3 and 7.1 (rows PSY and DHU of environment_checks.csv), and against each other where the balance demands it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science import moisture
from locations.climate.science.values import NoValue
from locations.climate.whatif import choices

ROOM = st.tuples(st.floats(2, 28), st.floats(40, 95))


def test_heating_alone() -> None:
    # PSY-088, 089, 091: 10 °C/80 % reaches 60 and 65 % at 14.37 and 13.14 °C; 15 °C/75 % reaches 60 % at 18.51 °C
    assert choices.heat((10, 80), 60).to == pytest.approx(14.37, abs=0.05)
    assert choices.heat((10, 80), 65).to == pytest.approx(13.14, abs=0.05)
    found = choices.heat((15, 75), 60)
    assert found.to == pytest.approx(18.51, abs=0.05)
    assert found.verdict == "would_do"
    assert choices.heat((15, 55), 60).verdict == "enough"
    # ours: no more than 6 K and to 20 °C; Western Australian Museum 2017: leather at 25 °C or below
    assert choices.heat((18, 75), 60).verdict == "much"
    assert choices.heat((22, 80), 60).verdict == "too_warm"


@given(ROOM, st.floats(40, 70))
def test_heating_removes_no_water(room: tuple[float, float], target: float) -> None:
    found = choices.heat(room, target)
    # by vapour pressure, which heating does not change
    assert moisture.vapour(found.to, target) * (found.to + 273.15) == pytest.approx(moisture.vapour(*room) * (room[0] + 273.15), rel=1e-6)


def test_what_a_machine_must_take() -> None:
    """DHU-011: 75 m³, n 0.5, outdoors 8 °C/85 %, 16 °C inside and a source of 50 g/h settle at 61.4 %."""
    settled = moisture.steady_rh(75, 0.5, (8, 85), 16, 50)
    assert settled == pytest.approx(61.4, abs=0.3)
    air = choices.Tightness("", 0.25, 0.5, "")
    found = choices.dry((16, settled), 50, 75, air)
    # the same by the balance of 7.1: what leaks in at the target, and the source
    assert found.most == pytest.approx(moisture.ventilation_water(75, 0.5, (8, 85), (16, 50)) + 50 * 24 / 1000, abs=0.01)
    assert found.least == pytest.approx(found.most / 2)
    # margin 1.3 (ours), by vapour content of the rating at 26.7 and 18.3 °C (ENERGY STAR)
    assert found.rated_warm == pytest.approx(found.most * 1.3 * moisture.vapour(26.7, 60) / moisture.vapour(16, 50))
    assert found.rated_cool == pytest.approx(found.most * 1.3 * moisture.vapour(18.3, 60) / moisture.vapour(16, 50))
    assert (found.rotor, choices.dry((12, 75), 60, 75, air).rotor) == (False, True)  # compressors ice up below about 15 °C
    with pytest.raises(NoValue, match="none_needed"):
        choices.dry((16, 50), 60, 75, air)


def test_the_reference_case_of_derating() -> None:
    # environment.md 7.1: a 26.7 °C/60 % rating is worth 0.62 at 18.3 °C and 0.37 at 10 °C
    assert moisture.derating(18.3, 60) == pytest.approx(0.62, abs=0.01)
    assert moisture.derating(10, 60) == pytest.approx(0.37, abs=0.01)


def test_sealing_a_room_with_a_source_raises_it() -> None:
    """DHU-011 and 012: from n 0.5 to 0.1 the room of 61.4 % rises to 100.5 %."""
    found = choices.seal((16, moisture.steady_rh(75, 0.5, (8, 85), 16, 50)), (8, 85), 0.2)
    assert found.rh == pytest.approx(100.5, abs=0.5)
    assert found.verdict == "raises"
    assert choices.seal((16, 55), (20, 80), 0.5).verdict == "lowers"
    assert choices.seal((16, 55), (16, 55.5), 0.5).verdict == "same"


def test_open_the_window_now() -> None:
    # PSY-092: out 2 °C/90 %, in 15 °C/60 %: airing dries (5.0 < 7.7 g/m³); PSY-093: out 22 °C/70 %, in 18 °C/55 %: it wets (13.6 > 8.4)
    dries, wets = choices.air_it((15, 60), (2, 90)), choices.air_it((18, 55), (22, 70))
    assert (dries.advice, wets.advice, wets.dew) == ("open", "shut", True)
    assert dries.drier == pytest.approx(7.7 - 5.0, abs=0.1)
    assert wets.drier == pytest.approx(8.4 - 13.6, abs=0.1)
    # at least 1 g/m³ (house rule)
    assert choices.air_it((15, 60), (12, 65)).advice == "no_difference"
    # drier than the room and still damp: nothing is won
    assert choices.air_it((15, 95), (15, 80)).advice == "no_difference"
    assert choices.air_it((15, 60), (2, 90), cold=-5).advice == "shut"


def test_no_window_dries_a_room_that_is_dry_enough_or_by_more_than_ten_percent() -> None:
    """Bizot 2023: no more than 10 % in 24 hours. Air of -20 °C/50 % is at 5 % in a room of 11 °C."""
    frost = choices.air_it((11, 66), (-20, 50))
    assert (frost.advice, frost.stop) == ("open", 56)
    assert frost.rh == pytest.approx(5, abs=1)
    assert choices.air_it((15, 75), (10, 92)).stop is None
    assert [choices.air_it((11, rh), (-20, 50)).advice for rh in (59.9, 60)] == ["no_need", "open"]
    assert choices.air_it((11, 55), (-20, 50), target=50).advice == "open"
    assert choices.air_it((11, 55), (20, 90)).advice == "shut"


def test_carried_into_another_room() -> None:
    # MET-016: a helmet at 5 °C in 18 °C/60 %: dew
    found = choices.move((5, 70), (18, 60))
    assert (found.dew, found.bag, found.verdict) == (True, True, "drier")
    assert choices.move((16, 62), (17, 58)).bag is False
    # Bizot 2023: no more than 10 % in 24 hours
    assert choices.move((16, 62), (17, 51)).bag is True
    assert choices.move((16, 50), (16, 52)).verdict == "same"


def test_the_mean_of_mixed_air_is_that_of_its_water() -> None:
    # environment.md 0, rule 3: half the time 10 °C/90 %, half 25 °C/40 %: mean rh 65 %, but 59 % by vapour pressure at the mean temperature
    t, rh = choices.mean_air(np.array([10.0, 25, np.nan]), np.array([90.0, 40, 50]))
    assert t == 17.5
    assert rh == pytest.approx(59, abs=0.6)
    with pytest.raises(NoValue, match="no_readings"):
        choices.mean_air(np.array([np.nan]), np.array([50.0]))


def test_by_month() -> None:
    months = [(3, np.full(700, 10.0), np.full(700, 70.0)), (7, np.full(700, 22.0), np.full(700, 75.0)), (8, np.full(700, np.nan), np.full(700, np.nan))]
    assert [(one.month, one.heating.verdict) for one in choices.heating_by_month(months)] == [(3, "would_do"), (7, "too_warm")]


def test_every_tightness_has_its_source_and_a_range() -> None:
    for one in choices.tightnesses():
        assert 0 < one.low < one.high
        assert one.source
