"""Child processes that never outlive the supervisor."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

#: a log that has grown past this is put aside at the next start, over the one put aside before
LOG_BYTES = 20 * 1024 * 1024
STOP_SECONDS = 20.0
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class StartError(Exception):
    """Something did not start; the message is for the person at the terminal."""


@dataclass(frozen=True, slots=True)
class Child:
    """A running process, how it is asked to stop, and where it writes."""

    name: str
    process: "subprocess.Popen[bytes]"
    stop_signal: signal.Signals
    log: Path

    def alive(self) -> bool:
        return self.process.poll() is None


def dies_with_us(stop_signal: signal.Signals) -> list[str]:
    """What stands directly before a command: the kernel sends it the signal when the supervisor ends in whatever way.

    That is bound to the thread that starts it: start children from the main thread.
    """
    return ["setpriv", "--pdeathsig", stop_signal.name.removeprefix("SIG"), "--"]


def start(
    name: str, argv: Sequence[str | Path], log: Path, *, stop_signal: signal.Signals,
    env: Mapping[str, str] | None = None, keep: Sequence[int] = (),
) -> Child:  # fmt: skip
    """Starts a process in a session of its own, so that Ctrl-C reaches the supervisor only.

    `argv` holds `dies_with_us` at its place; `keep` are the file descriptors that the child inherits.
    """
    log.parent.mkdir(parents=True, exist_ok=True)
    if log.exists() and log.stat().st_size > LOG_BYTES:
        log.replace(log.with_suffix(".old.log"))
    with log.open("ab") as out:
        process = subprocess.Popen(
            [str(word) for word in argv], stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT,
            start_new_session=True, pass_fds=keep, env={**os.environ, **(env or {})},
        )  # fmt: skip
    return Child(name, process, stop_signal, log)


def wait_until(ready: Callable[[], bool], child: Child, seconds: float) -> None:
    """Polls until the child answers. Raises StartError with the end of its log when it has ended or time is up."""
    deadline = time.monotonic() + seconds
    while not ready():
        if not child.alive() or time.monotonic() > deadline:
            raise StartError(f"{child.name} did not start. The end of {child.log}:\n{tail(child.log)}")
        time.sleep(0.05)


def stop_all(children: Iterable[Child]) -> None:
    """Asks all of them at once, waits, and ends by force what does not listen. A further Ctrl-C does not disturb it."""
    children = list(children)
    with _undisturbed():
        for child in children:
            if child.alive():
                child.process.send_signal(child.stop_signal)
        deadline = time.monotonic() + STOP_SECONDS
        for child in children:
            try:
                child.process.wait(max(0.1, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                os.killpg(child.process.pid, signal.SIGKILL)
                child.process.wait()


def tail(log: Path, lines: int = 15) -> str:
    """The last lines of a log."""
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:]) if log.exists() else "(nothing written)"


@contextmanager
def _undisturbed() -> Iterator[None]:
    before = signal.pthread_sigmask(signal.SIG_BLOCK, SIGNALS)
    try:
        yield
    finally:
        # What came meanwhile asked for what has been done: it is forgotten.
        while signal.sigtimedwait(SIGNALS, 0):
            pass
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
