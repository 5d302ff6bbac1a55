"""Deliberately awful files of loggers: each comes in right, asks, or is refused in the right words. Section 8 of the reference on logger data."""

import io
from collections.abc import Callable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from openpyxl import Workbook

from locations.climate.files import sheets
from locations.climate.files.flags import Flag
from locations.climate.files.forms import Form, Proposal, Unreadable
from locations.climate.files.guessing import propose
from locations.climate.files.reading import Found, read
from locations.climate.sentences import QUESTIONS, why

LONDON = ZoneInfo("Europe/London")
NOW = int(datetime(2026, 11, 25, tzinfo=UTC).timestamp())


def proposal(data: bytes | str, zone: ZoneInfo = LONDON, clock: str = "utc", **answers: str) -> Proposal:
    return propose(sheets.load(data.encode() if isinstance(data, str) else data), zone=zone, clock=clock, answers=answers)


def found(data: bytes | str, zone: ZoneInfo = LONDON, clock: str = "utc", **answers: str) -> Found:
    raw = data.encode() if isinstance(data, str) else data
    said = proposal(raw, zone, clock, **answers)
    assert not said.questions, said.questions
    return read(sheets.load(raw), said.form, zone=zone, now=NOW)


def refusal(data: bytes | str, **answers: str) -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        found(data, **answers)
    assert why(caught.value)
    return caught.value


def asks(data: bytes | str, clock: str = "utc", **answers: str) -> list[str]:
    return [one.code for one in proposal(data, clock=clock, **answers).questions]


def utc(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp())  # type: ignore[arg-type,misc]


def rows(hours: range = range(24), line: Callable[[int], str] = lambda h: f"2025-01-13 {h:02}:00,{8 + h / 10:.1f},{60 + h:.1f}") -> str:
    return "".join(f"{line(hour)}\n" for hour in hours)


HEAD = "time,temperature °C,rh %\n"


def test_01_utf16_with_a_mark_semicolons_and_decimal_commas() -> None:
    data = "Datum;Temperatur [°C];Feuchte [%rF]\r\n13.01.2025 10:00;8,5;61,2\r\n13.01.2025 11:00;-0,4;100,0\r\n"
    got = found(b"\xff\xfe" + data.encode("utf-16-le"))
    assert (got.readings.at.tolist(), got.readings.t.tolist(), got.readings.rh.tolist()) == (
        [utc(2025, 1, 13, 10), utc(2025, 1, 13, 11)], [8.5, -0.4], [61.2, 100.0],
    )  # fmt: skip


def test_02_columns_in_any_order_with_a_running_number_and_a_dew_point() -> None:
    data = "No\tRH (%)\tDew point (°C)\tTemp (°C)\tDate/Time\n1\t61.0\t1.3\t8.5\t2025/01/13 10:00:00\n2\t62.0\t1.4\t8.4\t2025/01/13 11:00:00\n"
    assert (found(data).readings.t.tolist(), found(data).readings.rh.tolist()) == ([8.5, 8.4], [61, 62])


def test_03_day_and_hour_in_two_columns_with_twelve_hours_and_am_pm() -> None:
    data = "Date,Hour,temp,RH %\n01/13/2025,12:30 AM,8.5,61.0\n01/13/2025,12:30 PM,8.6,62.0\n01/13/2025,11:59 pm,8.7,63.0\n"
    assert found(data).readings.at.tolist() == [utc(2025, 1, 13, 0, 30), utc(2025, 1, 13, 12, 30), utc(2025, 1, 13, 23, 59)]


def test_04_a_page_of_remarks_above_and_events_between_and_below() -> None:
    data = "Logger report\n\nSerial number: AB-1234\nSite: cold store\n" + HEAD + rows(range(3)) + "2025-01-13 03:00,,\nbutton pressed\nend of file\n"
    got = found(data)
    assert (len(got.readings), got.counts["no_value"], got.counts["no_reading"], proposal(data).serial) == (3, 1, 2, "AB-1234")


