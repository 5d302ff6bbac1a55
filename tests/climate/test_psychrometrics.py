"""Moist air against two independent libraries, and what must hold of it whatever the numbers."""

import math
from collections.abc import Callable
from itertools import product

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science import psychrometrics as air
from locations.climate.science import saturation, surfaces
from locations.climate.science.values import NoValue

psychrolib.SetUnitSystem(psychrolib.SI)
GRID = list(product(range(5, 40, 5), (20, 35, 50, 65, 80, 95)))
temperatures = st.floats(-20, 50)
humidities = st.floats(1, 100)


def of_coolprop(what: str, t: float, rh: float, p: float = 101325) -> float:
    return float(HAPropsSI(what, "T", t + 273.15, "R", rh / 100, "P", p))


def ideal_vapour(t: float, rh: float) -> float:
    return of_coolprop("W", t, rh) / of_coolprop("V", t, rh) * 1000


CASES: list[tuple[Callable[..., float], Callable[..., float], float, float]] = [
    # ours, theirs, absolute, relative: the agreement the reference found on this grid
    (air.dew_point, lambda t, rh: of_coolprop("D", t, rh) - 273.15, 0.05, 0),
    (air.dew_point, lambda t, rh: psychrolib.GetTDewPointFromRelHum(t, rh / 100), 0.06, 0),
    (air.absolute_humidity, ideal_vapour, 0, 0.008),
    (air.humidity_ratio, lambda t, rh: of_coolprop("W", t, rh), 0, 0.009),
    (air.humidity_ratio, lambda t, rh: psychrolib.GetHumRatioFromRelHum(t, rh / 100, 101325), 0, 0.005),
    (air.enthalpy, lambda t, rh: of_coolprop("H", t, rh) / 1000, 0.7, 0),
    (air.enthalpy, lambda t, rh: psychrolib.GetMoistAirEnthalpy(t, psychrolib.GetHumRatioFromRelHum(t, rh / 100, 101325)) / 1000, 0.4, 0),
    (air.vapour_pressure, lambda t, rh: psychrolib.GetVapPresFromRelHum(t, rh / 100), 0, 0.004),
]


@pytest.mark.parametrize("case", range(len(CASES)))
def test_on_the_grid(case: int) -> None:
    ours, theirs, absolute, relative = CASES[case]
    for t, rh in GRID:
        truth = theirs(t, rh)
        if ours is air.dew_point and truth < 0:
            continue  # theirs is over ice from there
        assert ours(float(t), float(rh)) == pytest.approx(truth, abs=absolute or 1e-12, rel=relative or 1e-12)


def test_wet_bulb_on_the_grid() -> None:
    for t, rh in GRID:
        truth = of_coolprop("B", t, rh) - 273.15
        if truth > 1:
            assert air.wet_bulb(float(t), float(rh)) == pytest.approx(truth, abs=0.05)
            assert air.wet_bulb(float(t), float(rh)) == pytest.approx(psychrolib.GetTWetBulbFromRelHum(t, rh / 100, 101325), abs=0.05)


def test_frost_point_is_that_of_the_libraries() -> None:
    for t, rh in product((-15, -5, 0, 5), (20, 40, 60)):
        truth = psychrolib.GetTDewPointFromVapPres(t, air.vapour_pressure(float(t), float(rh)))
        if truth < -0.1:
            assert air.frost_point(float(t), float(rh)) == pytest.approx(truth, abs=0.05)


def test_volume_and_pressure() -> None:
    w = 0.007
    assert air.specific_volume_of(20.0, w) == pytest.approx(psychrolib.GetMoistAirVolume(20, w, 101325), rel=1e-4)
    for height in (0, 500, 1500, 3000):
        assert air.standard_pressure(height) == pytest.approx(psychrolib.GetStandardAtmPressure(height), rel=1e-5)


@given(temperatures, humidities)
def test_what_holds_of_all_air(t: float, rh: float) -> None:
    dew = air.dew_point(t, rh)
    assert math.isnan(dew) or dew <= t + 1e-9
    e = air.vapour_pressure(t, rh)
    assert air.relative_humidity(e, t) == pytest.approx(rh)
    if not math.isnan(dew):
        assert saturation.saturation_over_water(dew) == pytest.approx(e)
        assert air.dew_point_of_vapour(e) == pytest.approx(dew)
    frost = air.frost_point(t, rh)
    assert math.isnan(frost) or (frost <= 0 and (math.isnan(dew) or frost >= dew - 1e-9))
    assert air.vapour_pressure_of(air.humidity_ratio(t, rh)) == pytest.approx(e)
    wet = air.wet_bulb(t, rh)
    assert wet <= t + 1e-6
    assert air.air_doubt(t, rh) == air.Doubt.NONE


@given(temperatures, st.floats(1, 99))
def test_damper_air_holds_more(t: float, rh: float) -> None:
    for function in (air.vapour_pressure, air.absolute_humidity, air.humidity_ratio, air.enthalpy):
        assert function(t, rh + 1) > function(t, rh)
    # Frozen air damper than ice would let it be has a wet bulb of t.
    drier, damper = air.wet_bulb(t, rh), air.wet_bulb(t, rh + 1)
    assert damper > drier or (t < 0 and damper == pytest.approx(t) == drier)


