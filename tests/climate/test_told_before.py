"""What no answer can mend is told when a file is sent, not after somebody has answered its questions; what an answer decides is asked as ever."""

from datetime import timedelta

import pytest

from locations.climate.actions.files import Upload, answer_file, take_file
from locations.climate.actions.loggers import make_logger
from locations.climate.models import ClimateFile
from museum import clock
from museum.errors import Invalid
from museum.history.models import Act
from museum.ids import uuid7
from museum.papers.models import StoredFile
from museum.people.actor import PROGRAM
from tests.climate.test_bringing_in import HOURS, text

pytestmark = pytest.mark.django_db
#: whose day and month can be told from none of them
EITHER = [(f"0{1 + n // 24}/02/2025 {n % 24:02}:00", f"{8 + n % 5}.5", "60.5") for n in range(48)]
#: what a file that is taken leaves
KEPT = (ClimateFile, StoredFile, Act)
HEAD = "date time;temperature °C;rh %"


def refused(data: bytes) -> Invalid:
    """The refusal at the door; nothing of the file is kept."""
    before = [kind._default_manager.count() for kind in KEPT]
    with pytest.raises(Invalid) as wrong:
        take_file(PROGRAM, Upload("x.csv", data))
    assert [kind._default_manager.count() for kind in KEPT] == before
    return wrong.value


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (("2025-02-30 00:00", 8, 60), "not_a_time"), (("1962-01-01 00:00", 8, 60), "not_in_time"), (("2099-01-01 00:00", 8, 60), "not_in_time"),
        (("2025-01-02 00:00", 8, "6l.0"), "not_a_figure"), (("2025-01-02 00:00", 8, "60;1"), "too_many_cells"),
    ],
)  # fmt: skip
def test_a_file_that_asks_whose_it_is_is_refused_before_that_is_answered(line: tuple[str, object, object], code: str) -> None:
    wrong = refused(text([*HOURS, line, *[(f"2025-01-03 {hour:02}:00", 8, 60) for hour in range(5)]]))
    assert (wrong.data["reason"], wrong.data["line"]) == (code, 26)
    assert wrong.sentence.startswith("Line 26")


def test_where_day_and_month_are_asked_a_day_that_is_none_either_way_is_refused() -> None:
    asked = take_file(PROGRAM, Upload("good.csv", text(EITHER, HEAD)))
    assert {one["code"] for one in asked.questions} >= {"logger", "order"}
    assert refused(text([*EITHER, ("31/02/2025 00:00", "8.5", "60.5"), ("03/02/2025 01:00", "8.5", "60.5")], HEAD)).data["line"] == 50


def test_what_an_answer_decides_is_no_refusal() -> None:
    row = take_file(PROGRAM, Upload("x.csv", text([*HOURS, ("2025-01-02 00:00", 8, 60)])))
    assert row.state == ClimateFile.State.ASKS
    it = make_logger(PROGRAM, logger_id=uuid7(), name="T-1", clock_kind="utc")
    again = answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={})
    assert again.state == ClimateFile.State.READY


def test_what_is_certain_only_by_an_answer_is_asked_all_the_same() -> None:
    """Whether two things are told of one time depends on the columns, which are asked."""
    below_each_other = "".join(f"2025-01-13 {h:02}:00,temperature,8.{h}\n2025-01-13 {h:02}:00,humidity,61.{h}\n" for h in range(24))
    row = take_file(PROGRAM, Upload("x.csv", f"time,channel,value\n{below_each_other}".encode()))
    assert (row.state, "columns" in {one["code"] for one in row.questions}) == (ClimateFile.State.ASKS, True)


def test_a_clock_far_ahead_may_be_that_of_another_zone() -> None:
    """30 hours ahead of London are 17 or 18 of Auckland, and a clock may be a day wrong."""
    ahead = clock.now().replace(tzinfo=None) + timedelta(hours=30)
    data = text([(f"{ahead - timedelta(hours=back):%Y-%m-%d %H:%M}", 8, 60 + back % 3) for back in range(48, -1, -1)], HEAD)
    row = take_file(PROGRAM, Upload("x.csv", data))
    assert row.state == ClimateFile.State.ASKS
    it = make_logger(PROGRAM, logger_id=uuid7(), name="T-1", clock_kind="standard", zone="Pacific/Auckland")
    assert answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={}).state == ClimateFile.State.READY