def test_05_day_or_month_first_is_asked_and_never_guessed() -> None:
    data = "time,temp °C,rh %\n01/02/2025 10:00,8.5,61.0\n02/02/2025 10:00,8.4,62.0\n"
    assert asks(data) == ["order"]
    assert found(data, order="dmy").readings.at[0] == utc(2025, 2, 1, 10)
    assert found(data, order="mdy").readings.at[0] == utc(2025, 1, 2, 10)
    late = data + "13/02/2025 10:00,8.4,62.0\n"
    assert found(late).readings.at[0] == utc(2025, 2, 1, 10)


def test_06_years_of_two_digits() -> None:
    assert asks("time,temp °C,rh %\n01/02/03 10:00,8.5,61.0\n") == ["order"]
    assert found("time,temp °C,rh %\n25-01-30 10:00,8.5,61.0\n", order="ymd").readings.at[0] == utc(2025, 1, 30, 10)


def test_07_the_hour_that_comes_twice_in_autumn() -> None:
    """Europe/London 2025-10-26: 01:30 is 00:30Z and 01:30Z."""
    data = HEAD + "".join(f"{wall},8.5,{61 + n}.0\n" for n, wall in enumerate(("2025-10-26 00:30", "2025-10-26 01:30", "2025-10-26 01:30", "2025-10-26 02:30")))
    assert found(data, clock="follows").readings.at.tolist() == [
        utc(2025, 10, 25, 23, 30),
        utc(2025, 10, 26, 0, 30),
        utc(2025, 10, 26, 1, 30),
        utc(2025, 10, 26, 2, 30),
    ]


def test_08_the_hour_that_never_was_in_spring() -> None:
    data = HEAD + "".join(f"2025-03-{day} {hour}:30,8.5,61.0\n" for day, hour in ((29, "12"), (30, "00"), (30, "02"))) + "2026-03-29 01:30,9.0,62.0\n"
    said = proposal(data, clock="follows")
    assert [one.code for one in said.questions] == ["clock_otherwise"] or read(sheets.load(data.encode()), said.form, zone=LONDON, now=NOW).counts[
        "skipped_hour"
    ] == 1


def test_a_day_that_tells_is_shown_where_day_and_month_are_asked() -> None:
    data = HEAD + "".join(f"{day:02}/01/2025 10:30,8.5,61.0\n" for day in range(1, 6))
    (asked,) = [one for one in proposal(data, clock="follows").questions if one.code == "order"]
    assert asked.seen.startswith("02/01/2025")


def test_09_a_clock_that_is_not_known_is_asked_with_what_the_readings_show() -> None:
    data = HEAD + "".join(f"2025-10-26 {hour:02}:30,8.5,{40 + hour}.0\n" for hour in range(6))
    said = proposal(data, clock="")
    assert [(one.code, one.proposed, one.seen) for one in said.questions] == [("clock", "standard", "fixed")]
    assert asks(data, clock="follows") == ["clock_otherwise"]


def test_10_one_pass_of_the_doubled_hour_that_nothing_places_is_left_out() -> None:
    data = HEAD + "2025-10-25 12:00,8.5,61.0\n2025-10-26 01:30,8.5,61.0\n2025-10-26 12:00,8.5,61.0\n"
    got = found(data, clock="follows")
    assert (len(got.readings), got.counts["undecided_hour"], got.lines["undecided_hour"]) == (2, 1, [3])


def test_11_offsets_in_the_cells_go_before_everything() -> None:
    data = HEAD + "2025-10-26T01:30:00+01:00,8.5,61.0\n2025-10-26T01:30:00+00:00,8.6,62.0\n"
    assert found(data, clock="follows").readings.at.tolist() == [utc(2025, 10, 26, 0, 30), utc(2025, 10, 26, 1, 30)]
    assert refusal(data + "2025-10-26 03:00:00,8.6,62.0\n").code in {"no_offset", "not_a_time"}


def test_12_fahrenheit_said_and_unsaid() -> None:
    assert found("time,temp (°F),rh %\n2025-01-13 10:00,50.0,61.0\n").readings.t.tolist() == [10.0]
    data = "time,temp,rh %\n2025-01-13 10:00,59.0,61.0\n2025-01-13 11:00,60.0,61.0\n"
    assert asks(data) == ["unit"]
    assert found(data, unit="F").readings.t.tolist() == [15.0, 15.556]


