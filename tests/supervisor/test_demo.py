"""bin/demo's whole life: begun, asked, doubled, killed, begun again, stopped by Ctrl-C."""

import signal
import socket
import urllib.request
from pathlib import Path

import pytest

from museum.supervisor.child import start
from museum.supervisor.demo import Demo
from museum.supervisor.house import House
from tests.supervisor.kit import Running, gone, left, run


def free_port() -> int:
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])


def demo(var: Path, port: int) -> Running:
    """Running, its page answered."""
    running = Running(var, "museum.supervisor", "demo", "--empty", "--port", str(port))
    running.until(lambda line: line == f"Burgonet runs at http://localhost:{port}\n")
    return running


def page(port: int) -> str:
    with urllib.request.urlopen(f"http://localhost:{port}/", timeout=20) as answer:
        return str(answer.geturl())


def test_the_whole_program_starts_survives_a_kill_and_stops(tmp_path: Path) -> None:
    var, port = tmp_path / "var", free_port()
    first = demo(var, port)
    assert "admin@example.org  " in first.until(lambda line: "@" in line)
    assert page(port).endswith("/sign-in/")
    parts = " ".join(left(var))
    assert [part for part in ("gunicorn", "worker", "beat", "postgres", "valkey-server") if part not in parts] == []
    second = run(var, "demo", "--port", str(free_port()))
    assert (second.returncode, second.stderr.split(".")[0]) == (1, f"bin/demo runs on {var} already")

    first.end(signal.SIGKILL)
    again = demo(var, port)
    assert page(port).endswith("/sign-in/")
    assert again.end(signal.SIGINT) == 0
    assert gone(var, 1) == []


def test_a_part_that_ends_by_itself_is_said_with_the_end_of_its_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    house = House(tmp_path)
    broker = start("Valkey", ["sh", "-c", "echo no room; exit 3"], house.log("valkey"), stop_signal=signal.SIGTERM)
    assert Demo(house, {}, [broker], lock=0, port=0).watch() == 1
    assert capsys.readouterr().err == f"Valkey ended by itself. The end of {house.log('valkey')}:\nno room\n"
