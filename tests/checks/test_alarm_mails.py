"""Mails of alarms over a real mail server: to each curator once when raised, once when over, never two, and no old news."""

from collections.abc import Iterable
from datetime import timedelta
from email.header import decode_header, make_header
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.db.models import Count
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from conservation.checks import alarm_letter, alarm_mails
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry
from conservation.checks.models import AlarmMail, Reminder
from conservation.checks.reminders import unsettled
from conservation.checks.tasks import catch_up, send_alarm_mails
from locations.climate.actions.alarms import standing_alarms
from locations.climate.actions.loggers import judge_readings
from locations.climate.models import ClimateAlarm, Logger, LoggerStay
from locations.climate.tasks import raise_alarms
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock
from tests.checks.conftest import Letterbox
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import START, logger_at, put
from tests.conftest import cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def damp(society: Any, curator: Person, volunteer: Person) -> Logger:
    """The cold store has been over 65 % for 60 hours and still is; beside the curator stands a volunteer, who gets no mail of it."""
    it = logger_at(stock.shelf()[1], "T-1")
    send(it, air((60, 68)))
    return it


def dry_store() -> Place:
    return make_place(PROGRAM, place_id=uuid7(), level="room", code="H-D", name="Dry store", parent_id=Place.objects.get(code="H").pk, use="store")


def mail(hour: int) -> int:
    with later(hour):
        raise_alarms()
        catch_up()
        return send_alarm_mails()


def subjects(box: Letterbox) -> list[str]:
    return [str(make_header(decode_header(one["Subject"]))) for _to, one in box.mails]


def bodies(box: Letterbox) -> Iterable[str]:
    for _to, one in box.mails:
        text = one.get_payload(decode=True)
        assert isinstance(text, bytes)
        yield " ".join(text.decode().split())


def test_one_mail_when_it_is_raised_and_one_when_it_is_over(damp: Logger, letterbox: Letterbox) -> None:
    assert mail(60) == 1
    assert mail(61) == 0
    send(damp, air((20, 68)), first=60, name="2.csv")
    assert mail(80) == 0, "it goes on: no second mail"
    send(damp, air((9, 50)), first=80, name="3.csv")
    assert mail(90) == 0, "two days until it is told as over: air about the limit comes back"
    assert mail(128) == 1
    assert mail(129) == 0
    assert [to for to, _mail in letterbox.mails] == [["ivo@example.org"]] * 2
    assert subjects(letterbox) == ["Cold store: amber alarm", "Cold store: amber alarm is over"]
    raised, over = bodies(letterbox)
    assert "Cold store: over 65 %, then never below 62 %, for at least 60 hours." in raised
    # its record begins with the run, so it may have been longer
    assert "Cold store: over 65 %, then never below 62 %, for at least 80 hours." in over
    # environment.md 10: at every computed warning
    assert all("This is an estimate from a sensor, not an inspection." in body for body in (raised, over))
    room = ClimateAlarm.objects.values_list("place", flat=True)[0]
    assert all(f"The climate there: {settings.SITE_URL}/climate/rooms/{room}/ " in body for body in (raised, over))


def test_red_is_told_apart_and_mould_with_its_cautions(damp: Logger, letterbox: Letterbox) -> None:
    mail(60)
    send(damp, air((50, 95)), first=60, name="2.csv")
    mail(110)
    assert subjects(letterbox) == ["Cold store: amber alarm", "Cold store (mould): red alarm, and 1 more"]
    amber, grave = bodies(letterbox)
    assert ["mould must be presumed" in body for body in (amber, grave)] == [False, True]
    assert grave.index("* Cold store (mould): red alarm") < grave.index("* Cold store: red alarm Cold store: over 85 %")
    # environment.md 10, mould suspected
    assert ["do not brush, blow or wipe it" in body for body in (amber, grave)] == [False, True]
    assert "ask a conservator before any cleaning" in grave