def test_13_what_stands_for_no_reading() -> None:
    data = HEAD + "2025-01-13 10:00,OFL,61.0\n2025-01-13 11:00,---,62.0\n2025-01-13 12:00,999.9,63.0\n2025-01-13 13:00,-40,0.0\n2025-01-13 14:00,0.0,0.0\n"
    got = found(data)
    assert np.isnan(got.readings.t[:3]).all()
    assert all(int(flag) & Flag.FAULT_VALUE for flag in got.readings.flags[3:])


def test_14_the_same_twice_and_different_values_of_one_instant() -> None:
    data = HEAD + rows(range(4)) + rows(range(4)) + "2025-01-13 02:00,8.2,99.0\n"
    got = found(data)
    assert (len(got.readings), len(got.rivals), got.counts["twice"], got.counts["rivals"]) == (4, 1, 4, 1)
    assert [bool(flag & Flag.RIVALLED) for flag in got.readings.flags.tolist()] == [False, False, True, False]


def test_15_stuck_mirrored_above_100_and_a_leap() -> None:
    stuck = HEAD + "".join(f"2025-01-{10 + h // 24} {h % 24:02}:00,{8 + h / 10:.1f},61.0\n" for h in range(30))
    assert (found(stuck).readings.flags & Flag.STUCK > 0).all()
    mirrored = HEAD + "".join(f"2025-01-{10 + h // 24} {h % 24:02}:00,{8 + h / 10:.1f},{60 - h / 10:.1f}\n" for h in range(30))
    assert (found(mirrored).readings.flags & Flag.MIRRORED > 0).all()
    data = HEAD + "2025-01-13 10:00,8.5,101.0\n2025-01-13 11:00,8.5,104.0\n2025-01-13 12:00,8.5,50.0\n2025-01-13 13:00,25.0,50.0\n"
    flags = found(data).readings.flags.tolist()
    assert (flags[0] & Flag.ABOVE_100, flags[1] & Flag.OUT_OF_RANGE, flags[3] & Flag.STEP) == (Flag.ABOVE_100, Flag.OUT_OF_RANGE, Flag.STEP)


def test_16_a_workbook_with_real_dates() -> None:
    book, data = Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    for line in (["Cold store"], ["time", "temperature °C", "rh %"], [datetime(2025, 2, 1, 10), 8.5, 61], [datetime(2025, 2, 1, 11), 8.25, 62.5]):
        sheet.append(line)
    book.save(data)
    got = found(data.getvalue())
    assert (got.readings.at.tolist(), got.readings.t.tolist()) == ([utc(2025, 2, 1, 10), utc(2025, 2, 1, 11)], [8.5, 8.25])


def test_17_newest_first_with_quotation_marks_and_old_line_ends() -> None:
    data = 'time,"temperature, °C","rh, %"\r' + "".join(f'"2025-01-13 {h:02}:00","{8 + h / 10:.1f}","61.0"\r' for h in reversed(range(5)))
    assert found(data).readings.t.tolist() == [8.0, 8.1, 8.2, 8.3, 8.4]


def test_18_a_reading_without_a_time_or_with_letters_refuses_the_file_with_line_and_cell() -> None:
    wrong = refusal(HEAD + rows(range(3)) + "2025-02-30 04:00,8.5,61.0\n")
    assert (wrong.code, wrong.line, wrong.cell) == ("not_a_time", 5, "2025-02-30 04:00")
    wrong = refusal(HEAD + rows(range(3)) + "2025-01-13 04:00,8.5,6l.0\n")
    assert (wrong.code, wrong.line, wrong.cell) == ("not_a_figure", 5, "6l.0")
    assert "Line 5" in why(wrong)


def test_19_commas_between_cells_and_within_figures() -> None:
    data = "time,temperature,humidity\n2025-01-13 10:00,8,5,61,0\n2025-01-13 11:00,8,4,62,0\n"
    assert refusal(data).code == "comma_twice"
    assert refusal(HEAD + rows(range(5)) + "2025-01-13 06:00,8,5,61\n").code == "too_many_cells"


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty"), (b"\n \n", "empty"), (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" * 9, "not_text"), (b"PK\x03\x04 no workbook", "not_a_workbook"),
        (b"name,colour\nhelmet,red\n", "no_times"), (b"date,temp C,rh %\n2025-01-13,8.5,61.0\n", "no_hours"),
        (b"time,temp C,rh %\n2031-01-13 10:00,8.5,61.0\n", "not_in_time"), (b"time,temp C,rh %\n1970-01-01 00:00,8.5,61.0\n", "not_in_time"),
    ],
)  # fmt: skip
def test_20_what_is_no_file_of_a_logger_is_refused_in_words(data: bytes, code: str) -> None:
    assert refusal(data).code == code


