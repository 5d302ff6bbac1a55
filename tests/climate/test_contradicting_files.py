"""A file that contradicts the record of its logger throughout stops and asks before anything is stored, and says what it looks like."""

import base64
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from locations.climate.actions.files import NotOpen, Upload, answer_file, hold_file, take_file
from locations.climate.attention import to_see
from locations.climate.files.contradicting import AT_OTHERS, Contradiction, agree, explained, sample
from locations.climate.files.reading import Batch
from locations.climate.models import ClimateFile, Logger, Reading, Rival
from locations.climate.storing import kept, kept_at
from museum.errors import Invalid
from museum.history.models import Change
from museum.ids import uuid7
from museum.jobs import running
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests.climate.test_bringing_in import bring, logger, text

pytestmark = pytest.mark.django_db
Rows = Sequence[tuple[str, object, object]]
Browser = Callable[[Person], Client]


def air(seed: int, hours: int = 96, begin: str = "2025-01-01", rh: float = 60) -> list[tuple[str, float, float]]:
    """A room whose air moves by itself."""
    rng, first = np.random.default_rng(seed), datetime.fromisoformat(begin)
    warm, damp = 8 + rng.normal(0, 0.4, hours).cumsum(), np.clip(rh + rng.normal(0, 1.5, hours).cumsum(), 10, 95)
    return [(f"{first + timedelta(hours=n):%Y-%m-%d %H:%M}", round(float(warm[n]), 2), round(float(damp[n]), 2)) for n in range(hours)]


def read(row: ClimateFile) -> ClimateFile:
    """By the job, as the worker does it."""
    found = ClimateFile.objects.get(pk=row.pk)
    assert found.job
    running.run(found.job)
    return ClimateFile.objects.get(pk=row.pk)


def held(of: Logger) -> list[tuple[float, float]]:
    return [(round(t, 2), round(rh, 2)) for t, rh in Reading.objects.filter(logger=of.number).order_by("at").values_list("t", "rh")]


def figures(row: ClimateFile) -> dict[str, Any]:
    (question,) = row.questions
    assert question["code"] == "contradicts"
    return dict(question["figures"])


def test_the_file_of_another_logger_is_named_and_nothing_of_it_is_stored() -> None:
    store, hall = logger("T-store"), logger("T-hall")
    bring(text(air(1)), store)
    bring(text(air(2)), hall)
    row = bring(text(air(2)), store)
    told = figures(row)
    assert (row.state, told["cause"], told["name"], told["common"], told["contradicting"]) == ("asks", "other", "T-hall", 96, 96)
    assert (len(held(store)), Rival.objects.count()) == (96, 0)
    row = read(answer_file(PROGRAM, row.pk, version=row.version, logger_id=hall.pk, answers={}))
    assert (row.state, row.counts["stored"], row.counts["known"], row.logger) == ("done", 0, 96, hall)


def test_all_other_records_are_looked_into_at_once_and_only_at_some_instants() -> None:
    """Five hundred hours, whose file is the last logger's but for a reading or two."""
    store = logger("T-store")
    others = [logger(f"T-{n}") for n in range(4)]
    for n, it in enumerate([store, *others]):
        bring(text(air(n, hours=500)), it)
    mine = air(4, hours=500)
    with CaptureQueriesContext(connection) as asked:
        row = bring(text([*mine[:100], (mine[100][0], 1.0, 1.0), *mine[101:]]), store)
    assert figures(row)["name"] == "T-3"
    looked = [one["sql"] for one in asked.captured_queries if "FROM climate_reading WHERE logger = ANY" in one["sql"]]
    assert len(looked) == 1
    record = kept_at([one.number for one in others], sample(kept(others[3].number, 0, 2**31), AT_OTHERS).at)
    assert {len(one) for one in record.values()} == {AT_OTHERS}


def test_readings_by_key_are_those_of_the_record() -> None:
    it, other = logger("T-1"), logger("T-2")
    bring(text([("2025-01-01 00:00", 8.25, ""), ("2025-01-01 01:00", 9.5, 61), ("2025-01-01 02:00", 10, 62)]), it)
    whole = kept(it.number, 0, 2**31)
    found = kept_at([it.number, other.number], np.append(whole.at[:2], whole.at[2] + 1))
    assert list(found) == [it.number], "none of what has nothing then"
    for name in ("at", "t", "rh", "lux", "flags"):
        assert np.array_equal(getattr(found[it.number], name), getattr(whole, name)[:2], equal_nan=True)


