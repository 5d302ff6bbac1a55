from django.apps import AppConfig


class PlacesConfig(AppConfig):
    name = "locations.places"
    label = "places"
    verbose_name = "Places"