def test_21_a_clock_of_twelve_hours_that_does_not_say_which_half() -> None:
    data = HEAD + "".join(f"2025-01-{13 + h // 24} {(h + 11) % 12 + 1}:00,8.5,{40 + h / 10:.1f}\n" for h in range(72))
    assert refusal(data).code == "twelve_hours"


def test_22_counts_of_seconds_and_month_names() -> None:
    assert found(f"unix time,temp C,rh %\n{utc(2025, 1, 13, 10)},8.5,61.0\n").readings.at.tolist() == [utc(2025, 1, 13, 10)]
    assert found("time,temp C,rh %\n13-Jan-2025 10:00:00,8.5,61.0\n14 März 2025 10:00:00,8.5,61.0\n").readings.at.tolist() == [
        utc(2025, 1, 13, 10),
        utc(2025, 3, 14, 10),
    ]


def test_23_thousands_of_lux_are_asked_about() -> None:
    data = "time;temp °C;rh %;lux\n2025-01-13 10:00;8;61;1,234\n2025-01-13 11:00;8;61;2,345\n"
    assert asks(data) == ["decimal"]
    assert found(data, decimal=".").readings.lux.tolist() == [1234, 2345]
    assert found(data, decimal=",").readings.lux.tolist() == [1.234, 2.345]


def test_24_thousands_with_points_and_decimals_with_commas_tell_each_other_apart() -> None:
    data = "Datum;Temperatur [°C];Feuchte [%];Beleuchtung [lx]\n" + rows(range(10, 20), lambda h: f"13.01.2025 {h}:00;8,{h};61,2;1.234,{h}")
    assert found(data).readings.lux[:2].tolist() == [1234.10, 1234.11]
    assert refusal(data + "13.01.2025 21:00;8.5;61,2;100,1\n").code == "two_signs"


@pytest.mark.parametrize(("before", "after"), [
    ("a. m.", "p. m."), ("a.\u00a0m.", "p.\u00a0m."), ("\u202fAM", "\u202fPM"), ("vorm.", "nachm."), ("fm", "em"), ("π.μ.", "μ.μ."), ("上午", "下午"),
])  # fmt: skip
def test_25_halves_of_the_day_in_the_words_of_other_languages(before: str, after: str) -> None:
    data = f"time;temp °C;rh %\n13/01/2025 12:30 {before};8,5;61,0\n13/01/2025 11:30 {before};8,6;62,0\n13/01/2025 12:30 {after};8,7;63,0\n"
    data += f"13/01/2025 11:30 {after};8,8;64,0\n"
    assert found(data).readings.at.tolist() == [utc(2025, 1, 13, hour, 30) for hour in (0, 11, 12, 23)]
    assert refusal(data.replace(after, "xq")).code == "not_a_time"


def test_26_headings_of_two_lines_the_units_below_or_above() -> None:
    below = "Time,Temperature,Relative humidity\n,°F,%\n" + rows(range(10, 13), lambda h: f"2025-01-13 {h}:00,50.0,61.2")
    above = ",°F,%\nTime,Temp,RH\n" + rows(range(10, 13), lambda h: f"2025-01-13 {h}:00,50.0,61.2")
    for data in (below, above):
        assert (found(data).readings.t.tolist(), found(data).readings.rh.tolist()) == ([10.0] * 3, [61.2] * 3)


