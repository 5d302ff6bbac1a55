"""Files of loggers through the whole importer, into the database."""

import csv
import math
import os
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.db.backends.postgresql.psycopg_any import DateTimeTZRange

from locations.climate import folder, importing
from locations.climate.actions.files import Upload, answer_file, take_file
from locations.climate.actions.loggers import judge_readings, make_logger, place_logger
from locations.climate.attention import to_see, waiting
from locations.climate.files.flags import Flag
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile, Logger, LoggerStay, Reading, Rival
from locations.climate.tasks import climate_file
from museum.errors import Invalid
from museum.ids import uuid7
from museum.jobs import running
from museum.jobs.models import Job
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.reference.tables import reference_path

pytestmark = pytest.mark.django_db


def logger(name: str = "T-7", **said: Any) -> Logger:
    return make_logger(PROGRAM, logger_id=uuid7(), name=name, **said)


def text(rows: Sequence[tuple[str, object, object]], head: str = "time utc;temperature °C;rh %") -> bytes:
    return "\n".join([head, *(f"{at};{t};{rh}" for at, t, rh in rows), ""]).encode()


def bring(data: bytes, of: Logger, name: str = "T-7.csv") -> ClimateFile:
    row = take_file(PROGRAM, Upload(name, data), logger_id=of.pk)
    assert row.state == ClimateFile.State.READY, row.questions
    row = ClimateFile.objects.select_related("file", "logger").get(pk=row.pk)
    return bring_in(PROGRAM, row, lambda done, total: None)


HOURS = [(f"2025-01-01 {hour:02}:00", 8 + hour / 10, 60 + hour) for hour in range(24)]


def kept(of: Logger) -> list[tuple[datetime, float | None, float | None]]:
    return list(Reading.objects.filter(logger=of.number).order_by("at").values_list("at", "t", "rh"))


def test_readings_are_stored_as_they_were_read() -> None:
    it = logger()
    row = bring(text(HOURS), it)
    assert (row.state, row.counts["stored"], row.counts["known"]) == ("done", 24, 0)
    rows = kept(it)
    assert rows[0] == (datetime(2025, 1, 1, tzinfo=UTC), 8, 60)
    assert rows[-1][0] == datetime(2025, 1, 1, 23, tzinfo=UTC)
    assert math.isclose(rows[13][1] or 0, 9.3, abs_tol=1e-6)


def test_the_same_file_again_and_an_overlapping_one_store_nothing_twice() -> None:
    it = logger()
    bring(text(HOURS[:16]), it)
    assert bring(text(HOURS[:16]), it).counts["stored"] == 0
    row = bring(text(HOURS[8:]), it)
    assert (row.counts["stored"], row.counts["known"]) == (8, 8)
    assert len(kept(it)) == 24


def test_another_value_of_an_instant_stays_beside_the_first_and_once() -> None:
    it = logger()
    bring(text(HOURS), it)
    other = [(at, t, 99 if n == 5 else rh) for n, (at, t, rh) in enumerate(HOURS)]
    row = bring(text(other), it)
    assert (row.counts["stored"], row.counts["contradicting"], row.counts["rivals_stored"]) == (0, 1, 1)
    bring(text([*other, ("2025-01-02 00:00", 9, 60)]), it)
    rival = Rival.objects.get()
    assert (rival.rh, rival.flags & Flag.RIVALLED > 0) == (99, True)
    assert kept(it)[5][2] == 65


def test_a_lacking_value_stays_lacking() -> None:
    it = logger()
    bring(text([(at, "---" if n % 2 else t, "" if n % 5 == 0 else rh) for n, (at, t, rh) in enumerate(HOURS)]), it)
    rows = kept(it)
    assert [t is None for _, t, _ in rows[:4]] == [False, True, False, True]
    assert [rh is None for _, _, rh in rows[:4]] == [True, False, False, False]
    assert (
        bring(text([(at, "---" if n % 2 else t, "" if n % 5 == 0 else rh) for n, (at, t, rh) in enumerate(HOURS)], "Time utc;temperature °C;rh %"), it).counts[
            "stored"
        ]
        == 0
    )


