"""Supervisors as separate processes, and what they leave behind."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import psycopg

ROOT = Path(__file__).resolve().parents[2]
#: the suite's own servers, of which the supervisors under test must know nothing
OURS = ("DATABASE_URL", "OWNER_DATABASE_URL", "REDIS_URL", "SECRET_KEY", "SITE_URL")


def environment(var: Path) -> dict[str, str]:
    clean = {name: value for name, value in os.environ.items() if name not in OURS and not name.startswith("BURGONET_")}
    return clean | {"BURGONET_VAR": str(var), "PYTHONPATH": str(ROOT)}


def run(var: Path, *words: str, cwd: Path = ROOT) -> "subprocess.CompletedProcess[str]":
    """One command of the supervisor, to its end."""
    command = [sys.executable, "-m", "museum.supervisor", *words]
    return subprocess.run(command, cwd=cwd, env=environment(var), capture_output=True, text=True, timeout=180, check=False)


class Running:
    """A process under test and the lines it prints."""

    def __init__(self, var: Path, *words: str) -> None:
        command = [sys.executable, "-m", *words]
        self.process = subprocess.Popen(command, cwd=ROOT, env=environment(var), stdout=subprocess.PIPE, text=True)

    def until(self, said: Callable[[str], bool]) -> str:
        """The first line for which this is so."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if said(line):
                return line
        raise AssertionError(f"ended with {self.process.wait()} before that was said")

    def end(self, asked: int) -> int:
        self.process.send_signal(asked)
        return self.process.wait(120)


def hold(var: Path) -> tuple[Running, dict[str, Any]]:
    """A holder whose servers answer, and their environment."""
    holder = Running(var, "tests.supervisor.holder", str(var))
    return holder, json.loads(holder.until(lambda line: line.startswith("{")))


def left(var: Path) -> list[str]:
    """Live processes that belong to a data folder, by where they stand or by what they were told."""
    found = []
    for process in (path for path in Path("/proc").iterdir() if path.name.isdigit()):
        try:
            told = f"BURGONET_VAR={var}\0".encode() in (process / "environ").read_bytes()
            stands = str((process / "cwd").readlink()).startswith(f"{var}/")
            words = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode()
        except OSError:
            continue
        if told or stands:
            found.append(f"{process.name} {words}")
    return found


def gone(var: Path, seconds: float = 60) -> list[str]:
    """What is still there of a data folder's processes after a while; empty as soon as nothing is."""
    end = time.monotonic() + seconds
    while (still := left(var)) and time.monotonic() < end:
        time.sleep(0.05)
    return still


def add_row(url: str) -> None:
    with psycopg.connect(url) as line:
        line.execute("CREATE TABLE IF NOT EXISTS kept (n integer)")
        line.execute("INSERT INTO kept VALUES (1)")


def rows(url: str) -> int:
    with psycopg.connect(url) as line:
        found = line.execute("SELECT count(*) FROM kept").fetchone()
    assert found is not None
    return int(found[0])