@pytest.mark.parametrize(("shift", "words"), [(1, "1 hours earlier"), (-2, "2 hours later")])
def test_a_clock_that_was_set_otherwise(shift: int, words: str, volunteer: Person, as_person: Browser) -> None:
    it = logger()
    bring(text(air(1)), it)
    moved = [((datetime.fromisoformat(at) + timedelta(hours=shift)).strftime("%Y-%m-%d %H:%M"), t, rh) for at, t, rh in air(1)]
    row = bring(text(moved), it)
    told = figures(row)
    assert (told["cause"], told["shift"]) == ("clock", shift * 3600)
    assert words in as_person(volunteer).get(f"/climate/files/{row.pk}/").content.decode()
    assert not Rival.objects.exists()


def test_what_its_clock_showed_is_told_anew_and_it_is_read_so() -> None:
    it = logger(clock_kind="follows", zone="Europe/London")
    head = "time;temperature °C;rh %"
    bring(text(air(1, begin="2025-06-01"), head), it)
    otherwise = [((datetime.fromisoformat(at) - timedelta(hours=1)).strftime("%Y-%m-%d %H:%M"), t, rh) for at, t, rh in air(1, begin="2025-06-01")]
    row = bring(text(otherwise, head), it)
    assert figures(row)["shift"] == -3600
    with pytest.raises(Invalid) as same:
        answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={"clock": "follows"})
    assert "as before" in same.value.sentence
    row = read(answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={"clock": "utc"}))
    assert (row.state, row.counts["known"]) == ("done", 96)


@pytest.mark.parametrize(
    ("change", "cause"),
    [
        (lambda t, rh: (rh, t), "exchanged"), (lambda t, rh: (round(t, 1), round(rh)), "rounded"), (lambda t, rh: (round(t * 1.8 + 32, 1), rh), "unit"),
        (lambda t, rh: (round((t - 32) / 1.8, 1), rh), "unit"), (lambda t, rh: (t + 5, rh), ""),
    ],
)  # fmt: skip
def test_what_else_it_may_be(change: Callable[[float, float], tuple[float, float]], cause: str, volunteer: Person, as_person: Browser) -> None:
    """Exchanged columns as far as they do not show by themselves, which is asked before."""
    it, before = logger(), air(1, rh=30) if cause == "exchanged" else air(1)
    bring(text(before), it)
    row = bring(text([(at, *change(t, rh)) for at, t, rh in before]), it)
    assert figures(row)["cause"] == cause
    page = as_person(volunteer).get(f"/climate/files/{row.pk}/").content.decode()
    assert "contradicts the record throughout" in page
    assert len(held(it)) == 96


def test_what_was_answered_of_it_is_not_asked_again_for_another_logger() -> None:
    """Humidities as parts of one; the logger whose file it is has written % so far."""
    it, other = logger(), logger("T-8")
    bring(text(air(1)), it)
    bring(text(air(2)), other)
    parts = text([(at, t, round(rh / 100, 4)) for at, t, rh in air(2)])
    row = take_file(PROGRAM, Upload("T-7b.csv", parts), logger_id=it.pk)
    assert [one["code"] for one in row.questions] == ["share"]
    row = read(answer_file(PROGRAM, row.pk, version=row.version, logger_id=it.pk, answers={"share": "yes"}))
    assert figures(row)["name"] == "T-8"
    row = read(answer_file(PROGRAM, row.pk, version=row.version, logger_id=other.pk, answers={}))
    assert (row.state, row.counts["known"]) == ("done", 96)


def test_of_clocks_that_explain_it_alike_the_nearest_is_told() -> None:
    """Air that comes again every six hours is in the record 1, 7, 13 hours earlier and 5, 11 later."""
    at, wave = 3600 * np.arange(96), np.round(50 + 10 * np.sin(np.arange(96) / 6 * 2 * np.pi), 3)
    none, flags = np.full(96, np.nan), np.zeros(96, dtype=np.int64)
    record = Batch(at, np.full(96, 12.0), wave, none, flags)
    moved = Batch(at, np.full(96, 12.0), np.roll(wave, 1), none, flags)
    assert explained(Contradiction(96, 96, 0, 95 * 3600), moved, record).shift == 3600


