from django.apps import AppConfig


class ObjectsConfig(AppConfig):
    name = "collection.objects"
    label = "objects"
    verbose_name = "Objects"
