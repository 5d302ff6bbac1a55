"""The renderer lives in the worker: the web process never loads it, the worker knows its work."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WEB = "import django; django.setup(); import museum.urls, sys; print('weasyprint' in sys.modules)"
WORKER = (
    "import django; django.setup(); from museum.celery import app; app.loader.import_default_modules();"
    "from museum.jobs.kinds import KINDS; print(sorted(KINDS)); print(sorted(app.tasks))"
)


def run(code: str) -> str:
    environment = {"DJANGO_SETTINGS_MODULE": "museum.settings"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def test_the_web_process_does_not_load_the_renderer() -> None:
    assert run(WEB).strip() == "False"


def test_the_worker_knows_the_work_on_papers_and_what_the_schedule_sends() -> None:
    from museum.celery import app

    known = run(WORKER)
    for name in ("issue_paper", "reprint_paper"):
        assert f"'{name}'" in known
    for entry in app.conf.beat_schedule.values():
        assert f"'{entry['task']}'" in known, entry
