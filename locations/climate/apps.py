from django.apps import AppConfig


class ClimateConfig(AppConfig):
    name = "locations.climate"
    label = "climate"
    verbose_name = "Climate"
