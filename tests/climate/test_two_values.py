"""Two files say different things of one time: neither counts until somebody says which holds; that word may be changed, and nothing is overwritten."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from locations.climate import attention, queries
from locations.climate.actions.loggers import ChosenMeanwhile, choose_value, judge_readings
from locations.climate.models import ClimateFile, Logger, Reading, Rival, Verdict
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.models import Change
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests.climate.test_bringing_in import HOURS, bring, logger, text

Browser = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
BEGIN = datetime(2025, 1, 1, tzinfo=UTC)
NAN = "nan"


def otherwise(**rh: Any) -> bytes:
    """The day again, with other humidities: `h5=70` at five o'clock."""
    told = {int(name[1:]): value for name, value in rh.items()}
    return text([(at, t, told.get(n, humidity)) for n, (at, t, humidity) in enumerate(HOURS)])


def humidities(of: Logger, *hours: int) -> list[Any]:
    series = queries.readings(of, BEGIN, BEGIN + timedelta(days=1))
    return [NAN if series.rh[hour] != series.rh[hour] else round(float(series.rh[hour]), 2) for hour in hours]


def choose(of: Logger, file: ClimateFile, says: str) -> Verdict:
    return choose_value(PROGRAM, of.pk, file_id=file.pk, says=says, reason="compared with the card in the case", seen=last_word(file))


def last_word(file: ClimateFile) -> UUID | None:
    return Verdict.objects.filter(file=file).order_by("recorded_at", "id").values_list("pk", flat=True).last()


@pytest.fixture
def it() -> Logger:
    found = logger()
    bring(text(HOURS), found, "first.csv")
    return found


def test_the_later_value_holds_then_the_first_then_neither(it: Logger) -> None:
    later = bring(otherwise(h5=70, h6=71), it, "later.csv")
    assert humidities(it, 4, 5, 6, 7) == [64, NAN, NAN, 67]
    for says, expected in (("later", [70, 71]), ("first", [65, 66]), ("neither", [NAN, NAN]), ("later", [70, 71])):
        choose(it, later, says)
        assert humidities(it, 4, 5, 6, 7) == [64, *expected, 67], says
    assert [row.rh for row in Reading.objects.filter(logger=it.number).order_by("at")[5:7]] == [65, 66], "what was read stays as it was read"
    assert [row.rh for row in Rival.objects.order_by("at")] == [70, 71]
    last, told = Verdict.objects.latest("recorded_at"), Change.objects.filter(what="readings.judged", about__key=it.pk).order_by("n")
    assert (last.begin, last.end) == (BEGIN + timedelta(hours=5), BEGIN + timedelta(hours=6, seconds=1)), "from the first of them to the last"
    assert [(one.after["says"], one.after["file"]) for one in told] == [(says, "later.csv") for says in ("later", "first", "neither", "later")]


def test_a_choice_says_nothing_of_the_times_between(it: Logger) -> None:
    """From three to eight o'clock two instants are doubted: "neither" takes no others away."""
    later = bring(otherwise(h3=90, h8=91), it, "later.csv")
    choose(it, later, "neither")
    assert humidities(it, 3, 4, 5, 6, 7, 8) == [NAN, 64, 65, 66, 67, NAN]


def test_of_what_is_no_reading_a_choice_makes_none(it: Logger) -> None:
    """A sensor's fault, chosen, is still a fault; chosen against, it takes nothing away."""
    later = bring(otherwise(h5=0, h6=71), it, "later.csv")
    choose(it, later, "later")
    assert humidities(it, 5, 6) == [NAN, 71]
    choose(it, later, "first")
    assert humidities(it, 5, 6) == [65, 66]


def test_of_a_fault_that_was_in_first_a_choice_makes_no_reading() -> None:
    faulty = logger("T-8")
    bring(otherwise(h5=0), faulty, "faulty.csv")
    later = bring(text(HOURS), faulty, "later.csv")
    for says, expected in (("first", NAN), ("later", 65)):
        choose(faulty, later, says)
        assert humidities(faulty, 4, 5) == [64, expected], says


def test_each_file_is_chosen_for_by_itself_and_a_time_of_three_values_once(it: Logger) -> None:
    second, third = bring(otherwise(h5=70, h7=71), it, "second.csv"), bring(otherwise(h6=72, h7=73), it, "third.csv")
    assert [(one.file, one.count, [(first.rh, other.rh) for first, other in one.pairs]) for one in queries.contradictions(it, 5, 5)] == [
        (second, 2, [(65, 70), (67, 71)]), (third, 2, [(66, 72), (67, 73)]),
    ]  # fmt: skip
    assert [(one.file, one.count, len(one.pairs)) for one in queries.contradictions(it, 1, 1)] == [(second, 2, 1)]
    choose(it, second, "later")
    assert humidities(it, 5, 6, 7) == [70, NAN, 71]
    assert [(one.file, [other.rh for _, other in one.pairs]) for one in queries.contradictions(it, 5, 5)] == [(third, [72])]
    assert (attention.waiting()["contradicted"], attention.to_see().contradicted) == (1, [(it, 1)])
    choose(it, third, "later")
    assert humidities(it, 5, 6, 7) == [70, 72, 73]
    assert attention.waiting().get("contradicted", 0) == 0


