"""Light, water, gel, salts, metals, traps, clock times and figures: what must hold beside the reference's numbers."""

import math
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science import calibration, figures, light, localtime, metals, moisture, sorbents, traps
from locations.climate.science.tables import highest, limit, rows
from locations.climate.science.values import NoValue


def test_every_limit_has_its_source() -> None:
    for one in rows("limits"):
        assert limit(one["code"]).standing in {"published", "memory", "ours"}
        assert limit(one["code"]).source
    with pytest.raises(NoValue, match="unknown_code"):
        limit("nothing")
    with pytest.raises(NoValue, match="no_upper_limit"):
        highest("band_record")


# light


def test_spot_readings_say_what_they_do_not_know() -> None:
    assert not light.spot_dose(np.array([9.0, 10]), np.array([50.0, 50])).at_least
    gap = light.spot_dose(np.array([9.0, 10, 14]), np.array([50.0, 50, 50]))
    assert (gap.dose, gap.covered, gap.unknown, gap.at_least) == (50, 1, 4, True)
    with pytest.raises(NoValue, match="too_few"):
        light.spot_dose(np.array([9.0, 10]), np.array([50.0, math.nan]))
    with pytest.raises(NoValue, match="out_of_order"):
        light.spot_dose(np.array([10.0, 9]), np.array([50.0, 50]))


def test_a_year_of_seasons() -> None:
    year = light.yearly_dose([(180, light.Dose(400, 8, 0)), (120, light.Dose(100, 4, 4))])
    assert (year.dose, year.covered, year.unknown) == (84_000, 1_920, 480)
    assert light.budget_used(year.dose, light.light_category("medium")) == 56
    assert light.budget_used(year.dose, light.light_category("high"), years=10) == 56
    with pytest.raises(NoValue, match="not_a_year"):
        light.yearly_dose([(367, light.Dose(1, 1, 0))])


def test_a_year_that_is_used_up_rests_until_the_doses_that_filled_it_are_a_year_old() -> None:
    """By hand: 40 days of 480 lx h are 19,200. The 32nd makes 15,360, the first over 15,000; the last 31 hold 14,880, so the ninth is the last to wait for."""
    days = np.arange(1_000, 1_040)
    assert light.rest(days, np.full(40, 480.0), 15_000) == light.Rest(1_031, 1_008 + 365)
    # exactly a year’s budget is used up, and the first day to go ends it; 1 lx h less is not
    assert light.rest(days, np.full(40, 375.0), 15_000) == light.Rest(1_039, 1_000 + 365)
    assert light.rest(days, np.full(40, 374.9), 15_000) is None
    # what is left when the first is over is the year's budget still
    assert light.rest(np.array([10, 20, 30]), np.array([5_000.0, 10_000, 5_000]), 15_000) == light.Rest(20, 20 + 365)
    # days without a dose between them change nothing; nothing had, nothing used
    assert light.rest(days[::2], np.full(20, 960.0), 15_000) == light.Rest(1_030, 1_008 + 365)
    assert light.rest(days[:0], np.zeros(0), 15_000) is None


def test_light_outside_its_range() -> None:
    assert math.isnan(light.dose(-1, 8))
    assert math.isnan(light.uv_irradiance(50, -1))
    for call in (lambda: light.hours_allowed(light.light_category("low"), 0), lambda: light.fading_dose(9, uv_free=True)):
        with pytest.raises(NoValue, match="outside_range"):
            call()


# water


@given(st.floats(0, 30), st.floats(20, 95), st.floats(0, 30), st.floats(20, 95))
def test_airing_dries_or_it_is_not_advised(t_in: float, rh_in: float, t_out: float, rh_out: float) -> None:
    airing = moisture.open_window((t_in, rh_in), (t_out, rh_out))
    water = moisture.ventilation_water(75, 0.5, (t_out, rh_out), (t_in, rh_in))
    assert (airing.advice == "open") == (airing.drier >= 1)
    assert (water < 0) == (airing.drier > 0)


