"""How each row of environment_checks.csv is computed: by what it is called, through the public functions of the science of climate."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from locations.climate.science import (
    ageing,
    calibration,
    control,
    damp,
    figures,
    fluctuations,
    light,
    loans,
    localtime,
    metals,
    moisture,
    mould,
    saturation,
    series,
    sorbents,
    surfaces,
)
from locations.climate.science import psychrometrics as air
from locations.climate.science.tables import limit
from locations.climate.science.values import NoValue

Row = dict[str, str]
Compute = Callable[[Row], Any]
Floats = NDArray[np.float64]
#: by the beginning of the quantity, the longest that fits; by the row itself where its inputs are a sentence
BY_QUANTITY: dict[str, Compute] = {}
BY_ROW: dict[str, Compute] = {}


def inputs(row: Row) -> dict[str, float]:
    """`name=number unit` of the inputs; of equal names the last counts."""
    return {name: float(number) for name, number in re.findall(r"([A-Za-z_0-9]+)=(-?\d+(?:\.\d+)?)", row["inputs"])}


def kind(row: Row) -> mould.MouldClass:
    return mould.mould_class(re.search(r"class=(\w+)", row["inputs"] + ";class=VS").group(1))  # type: ignore[union-attr]


def of(quantity: str) -> Callable[[Compute], Compute]:
    def register(compute: Compute) -> Compute:
        BY_QUANTITY[quantity] = compute
        return compute

    return register


def rows(**computes: Compute) -> None:
    BY_ROW.update({name.replace("_", "-"): compute for name, compute in computes.items()})


def compute(row: Row) -> Any:
    """The value of a row, a tuple where it has several."""
    if row["check_id"] in BY_ROW:
        return BY_ROW[row["check_id"]](row)
    name = max((name for name in BY_QUANTITY if row["quantity"].startswith(name)), key=len)
    return BY_QUANTITY[name](row)


def _by(function: Callable[..., Any], *names: str) -> Compute:
    """A function of the inputs of these names, in order; a missing one is left to its default."""
    return lambda row: function(*(inputs(row)[name] for name in names if name in inputs(row)))


# --- moist air

BY_QUANTITY |= {
    "es_water_Pa [WMO Magnus]": _by(saturation.saturation_over_water, "t_C"),
    "es_ice_Pa": _by(saturation.saturation_over_ice, "t_C"),
    "es_Pa [any formula labelled Hyland-Wexler": _by(saturation.saturation_hyland_wexler, "t_C"),
    "es_water_Pa [Hyland-Wexler]": _by(saturation.saturation_hyland_wexler, "t_C"),
    "es_water_Pa [Buck 1981]": lambda row: saturation.saturation_by("Buck 1981", inputs(row)["t_C"]),
    "es_water_Pa [Alduchov": lambda row: saturation.saturation_by("Alduchov-Eskridge 1996", inputs(row)["t_C"]),
    "es_water_Pa [Bolton": lambda row: saturation.saturation_by("Bolton 1980", inputs(row)["t_C"]),
    "es_water_Pa [reference": _by(saturation.saturation_over_water, "t_C"),
    "dew_point_C": _by(air.dew_point, "t_C", "RH"),
    "dew_point_over_water_C": _by(air.dew_point, "t_C", "RH"),
    "frost_point_C": _by(air.frost_point, "t_C", "RH"),
    "absolute_humidity_g_m3": _by(air.absolute_humidity, "t_C", "RH"),
    "humidity_ratio_g_kg": lambda row: 1000 * _by(air.humidity_ratio, "t_C", "RH", "p_Pa")(row),
    "humidity_ratio_sat_kg_kg": lambda row: air.humidity_ratio(inputs(row)["t_C"], 100.0, inputs(row)["p_Pa"]),
    "wet_bulb_C": _by(air.wet_bulb, "t_C", "RH", "p_Pa"),
    "enthalpy_kJ_per_kg_dry_air": _by(air.enthalpy, "t_C", "RH", "p_Pa"),
    "standard_pressure_Pa": _by(air.standard_pressure, "z_m"),
    "surface_RH_percent": _by(surfaces.surface_rh, "t_C", "RH", "ts_C"),
    "min_surface_T_C": _by(surfaces.coldest_surface, "t_C", "RH"),
    "air_T_C needed": _by(surfaces.heated_to, "t_C", "RH", "target"),
}


@of("humidity_ratio_kg_kg from wet bulb")
def _ratio(row: Row) -> float:
    return _by(air.humidity_ratio_by_wet_bulb, "t_C", "twb_C", "p_Pa")(row)


BY_QUANTITY |= {
    "dew_point_C from wet bulb": lambda row: air.dew_point_of_vapour(air.vapour_pressure_of(_ratio(row))),
    "RH_percent from wet bulb": lambda row: air.relative_humidity(air.vapour_pressure_of(_ratio(row)), inputs(row)["t_C"]),
    "enthalpy_kJ_per_kg_dry_air from wet bulb": lambda row: air.enthalpy_of(inputs(row)["t_C"], _ratio(row)),
    "specific_volume_m3_per_kg_dry_air from wet bulb": lambda row: air.specific_volume_of(inputs(row)["t_C"], _ratio(row)),
}


@of("ventilation_allowed")
def _airing(row: Row) -> bool:
    (out_t, out_rh), (in_t, in_rh) = ((float(t), float(rh)) for t, rh in re.findall(r"t_C=(\d+);RH=(\d+)", row["inputs"]))
    return moisture.open_window((in_t, in_rh), (out_t, out_rh)).advice == "open"


@of("reject_input")
def _rejected(row: Row) -> bool:
    """Flagged as wet, and nothing derived from it."""
    t, rh = 20.0, inputs(row)["RH"]
    return air.air_doubt(t, rh) == air.Doubt.RH_WET and all(np.isnan(f(t, rh)) for f in (air.dew_point, air.vapour_pressure, air.absolute_humidity))


# --- mould


def index(code: str, hours: list[tuple[float, float]], decline: float = mould.HOUSE_DECLINE, start: float = 0) -> float:
    t, rh = np.array(hours, dtype=float).T
    return mould.mould_index(mould.surface_hours(t, rh), mould.mould_class(code), decline=decline, start=mould.MouldState(index=start)).index


@of("M after 84 d cycling")
def _cycling(row: Row) -> float:
    at = inputs(row)
    cycle = [(20.0, 95.0)] * int(at["wet_h"]) + [(20.0, 60.0)] * int(at["dry_h"])
    return index(kind(row).code, cycle * (84 * 24 // len(cycle)), at["C_mat"])


BY_QUANTITY |= {
    "RH_crit_percent": lambda row: mould.critical_rh(inputs(row)["T_C"], kind(row)),
    "t_m_days": lambda row: mould.days_to_first_growth(inputs(row)["T_C"], inputs(row)["RH"], wood=inputs(row).get("W", 0)),
    "M_max": lambda row: mould.highest_index(inputs(row)["T_C"], inputs(row)["RH"], kind(row)),
    "M after constant": lambda row: index(kind(row).code, [(inputs(row)["T_C"], inputs(row)["RH"])] * int(24 * inputs(row)["days"])),
    "M after freezing damp": lambda row: index(kind(row).code, [(inputs(row)["T_C"], inputs(row)["RH"])] * int(24 * inputs(row)["days"])),
    "M decline": lambda row: index("VS", [(20.0, 50.0)] * int(inputs(row)["hours"]), inputs(row)["C_mat"], start=3),
    "M after 60 d at 12 C 88 %": lambda row: index(kind(row).code, [(12.0, 88.0)] * 1440, inputs(row)["C_mat"]),
    "M after 60 d at 12 C 88 % then": lambda row: index(kind(row).code, [(12.0, 88.0)] * 1440 + [(18.0, 55.0)] * 2880, inputs(row)["C_mat"]),
}

# --- damp and metal

BAND_RUN = np.array([66.0] * 20 + [64.0] * 2 + [66.0] * 30)
WETNESS = np.array([(5, 81), (0, 90), (-1, 95), (10, 80), (10, 80.1), (20, 79.9), (0.1, 85)])
SHELL = surfaces.time_constant(1.2, 470, 0.25, 8)


def _highest(code: str) -> Compute:
    return lambda _: limit(code).high


def _range(code: str) -> Compute:
    return lambda _: (limit(code).low, limit(code).high)


rows(
    MLD_044=lambda _: damp.longest_run(BAND_RUN, 65).hours,  # type: ignore[union-attr]
    MLD_045=lambda _: damp.longest_run(BAND_RUN, 65, 62).hours,  # type: ignore[union-attr]
    MLD_046=_highest("organic_sustained"),
    MLD_047=_highest("mould_in_weeks"),
    MET_001=_highest("iron_chloride_long"),
    MET_002=_highest("iron_ferrous_chloride_seen"),
    MET_003=_highest("iron_akaganeite_seen"),
    MET_004=_highest("iron_chloride_appreciable"),
    MET_005=_range("bronze_chloride"),
    MET_006=_highest("bronze_chloride_cautious"),
    MET_007=_highest("metals"),
    MET_008=_highest("iron"),
    MET_009=lambda _: metals.ferrous_chloride_liquefies(44),
    MET_010=lambda _: metals.ferrous_chloride_liquefies(75),
    MET_011=lambda _: calibration.salt_rh("NaCl", 25),
    MET_012=lambda _: calibration.salt_rh("MgCl2", 25),
    MET_013=lambda _: damp.time_of_wetness(*WETNESS.T, np.ones(7)).hours,
    MET_014=lambda _: damp.wetness_class(2600),
    MET_015=lambda _: damp.wetness_class(250),
    MET_016=lambda row: surfaces.condenses(*(inputs(row)[name] for name in ("t_C", "RH", "ts_C"))),
    MET_017=_by(surfaces.condensation_margin, "t_C", "RH", "ts_C"),
    MET_018=lambda _: surfaces.seconds_wet(18, 60, 5, SHELL),
    MET_019=lambda _: metals.common_band([(0, limit("metals").high or 0), (limit("leather").low or 0, limit("leather").high or 0)]),
)

# --- ageing


@of("lifetime_multiplier Ea=")
def _multiplier(row: Row) -> float:
    energy = float(re.search(r"Ea=(\d+)", row["quantity"]).group(1))  # type: ignore[union-attr]
    return ageing.lifetime_multiplier(inputs(row)["t_C"], inputs(row)["RH"], energy)


def _year() -> float:
    h = np.arange(8760)
    return ageing.ageing(15 + 10 * np.sin(2 * np.pi * h / 8760), np.full(8760, 50.0), np.ones(8760)).multiplier


HALVES = (np.array([10.0, 25.0]), np.array([60.0, 50.0]), np.ones(2))
rows(
    # The slip itself: what a reference of 293 K makes of 20 °C, as the ratio to the multiplier at 19.85 °C.
    AGE_012=lambda _: 1 / ageing.lifetime_multiplier(293 - 273.15, 50.0),
    AGE_013=lambda _: ageing.ageing(*HALVES).multiplier,
    AGE_014=lambda _: ageing.ageing(*HALVES).multiplier,
    AGE_015=lambda _: _year(),
)

# --- swings


def wave(base: float, season: float, day: float) -> Floats:
    h = np.arange(9481)
    return base + season * np.sin(2 * np.pi * h / 8760) + day * np.sin(2 * np.pi * h / 24)


def _wave(row: Row) -> Floats:
    """The wave of a row in either spelling, `RH(h)=50+10*sin(..)+5*sin(..)` or `same series A=10;a=5`."""
    if whole := re.search(r"RH\(h\)=(\d+)\+(\d+)\*sin\(2pi h/8760\)\+(\d+)\*sin", row["inputs"]):
        return wave(*(float(number) for number in whole.groups()))
    return wave(50, inputs(row)["A"], inputs(row)["a"])


def _every_tenth_day() -> tuple[float, float]:
    return fluctuations.fluctuation_percentiles(np.where(np.arange(9600) // 24 % 10 == 0, 70.0, 50.0))


def _band(row: Row) -> fluctuations.Band:
    return fluctuations.historic_band(_wave(row))


def _loan(row: Row) -> loans.Loan:
    amplitude = float(re.search(r"50\+(\d+)\*", row["inputs"]).group(1))  # type: ignore[union-attr]
    h = np.arange(24 * 40)
    return loans.judge_loan(50 + amplitude * np.sin(2 * np.pi * h / 24), np.full(len(h), 20.0), loans.loan_terms("bizot"))


BY_QUANTITY |= {
    "P7;P93": lambda row: fluctuations.fluctuation_percentiles(_wave(row)),
    "applied band": lambda row: (_band(row).low, _band(row).high),
    "percent of time inside applied band": lambda row: _band(row).inside,
    "percent of time within RH limits": lambda row: tuple(control.control_shares(_wave(row)).values()),
    "loan range check": _loan,
}
rows(
    FLU_010=lambda row: np.nanmax(fluctuations.thirty_day_mean(_wave(row))) - 50,
    FLU_011=lambda _: fluctuations.historic_band(wave(50, 10, 5)).hours,
    FLU_012=lambda _: _every_tenth_day(),
    FLU_019=_range("leather"),
    FLU_020=lambda _: (limit("leather_daily_rh").high, limit("leather_daily_t").high),
)

# --- light

SPOTS = (np.array([9.0, 11, 13, 15, 17]), np.array([40.0, 120, 200, 160, 60]))


def _blue_wool(row: Row) -> Any:
    wool = int(row["inputs"].rsplit(" ", 1)[1])
    free = light.fading_dose(wool, uv_free=True)
    return free if row["quantity"].endswith("UV-free") else (light.fading_dose(wool, uv_free=False), free)


rows(
    LGT_001=lambda _: light.dose(50, 8 * 6 * 52),
    LGT_002=lambda _: light.dose(150, 8 * 6 * 52),
    LGT_003=lambda _: (light.dose(50, 10), light.dose(250, 2)),
    LGT_004=lambda _: light.light_category("high").yearly,
    LGT_005=lambda _: light.light_category("medium").yearly,
    LGT_006=lambda _: light.light_category("low").yearly,
    LGT_007=lambda _: light.hours_allowed(light.light_category("high"), 50),
    LGT_008=lambda _: light.weeks_allowed(light.light_category("high"), 50, 48),
    LGT_009=lambda _: light.years_on_display(light.light_category("medium"), 100, 2496),
    LGT_018=lambda _: light.years_to_fade(1, 50, 3000, uv_free=True),
    LGT_019=lambda _: light.years_to_fade(4, 50, 3000, uv_free=True),
    LGT_020=lambda _: light.uv_irradiance(50, limit("uv_dyed_leather").high),  # type: ignore[type-var]
    LGT_021=lambda _: light.uv_irradiance(200, 75),
    LGT_022=_highest("uv"),
    LGT_023=lambda _: light.spot_dose(*SPOTS).dose,
    LGT_024=lambda _: light.spot_dose(SPOTS[0], np.where(SPOTS[0] == 13, np.nan, SPOTS[1])),
)
BY_QUANTITY["Mlx_h to just noticeable fade"] = _blue_wool

# --- water and gel

DAMP_SUMMER = ((18.0, 85.0), (18.0, 50.0))


def _three() -> tuple[float, float, float]:
    return moisture.ventilation_water(75, 0.5, *DAMP_SUMMER), moisture.people_water(2, 3, 60), moisture.stock_water(300, 0.06, 14)


rows(
    DHU_001=lambda _: moisture.ventilation_water(75, 0.5, *DAMP_SUMMER),
    DHU_002=lambda _: moisture.ventilation_water(120, 0.3, (22, 70), (18, 55)),
    DHU_003=lambda _: moisture.ventilation_water(75, 0.5, (2, 90), (15, 60)),
    DHU_004=lambda _: moisture.ventilation_water_by_trade(37.5, *DAMP_SUMMER),
    DHU_005=lambda _: moisture.people_water(2, 3, 60),
    DHU_006=lambda _: moisture.stock_water(300, 0.06, 14),
    DHU_007=lambda _: sum(_three()),
    DHU_008=lambda _: moisture.with_margin(*_three()),
    DHU_009=lambda _: moisture.floor_water(2, 15, 15, 60),
    DHU_010=lambda _: moisture.floor_water_by_trade(2, 15, 15, 60),
    DHU_011=lambda _: moisture.steady_rh(75, 0.5, (8, 85), 16, 50),
    DHU_012=lambda _: moisture.steady_rh(75, 0.1, (8, 85), 16, 50),
    DHU_013=lambda _: moisture.derating(18.3, 60),
    DHU_014=lambda _: moisture.derating(10, 60),
    SIL_010=lambda _: sorbents.case_rh(45, 70, 2, 20, 1, 90),
    SIL_011=lambda row: sorbents.case_rh(45, 70, 2, inputs(row)["B"], 1, 90) - 45,
    SIL_012=lambda _: sorbents.desiccant_mass(0.5, 1, 55, 8, 90, 80),
)
BY_QUANTITY |= {
    "C_eq_g_m3": _by(sorbents.saturated_vapour, "t_C"),
    "sorbent_kg": _by(sorbents.sorbent_mass, "V", "N", "D", "t", "MH", "F"),
    "hygrometric_half_time_d": _by(sorbents.half_time, "M", "B", "N"),
}

# --- loggers


@of("saturated_salt_RH_percent")
def _salt(row: Row) -> float:
    return calibration.salt_rh(row["inputs"].split(";")[0], inputs(row)["t_C"])


def _no_value(function: Callable[..., Any], *arguments: Any) -> str:
    try:
        return f"gave {function(*arguments)}"
    except NoValue as refused:
        return refused.code


def _days(row: Row) -> tuple[float, ...]:
    return tuple(localtime.hours_in_day(date.fromisoformat(day), localtime.zone("Europe/London")) for day in re.findall(r"\d{4}-\d\d-\d\d", row["inputs"]))


LONDON = localtime.zone("Europe/London")
rows(
    LOG_022=_by(figures.kelvins, "dT_F"),
    LOG_023=lambda _: localtime.utc_of(datetime(2025, 10, 26, 1, 30, fold=0), LONDON),
    LOG_024=lambda _: localtime.utc_of(datetime(2025, 10, 26, 1, 30, fold=1), LONDON),
    LOG_025=lambda _: _no_value(localtime.utc_of, datetime(2025, 3, 30, 1, 30), LONDON),
    LOG_026=_days,
    LOG_027=lambda _: tuple(localtime.clock_changes(2026, localtime.zone("Europe/Paris"))),
    LOG_028=lambda _: calibration.corrected(60.0, calibration.two_point_correction((35.0, 33.07), (73.5, 75.47))),
    LOG_029=lambda _: air.dew_point_uncertainty(20.0, 50.0, 0.3, 2),
    LOG_030=lambda _: air.rh_error_by_t(20.0, 50.0, 1),
    LOG_031=lambda _: (series.share(18, 24), series.usable(series.share(18, 24)), series.usable(series.share(17, 24))),
    LOG_032=lambda _: (limit("band_record").low, limit("band_rate").low),
    LOG_033=lambda _: figures.read_figure("55,4", ","),
    LOG_034=lambda _: _no_value(figures.read_figure, "1,234"),
    PST_001=_highest("pests_slow"),
    PST_002=_range("cold_treatment"),
    PST_003=_highest("sulphur_and_nitrogen"),
    PST_004=_highest("ozone"),
)
BY_QUANTITY["F_to_C"] = _by(figures.celsius, "t_F")

#: expected values that are words in the table, as the functions say them
WORDS: dict[str, Any] = {
    "PSY-092": True,
    "PSY-093": False,
    "PSY-094": True,
    "MET-009": False,
    "MET-010": True,
    "MET-014": "tau 4",
    "MET-015": "tau 2",
    "MET-016": True,
    "MET-019": metals.Band(45.0, 45.0, True),
    "LGT-024": light.Dose(380.0, 4.0, 4.0),
    "LOG-023": datetime(2025, 10, 26, 0, 30, tzinfo=UTC),
    "LOG-024": datetime(2025, 10, 26, 1, 30, tzinfo=UTC),
    "LOG-025": "no_such_time",
    "LOG-027": (datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)),
    "LOG-031": (75.0, True, False),
    # 13 months: the band's own series of the reference has 395 days
    "LOG-032": (395.0, 1.0),
    "LOG-034": "ambiguous",
}
