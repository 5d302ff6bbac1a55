"""Mails of alarms over a real mail server: to each curator once when raised, once when over, never two, and no old news."""

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from conservation.checks import alarm_mails
from conservation.checks.models import AlarmMail, Reminder
from conservation.checks.reminders import unsettled
from conservation.checks.tasks import catch_up, send_alarm_mails
from locations.climate.actions.alarms import standing_alarms
from locations.climate.actions.loggers import judge_readings
from locations.climate.models import ClimateAlarm, Logger
from locations.climate.tasks import raise_alarms
from museum import clock
from museum.people.actor import PROGRAM
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock
from tests.checks.conftest import Letterbox
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import START, logger_at
from tests.conftest import cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def damp(society: Any, curator: Person, volunteer: Person) -> Logger:
    """The cold store has been over 65 % for 60 hours and still is; beside the curator stands a volunteer, who gets no mail of it."""
    it = logger_at(stock.shelf()[1], "T-1")
    send(it, air((60, 68)))
    return it


def mail(hour: int) -> int:
    with later(hour):
        raise_alarms()
        catch_up()
        return send_alarm_mails()


def subjects(box: Letterbox) -> list[str]:
    return [str(one["Subject"]) for _to, one in box.mails]


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
    assert sorted(subjects(letterbox)) == ["Cold store (mould): red alarm", "Cold store: amber alarm", "Cold store: red alarm"]
    mould = [body for body in bodies(letterbox) if "mould must be presumed" in body]
    assert len(mould) == 1
    # environment.md 10, mould suspected
    assert "do not brush, blow or wipe it" in mould[0]
    assert "ask a conservator before any cleaning" in mould[0]


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
    again = subjects(letterbox).index("Cold store: amber alarm again")
    # START is 10 September 2025
    assert "It is number 2 of this damp season there, which began on 12 September 2025" in list(bodies(letterbox))[again]
    send(damp, air((24 * 100, 55), (60, 68)), first=320, name="3.csv")
    mail(320 + 24 * 100 + 60)
    assert subjects(letterbox)[-1] == "Cold store: amber alarm", "after a dry quarter of a year it is a new season"


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
        assert send_alarm_mails() == 2
        with CaptureQueriesContext(connection) as goes_on:
            send_alarm_mails()
    assert len(goes_on) == len(alone) + 1, "one question for both alarms"
