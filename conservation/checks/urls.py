from django.urls import path

from conservation.checks import api, more_api
from conservation.checks.views import cards, ending, incidents, quick, rounds, terms, walk

app_name = "checks"
urlpatterns = [
    path("things/<uuid:object_id>/check/", walk.walk, name="full"),
    path("things/<uuid:object_id>/check/touch/", walk.touch, name="touch"),
    path("things/<uuid:object_id>/check/drop/", walk.drop, name="drop"),
    path("things/<uuid:object_id>/check/screen/", ending.screen, name="screen"),
    path("things/<uuid:object_id>/check/finish/", ending.finish, name="finish"),
    path("things/<uuid:object_id>/check/stop/", ending.stop, name="stop"),
    path("things/<uuid:object_id>/look/", quick.quick, name="quick"),
    path("checks/<uuid:check_id>/", ending.result, name="result"),
    path("checks/<uuid:check_id>/disagree/", ending.disagree, name="disagree"),
    path("checks/terms/", terms.terms, name="terms"),
    path("rounds/", rounds.rounds, name="rounds"),
    path("rounds/new/", rounds.new_round, name="new_round"),
    path("rounds/due/", rounds.due, name="due"),
    path("rounds/<uuid:round_id>/", rounds.round_page, name="round"),
    path("rounds/<uuid:round_id>/end/", rounds.end_round, name="end_round"),
    path("rounds/stops/<uuid:stop_id>/", rounds.stand_at, name="stand_at"),
    path("rounds/stops/<uuid:stop_id>/leave/", rounds.leave_out, name="leave_out"),
    path("events/new/", rounds.event, name="event"),
    path("cards/", cards.card_list, name="cards"),
    path("things/<uuid:object_id>/card/", cards.lay_card, name="lay_card"),
    path("cards/<uuid:card_id>/", cards.read_card, name="read_card"),
    path("incidents/", incidents.incident_list, name="incidents"),
    path("incidents/new/", incidents.new_incident, name="new_incident"),
    path("incidents/<uuid:incident_id>/", incidents.incident, name="incident"),
    path("incidents/<uuid:incident_id>/step/", incidents.step, name="incident_step"),
    path("incidents/<uuid:incident_id>/close/", incidents.close, name="close_incident"),
    path("api/cards/", more_api.card_tests, name="api_cards"),
    path("api/cards/<uuid:card_id>/reading/", more_api.card_reading, name="api_card_reading"),
    path("api/incidents/", more_api.incident_list, name="api_incidents"),
    path("api/incidents/<uuid:incident_id>/", more_api.incident, name="api_incident"),
    path("api/incidents/<uuid:incident_id>/steps/", more_api.incident_step, name="api_incident_step"),
    path("api/incidents/<uuid:incident_id>/close/", more_api.incident_close, name="api_close_incident"),
    path("api/checks/", api.checks, name="api_checks"),
    path("api/checks/<uuid:check_id>/", api.check, name="api_check"),
    path("api/drafts/<uuid:object_id>/", api.touch, name="api_touch"),
]
