from django.apps import AppConfig


class RulesConfig(AppConfig):
    name = "conservation.rules"
    label = "rules"
    verbose_name = "Rules"
