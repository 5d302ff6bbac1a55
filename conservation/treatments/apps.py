from django.apps import AppConfig


class TreatmentsConfig(AppConfig):
    name = "conservation.treatments"
    label = "treatments"
    verbose_name = "Treatments"