@given(st.floats(0, 45), st.floats(5, 99))
def test_psychrometer_turned_round(t: float, rh: float) -> None:
    wet = air.wet_bulb(t, rh)
    if abs(wet) > 0.01:  # water or ice at the bulb is a convention there
        assert air.humidity_ratio_by_wet_bulb(t, wet) == pytest.approx(air.humidity_ratio(t, rh), abs=1e-9)


@pytest.mark.parametrize(
    ("t", "rh", "doubt"),
    [
        (math.nan, 50.0, air.Doubt.MISSING),
        (20.0, math.nan, air.Doubt.MISSING),
        (61.0, 50.0, air.Doubt.T_FAULTY),
        (-41.0, 50.0, air.Doubt.T_FAULTY),
        (20.0, 0.0, air.Doubt.RH_FAULTY),
        (20.0, 103.1, air.Doubt.RH_FAULTY),
        (20.0, 103.0, air.Doubt.RH_WET),
        (20.0, 100.1, air.Doubt.RH_WET),
        (51.0, 50.0, air.Doubt.T_OUTSIDE),
        (20.0, 0.5, air.Doubt.RH_OUTSIDE),
    ],
)
def test_nothing_is_derived_outside_the_range(t: float, rh: float, doubt: air.Doubt) -> None:
    assert air.air_doubt(t, rh) == doubt
    for function in (air.vapour_pressure, air.dew_point, air.frost_point, air.absolute_humidity, air.humidity_ratio, air.enthalpy, air.wet_bulb):
        assert math.isnan(function(t, rh))
        assert np.isnan(function(np.array([t]), np.array([rh]))).all()


def test_arrays_are_their_numbers() -> None:
    t, rh = (np.array(column, dtype=float) for column in zip(*GRID, strict=True))
    for function in (air.dew_point, air.wet_bulb, air.enthalpy, air.absolute_humidity):
        assert function(t, rh).tolist() == pytest.approx([function(float(a), float(b)) for a, b in GRID])
        assert isinstance(function(20, 50), float)


def test_what_cannot_be_a_pressure_or_a_formula() -> None:
    with pytest.raises(NoValue, match="outside_range"):
        air.humidity_ratio(20.0, 50.0, 1013.25)
    with pytest.raises(NoValue, match="unknown_formula"):
        saturation.saturation_by("nobody", 20.0)


def test_saturation_formulas_agree() -> None:
    """Largest errors over 1..40 °C against IAPWS-95, as the reference lists them."""
    t = np.arange(1.0, 36)
    truth = np.array([psychrolib.GetSatVapPres(one) for one in t])
    for pressure, most in [
        (saturation.saturation_over_water(t), 0.0032),
        (saturation.saturation_hyland_wexler(t), 1e-6),
        (saturation.saturation_by("Buck 1981", t), 0.0011),
        (saturation.saturation_by("Alduchov-Eskridge 1996", t), 0.0028),
        (saturation.saturation_by("Bolton 1980", t), 0.0015),
    ]:
        assert (np.abs(pressure / truth - 1) < most).all()
    assert np.isnan(saturation.saturation_by("Bolton 1980", 36.0))
    assert np.isnan(saturation.saturation_over_ice(1.0))


@given(temperatures, humidities, st.floats(-15, 50))
def test_surfaces(t: float, rh: float, t_s: float) -> None:
    humidity, margin = surfaces.surface_rh(t, rh, t_s), surfaces.condensation_margin(t, rh, t_s)
    assert math.isnan(margin) or abs(margin) < 1e-6 or (humidity > 100) == (margin < 0)
    coldest = surfaces.coldest_surface(t, rh)
    assert math.isnan(coldest) or surfaces.surface_rh(t, rh, coldest) == pytest.approx(80)
    warm = surfaces.heated_to(t, rh, 60)
    assert math.isnan(warm) or surfaces.surface_rh(t, rh, warm) == pytest.approx(60)


def test_walls_and_shells() -> None:
    wall = surfaces.wall_temperature(18.0, 0.0, 0.7)
    assert wall == pytest.approx(12.6)
    assert surfaces.surface_rh(18.0, 50.0, wall) == pytest.approx(70.7, abs=0.1)
    tau = surfaces.time_constant(1.2, 470, 0.25, 8)
    assert tau == pytest.approx(282)
    wet = surfaces.seconds_wet(18, 60, 5, tau)
    assert surfaces.warming(18, 5, tau, wet) == pytest.approx(air.dew_point(18, 60))
    assert surfaces.seconds_wet(18, 60, 12, tau) == 0
    assert surfaces.seconds_wet(18, 100, 5, tau) == math.inf
    with pytest.raises(NoValue, match="outside_range"):
        surfaces.wall_temperature(18.0, 0.0, 1.2)
    with pytest.raises(NoValue, match="missing"):
        surfaces.condenses(18, 101, 5)


def test_spells_of_dew() -> None:
    t_s = np.array([5.0, 5, 12, 5, math.nan, 5, 12])
    assert surfaces.condensation_events(t_s, np.full(7, 10.0)) == surfaces.Condensation(3, 4, 1)
