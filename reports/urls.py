"""Addresses by which papers are asked for."""

from django.urls import path

from reports import api, views
from reports.labels import views as label_views

app_name = "reports"

urlpatterns = [
    path("papers/issue/", views.issue, name="issue"),
    path("papers/<uuid:paper_id>/reprint/", views.reprint, name="reprint"),
    path("labels/", label_views.labels, name="labels"),
    # what the codes of labels carry: in capitals, without anything that could be left out
    path("N/<path:text>", label_views.thing_by_code, name="thing_by_code"),
    path("P/<path:text>", label_views.place_by_code, name="place_by_code"),
    path("api/labels", api.labels, name="api_labels"),
    path("api/papers/issue", api.issue, name="api_issue"),
    path("api/papers/<uuid:paper_id>/reprint", api.reprint, name="api_reprint"),
]
