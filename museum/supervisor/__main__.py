"""python -m museum.supervisor demo | manage | private: the commands in bin/ call these."""

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from museum.supervisor.child import Child, StartError
from museum.supervisor.demo import Demo
from museum.supervisor.servers import House, given

ROOT = Path(__file__).resolve().parent.parent.parent


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one of the commands; answers the exit status."""
    # A shell starts `command &` with SIGINT ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, _interrupt)
    words = list(sys.argv[1:] if arguments is None else arguments)
    commands = {"demo": demo, "manage": manage, "private": private}
    if not words or words[0] not in commands:
        print("Use: demo, manage or private.", file=sys.stderr)
        return 2
    try:
        return commands[words[0]](words[1:])
    except StartError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def demo(words: list[str]) -> int:
    """The whole program until Ctrl-C."""
    parser = argparse.ArgumentParser(prog="bin/demo", description="The whole program with the demo museum.")
    parser.add_argument("--empty", action="store_true", help="start without the museum, with one administrator")
    parser.add_argument("--objects", type=int, default=0, metavar="N", help="fill the museum with N generated objects")
    parser.add_argument("--port", type=int, default=8000)
    chosen = parser.parse_args(words)
    with servers(House(_var()), alone=True) as environment:
        return Demo(ROOT, _var(), environment, port=chosen.port).run(empty=chosen.empty, objects=chosen.objects)


def manage(words: list[str]) -> int:
    """manage.py with the servers up."""
    with servers(House(_var())) as environment:
        environment = {**environment, "BURGONET_DEMO": os.environ.get("BURGONET_DEMO", "1")}
        return _run([sys.executable, str(ROOT / "manage.py"), *words], environment)


def private(words: list[str]) -> int:
    """A command beside servers of its own, gone afterwards: tests and benches."""
    folder = Path(tempfile.mkdtemp(prefix="burgonet-private-"))
    house = House(folder, forgetful=True)
    try:
        with servers(house) as environment:
            # Tests make databases, so they come as the owner; their connections take the program's role.
            owner = environment.get("OWNER_DATABASE_URL", environment["DATABASE_URL"])
            return _run(words, {**environment, "DATABASE_URL": owner, "BURGONET_TEST": "1", "DJANGO_SETTINGS_MODULE": "museum.settings"})
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        shutil.rmtree(house.sockets, ignore_errors=True)


@contextmanager
def servers(house: House, *, alone: bool = False) -> Iterator[dict[str, str]]:
    """The environment of servers that run: those named from outside, those found running, or our own for the while."""
    if given(os.environ):
        yield {"BURGONET_VAR": str(house.var), "SECRET_KEY": os.environ.get("SECRET_KEY") or house.secret("key"), **os.environ}
        return
    if house.running():
        if alone:
            raise StartError(f"A program is running on {house.var} already. Stop it first, or set BURGONET_VAR to another folder.")
        yield house.environment()
        return
    children: list[Child] = []
    try:
        children = house.start()
        yield house.environment()
    finally:
        for child in children:
            child.stop()


def _var() -> Path:
    return Path(os.environ.get("BURGONET_VAR", ROOT / "var")).absolute()


def _run(command: list[str], environment: dict[str, str]) -> int:
    return subprocess.run(command, env={**os.environ, **environment}, check=False).returncode


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


if __name__ == "__main__":
    sys.exit(main())
