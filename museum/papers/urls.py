"""Addresses of issued papers. `/p/<number>` stands in the code printed on them."""

from django.urls import path

from museum.papers import api, views

app_name = "papers"

urlpatterns = [
    path("papers/", views.papers, name="papers"),
    path("papers/<uuid:paper_id>/", views.paper, name="paper"),
    path("papers/<uuid:paper_id>/file/", views.file, name="file"),
    path("p/<str:number>", views.by_number, name="by_number"),
    path("api/papers", api.papers, name="api_papers"),
    path("api/papers/<uuid:paper_id>", api.paper, name="api_paper"),
]