def test_what_begins_or_is_over_at_once_is_one_mail_with_a_part_an_alarm(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    """One file tells of amber, red and mould of one place, a later one that all are over, and amber of another."""
    other = logger_at(dry_store(), "T-2")
    send(damp, air((50, 95)), first=60, name="2.csv")
    assert (mail(110), mail(111)) == (1, 0)
    send(damp, air((24 * 30, 40)), first=110, name="3.csv")
    send(other, air((60, 68)), first=24 * 30 + 50, name="4.csv")
    assert (mail(24 * 30 + 110), mail(24 * 30 + 111)) == (1, 0)
    assert subjects(letterbox) == ["Cold store (mould): red alarm, and 2 more", "Dry store: amber alarm; 3 are over"]
    begun, over = bodies(letterbox)
    assert [body.count("Since ") for body in (begun, over)] == [3, 1]
    assert [body.count("The alarm is over.") for body in (begun, over)] == [0, 3]
    # what the gravest of a place asks for, once, and of what is over nothing
    assert [(body.count("are due for a look"), body.count("Find out where the damp comes from")) for body in (begun, over)] == [(1, 0), (0, 1)]
    # a link for each place, and what is said of all is said once
    assert [body.count("The climate there:") for body in (begun, over)] == [1, 2]
    assert [body.count("This is an estimate from a sensor") for body in (begun, over)] == [1, 1]
    # each is told by its own thread: an end for every beginning
    assert sorted(AlarmMail.objects.values_list("says").annotate(n=Count("thread", distinct=True))) == [("over", 3), ("raised", 4)]


def test_a_mail_that_was_not_taken_is_tried_again_whole_after_an_hour(damp: Logger, letterbox: Letterbox) -> None:
    send(damp, air((50, 95)), first=60, name="2.csv")
    letterbox.full = True
    assert mail(110) == 0
    assert set(AlarmMail.objects.values_list("state", flat=True)) == {Reminder.State.FAILED}
    letterbox.full = False
    with later(110):
        assert send_alarm_mails() == 0, "not every five minutes"
    assert (mail(111), mail(112)) == (1, 0)
    assert subjects(letterbox) == ["Cold store (mould): red alarm, and 2 more"]
    assert list(AlarmMail.objects.values_list("says", "state")) == [("raised", "sent")] * 3


def test_an_address_that_the_server_does_not_know_was_not_reached(damp: Logger, letterbox: Letterbox) -> None:
    letterbox.unknown = True
    assert mail(60) == 0
    assert AlarmMail.objects.get().state == Reminder.State.FAILED
    letterbox.unknown = False
    assert mail(61) == 1


def test_what_failed_again_rests_from_its_last_try(damp: Logger, letterbox: Letterbox) -> None:
    letterbox.full = True
    assert (mail(60), mail(61)) == (0, 0)
    letterbox.full = False
    with later(61):
        assert send_alarm_mails() == 0
    assert mail(62) == 1


def test_what_failed_goes_with_what_is_new(damp: Logger, letterbox: Letterbox) -> None:
    letterbox.full = True
    mail(60)
    letterbox.full = False
    other = logger_at(dry_store(), "T-2")
    send(other, air((60, 78)), name="2.csv")
    with later(60):
        raise_alarms()
        assert send_alarm_mails() == 1
    assert subjects(letterbox) == ["Dry store: red alarm, and 2 more"]
    assert next(iter(bodies(letterbox))).count("Cold store: over 65 %") == 1


def test_of_a_beginning_that_never_arrived_the_end_is_told_once(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    letterbox.full = True
    mail(60)
    send(damp, air((9, 50)), first=60, name="2.csv")
    mail(128)
    letterbox.full = False
    assert (mail(130), mail(140)) == (1, 0)
    assert subjects(letterbox) == ["Cold store: amber alarm is over"]
    with later(24 * 12):
        assert alarm_mails._told_of([curator]) == []


def test_a_line_that_breaks_while_the_server_has_the_mail_is_not_known_and_not_repeated(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    letterbox.falters = True
    assert mail(60) == 0
    letterbox.falters = False
    assert mail(62) == 0
    assert len(letterbox.mails) == 1
    with later(62):
        assert [row.state for row in unsettled(curator)] == [Reminder.State.CLAIMED]


def test_what_another_worker_has_claimed_is_left_to_it(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    """It claimed one of the three between the look and the sending of this one."""
    send(damp, air((50, 95)), first=60, name="2.csv")
    with later(110):
        raise_alarms()
        people = [curator]
        alarms = alarm_mails._told_of(people)
        AlarmMail.objects.create(person=curator, thread=alarms[0].thread, says="raised")
        assert alarm_mails._sent(curator, alarms, alarm_mails.Told())
        assert send_alarm_mails() == 0
    assert subjects(letterbox) == ["Cold store (mould): red alarm, and 1 more"]


def test_only_a_mail_of_the_same_parts_is_a_double(damp: Logger, curator: Person) -> None:
    send(damp, air((50, 95)), first=60, name="2.csv")
    with later(110):
        raise_alarms()
        parts = [alarm_letter.part_of(curator, alarm_letter.News(one, "raised", 1)) for one in alarm_mails._told_of([curator])]
        names = [alarm_letter.letter(curator, some).extra_headers["Message-ID"] for some in (parts, parts[::-1], parts[:1], parts[:2], parts[1:])]
    assert (names[0] == names[1], len(set(names))) == (True, 4)


def test_one_that_cannot_be_told_keeps_no_other_waiting(damp: Logger, letterbox: Letterbox, monkeypatch: pytest.MonkeyPatch) -> None:
    send(damp, air((50, 95)), first=60, name="2.csv")
    words = alarm_letter.words_of

    def broken(alarm: ClimateAlarm) -> str:
        if alarm.kind == ClimateAlarm.Kind.MOULD:
            raise ValueError
        return words(alarm)

    with monkeypatch.context() as patch:
        patch.setattr(alarm_letter, "words_of", broken)
        assert (mail(110), mail(111)) == (1, 0)
    assert mail(112) == 1
    assert subjects(letterbox) == ["Cold store: red alarm, and 1 more", "Cold store (mould): red alarm"]


def test_what_was_over_before_anybody_knew_is_one_mail(damp: Logger, letterbox: Letterbox) -> None:
    send(damp, air((9, 50)), first=60, name="2.csv")
    mail(110)
    assert subjects(letterbox) == ["Cold store: amber alarm is over"]


def test_air_about_the_limit_is_one_alarm_and_two_mails(damp: Logger, letterbox: Letterbox) -> None:
    """Four times over 65 % for two days and more, each time below 62 % for a day: one alarm, told when it begins and two days after it is over."""
    mail(60)
    at = 60
    for n in range(3):
        send(damp, air((24, 60), (50, 67)), first=at, name=f"{n}.csv")
        at += 74
        mail(at)
    send(damp, air((60, 55)), first=at, name="dry.csv")
    for hour in (at + 20, at + 60, at + 61):
        mail(hour)
    assert [(one.level, one.figures["runs"], one.hours) for one in standing_alarms()] == [("amber", 4, 60)]
    assert subjects(letterbox) == ["Cold store: amber alarm", "Cold store: amber alarm is over"]
    assert "over 65 %, then never below 62 %, for at least 60 hours, the longest of 4 times" in list(bodies(letterbox))[1]


def test_one_told_as_over_that_goes_on_after_all_is_told_once_more(damp: Logger, letterbox: Letterbox) -> None:
    """The logger is read out each week: the file after the one that ended the alarm says that it came back within the day."""
    mail(60)
    send(damp, air((5, 55)), first=60, name="2.csv")
    mail(110)
    send(damp, air((10, 55), (100, 70)), first=65, name="3.csv")
    assert (mail(175), mail(176)) == (1, 0)
    send(damp, air((60, 50)), first=175, name="4.csv")
    assert (mail(235), mail(236)) == (1, 0)
    assert subjects(letterbox) == [
        "Cold store: amber alarm", "Cold store: amber alarm is over", "Cold store: amber alarm goes on", "Cold store: amber alarm is over",
    ]  # fmt: skip
    assert "We wrote that this was over; readings that came later say that it was not" in list(bodies(letterbox))[2]


def test_a_new_one_of_the_same_season_says_which_it_is(damp: Logger, letterbox: Letterbox) -> None:
    mail(60)
    send(damp, air((200, 55), (60, 68)), first=60, name="2.csv")
    mail(320)
    assert subjects(letterbox)[1] == "Cold store: amber alarm again; 1 is over"
    # START is 10 September 2025
    assert "It is number 2 of this damp season there, which began on 12 September 2025" in list(bodies(letterbox))[1]
    send(damp, air((24 * 100, 55), (60, 68)), first=320, name="3.csv")
    mail(320 + 24 * 100 + 60)
    assert subjects(letterbox)[-1] == "Cold store: amber alarm; 1 is over", "after a dry quarter of a year it is a new season"


def test_two_that_a_late_file_makes_one_are_not_told_as_taken_back(damp: Logger, letterbox: Letterbox) -> None:
    send(damp, air((60, 68)), first=160, name="3.csv")
    mail(220)
    send(damp, air((100, 68)), first=60, name="2.csv")
    mail(221)
    mail(400)
    assert standing_alarms().count() == 1
    assert not [body for body in bodies(letterbox) if "taken back" in body]


def test_amber_asks_to_find_the_damp_and_red_for_looks(damp: Logger, letterbox: Letterbox) -> None:
    mail(60)
    send(damp, air((60, 78)), first=60, name="2.csv")
    mail(120)
    amber, *more = bodies(letterbox)
    assert "Find out where the damp comes from" in amber
    assert "are due for a look" not in amber
    assert any("are due for a look" in body for body in more)


def test_a_case_is_named_with_its_room_and_its_looks_stand_together(society: Any, letterbox: Letterbox, curator: Person, as_person: Any) -> None:
    """More than one room has a shelf 1; what is to be looked at the same day is not to be sought behind what is overdue."""
    _hall, room, shelf = stock.shelf()
    put(stock.helmet(materials=["leather"]), shelf, START)
    put(late := stock.helmet(number="1900.1"), room, START)
    send(logger_at(shelf, "T-1"), air((60, 78)))
    assert mail(60) == 1
    assert subjects(letterbox) == ["Cold store › Shelf 1: red alarm, and 1 more"]
    (body,) = bodies(letterbox)
    assert "Cold store › Shelf 1: over 75 % for at least 60 hours" in body
    assert f"What is due: {settings.SITE_URL}/rounds/due/?why=climate" in body
    assert f"The climate there: {settings.SITE_URL}{reverse('climate:room', args=[shelf.pk])}" in body
    LoggerStay.objects.all().delete()
    with later(60):
        page = as_person(curator).get("/rounds/due/?why=climate").content.decode()
        start = as_person(curator).get("/").content.decode()
    assert "over 75 % for at least 60 hours" in page
    assert str(late.pk) not in page
    assert "Red alarm: Cold store › Shelf 1" in start
    assert reverse("climate:room", args=[room.pk]) in start, "a case at a wall is told on the page of its room"
    assert "/rounds/due/?why=climate" in start


def test_the_end_tells_of_looks_only_while_some_are_to_be_made(society: Any, letterbox: Letterbox, volunteer: Person, as_person: Any) -> None:
    cast("Nora", Role.CURATOR)
    _hall, room, _shelf = stock.shelf()
    thing = stock.helmet(materials=["leather"])
    put(thing, room, START)
    it = logger_at(room, "T-1")
    send(it, air((60, 78)))
    assert mail(60) == 1
    with later(61):
        assert "over 75 % for at least 60 hours" in as_person(volunteer).get(f"/things/{thing.pk}/look/").content.decode(), (
            "why, before the hand is stretched out"
        )
        record_check(Actor.of(volunteer), CheckEntry(id=uuid7(), object_id=thing.pk, sort="quick", happened_on=clock.today(), result="nothing_new"))
    send(it, air((60, 50)), first=60, name="2.csv")
    assert mail(120) == 1
    begun, over = bodies(letterbox)
    assert "are due for a look" in begun
    assert "still to be made" not in over
    assert "/rounds/due/ " in over


def test_old_files_are_no_news(damp: Logger, letterbox: Letterbox) -> None:
    send(damp, air((9, 50)), first=60, name="2.csv")
    assert mail(24 * 30) == 0
    assert letterbox.mails == []


def test_one_that_is_taken_back_is_told_to_those_who_heard_of_it(damp: Logger, letterbox: Letterbox) -> None:
    mail(60)
    with later(61):
        judge_readings(PROGRAM, damp.pk, begin=START, end=START + timedelta(hours=60), says="left_out", reason="the sensor was wet")
    assert mail(62) == 1
    assert mail(63) == 0
    assert "the alarm is taken back" in list(bodies(letterbox))[1]


def test_of_mould_that_is_taken_back_nobody_is_warned(damp: Logger, letterbox: Letterbox) -> None:
    send(damp, air((50, 95)), first=60, name="2.csv")
    mail(110)
    with later(111):
        judge_readings(PROGRAM, damp.pk, begin=START, end=START + timedelta(hours=110), says="left_out", reason="the sensor was wet")
    assert mail(112) == 1
    told, back = bodies(letterbox)
    assert [(body.count("(mould)"), "do not brush, blow or wipe it" in body) for body in (told, back)] == [(1, True), (1, False)]
    assert back.count("the alarm is taken back") == 3


def test_what_was_claimed_and_never_settled_is_not_repeated(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    """The worker died between claim and sending: nobody knows whether it went."""
    with later(60):
        raise_alarms()
        thread = damp.stays.get().place.climate_alarms.get().thread
        AlarmMail.objects.create(person=curator, thread=thread, says="raised")
        assert send_alarm_mails() == 0
    assert letterbox.mails == []
    assert AlarmMail.objects.get().state == Reminder.State.CLAIMED


def test_who_does_not_want_mail_gets_none(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    Person.objects.filter(pk=curator.pk).update(mail_reminders=False)
    assert mail(60) == 0


def test_a_server_that_is_away_is_told_and_breaks_nothing(damp: Logger, settings: Any, curator: Person, as_person: Any) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    assert mail(60) == 0
    assert AlarmMail.objects.get().state == Reminder.State.FAILED
    with later(61):
        day = clock.today()
        assert [(row.day, row.state) for row in unsettled(curator)] == [(day, "failed")]
        assert "may not have reached you" in as_person(curator).get("/").content.decode()
    with later(24 * 12):
        assert unsettled(curator) == []


def test_who_becomes_curator_later_is_told_no_old_news(damp: Logger, letterbox: Letterbox) -> None:
    mail(60)
    send(damp, air((9, 50)), first=60, name="2.csv")
    mail(128)
    cast("Nora", Role.CURATOR)
    assert mail(250) == 0, "over for a week when she came"
    with later(250):
        send(damp, air((60, 68)), first=69 + 120, name="3.csv")
    assert mail(251) == 2
    assert subjects(letterbox)[2:] == ["Cold store: amber alarm again"] * 2


def test_what_was_told_is_asked_at_once_for_all_and_no_more_once_it_is_over(damp: Logger, letterbox: Letterbox, curator: Person) -> None:
    mail(60)
    send(damp, air((9, 50)), first=60, name="2.csv")
    assert [one.level for one in alarm_mails._told_of([curator])] == ["amber"], "raised was told, over not yet"
    mail(128)
    with later(300):
        assert alarm_mails._told_of([curator]) == [], "a house of many years is not asked alarm by alarm every five minutes"
        with CaptureQueriesContext(connection) as alone:
            send_alarm_mails()
        send(damp, air((60, 77)), first=240, name="3.csv")
        raise_alarms()
        assert send_alarm_mails() == 1
        with CaptureQueriesContext(connection) as goes_on:
            send_alarm_mails()
    assert len(goes_on) == len(alone) + 1, "one question for all alarms"
