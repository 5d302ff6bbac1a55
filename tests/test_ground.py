"""The ground under all parts: keys, settings from the environment, the clock."""

import os
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ImproperlyConfigured

from museum import clock, env
from museum.ids import uuid7


def test_keys_say_their_version_and_their_millisecond() -> None:
    """RFC 9562, 5.7."""
    before = time.time_ns() // 1_000_000
    key = uuid7()
    after = time.time_ns() // 1_000_000
    assert (key.version, key.variant) == (7, "specified in RFC 4122")
    assert before <= key.int >> 80 <= after


def test_keys_sort_by_the_time_they_were_made() -> None:
    keys = []
    for pause in (0.002, *[2e-6] * 200):
        keys.append(uuid7())
        time.sleep(pause)
    assert keys == sorted(keys), "within a millisecond too: facts of one act are told in the order in which they were written"


def test_keys_are_not_made_twice() -> None:
    assert len({uuid7() for _ in range(10_000)}) == 10_000


def test_a_value_comes_from_the_environment_or_from_a_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("from a file\n")
    monkeypatch.setenv("THING_FILE", str(tmp_path / "secret"))
    assert env.text("THING") == "from a file"
    monkeypatch.setenv("THING", "direct")
    assert env.text("THING") == "direct"


def test_a_missing_value_is_named() -> None:
    with pytest.raises(ImproperlyConfigured, match="NOT_THERE is not set"):
        env.text("NOT_THERE")


@pytest.mark.parametrize(("said", "meant"), [("1", True), ("Yes", True), ("on", True), ("0", False), ("false", False), ("", False)])
def test_flags(monkeypatch: pytest.MonkeyPatch, said: str, meant: bool) -> None:
    monkeypatch.setenv("FLAG", said)
    assert env.flag("FLAG") is meant


def test_what_is_no_flag_or_number_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THING", "perhaps")
    with pytest.raises(ImproperlyConfigured, match="perhaps"):
        env.flag("THING")
    with pytest.raises(ImproperlyConfigured, match="perhaps"):
        env.number("THING", 1)


def test_lists_and_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THING", " a, b ,,c")
    assert env.words("THING") == ["a", "b", "c"]
    monkeypatch.setenv("THING", "-5")
    assert env.number("THING", 1) == -5


def test_the_address_of_a_database() -> None:
    found = env.database("postgresql://house:p%40ss@/burgonet?host=/run/short&sslmode=disable")
    assert (found["NAME"], found["USER"], found["PASSWORD"], found["HOST"]) == (
        "burgonet",
        "house",
        "p@ss",
        "/run/short",
    )
    assert found["OPTIONS"] == {"sslmode": "disable"}
    assert env.database("postgres://u:p@db.example.org:5433/x")["PORT"] == "5433"
    with pytest.raises(ImproperlyConfigured, match="PostgreSQL"):
        env.database("sqlite:///x")


@pytest.mark.parametrize(("site", "behind", "said"), [("https://helmets.example.org", "1", "max-age=31536000"), ("http://localhost:8000", "1", "None")])
def test_whoever_came_by_https_stays_with_it(site: str, behind: str, said: str) -> None:
    """RFC 6797: the header counts only where it comes by HTTPS, which a proxy tells."""
    asked = (
        "import django; django.setup()\n"
        "from django.http import HttpResponse\nfrom django.middleware.security import SecurityMiddleware\nfrom django.test import RequestFactory\n"
        "answer = SecurityMiddleware(lambda request: HttpResponse())(RequestFactory().get('/', HTTP_X_FORWARDED_PROTO='https'))\n"
        "print(answer.headers.get('Strict-Transport-Security'))"
    )
    surroundings = os.environ | {"SITE_URL": site, "BEHIND_PROXY": behind, "DJANGO_SETTINGS_MODULE": "museum.settings"}
    found = subprocess.run([sys.executable, "-c", asked], env=surroundings, capture_output=True, text=True, check=True)
    assert found.stdout.strip() == said


def test_a_day_begins_at_the_society_s_midnight(settings: object) -> None:
    with clock.at(datetime(2026, 7, 1, 23, 30, tzinfo=UTC)):
        assert clock.today().isoformat() == "2026-07-02", "summer time in London"
    assert clock.now() > datetime(2026, 7, 1, tzinfo=UTC)


def test_an_instant_of_another_zone_is_told_in_utc() -> None:
    with clock.at(datetime(2026, 7, 1, 12, 0, tzinfo=ZoneInfo("Europe/London"))):
        assert clock.now().isoformat() == "2026-07-01T11:00:00+00:00"
