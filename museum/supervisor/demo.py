"""bin/demo: prepares the database, fills it once, and runs web, worker and schedule until it is told to stop."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager

from museum.supervisor import parts
from museum.supervisor.child import Child, StartError, dies_with_us, start, stop_all, tail
from museum.supervisor.house import House
from museum.supervisor.locks import Taken, held
from museum.supervisor.servers import GONE_SECONDS

WATCH_SECONDS = 0.5
ANSWER_SECONDS = 60.0


@contextmanager
def parts_gone(house: House) -> Iterator[int]:
    """Once those of a killed run have ended; gives the lock that the new ones inherit. Raises StartError."""
    with ExitStack() as door:
        try:
            lock = door.enter_context(held(house.lock("parts"), patience=GONE_SECONDS))
        except Taken:
            raise StartError(f"Parts of an earlier run still work on {house.var}. See {house.var / 'log'}.") from None
        yield lock


def demand_port(port: int) -> None:
    """Raises StartError, naming another, when somebody listens there."""
    with socket.socket() as line:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            line.bind(("127.0.0.1", port))
        except OverflowError:
            raise StartError(f"Port {port} does not exist. Choose one from 1024 to 65535.") from None
        except PermissionError:
            raise StartError(f"Port {port} is for administrators. Choose another: bin/demo --port 8000") from None
        except OSError:
            raise StartError(f"Port {port} is taken. Choose another: bin/demo --port {port + 1}") from None


class Demo:
    """One run of the whole program beside servers that are up."""

    def __init__(self, house: House, environment: Mapping[str, str], servers: Sequence[Child], lock: int, port: int) -> None:
        self.house, self.lock, self.port = house, lock, port
        self.address = f"http://localhost:{port}"
        self.environment = {
            **environment, "BURGONET_DEMO": os.environ.get("BURGONET_DEMO", "1"),
            "SITE_URL": os.environ.get("SITE_URL", self.address), "DJANGO_SETTINGS_MODULE": "museum.settings",
        }  # fmt: skip
        self.servers = servers
        self.children: list[Child] = []

    def run(self, *, empty: bool, objects: int) -> int:
        """Starts all, waits for Ctrl-C or for a child that ends, stops all. Answers the exit status."""
        try:
            said = self._start_all(empty=empty, objects=objects)
            print(
                f"\nBurgonet runs at {self.address}\n\n{said}\n\nCtrl-C stops it. Logs: {self.house.var / 'log'}",
                flush=True,
            )
            return self.watch()
        except KeyboardInterrupt:
            print("\nStopping", file=sys.stderr)
            return 0
        finally:
            stop_all(self.children)

    def _start_all(self, *, empty: bool, objects: int) -> str:
        """Answers what there is to tell, sign-ins above all. The pages come up while the museum is looked after."""
        self._manage("Preparing the database", "prepare")
        self._start("web", parts.web(f"127.0.0.1:{self.port}"))
        if empty:
            said = self._manage("", "first_administrator", "--once")
        else:
            people = ["--people"] if objects else []
            said = self._manage("Looking after the demo museum; the first time takes longer", "load_demo", *people)
        if objects:
            said += self._manage(f"Filling the museum up to {objects} generated things", "generate", str(objects), "--up-to")
        self._start("worker", parts.worker())
        self._start("schedule", parts.schedule(self.house.var))
        self._wait_for_page()
        return said.strip()

    def _start(self, name: str, command: Sequence[str]) -> None:
        argv = [*dies_with_us(signal.SIGTERM), *command]
        log = self.house.log(name)
        self.children.append(start(name, argv, log, stop_signal=signal.SIGTERM, env=self.environment, keep=[self.lock]))

    def _manage(self, doing: str, *words: str) -> str:
        """One management command; what it prints is returned. Raises StartError."""
        if doing:
            print(doing, file=sys.stderr)
        command = [*dies_with_us(signal.SIGTERM), sys.executable, "manage.py", *words]
        done = subprocess.run(command, env={**os.environ, **self.environment}, text=True, capture_output=True, check=False)
        if done.returncode:
            raise StartError(f"manage.py {' '.join(words)} failed:\n{(done.stderr or done.stdout).strip()[-3000:]}")
        return done.stdout

    def _wait_for_page(self) -> None:
        deadline = time.monotonic() + ANSWER_SECONDS
        while not self._answers():
            for child in self.children:
                if not child.alive() or time.monotonic() > deadline:
                    raise StartError(f"{child.name} does not work. The end of {child.log}:\n{tail(child.log)}")
            time.sleep(0.1)

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/", timeout=20) as page:
                return bool(page.status == 200)
        except urllib.error.HTTPError as error:
            log = self.house.log("web")
            raise StartError(f"The first page answers {error.code}. The end of {log}:\n{tail(log)}") from None
        except OSError:
            return False

    def watch(self) -> int:
        """Until something ends that should run."""
        while True:
            for child in (*self.servers, *self.children):
                if not child.alive():
                    print(f"{child.name} ended by itself. The end of {child.log}:\n{tail(child.log)}", file=sys.stderr)
                    return 1
            time.sleep(WATCH_SECONDS)
