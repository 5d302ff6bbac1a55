from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "museum.jobs"
    label = "jobs"
    verbose_name = "Background work"