def test_airing_that_wets_a_cold_wall_is_not_advised() -> None:
    room, outside = (18.0, 75.0), (14.0, 80.0)
    assert moisture.open_window(room, outside).advice == "open"
    assert moisture.open_window(room, outside, coldest=9.0).wets_walls
    assert moisture.open_window(room, outside, coldest=9.0).advice == "shut"
    assert moisture.open_window(room, (18.0, 72.0)).advice == "no_difference"


def test_a_machine_for_a_cold_room() -> None:
    cold = moisture.machine(4.84, 10, 60)
    assert cold.rated == pytest.approx(4.84 * 1.3 / 0.37, rel=0.02)
    assert cold.rotor
    assert not moisture.machine(4.84, 18, 50).rotor
    with pytest.raises(NoValue, match="none_needed"):
        moisture.machine(-2.42, 15, 60)


def test_water_outside_its_range() -> None:
    with pytest.raises(NoValue, match="too_fast"):
        moisture.stock_water(300, 0.06, 7)
    with pytest.raises(NoValue, match="missing"):
        moisture.ventilation_water(75, 0.5, (18, 101), (18, 50))
    with pytest.raises(NoValue, match="outside_range"):
        moisture.steady_rh(75, 0, (8, 85), 16, 50)


@given(st.floats(0.05, 5), st.floats(1, 200))
def test_sealing_a_room_with_a_source_makes_it_damper(changes: float, source: float) -> None:
    tight, airy = (moisture.steady_rh(75, n, (8, 85), 16, source) for n in (changes, changes * 2))
    assert tight > airy


# gel


@given(st.floats(0.1, 5), st.floats(0.05, 0.5), st.floats(1, 200))
def test_a_case_approaches_the_room(changes: float, days: float, load: float) -> None:
    after = sorbents.case_rh(45, 70, 2, load, changes, days * 100)
    assert 45 <= after <= 70 + 1e-9
    half = sorbents.half_time(2, load, changes)
    assert sorbents.case_rh(45, 70, 2, load, changes, half) == pytest.approx(57.5)
    assert half == pytest.approx(4 * 2 * load / changes, rel=0.01)


def test_gel_is_a_range_and_signless() -> None:
    low, high = sorbents.sorbent_range(0.5, (1, 0.1), 0.25, 90, 2, 10)
    assert (low, high) == pytest.approx((0.973, 9.73), rel=0.01)
    assert sorbents.sorbent_mass(0.5, 1, -0.25, 90, 2, 10) == high
    assert sorbents.air_changes(2420, 1420, 1) == pytest.approx(math.log(2))
    for call in (lambda: sorbents.sorbent_mass(0.5, 0, 0.25, 90, 2, 10), lambda: sorbents.air_changes(500, 400, 1)):
        with pytest.raises(NoValue, match="outside_range"):
            call()


# salts


@pytest.mark.parametrize("salt", calibration.salts())
def test_salts_have_a_range(salt: str) -> None:
    assert 11 < calibration.salt_rh(salt, 20) < 98
    with pytest.raises(NoValue, match="outside_range"):
        calibration.salt_rh(salt, 51)


def test_salts_stand_driest_first() -> None:
    humidities = [calibration.salt_rh(salt, 20) for salt in calibration.salts()]
    assert humidities == sorted(humidities)


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(20, 90))
def test_a_correction_gives_back_its_points(first: float, second: float, raw: float) -> None:
    correction = calibration.two_point_correction((33.07 + first, 33.07), (75.47 + second, 75.47))
    assert calibration.corrected(33.07 + first, correction) == pytest.approx(33.07)
    assert calibration.corrected(75.47 + second, correction) == pytest.approx(75.47)
    value = calibration.corrected(raw, correction)
    assert math.isnan(value) or 33.07 - 15 <= value <= 75.47 + 15


def test_corrections_that_contradict_themselves() -> None:
    with pytest.raises(NoValue, match="points_too_near"):
        calibration.two_point_correction((55, 54.4), (60, 59.1))
    with pytest.raises(NoValue, match="points_contradict"):
        calibration.two_point_correction((75, 33.07), (33, 75.47))
    one = calibration.one_point_correction(77.5, 75.5)
    assert calibration.corrected(72.0, one) == 70
    assert math.isnan(calibration.corrected(50.0, one))
    assert calibration.off_by(77.48, "NaCl", 20) == pytest.approx(2, abs=0.01)


# metals, traps


