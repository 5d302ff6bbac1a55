"""The project package: settings and the shell that the apps live in."""

from museum.celery import app as celery_app

__all__ = ["celery_app"]
