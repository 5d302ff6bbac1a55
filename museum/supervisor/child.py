"""Child processes that never outlive the supervisor."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path


class StartError(Exception):
    """Something did not start; the message is for the person at the terminal."""


@dataclass(slots=True)
class Child:
    """A running process, how it is asked to stop, and where it writes."""

    name: str
    process: "subprocess.Popen[bytes]"
    stop_signal: signal.Signals
    log: Path

    def alive(self) -> bool:
        return self.process.poll() is None

    def stop(self, patience: float = 20.0) -> None:
        """Asks, waits, and ends it by force when it does not listen."""
        if self.alive():
            self.process.send_signal(self.stop_signal)
        try:
            self.process.wait(patience)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def start(
    name: str, argv: Sequence[str | Path], log: Path, *, stop_signal: signal.Signals, env: Mapping[str, str] | None = None
) -> Child:
    """Starts a process in a session of its own, so that Ctrl-C reaches the supervisor only.

    The kernel sends it `stop_signal` when the supervisor ends in whatever way, kill -9 included. That is bound
    to the thread that starts it: call from the main thread.
    """
    log.parent.mkdir(parents=True, exist_ok=True)
    command = ["setpriv", "--pdeathsig", stop_signal.name.removeprefix("SIG"), "--", *map(str, argv)]
    with log.open("ab") as out:
        process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT, start_new_session=True,
            env={**os.environ, **(env or {})},
        )  # fmt: skip
    return Child(name, process, stop_signal, log)


def wait_until(ready: Callable[[], bool], child: Child, seconds: float = 30.0) -> None:
    """Polls until the child answers. Raises StartError with the end of its log when it has ended or time is up."""
    deadline = time.monotonic() + seconds
    while not ready():
        if not child.alive() or time.monotonic() > deadline:
            raise StartError(f"{child.name} did not start. The end of {child.log}:\n{tail(child.log)}")
        time.sleep(0.05)


def tail(log: Path, lines: int = 15) -> str:
    """The last lines of a log."""
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:]) if log.exists() else "(nothing written)"
