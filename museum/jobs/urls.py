"""Addresses of background work."""

from django.urls import path

from museum.jobs import api, views

app_name = "jobs"

urlpatterns = [
    path("jobs/", views.jobs, name="jobs"),
    path("jobs/<uuid:job_id>/", views.job, name="job"),
    path("jobs/<uuid:job_id>/result/", views.result, name="result"),
    path("jobs/<uuid:job_id>/retry/", views.retry, name="retry"),
    path("api/jobs", api.jobs, name="api_jobs"),
    path("api/jobs/<uuid:job_id>", api.job, name="api_job"),
    path("api/jobs/<uuid:job_id>/retry", api.retry, name="api_retry"),
]
