from django.apps import AppConfig


class PapersConfig(AppConfig):
    name = "museum.papers"
    label = "papers"
    verbose_name = "Papers"
