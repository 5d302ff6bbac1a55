from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "conservation.checks"
    label = "checks"
    verbose_name = "Condition checks"
