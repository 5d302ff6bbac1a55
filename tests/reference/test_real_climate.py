"""A real year with real faults in it, read plainly: every result of the expected file within its tolerance."""

from collections.abc import Iterator
from datetime import datetime
from functools import cache
from typing import Any

import numpy as np
import pytest

from locations.climate.science import ageing, control, damp, fluctuations, loans, mould, series
from locations.climate.science import psychrometrics as air
from locations.climate.science.values import NoValue
from tests.reference.tables import reference_table
from tests.reference.test_environment import allowed

EXPECTED: dict[str, Any] = reference_table("real_climate_expected.json")["results"]
ROWS = reference_table("real_climate.csv")
AT = np.array([int(datetime.fromisoformat(row["timestamp_utc"]).timestamp()) for row in ROWS])
T, RH = (np.array([float(row[column]) for row in ROWS]) for column in ("temperature_c", "rh_percent"))
WEIGHT = series.weights(AT, series.HOUR)
HOURS = series.hourly(AT, T, RH, series.HOUR)


def utc(instant: int) -> str:
    return f"{np.datetime64(instant, 's')}Z"


def _of(statistics: series.Statistics) -> dict[str, float]:
    return {"min": statistics.low, "mean": statistics.mean, "max": statistics.high}


def _run(over: float, reset: float | None = None) -> int:
    run = damp.longest_run(HOURS.rh, over, reset)
    return run.hours if run else 0


def _mould(code: str) -> dict[str, Any]:
    state = mould.mould_index(mould.surface_hours(HOURS.t, HOURS.rh), mould.mould_class(code), decline=0.25)
    assert state.at_least
    return {"final": state.index, "max": state.highest, "utc_of_max": utc(HOURS.instant(state.highest_hour))}


def _rolling(values: Any, most: float) -> dict[str, float]:
    spans = loans.rolling_range(values)
    spans = spans[~np.isnan(spans) & ~np.isnan(values)]
    swing = loans.swing(values, most)
    return {
        "max_range": swing.range,
        "median_range": float(np.median(spans)),
        "mean_range": float(spans.mean()),
        "max_deviation": swing.deviation,
        "percent_range_le_20": swing.range_within,
        "percent_deviation_le_10": swing.deviation_within,
    }


def _band() -> dict[str, Any]:
    means = fluctuations.thirty_day_mean(HOURS.read_rh)
    p7, p93 = fluctuations.fluctuation_percentiles(HOURS.read_rh)
    with pytest.raises(NoValue, match="too_short"):
        fluctuations.historic_band(HOURS.read_rh)
    return {
        "indicative_only": {
            "p7": p7,
            "p93": p93,
            "hours_with_a_30_day_mean_and_a_reading": int((~np.isnan(fluctuations.fluctuations(HOURS.read_rh))).sum()),
            "largest_30_day_mean": float(np.nanmax(means)),
            "smallest_30_day_mean": float(np.nanmin(means)),
        }
    }


@cache
def computed() -> dict[str, Any]:
    whole = series.statistics(AT, RH, series.HOUR)
    e = air.vapour_pressure(T, RH)
    steps = series.steps(AT, T, RH, series.HOUR)
    wetness = {over: damp.time_of_wetness(T, RH, WEIGHT, over=over, whole_year=True) for over in (77, 80, 83)}
    return {
        "hours_from_first_to_last_reading": len(HOURS),
        "n": whole.n,
        "coverage_percent": whole.coverage,
        "longest_gap_h": whole.longest_gap,
        "gaps_over_3_h": len(series.gaps(AT, 3 * series.HOUR)),
        "gaps_over_1_up_to_3_h": len(series.gaps(AT, series.HOUR)) - len(series.gaps(AT, 3 * series.HOUR)),
        "temperature_c": _of(series.statistics(AT, T, series.HOUR)),
        "rh_percent": _of(whole),
        "dew_point_c_mean": series.statistics(AT, air.dew_point(T, RH), series.HOUR).mean,
        "vapour_pressure_pa_mean": series.statistics(AT, e, series.HOUR).mean,
        "absolute_humidity_g_m3_mean": series.statistics(AT, air.absolute_humidity(T, RH), series.HOUR).mean,
        "rh_percent_of_mean_vapour_pressure_at_mean_temperature": air.relative_humidity(
            series.statistics(AT, e, series.HOUR).mean, series.statistics(AT, T, series.HOUR).mean
        ),
        "hours_over": {over: series.hours_where(float(over) < RH, WEIGHT) for over in ("60", "65", "75", "80")},
        "longest_run_over_65_h": _run(65),
        "longest_run_over_65_reset_62_h": _run(65, 62),
        "longest_run_over_75_h": _run(75),
        "time_of_wetness_h": {str(over): one.hours for over, one in wetness.items()},
        "time_of_wetness_class_at_80": wetness[80].code,
        "mould_index_c_mat_0.25": {code: _mould(code) for code in ("VS", "S", "MR", "R")},
        "lifetime_multiplier_100_harmonic": ageing.ageing(T, RH, WEIGHT).multiplier,
        "lifetime_multiplier_70_harmonic": ageing.ageing(T, RH, WEIGHT, ageing.VARNISH).multiplier,
        "lifetime_multiplier_100_arithmetic": ageing.ageing(T, RH, WEIGHT).multiplier,
        "rolling_24h_rh": _rolling(HOURS.read_rh, 10),
        "rolling_24h_t": _rolling(HOURS.read_t, 10),
        "ashrae_percent_rh_only": control.control_shares(HOURS.read_rh),
        "ashrae_percent_rh_and_t": control.control_shares(HOURS.read_rh, HOURS.read_t),
        "en_15757": _band(),
        "step_flags": len(steps),
        "steps": [utc(int(AT[i])) for i in steps],
    }


def results(expected: dict[str, Any], *path: str) -> Iterator[tuple[str, ...]]:
    """The paths of everything that has a value or an instant; what is said of windows named otherwise is not ours."""
    for name, one in expected.items():
        if name == "utc_of_max" or (isinstance(one, dict) and one.get("tolerance") not in (None, "behaviour")):
            yield (*path, name)
        elif isinstance(one, dict) and name != "if_the_window_is_named_otherwise":
            yield from results(one, *path, name)


def at(tree: Any, path: tuple[str, ...]) -> Any:
    for name in path:
        tree = tree[name]
    return tree


@pytest.mark.parametrize("path", [pytest.param(path, id=".".join(path)) for path in results(EXPECTED)])
def test_result(path: tuple[str, ...]) -> None:
    wanted, found = at(EXPECTED, path), at(computed(), path)
    if isinstance(wanted, str) or isinstance(wanted["value"], str):
        assert found == (wanted if isinstance(wanted, str) else wanted["value"])
    elif wanted["tolerance"] == "must NOT be returned":
        assert found != pytest.approx(wanted["value"], rel=0.1)
    else:
        low, high = allowed(wanted["tolerance"], wanted["value"])
        assert low <= found <= high


def test_the_steps_are_those_of_the_fronts_and_the_slip() -> None:
    assert computed()["steps"] == [step["utc"] for step in EXPECTED["step_flags"]["steps"]]
