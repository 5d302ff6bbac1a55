"""bin/demo: prepares the database, fills it once, and runs web, worker and schedule until it is told to stop."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Mapping
from pathlib import Path

from museum.supervisor.child import Child, StartError, start, tail

#: how often a child that ended is looked for
WATCH_SECONDS = 0.5


class Demo:
    """One run of the whole program beside servers that are up."""

    def __init__(self, root: Path, var: Path, environment: Mapping[str, str], *, port: int) -> None:
        self.root, self.var, self.port = root, var, port
        self.address = f"http://localhost:{port}"
        self.environment = {
            **environment, "BURGONET_DEMO": os.environ.get("BURGONET_DEMO", "1"),
            "SITE_URL": os.environ.get("SITE_URL", self.address), "DJANGO_SETTINGS_MODULE": "museum.settings",
        }  # fmt: skip
        self.children: list[Child] = []

    def run(self, *, empty: bool, objects: int) -> int:
        """Starts all, waits for Ctrl-C or for a child that ends, stops all. Answers the exit status."""
        self._demand_port()
        self._manage("prepare")
        said = self._manage("first_administrator") if empty else self._manage("load_demo")
        if objects:
            said += self._manage("generate", str(objects))
        try:
            self._start_all()
            print(f"\nBurgonet runs at {self.address}\n\n{said.strip()}\n\nCtrl-C stops it. Logs: {self.var / 'log'}", flush=True)
            return self._watch()
        except KeyboardInterrupt:
            return 0
        finally:
            for child in reversed(self.children):
                child.stop()

    def _demand_port(self) -> None:
        with socket.socket() as line:
            line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                line.bind(("127.0.0.1", self.port))
            except OSError:
                raise StartError(f"Port {self.port} is taken. Choose another: bin/demo --port {self.port + 1}") from None

    def _manage(self, *words: str) -> str:
        """One management command; what it prints is returned. Raises StartError."""
        command = [sys.executable, str(self.root / "manage.py"), *words]
        done = subprocess.run(command, env={**os.environ, **self.environment}, text=True, capture_output=True, check=False)
        if done.returncode:
            raise StartError(f"manage.py {' '.join(words)} failed:\n{(done.stderr or done.stdout).strip()[-3000:]}")
        return done.stdout

    def _start_all(self) -> None:
        python, celery = sys.executable, [sys.executable, "-m", "celery", "-A", "museum"]
        web = [
            python, "-m", "gunicorn", "museum.wsgi", "--bind", f"0.0.0.0:{self.port}", "--worker-class", "gthread",
            "--workers", "2", "--threads", "4", "--access-logfile", "-", "--graceful-timeout", "5",
        ]  # fmt: skip
        schedule = str(self.var / "schedule")
        commands = {
            "web": web,
            "worker": [*celery, "worker", "--pool", "prefork", "--concurrency", "2", "--loglevel", "INFO"],
            "schedule": [*celery, "beat", "--schedule", schedule, "--pidfile", "", "--loglevel", "INFO"],
        }
        for name, command in commands.items():
            log = self.var / "log" / f"{name}.log"
            child = start(name, command, log, stop_signal=signal.SIGTERM, env={**self.environment, "PYTHONPATH": str(self.root)})
            self.children.append(child)
        self._wait_for_page()

    def _wait_for_page(self, seconds: float = 60.0) -> None:
        """Until the sign-in page answers."""
        deadline, web = time.monotonic() + seconds, self.children[0]
        while not self._answers():
            if not web.alive() or time.monotonic() > deadline:
                raise StartError(f"The web server does not answer. The end of {web.log}:\n{tail(web.log)}")
            time.sleep(0.1)

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/", timeout=5) as page:
                return bool(page.status == 200)
        except urllib.error.HTTPError as error:
            raise StartError(f"The first page answers {error.code}. See {self.var / 'log' / 'web.log'}") from None
        except OSError:
            return False

    def _watch(self) -> int:
        """Until something ends that should run."""
        while True:
            for child in self.children:
                if not child.alive():
                    print(f"{child.name} ended by itself. The end of {child.log}:\n{tail(child.log)}", file=sys.stderr)
                    return 1
            time.sleep(WATCH_SECONDS)
