from django.urls import path

from locations.places import api, views

app_name = "places"
urlpatterns = [
    path("places/", views.places, name="places"),
    path("places/new/", views.new_place, name="new_place"),
    path("places/move/", views.move_many, name="move_many"),
    path("places/<uuid:place_id>/", views.place, name="place"),
    path("places/<uuid:place_id>/change/", views.change, name="change"),
    path("places/<uuid:place_id>/close/", views.close, name="close"),
    path("places/<uuid:place_id>/move/", views.move_a_box, name="move_box"),
    path("things/<uuid:object_id>/move/", views.move_thing, name="move_thing"),
    path("api/movements/", api.movements, name="api_movements"),
]
