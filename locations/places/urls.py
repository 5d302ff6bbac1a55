from django.urls import path

from locations.places import api, found_views, move_views, views

app_name = "places"
urlpatterns = [
    path("places/", views.places, name="places"),
    path("places/new/", views.new_place, name="new_place"),
    path("places/move/", move_views.move_many, name="move_many"),
    path("places/nowhere/", views.nowhere, name="nowhere"),
    path("places/<uuid:place_id>/", views.place, name="place"),
    path("places/<uuid:place_id>/change/", views.change, name="change"),
    path("places/<uuid:place_id>/close/", views.close, name="close"),
    path("places/<uuid:place_id>/like/", views.describe, name="describe"),
    path("places/wrong/", views.wrong, name="wrong"),
    path("places/<uuid:place_id>/move/", move_views.move_a_box, name="move_box"),
    path("things/<uuid:object_id>/move/", move_views.move_thing, name="move_thing"),
    path("things/<uuid:object_id>/humidity/", move_views.humidity, name="humidity"),
    path("api/objects/<uuid:object_id>/humidity/", api.humidity, name="api_humidity"),
    path("things/found/", found_views.found, name="found"),
    path("things/<uuid:object_id>/known/", found_views.known, name="known"),
    path("api/found/", found_views.api_found, name="api_found"),
    path("api/found/<uuid:object_id>/", found_views.api_known, name="api_known"),
    path("movements/<uuid:movement_id>/correct/", move_views.correct, name="correct"),
    path("api/movements/", api.movements, name="api_movements"),
    path("api/movements/<uuid:movement_id>/correct/", api.correct, name="api_correct"),
    path("api/places/", api.places, name="api_places"),
    path("api/places/<uuid:place_id>/", api.change, name="api_change"),
    path("api/places/<uuid:place_id>/like/", api.describe, name="api_describe"),
    path("api/places/wrong/", api.misplaced, name="api_misplaced"),
    path("api/places/<uuid:place_id>/close/", api.close, name="api_close"),
]
