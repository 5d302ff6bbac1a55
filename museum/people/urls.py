"""Addresses of people, sign-in and the society."""

from django.urls import path

from museum.people import api
from museum.people.views import account, erasing, held, invited, people, second_factor, sign_in, society, tablet

app_name = "people"

urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("second-factor/", second_factor.second_factor, name="second_factor"),
    path("second-factor/enrol/", second_factor.enrol, name="enrol"),
    path("second-factor/enrol/picture.svg", second_factor.enrol_picture, name="enrol_picture"),
    path("who/", tablet.who, name="who"),
    path("held/", held.held, name="held"),
    path("tablet/", tablet.tablet, name="tablet"),
    path("tablet/<uuid:tablet_id>/end/", tablet.end_tablet, name="end_tablet"),
    path("invited/<str:token>/", invited.invited, name="invited"),
    path("account/", account.account, name="account"),
    path("people/", people.people, name="people"),
    path("people/add/", people.add_person, name="add_person"),
    path("people/erase/", erasing.erase, name="erase"),
    path("people/<uuid:person_id>/", people.person, name="person"),
    path("people/<uuid:person_id>/password/", people.give_password, name="give_password"),
    path("society/", society.society, name="society"),
    path("api/me", api.me, name="api_me"),
    path("api/me/account", api.change_own_account, name="api_account"),
    path("api/me/password", api.change_password, name="api_password"),
    path("api/me/pin", api.set_pin, name="api_pin"),
    path("api/people", api.people, name="api_people"),
    path("api/people/<uuid:person_id>", api.change_person, name="api_person"),
    path("api/people/<uuid:person_id>/roles", api.roles, name="api_roles"),
    path("api/people/<uuid:person_id>/leaving", api.leaving, name="api_leaving"),
    path("api/people/<uuid:person_id>/erasing", api.erasing, name="api_erasing"),
    path("api/people/<uuid:person_id>/password", api.give_password, name="api_give_password"),
    path("api/invited/<str:token>", api.invited, name="api_invited"),
    path("api/society", api.society, name="api_society"),
]
