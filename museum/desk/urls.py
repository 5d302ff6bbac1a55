from django.urls import path

from museum.desk import feeds, views

app_name = "desk"
urlpatterns = [
    path("", views.today, name="today"),
    path("things/<uuid:object_id>/", views.thing, name="thing"),
    path("feeds/<str:token>/looks.ics", feeds.looks, name="feed"),
]
