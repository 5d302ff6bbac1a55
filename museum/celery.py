"""The worker's side of the program. The schedule stands here, in code."""

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "museum.settings")

app = Celery("museum")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.conf.beat_schedule = {
    # Work whose message was lost with the broker is still in the database: it is offered again each minute.
    "offer waiting jobs": {"task": "museum.jobs.tasks.offer_waiting", "schedule": 60.0},
    "clear expired results": {"task": "museum.jobs.tasks.clear_expired", "schedule": crontab(hour=3, minute=10)},
    "follow what changed": {"task": "conservation.checks.tasks.catch_up", "schedule": 60.0},
    "end lapsed approvals": {"task": "conservation.treatments.tasks.end_lapsed", "schedule": 60.0},
    "files of loggers": {"task": "locations.climate.tasks.watch_folder", "schedule": 300.0},
    "alarms of the climate": {"task": "locations.climate.tasks.raise_alarms", "schedule": 600.0},
    "mails of alarms": {"task": "conservation.checks.tasks.send_alarm_mails", "schedule": 300.0},
    "climate of things": {"task": "locations.climate.tasks.follow_climate", "schedule": 600.0},
    "loggers that may lie": {"task": "locations.climate.tasks.doubt_loggers", "schedule": crontab(hour=4, minute=20)},
    "daily reminders": {"task": "conservation.checks.tasks.send_reminders", "schedule": crontab(hour=6, minute=0)},
}
