from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "museum.people"
    label = "people"
    verbose_name = "People"
