from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "museum.web"
    label = "web"
    verbose_name = "Pages"