def test_a_few_of_its_times_found_elsewhere_are_no_explanation() -> None:
    at, figures_of, flags = 3600 * np.arange(96), np.random.default_rng(5).normal(50, 5, 96).round(2), np.zeros(96, dtype=np.int64)
    whole = Batch(at, figures_of, figures_of, np.full(96, np.nan), flags)
    for known, said in ((11, False), (47, False), (48, True)):
        assert agree(whole, whole.some(np.arange(known))) is said, known


def test_a_few_other_values_are_kept_beside_the_first_without_a_question() -> None:
    it = logger()
    bring(text(air(1)), it)
    row = bring(text([(at, t, rh if n > 40 else rh + 1) for n, (at, t, rh) in enumerate(air(1))]), it)
    assert (row.state, row.counts["contradicting"], Rival.objects.count()) == ("done", 41, 41)


def test_eleven_times_are_no_record_that_could_be_contradicted_throughout() -> None:
    it = logger()
    bring(text(air(1)[:11]), it)
    assert bring(text(air(2)), it).counts["contradicting"] == 11
    other = logger("T-12")
    bring(text(air(1)[:12]), other)
    assert bring(text(air(2)), other).state == "asks"


def test_said_to_hold_both_are_kept_with_the_reason(curator: Person, as_person: Browser) -> None:
    it, client = logger(), as_person(curator)
    bring(text(air(1)), it)
    row = bring(text(air(2)), it)
    of = f"/climate/files/{row.pk}/"
    client.post(f"{of}hold/", {"version": row.version, "reason": " "})
    assert ClimateFile.objects.get(pk=row.pk).state == "asks", "not without a reason"
    client.post(f"{of}hold/", {"version": row.version, "reason": "the first file was a trial in the office"})
    row = read(row)
    assert (row.state, row.counts["contradicting"], Rival.objects.count()) == ("done", 96, 96)
    assert "read nevertheless: the first file was a trial in the office" in client.get(of).content.decode()
    assert Change.objects.get(what="climate_file.holds").reason == "the first file was a trial in the office"
    with pytest.raises(NotOpen):
        hold_file(PROGRAM, row.pk, version=row.version, reason="again")


def test_a_file_with_another_question_cannot_be_held() -> None:
    row = take_file(PROGRAM, Upload("x.csv", text(air(1))))
    with pytest.raises(NotOpen):
        hold_file(PROGRAM, row.pk, version=row.version, reason="it holds")


def test_from_the_watched_folder_it_becomes_somebodys_task(volunteer: Person, as_person: Browser) -> None:
    it, client = logger(serial="AB-1234"), as_person(volunteer)
    bring(text(air(1)), it)
    row = read(take_file(PROGRAM, Upload("T-7.csv", b"Serial number: AB-1234\n" + text(air(2)))))
    assert [one.pk for one in to_see().asking] == [row.pk]
    assert "T-7.csv contradicts the record of T-7" in client.get("/climate/").content.decode()
    client.post(f"/climate/files/{row.pk}/drop/", {"version": row.version, "reason": "the label was on the wrong one"})
    assert not to_see().asking


def test_a_program_is_told_the_figures_in_sentences_and_answers(volunteer: Person, as_person: Browser) -> None:
    it, client = logger(), as_person(volunteer)
    bring(text(air(1)), it)

    def post(path: str, **body: Any) -> Any:
        return client.post(path, {"id": str(uuid7()), **body}, content_type="application/json")

    key = post("/api/climate/files/", name="x.csv", logger=str(it.pk), content=base64.b64encode(text(air(2))).decode()).json()["id"]
    read(ClimateFile.objects.get(pk=key))
    told = client.get(f"/api/climate/files/{key}/").json()
    (question,) = told["questions"]
    assert (told["state"], question["code"], question["figures"]["contradicting"]) == ("asks", "contradicts", 96)
    assert question["words"][0] == "Of 96 times that stand in the record of T-7 already, this file has other figures for 96."
    assert post(f"/api/climate/files/{key}/hold/", version=told["version"], reason="").status_code == 400
    assert post(f"/api/climate/files/{key}/hold/", version=told["version"], reason="a trial before").json()["state"] == "ready"
    assert read(ClimateFile.objects.get(pk=key)).counts["contradicting"] == 96
