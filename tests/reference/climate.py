"""The statistics of a year of hours as the expected file names them, from readings wherever they come from."""

from typing import Any

import numpy as np
import pytest

from locations.climate.science import ageing, control, damp, fluctuations, loans, mould, series
from locations.climate.science import psychrometrics as air
from locations.climate.science.values import Floats, Ints, NoValue


def utc(instant: int) -> str:
    return f"{np.datetime64(instant, 's')}Z"


def _of(statistics: series.Statistics) -> dict[str, float]:
    return {"min": statistics.low, "mean": statistics.mean, "max": statistics.high}


def _run(hours: series.Hours, over: float, reset: float | None = None) -> int:
    run = damp.longest_run(hours.rh, over, reset)
    return run.hours if run else 0


def _mould(hours: series.Hours, code: str) -> dict[str, Any]:
    state = mould.mould_index(mould.surface_hours(hours.t, hours.rh), mould.mould_class(code), decline=0.25)
    assert state.at_least
    return {"final": state.index, "max": state.highest, "utc_of_max": utc(hours.instant(state.highest_hour))}


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


def _band(hours: series.Hours) -> dict[str, Any]:
    means = fluctuations.thirty_day_mean(hours.read_rh)
    p7, p93 = fluctuations.fluctuation_percentiles(hours.read_rh)
    with pytest.raises(NoValue, match="too_short"):
        fluctuations.historic_band(hours.read_rh)
    return {
        "indicative_only": {
            "p7": p7,
            "p93": p93,
            "hours_with_a_30_day_mean_and_a_reading": int((~np.isnan(fluctuations.fluctuations(hours.read_rh))).sum()),
            "largest_30_day_mean": float(np.nanmax(means)),
            "smallest_30_day_mean": float(np.nanmin(means)),
        }
    }


def computed(at: Ints, t: Floats, rh: Floats) -> dict[str, Any]:
    """Every result of hourly readings: instants in s, °C, %."""
    weight, hours = series.weights(at, series.HOUR), series.hourly(at, t, rh, series.HOUR)
    whole = series.statistics(at, rh, series.HOUR)
    e = air.vapour_pressure(t, rh)
    steps = series.steps(at, t, rh, series.HOUR)
    wetness = {over: damp.time_of_wetness(t, rh, weight, over=over, whole_year=True) for over in (77, 80, 83)}
    return {
        "hours_from_first_to_last_reading": len(hours),
        "n": whole.n,
        "coverage_percent": whole.coverage,
        "longest_gap_h": whole.longest_gap,
        "gaps_over_3_h": len(series.gaps(at, 3 * series.HOUR)),
        "gaps_over_1_up_to_3_h": len(series.gaps(at, series.HOUR)) - len(series.gaps(at, 3 * series.HOUR)),
        "temperature_c": _of(series.statistics(at, t, series.HOUR)),
        "rh_percent": _of(whole),
        "dew_point_c_mean": series.statistics(at, air.dew_point(t, rh), series.HOUR).mean,
        "vapour_pressure_pa_mean": series.statistics(at, e, series.HOUR).mean,
        "absolute_humidity_g_m3_mean": series.statistics(at, air.absolute_humidity(t, rh), series.HOUR).mean,
        "rh_percent_of_mean_vapour_pressure_at_mean_temperature": air.relative_humidity(
            series.statistics(at, e, series.HOUR).mean, series.statistics(at, t, series.HOUR).mean
        ),
        "hours_over": {over: series.hours_where(float(over) < rh, weight) for over in ("60", "65", "75", "80")},
        "longest_run_over_65_h": _run(hours, 65),
        "longest_run_over_65_reset_62_h": _run(hours, 65, 62),
        "longest_run_over_75_h": _run(hours, 75),
        "time_of_wetness_h": {str(over): one.hours for over, one in wetness.items()},
        "time_of_wetness_class_at_80": wetness[80].code,
        "mould_index_c_mat_0.25": {code: _mould(hours, code) for code in ("VS", "S", "MR", "R")},
        "lifetime_multiplier_100_harmonic": ageing.ageing(t, rh, weight).multiplier,
        "lifetime_multiplier_70_harmonic": ageing.ageing(t, rh, weight, ageing.VARNISH).multiplier,
        "lifetime_multiplier_100_arithmetic": ageing.ageing(t, rh, weight).multiplier,
        "rolling_24h_rh": _rolling(hours.read_rh, 10),
        "rolling_24h_t": _rolling(hours.read_t, 10),
        "ashrae_percent_rh_only": control.control_shares(hours.read_rh),
        "ashrae_percent_rh_and_t": control.control_shares(hours.read_rh, hours.read_t),
        "en_15757": _band(hours),
        "step_flags": len(steps),
        "steps": [utc(int(at[i])) for i in steps],
    }