def test_27_sums_at_the_end_are_no_readings_and_a_reading_without_a_time_stays_none() -> None:
    data = HEAD + rows() + "\nStatistics\nMin,8.0,61.2\nMaximum,9.3,73.0\nØ average,8.3,66.2\nMittelwert,8.3\nCount,4,4\n"
    got = found(data)
    assert (len(got.readings), got.counts["no_reading"]) == (24, 6)
    assert refusal(data + "during the fire,8.3,66.2\n").code == "not_a_time"


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-16", "utf-8"])
def test_28_padding_behind_the_end_is_left_away_whatever_the_letters(encoding: str) -> None:
    data = (HEAD + rows(range(10, 14))).encode(encoding)
    for padding in (b"", b"\x00" * 512, b"\x1a" if encoding == "utf-8" else b""):
        assert len(found(data + padding).readings) == 4


def test_29_zeros_where_the_power_failed() -> None:
    """At the end a line may be cut there; in the middle nobody knows what stood there."""
    data = (HEAD + rows(range(10, 14))).encode()
    got = found(data[:-2] + b"\x00" * 512)
    assert (len(got.readings), got.counts["cut"]) == (3, 1)
    wrong = refusal(data + b"\x00" * 64 + b"\n" + data)
    assert (wrong.code, wrong.line) == ("not_text", 6)


def test_30_columns_that_change_places_are_never_stored_in_each_others_name() -> None:
    """After a restart with its headings, or without a word."""
    said = refusal(HEAD + rows(range(10, 14)) + "time,rh %,temperature °C\n" + rows(range(14, 18), lambda h: f"2025-01-13 {h}:00,70.{h},9.1"))
    assert (said.code, said.line, said.cell) == ("other_columns", 6, "rh %")
    silent = refusal(HEAD + rows(range(10, 14)) + rows(range(14, 18), lambda h: f"2025-01-13 {h}:00,73.{h},9.1"))
    assert (silent.code, silent.line) == ("exchanged_within", 6)
    # over a hole the air may have changed so
    turned = rows(range(10, 14), lambda h: f"2025-01-13 {h}:00,20.1,36.{h}")
    warm = [f"2025-01-13 {h}:00,36.1,20.{h}\n" for h in range(14, 20)]
    assert refusal(HEAD + turned + "".join(warm[2:])).code == "exchanged_within", "three intervals after the last"
    assert len(found(HEAD + turned + "".join(warm[3:])).readings) == 7, "four after it"
    unit = refusal(HEAD + rows(range(10, 14)) + "time,temperature °F,rh %\n" + rows(range(14, 18), lambda h: f"2025-01-13 {h}:00,48.{h},73.1"))
    assert (unit.code, unit.cell) == ("other_columns", "temperature °F")
    # the same headings again after a restart, and a remark that names one of them, change nothing
    again = HEAD + rows(range(10, 14)) + "Restart\n" + HEAD + rows(range(14, 18)) + "humidity sensor cleaned\n"
    assert (len(found(again).readings), found(again).counts["no_reading"]) == (8, 3)


def test_31_humidity_as_a_part_of_one_is_asked_about_once() -> None:
    data = "time,temp °C,rh\n" + rows(range(10, 14), lambda h: f"2025-01-13 {h}:00,8.5,0.6{h}")
    assert asks(data) == ["share"]
    assert found(data, share="yes").readings.rh.tolist() == [61.0, 61.1, 61.2, 61.3]
    assert found(data, share="no").readings.rh.tolist() == [0.61, 0.611, 0.612, 0.613]
    form = proposal(data, share="yes").form
    assert not propose(sheets.load(data.encode()), zone=LONDON, clock="utc", remembered=form).questions
    whole = data.replace(",0.6", ",6")
    got = propose(sheets.load(whole.encode()), zone=LONDON, clock="utc", remembered=form)
    assert read(sheets.load(whole.encode()), got.form, zone=LONDON, now=NOW).readings.rh[0] == 610


@pytest.mark.parametrize("digits", [4, 5, 6, 10])
@pytest.mark.parametrize("decimal", [".", ","])
def test_32_days_counted_by_a_table_program(digits: int, decimal: str) -> None:
    """45670 is 13 January 2025; with four decimals a second is lost, and the minute is meant."""
    data = "Date;temp °C;rh %\n" + rows(line=lambda h: f"{45670 + h / 24:.{digits}f};8.5;{60 + h}.5".replace(".", decimal))
    assert found(data).readings.at.tolist() == [utc(2025, 1, 13, hour) for hour in range(24)]