def test_fifty_shuffled_overlapping_cut_files_give_the_table_of_one() -> None:
    """Each ends somewhere in the middle of a line."""
    whole, torn = logger("whole"), logger("torn")
    lines = text(
        [
            (f"2025-{month:02}-{day:02} {hour:02}:00", f"{8 + hour / 7:.2f}", f"{50 + day / 3:.2f}")
            for month in (1, 2)
            for day in range(1, 29)
            for hour in range(24)
        ]
    ).splitlines(keepends=True)
    bring(b"".join(lines), whole)
    for n in range(50):
        begin = 1 + (n * 577) % (len(lines) - 60)
        some = lines[begin : begin + 120]
        some.reverse() if n % 3 == 0 else None
        data = lines[0] + b"".join(some)
        bring(data[: len(data) - n % 23] if n % 3 else data, torn, f"{n}.csv")
    bring(b"".join(lines), torn)
    assert kept(torn) == kept(whole)
    assert not Rival.objects.exists()


def test_killed_half_way_and_run_again_the_rows_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    whole, torn = logger("whole"), logger("torn")
    bring(text(HOURS), whole)
    monkeypatch.setattr(importing, "PIECE", 5)
    row = take_file(PROGRAM, Upload("T-7.csv", text([*HOURS, HOURS[-1]])), logger_id=torn.pk)

    def killed(done: int, total: int) -> None:
        if done >= 10:
            raise SystemExit  # as good as a kill: nothing below this line runs

    with pytest.raises(SystemExit):
        bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), killed)
    assert len(kept(torn)) == 10
    row = bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    assert (row.counts["stored"], row.counts["known"]) == (24, 0)
    assert kept(torn) == kept(whole)


def test_a_bad_line_at_the_end_stores_nothing() -> None:
    it = logger()
    row = take_file(PROGRAM, Upload("T-7.csv", text([*HOURS * 20, ("2025-02-30 00:00", 8, 60)])), logger_id=it.pk)
    with pytest.raises(Invalid, match="invalid") as caught:
        bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    assert "Line 482, “2025-02-30 00:00”" in caught.value.sentence
    assert not kept(it)
    assert ClimateFile.objects.get(pk=row.pk).state == "refused"


def test_the_job_reads_the_file_and_tells_where_to_look(volunteer: Person) -> None:
    it, by = logger(), Actor.of(volunteer)
    row = take_file(by, Upload("T-7.csv", text(HOURS)), logger_id=it.pk)
    assert row.job
    assert climate_file
    running.run(row.job)
    job = Job.objects.get(pk=row.job)
    assert (job.state, job.result) == ("done", {"address": f"/climate/files/{row.pk}/", "name": "T-7.csv"})
    assert len(kept(it)) == 24


def test_the_watched_folder_takes_what_lies_there_and_sets_it_aside(settings: Any, tmp_path: Path) -> None:
    settings.CLIMATE_FOLDER = tmp_path / "in"
    folder.place().mkdir()
    logger(serial="AB-1234")
    for name, data in (("good.csv", b"Serial number: AB-1234\n" + text(HOURS)), ("bad.csv", b"name,colour\nhelmet,red\n")):
        (folder.place() / name).write_bytes(data)
        os.utime(folder.place() / name, (0, 0))
    (folder.place() / "fresh.csv").write_bytes(text(HOURS))
    assert folder.look() == 2
    assert ClimateFile.objects.get().state == "ready"
    assert sorted(str(path.relative_to(folder.place())) for path in folder.place().rglob("*.*")) == [
        "fresh.csv", "refused/bad.csv", "refused/bad.reason.txt", "taken/good.csv",
    ]  # fmt: skip
    assert "day and an hour" in (folder.place() / "refused" / "bad.reason.txt").read_text()