def test_bands_are_never_averaged() -> None:
    assert metals.common_band([(0, 50), (40, 65)]) == metals.Band(40, 50, False)
    assert metals.common_band([(0, 35), (45, 65)]) == metals.Band(45, 35, True)
    with pytest.raises(NoValue, match="no_bands"):
        metals.common_band([])
    with pytest.raises(NoValue, match="not_observed"):
        metals.ferrous_chloride_liquefies(60)


def test_a_missing_trap_is_not_an_empty_one() -> None:
    rates = traps.catch_rates(
        [
            traps.Catch("Store", "webbing clothes moth", 30, 4),
            traps.Catch("Store", "webbing clothes moth", 60, 2),
            traps.Catch("Store", "webbing clothes moth", 30, None),
            traps.Catch("Hall", "webbing clothes moth", 30, None),
            traps.Catch("Hall", "silverfish", 30, 0),
        ]
    )
    store = rates["Store", "webbing clothes moth"]
    assert (store.rate, store.count, store.trap_days, store.missing) == (2, 6, 90, 1)
    assert store.low < 2 < store.high
    assert ("Hall", "webbing clothes moth") not in rates
    assert rates["Hall", "silverfish"].rate == 0
    assert rates["Hall", "silverfish"].high == pytest.approx(3.69, rel=0.01)
    with pytest.raises(NoValue, match="impossible_count"):
        traps.catch_rates([traps.Catch("Hall", "silverfish", 0, 1)])


# clock times


def _instant(local: datetime, zone: ZoneInfo) -> datetime | None:
    """None for a time that there is not."""
    try:
        return localtime.utc_of(local, zone)
    except NoValue:
        return None


@given(st.datetimes(datetime(1990, 1, 1), datetime(2035, 1, 1)), st.sampled_from(["Europe/London", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe"]))
def test_an_instant_shows_the_time_it_came_from(local: datetime, name: str) -> None:
    zone = localtime.zone(name)
    if (instant := _instant(local, zone)) is None:
        return
    assert instant.astimezone(zone).replace(tzinfo=None, fold=0) == local
    if localtime.comes_twice(local, zone):
        assert localtime.utc_of(local.replace(fold=1), zone) > instant


def test_the_hour_that_comes_twice() -> None:
    london = localtime.zone("Europe/London")
    assert localtime.comes_twice(datetime(2025, 10, 26, 1, 30), london)
    assert not localtime.comes_twice(datetime(2025, 10, 26, 2, 30), london)
    assert not localtime.comes_twice(datetime(2025, 3, 30, 1, 30), london)
    assert localtime.clock_changes(2025, london) == [datetime(2025, 3, 30, 1, tzinfo=UTC), datetime(2025, 10, 26, 1, tzinfo=UTC)]
    assert localtime.clock_changes(2025, localtime.zone("UTC")) == []
    assert localtime.hours_in_day(date(2025, 6, 1), london) == 24
    with pytest.raises(NoValue, match="unknown_zone"):
        localtime.zone("Nowhere/At_all")


# figures


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("55,4", None, 55.4),
        ("55.4", ".", 55.4),
        ("1 234,5", ",", 1234.5),
        ("\ufeff20.5", None, 20.5),
        ("−3,2", ",", -3.2),
        ("1,234", ",", 1.234),
        ("---", None, None),
        ("OFL", None, None),
        ("999.9", ".", None),
        ("", None, None),
    ],
)
def test_figures(text: str, decimal: str | None, value: float | None) -> None:
    assert figures.read_figure(text, decimal) == value


@pytest.mark.parametrize(
    ("text", "decimal", "code"), [("1.234", None, "ambiguous"), ("55,4", ".", "not_a_figure"), ("damp", None, "not_a_figure"), ("1e9", None, "not_a_figure")]
)
def test_what_is_not_taken_silently(text: str, decimal: str | None, code: str) -> None:
    with pytest.raises(NoValue, match=code):
        figures.read_figure(text, decimal)


@given(st.text(max_size=12))
def test_any_text_gives_a_figure_none_or_a_reason(text: str) -> None:
    try:
        value = figures.read_figure(text)
    except NoValue:
        return
    assert value is None or math.isfinite(value)
