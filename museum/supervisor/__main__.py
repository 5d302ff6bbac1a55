"""python -m museum.supervisor demo | manage | private | part: the commands in bin/ and docker/ call these."""

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from museum.supervisor import parts
from museum.supervisor.child import SIGNALS, StartError, dies_with_us
from museum.supervisor.demo import Demo, demand_port, parts_gone
from museum.supervisor.house import House
from museum.supervisor.locks import Taken, held
from museum.supervisor.servers import servers

ROOT = Path(__file__).resolve().parent.parent.parent


def main() -> int:
    """Runs one of the commands; answers the exit status."""
    words = sys.argv[1:]
    # A shell starts `command &` with SIGINT ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, _interrupt)
    signal.signal(signal.SIGHUP, _interrupt)
    commands = {"demo": demo, "manage": manage, "private": private, "part": part}
    if not words or words[0] not in commands:
        print(f"Use one of: {', '.join(commands)}.", file=sys.stderr)
        return 2
    try:
        return commands[words[0]](words[1:])
    except StartError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def demo(words: Sequence[str]) -> int:
    """The whole program until Ctrl-C."""
    parser = argparse.ArgumentParser(prog="bin/demo", description="The whole program with the demo museum. Ctrl-C stops it.")
    parser.add_argument("--empty", action="store_true", help="start without the museum, with one administrator")
    parser.add_argument("--objects", type=int, default=0, metavar="N", help="N generated things instead of the demo museum's, to measure with")
    parser.add_argument("--port", type=int, default=8000, help="where the pages are (8000)")
    chosen = parser.parse_args(words)
    os.chdir(ROOT)
    house = House(_var())
    try:
        with held(house.lock("demo")), parts_gone(house) as lock:
            demand_port(chosen.port)
            with servers(house, os.environ, alone=True) as (environment, ours):
                one = Demo(house, environment, ours, lock, chosen.port)
                return one.run(empty=chosen.empty, objects=chosen.objects)
    except Taken:
        raise StartError(f"bin/demo runs on {house.var} already. Stop that one first, or set BURGONET_VAR to another folder.") from None


def manage(words: Sequence[str]) -> int:
    """manage.py with the servers up, and as bin/demo would run it unless the database is somebody else's."""
    with servers(House(_var()), os.environ) as (environment, _):
        if "DATABASE_URL" in environment:
            environment["BURGONET_DEMO"] = os.environ.get("BURGONET_DEMO", "1")
        return _run([sys.executable, str(ROOT / "manage.py"), *words], environment)


def private(words: Sequence[str]) -> int:
    """A command beside servers of its own, which are gone afterwards: tests and benches."""
    folder = Path(tempfile.mkdtemp(prefix="burgonet-private-"))
    house = House(folder, forgetful=True)
    try:
        with servers(house, {}) as (environment, _):
            # Tests make databases, so they come as the owner; their connections take the program's role.
            test = {
                "DATABASE_URL": environment["OWNER_DATABASE_URL"],
                "BURGONET_TEST": "1",
                "DJANGO_SETTINGS_MODULE": "museum.settings",
            }
            return _run(words, environment | test)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def part(words: Sequence[str]) -> int:
    """Becomes one part of the program, where something else watches over it: web [ADDRESS:PORT], worker, schedule."""
    commands = {
        "web": parts.web(words[1] if len(words) > 1 else "127.0.0.1:8000"),
        "worker": parts.worker(),
        "schedule": parts.schedule(_var()),
    }
    if not words or words[0] not in commands:
        print(f"Use one of: {', '.join(commands)}.", file=sys.stderr)
        return 2
    command = commands[words[0]]
    os.chdir(ROOT)
    os.execv(command[0], command)  # noqa: S606, the command is ours


def _var() -> Path:
    return Path(os.environ.get("BURGONET_VAR") or ROOT / "var").absolute()


def _run(command: Sequence[str], environment: Mapping[str, str]) -> int:
    """A command in the foreground: Ctrl-C is its own affair, other requests to stop are handed on."""
    child = subprocess.Popen([*dies_with_us(signal.SIGTERM), *command], env={**os.environ, **environment})
    before = {asked: signal.getsignal(asked) for asked in SIGNALS}
    signal.signal(signal.SIGINT, lambda *_: None)
    for asked in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(asked, lambda *_: child.send_signal(signal.SIGTERM))
    status = child.wait()
    for asked, handler in before.items():
        signal.signal(asked, handler)
    return status if status >= 0 else 128 - status


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


if __name__ == "__main__":
    sys.exit(main())
