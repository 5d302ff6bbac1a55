"""What the program consists of when it runs: web server, worker, schedule. The same at home and on a server."""

import sys
from pathlib import Path

CELERY = [sys.executable, "-m", "celery", "-A", "museum"]


def web(bind: str) -> list[str]:
    """The web server; `bind` is address:port."""
    return [
        sys.executable, "-m", "gunicorn", "museum.wsgi", "--bind", bind, "--worker-class", "gthread", "--workers", "2",
        "--threads", "4", "--preload", "--access-logfile", "-", "--graceful-timeout", "5",
    ]  # fmt: skip


def worker() -> list[str]:
    """Background work. Processes, not threads: paper is made by one render at a time in a process."""
    quiet = ["--without-gossip", "--without-mingle"]
    return [*CELERY, "worker", "--pool", "prefork", "--concurrency", "2", "--loglevel", "INFO", *quiet]


def schedule(var: Path) -> list[str]:
    """What happens by the clock; exactly one of these runs."""
    return [*CELERY, "beat", "--schedule", str(var / "schedule"), "--pidfile", "", "--loglevel", "INFO"]
