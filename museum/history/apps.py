from django.apps import AppConfig


class HistoryConfig(AppConfig):
    name = "museum.history"
    label = "history"
    verbose_name = "History"
