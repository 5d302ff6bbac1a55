"""Addresses by which papers are asked for."""

from django.urls import path

from reports import api, views

app_name = "reports"

urlpatterns = [
    path("papers/issue/", views.issue, name="issue"),
    path("papers/<uuid:paper_id>/reprint/", views.reprint, name="reprint"),
    path("api/papers/issue", api.issue, name="api_issue"),
    path("api/papers/<uuid:paper_id>/reprint", api.reprint, name="api_reprint"),
]
