from django.urls import path

from collection.objects import api, views

app_name = "objects"
urlpatterns = [
    path("things/", views.things, name="things"),
    path("things/new/", views.new_thing, name="new"),
    path("things/<uuid:object_id>/edit/", views.edit, name="edit"),
    path("things/<uuid:object_id>/say/", views.say_field, name="say"),
    path("things/<uuid:object_id>/accept/<uuid:statement_id>/", views.accept, name="accept"),
    path("things/<uuid:object_id>/parts/", views.parts, name="parts"),
    path("things/<uuid:object_id>/numbers/", views.numbers, name="numbers"),
    path("things/<uuid:object_id>/dangers/", views.dangers, name="dangers"),
    path("n/<str:text>/", views.by_number, name="by_number"),
    path("api/objects/", api.objects, name="api_objects"),
    path("api/objects/<uuid:object_id>/", api.one, name="api_object"),
    path("api/statements/", api.statements, name="api_statements"),
]