def test_a_silent_logger_a_hole_and_two_values_are_somebodys_work() -> None:
    it, (_, store, _) = logger(), stock.shelf()
    place_logger(PROGRAM, it.pk, place_id=store.pk, at=datetime(2025, 1, 1, tzinfo=UTC))
    bring(text([*HOURS, ("2025-01-04 00:00", 8, 60), ("2025-01-04 00:00", 8, 61)]), it)
    take_file(PROGRAM, Upload("x.csv", text(HOURS)))
    assert waiting() == {"silent": 1, "asking": 1, "holes": 1, "contradicted": 1, "doubted": 0, "refused": 0, "worn": 0, "dials": 0}
    seen = to_see()
    assert ([one.logger for one in seen.silent], len(seen.asking), len(seen.holes), seen.contradicted) == ([it], 1, 1, [(it, 1)])
    judge_readings(PROGRAM, it.pk, begin=datetime(2025, 1, 1, tzinfo=UTC), end=datetime(2025, 1, 5, tzinfo=UTC), says="good", reason="battery changed")
    assert waiting() == {"silent": 1, "asking": 1, "holes": 0, "contradicted": 0, "doubted": 0, "refused": 0, "worn": 0, "dials": 0}


def test_the_real_year_comes_in_whole(settings: Any) -> None:
    with reference_path("real_climate.csv").open(encoding="utf-8", newline="") as lines:
        expected = [(row["timestamp_utc"], float(row["temperature_c"]), float(row["rh_percent"])) for row in csv.DictReader(lines)]
    it = logger()
    row = bring(reference_path("real_climate.csv").read_bytes(), it, "real_climate.csv")
    assert row.counts["stored"] == len(expected) == 8706
    found = [(at.isoformat().replace("+00:00", "Z"), round(t or 0, 2), round(rh or 0, 2)) for at, t, rh in kept(it)]
    assert found == expected
    assert Reading.objects.get(logger=it.number, at=datetime(2013, 5, 9, 2, tzinfo=UTC)).flags & Flag.STEP


def test_a_file_of_nobody_asks_whose_it_is_and_is_known_by_its_serial_number() -> None:
    it = logger(serial="ab-1234", clock_kind="utc")
    data = b"Serial number: AB-1234\n" + text(HOURS, "time;temperature;rh")
    assert take_file(PROGRAM, Upload("x.csv", data)).logger == it
    row = take_file(PROGRAM, Upload("y.csv", text(HOURS)))
    assert [one["code"] for one in row.questions] == ["logger"]
    assert answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={}).state == "ready"


def test_answers_are_remembered_for_the_next_file_of_the_logger() -> None:
    it = logger(clock_kind="utc")
    head = "Date;Hour;temperature;rh"
    rows = "\n".join(f"0{day}/02/2025;{hour:02}:00;8.0;61.0" for day in range(1, 9) for hour in range(24))
    row = take_file(PROGRAM, Upload("a.csv", f"{head}\n{rows}\n".encode()), logger_id=it.pk)
    assert [one["code"] for one in row.questions] == ["order"]
    row = answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={"order": "dmy"})
    bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    assert bring(f"{head}\n{rows.replace('/02/', '/03/')}\n".encode(), it).first_at == datetime(2025, 3, 1, tzinfo=UTC)


def test_no_logger_stands_in_two_places_at_once() -> None:
    it, (hall, store, shelf) = logger(), stock.shelf()
    place_logger(PROGRAM, it.pk, place_id=store.pk, at=datetime(2025, 1, 1, tzinfo=UTC))
    place_logger(PROGRAM, it.pk, place_id=shelf.pk, at=datetime(2025, 2, 1, tzinfo=UTC))
    assert list(LoggerStay.objects.order_by("during").values_list("place__code", flat=True)) == ["H-S", "H-S-1"]
    with pytest.raises(IntegrityError, match="logger_in_one_place"), transaction.atomic():
        LoggerStay.objects.create(logger=it, place=hall, placement=uuid7(), during=DateTimeTZRange(datetime(2025, 1, 20, tzinfo=UTC), None))


def test_the_first_two_hours_after_placing_are_marked() -> None:
    it, (_, store, _) = logger(), stock.shelf()
    place_logger(PROGRAM, it.pk, place_id=store.pk, at=datetime(2025, 1, 1, 10, tzinfo=UTC))
    bring(text(HOURS), it)
    marked = [at.hour for at, flags in Reading.objects.order_by("at").values_list("at", "flags") if flags & Flag.HANDLED]
    assert marked == [10, 11]
