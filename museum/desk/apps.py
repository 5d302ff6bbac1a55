from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "museum.desk"
    label = "desk"
    verbose_name = "Desk"