def test_33_seconds_since_1970_with_thousandths_and_a_point() -> None:
    for line in (lambda h: f"{utc(2025, 1, 13, h)}.0,8.5,61.{h}", lambda h: f"{utc(2025, 1, 13, h)}000,8.5,61.{h}"):
        assert found("timestamp,temp C,rh %\n" + rows(line=line)).readings.at.tolist() == [utc(2025, 1, 13, hour) for hour in range(24)]


def test_34_the_last_cell_of_a_line_is_lacking() -> None:
    """It may be empty, or cut off within the figure before it: nobody knows."""
    wrong = refusal(HEAD + rows(range(10, 14)) + "2025-01-13 14:00,8\n" + rows(range(15, 18)))
    assert (wrong.code, wrong.line) == ("too_few_cells", 6)
    lacking = HEAD.replace("rh %", "rh %,battery V") + rows(line=lambda h: f"2025-01-13 {h:02}:00,8.5,61.{h}" + ",3.1" * (h % 4 > 0))
    assert len(found(lacking).readings) == 24, "what is not read may be lacking"


def test_35_figures_in_quotation_marks_with_spaces_and_thousands() -> None:
    data = '"time";"temp °C";"rh %";"lux"\n' + rows(range(10, 14), lambda h: f'"13.01.2025 {h}:00";" 8,{h} ";" 61,2";"1\u00a0234,5 "')
    got = found(data)
    assert (got.readings.t[0], got.readings.rh[0], got.readings.lux[0]) == (8.1, 61.2, 1234.5)
    commas = '"time","temp °C","rh %"\n' + rows(range(10, 14), lambda h: f'"13.01.2025 {h}:00","8,{h}","61,2"')
    assert found(commas).readings.t[1] == 8.11


def test_36_temperature_and_humidity_below_each_other_and_two_loggers_in_one_file() -> None:
    data = "time,channel,value\n" + rows(line=lambda h: f"2025-01-13 {h:02}:00,temperature,8.{h}\n2025-01-13 {h:02}:00,humidity,61.{h}")
    assert refusal(data, columns="t").code == "two_a_time"


def test_37_a_column_that_is_headed_is_never_dropped_in_silence() -> None:
    """A true minus sign, no value in all that was looked at, a unit nobody knows."""
    data = "time;temp °C;rh %\n" + rows(range(10, 14), lambda h: f"2025-01-13 {h}:00;\u22120,{h};61,2")
    assert found(data).readings.t.tolist() == [-0.1, -0.11, -0.12, -0.13]
    late = HEAD + "".join(f"2025-01-{1 + n // 24:02} {n % 24:02}:00,{'---' if n < 400 else 8.5},61.{n % 10}\n" for n in range(500))
    assert int((~np.isnan(found(late).readings.t)).sum()) == 100
    assert refusal("time,temp °C,rh %\n" + rows(range(10, 14), lambda h: f"2025-01-13 {h}:00,8.5 grad,61.2")).code == "not_a_figure"


def test_38_hour_24_weekdays_and_years_of_two_digits_beside_a_name() -> None:
    assert found(HEAD + "2025-01-13 24:00,8.5,61.0\n").readings.at.tolist() == [utc(2025, 1, 14)]
    assert refusal(HEAD + rows(range(3)) + "2025-01-13 24:01,8.5,61.0\n").code == "not_a_time"
    for cell in ("Mon 13 Jan 2025 10:00", "Mo, 13.01.2025 10:00", "lundi 13 janv. 2025 10:00", "13-Jan-25 10:00"):
        assert found(f"time;temp °C;rh %\n{cell};8,5;61,0\n").readings.at.tolist() == [utc(2025, 1, 13, 10)], cell
    assert refusal("time;temp °C;rh %\nFoo 13.01.2025 10:00;8,5;61,0\n").code == "no_times"


# --- whatever comes, no traceback, and no date that was not written ---

CELLS = st.one_of(
    st.sampled_from(["2025-01-13 10:00", "13.01.2025", "10:00", "01/02/2025 3:04 PM", "8.5", "8,5", "-40", "---", "", '"', "61 %", "1,234",
                     "2025-10-26 01:30"]),
    st.text(max_size=12), st.floats(allow_nan=False, width=32).map(str), st.datetimes().map(str),
)  # fmt: skip