def test_a_choice_of_before_files_were_named_is_for_its_time_only(it: Logger) -> None:
    bring(otherwise(h5=70, h9=71), it, "later.csv")
    act = Change.objects.filter(what="climate_file.read").values_list("act", flat=True)[0]
    Verdict.objects.create(act_id=act, logger=it, begin=BEGIN, end=BEGIN + timedelta(hours=9), says="first", reason="compared")
    assert humidities(it, 5, 9) == [65, NAN]
    assert [other.rh for one in queries.contradictions(it, 5, 5) for _, other in one.pairs] == [71]


def test_a_word_on_all_readings_of_a_time_goes_over_a_choice_and_back(it: Logger) -> None:
    later = bring(otherwise(h5=70), it, "later.csv")
    choose(it, later, "later")
    span = {"begin": BEGIN, "end": BEGIN + timedelta(hours=10), "reason": "the clock of the later file was wrong"}
    judge_readings(PROGRAM, it.pk, says="good", **span)
    assert humidities(it, 4, 5) == [64, 65]
    judge_readings(PROGRAM, it.pk, says="left_out", **span)
    assert humidities(it, 4, 5) == [NAN, NAN]
    choose(it, later, "later")
    assert humidities(it, 4, 5) == [NAN, 70]


def test_of_several_lines_of_one_file_the_last(it: Logger) -> None:
    midnight = "2025-01-02 00:00"
    own = bring(text([(midnight, 8, 60), (midnight, 8, 63), (midnight, 8, 61), ("2025-01-02 01:00", 8, 62)]), it, "own.csv")
    day = BEGIN + timedelta(days=1)
    for says, expected in (("later", [61, 62]), ("first", [60, 62])):
        choose(it, own, says)
        assert [round(float(rh), 2) for rh in queries.readings(it, day, day + timedelta(hours=2)).rh] == expected


def test_a_choice_closes_no_hole(it: Logger) -> None:
    """A file with a hole of days and a contradicted hour on either side of it: who chose has not said what the hole was."""
    lines = otherwise(h5=70).decode() + "2025-01-04 00:00;8;60\n2025-01-04 00:00;8;61\n"
    later = bring(lines.encode(), it, "later.csv")
    choose(it, later, "later")
    assert (attention.waiting()["holes"], len(attention.to_see().holes)) == (1, 1)


def test_what_is_told_last_is_what_was_chosen(it: Logger) -> None:
    later = bring(otherwise(h23=50), it, "later.csv")
    assert queries.told_last([it])[it.number].at == BEGIN + timedelta(hours=22)
    choose(it, later, "later")
    assert queries.told_last([it])[it.number].rh == pytest.approx(50)


def test_another_value_of_before_what_is_looked_at_changes_nothing(it: Logger) -> None:
    """Of one logger the last day is read, of another an earlier one: what was doubted between them belongs to neither."""
    bring(text([("2025-01-05 00:00", 8, 40)]), it, "newest.csv")
    later = bring(otherwise(h22=50, h23=51), it, "later.csv")
    old = logger("T-8")
    bring(text(HOURS), old, "old.csv")
    choose(it, later, "later")
    assert {number: round(told.rh or 0) for number, told in queries.told_last([it, old]).items()} == {it.number: 40, old.number: 83}


def test_wrong_words_are_refused_and_a_file_without_another_value_is_none(it: Logger) -> None:
    later = bring(otherwise(h5=70), it, "later.csv")
    first, elsewhere = ClimateFile.objects.get(name="first.csv"), logger("T-8")
    with pytest.raises(Invalid):
        choose(it, later, "good")
    with pytest.raises(Invalid):
        choose_value(PROGRAM, it.pk, file_id=later.pk, says="later", reason=" ")
    for of, file_id in ((it, first.pk), (elsewhere, later.pk), (it, uuid7())):
        with pytest.raises(NotFound):
            choose_value(PROGRAM, of.pk, file_id=file_id, says="later", reason="x")
    with pytest.raises(Invalid):
        judge_readings(PROGRAM, it.pk, begin=BEGIN, end=BEGIN + timedelta(hours=1), says="later", reason="x")
    assert not Verdict.objects.exists()
    with pytest.raises(IntegrityError, match="verdict_names_the_file"), transaction.atomic():
        Verdict.objects.create(logger=it, begin=BEGIN, end=BEGIN + timedelta(hours=1), says="later", reason="x", act_id=uuid7())


