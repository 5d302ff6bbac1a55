"""Addresses of what people were shown, and of the lessons."""

from django.urls import path

from conservation.treatments import learning_api as api
from conservation.treatments.views import learning, lessons

app_name = "learning"

urlpatterns = [
    path("competence/", learning.competences, name="competences"),
    path("competence/<uuid:competence_id>/sign/", learning.sign, name="sign"),
    path("competence/<uuid:competence_id>/end/", learning.end, name="end"),
    path("people/<uuid:person_id>/shown/", learning.person, name="person"),
    path("people/<uuid:person_id>/qualification/end/", learning.end_qualification, name="end_qualification"),
    path("lessons/", lessons.lessons, name="lessons"),
    path("lessons/<str:step>/", lessons.lesson, name="lesson"),
    path("api/people/<uuid:person_id>/competences", api.competences, name="api_competences"),
    path("api/people/<uuid:person_id>/qualifications", api.qualifications, name="api_qualifications"),
    path("api/competences/<uuid:competence_id>/sign", api.sign, name="api_sign"),
    path("api/competences/<uuid:competence_id>/end", api.end, name="api_end"),
]