@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=5), min_size=1, max_size=12), st.sampled_from([",", ";", "\t", " "]), st.sampled_from(["\n", "\r\n", "\r"])
)
@example([["8.5", "2025-01-13 10:00"], ["0"], ["2025-01-13 10:00", "2025-01-13 10:00"]], "\t", "\n")
def test_any_cells_are_read_or_refused(lines: list[list[str]], delimiter: str, end: str) -> None:
    _judge(end.join(delimiter.join(line) for line in lines).encode())


@given(st.binary(max_size=300))
@example(b"\x1f")
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    _judge(data)


def _judge(data: bytes) -> None:
    """Questions have words; readings lie in order between the first logger and now."""
    try:
        said = proposal(data, clock="")
        assert all(one.code in QUESTIONS for one in said.questions)
        answers = {one.code.removesuffix("_otherwise"): one.answers[0] for one in said.questions}
        form: Form = propose(sheets.load(data), zone=LONDON, answers=answers).form
        got = read(sheets.load(data), form, zone=LONDON, now=NOW)
    except Unreadable as wrong:
        said_so = why(wrong)
    else:
        said_so = ""
    if said_so:
        return
    assert (np.diff(got.readings.at) > 0).all()
    assert all(631_152_000 <= at <= NOW + 86_400 for at in got.readings.at.tolist())


@given(
    # the first of January 2000 is where an unset clock begins: refused, see below
    st.datetimes(datetime(1995, 1, 1), datetime(2026, 1, 1)).filter(lambda moment: not datetime(1999, 12, 31, 12) <= moment < datetime(2000, 1, 2)),
    st.sampled_from(["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M", "%m/%d/%Y %I:%M:%S %p", "%d %b %Y %H:%M", "%Y%m%d %H%M%S", "%Y/%m/%dT%H:%M:%SZ", "%d/%m/%y %H:%M"]),
)
def test_no_date_becomes_another_silently(moment: datetime, form: str) -> None:
    """Written in any of the common ways it comes back as it was, or in an order that was asked for."""
    exact = moment.replace(second=0, microsecond=0)
    order = {"%d.": "dmy", "%m/": "mdy", "%d/": "dmy"}.get(form[:3], "")
    data = f"time;temp C;rh %\n{exact.strftime(form)};8.5;61.0\n"
    asked = asks(data)
    assert asked in ([], ["order"])
    got = found(data, order=order) if asked else found(data)
    assert got.readings.at.tolist() == [int(exact.replace(tzinfo=UTC).timestamp())]


def test_a_clock_that_nobody_set_after_a_new_battery_is_no_date() -> None:
    """Stored as readings of the year 2000 they would be lost without a word."""
    wrong = refusal(HEAD + rows(line=lambda h: f"2000-01-01 {h:02}:00,12.0,61.0"))
    assert (wrong.code, wrong.line, wrong.cell) == ("clock_unset", 2, "2000-01-01 00:00")
    assert "Set its clock" in why(wrong)
    newest_first = HEAD + "".join(f"2000-01-0{day} 00:00,12.0,61.0\n" for day in (3, 2, 1))
    assert refusal(newest_first).line == 4
    # a record that was going on then, and one that begins in another year
    assert len(found(HEAD + "1999-12-30 00:00,12.0,61.0\n2000-01-01 00:00,12.0,61.0\n").readings) == 2
    assert len(found(HEAD + rows(line=lambda h: f"2013-01-01 {h:02}:00,12.0,61.0")).readings) == 24


def test_columns_without_names_are_asked_about_once_and_not_at_the_same_time_whether_they_are_exchanged() -> None:
    """Two answers to one question could undo each other."""
    data = "time,channel 1,channel 2\n" + rows(line=lambda h: f"2025-01-13 {h:02}:00,{60 + h / 10:.1f},{12 + h / 10:.1f}")
    assert asks(data) == ["columns"]
    got = found(data, columns="rh t")
    assert (got.readings.t[0], got.readings.rh[0]) == (12.0, 60.0)
    assert asks(data, columns="t rh") == ["exchanged"]
    got = found(data, columns="t rh", exchanged="yes")
    assert (got.readings.t[0], got.readings.rh[0]) == (12.0, 60.0)