def test_the_page_shows_both_and_takes_the_choice(it: Logger, as_person: Browser, curator: Person, volunteer: Person) -> None:
    later = bring(otherwise(h5=70.5), it, "later.csv")
    page = f"/climate/loggers/{it.pk}/"
    seen = as_person(volunteer).get(page).content.decode()
    assert "later.csv brought other values" in seen
    assert ("65 %" in seen, "70.5 %" in seen, "Say which holds</summary>" in seen) == (True, True, False)
    client: Client = as_person(curator)
    assert 'name="file"' in client.get(page).content.decode()
    refused = client.post(f"{page}tell/", {"do": "choose", "file": later.pk, "says": "later", "note": " "})
    assert (refused.status_code, "Say why." in refused.content.decode()) == (400, True)
    assert 'value="later" required checked' in refused.content.decode(), "what was chosen is kept"
    assert client.post(f"{page}tell/", {"do": "choose", "file": later.pk, "says": "later", "note": "the first was another's"}).status_code == 302
    said = client.get(page).content.decode()
    assert ("Of two values the later one holds" in said or "of two values the later one holds" in said, "Say otherwise" in said) == (True, True)
    assert humidities(it, 5) == [70.5]
    assert client.post(f"{page}tell/", {"do": "choose", "file": later.pk, "says": "first", "note": "it was right", "seen": last_word(later)}).status_code == 302
    offered = [line for line in client.get(page).content.decode().split("<li>") if "Say otherwise" in line]
    assert (["it was right" in line for line in offered], humidities(it, 5)) == ([True], [65]), "only the last word is offered for change"


def test_programs_choose_too(it: Logger, as_person: Browser, curator: Person) -> None:
    later = bring(otherwise(h5=70), it, "later.csv")
    client, of = as_person(curator), f"/api/climate/loggers/{it.pk}/choose/"
    said = {"id": str(uuid7()), "file": str(later.pk), "says": "later", "reason": "the first was another's"}
    for _again in range(2):
        assert client.post(of, said, content_type="application/json").status_code == 201
    assert (Verdict.objects.count(), humidities(it, 5)) == (1, [70])
    answer = client.post(of, said | {"id": str(uuid7()), "says": "good"}, content_type="application/json")
    assert (answer.status_code, "first, later, neither" in str(answer.json())) == (400, True)


def test_who_has_not_seen_what_was_said_meanwhile_is_told_and_says_nothing_over_it(it: Logger, actor_of: Callable[[Person], Actor], curator: Person) -> None:
    later, other = bring(otherwise(h5=70), it, "later.csv"), bring(otherwise(h7=71), it, "other.csv")
    said = {"file_id": later.pk, "reason": "compared"}
    first = choose_value(actor_of(curator), it.pk, says="later", **said)
    for seen in (None, uuid7()):
        with pytest.raises(ChosenMeanwhile) as refused:
            choose_value(PROGRAM, it.pk, says="first", seen=seen, **said)
    assert refused.value.sentence.startswith(f"{curator.name} said it meanwhile: of two values the later one holds.")
    assert (refused.value.data["stands"], humidities(it, 5)) == (first.pk, [70])
    choose_value(PROGRAM, it.pk, file_id=other.pk, says="first", reason="of another file nobody has said anything")
    choose_value(PROGRAM, it.pk, says="first", seen=first.pk, **said)
    assert humidities(it, 5, 7) == [65, 67]


def test_two_people_at_the_page_at_once(it: Logger, as_person: Browser, curator: Person, registrar: Person) -> None:
    """The second sees what the first said, keeps what was typed, and may say otherwise with that in view."""
    later = bring(otherwise(h5=70), it, "later.csv")
    page, said = f"/climate/loggers/{it.pk}/", {"do": "choose", "file": later.pk, "seen": ""}
    assert as_person(curator).post(f"{page}tell/", said | {"says": "later", "note": "read out anew"}).status_code == 302
    second = as_person(registrar).post(f"{page}tell/", said | {"says": "first", "note": "of another logger"})
    shown = second.content.decode()
    assert (second.status_code, f"{curator.name} said it meanwhile" in shown, "of another logger" in shown) == (400, True, True)
    assert "<details open><summary>Say otherwise</summary>" in shown
    assert f'name="seen" value="{last_word(later)}"' in shown
    assert humidities(it, 5) == [70]


def test_the_page_of_a_file_says_what_still_waits(it: Logger, as_person: Browser, curator: Person) -> None:
    later = bring(otherwise(h5=70), it, "later.csv")
    client = as_person(curator)
    page = f"/climate/files/{later.pk}/"
    waits = client.get(page).content.decode()
    assert (f"/climate/loggers/{it.pk}/#two-{later.pk}" in waits, "neither is used until" in waits) == (True, True)
    assert f'id="two-{later.pk}"' in client.get(f"/climate/loggers/{it.pk}/").content.decode()
    choose(it, later, "later")
    said = client.get(page).content.decode()
    assert ("neither is used until" in said, "it has been said which holds" in said) == (False, True)


def test_what_is_not_yet_read_is_not_judged(it: Logger) -> None:
    tonight = clock.start_of(clock.today() + timedelta(days=1))
    judge_readings(PROGRAM, it.pk, begin=BEGIN, end=tonight, says="left_out", reason="its sensor is dirty")
    with pytest.raises(Invalid) as refused:
        judge_readings(PROGRAM, it.pk, begin=BEGIN, end=tonight + timedelta(seconds=1), says="left_out", reason="its sensor is dirty")
    assert refused.value.sentence.startswith("What is not yet read")
