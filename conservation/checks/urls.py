from django.urls import path

from conservation.checks import api
from conservation.checks.views import ending, quick, rounds, terms, walk

app_name = "checks"
urlpatterns = [
    path("things/<uuid:object_id>/check/", walk.walk, name="full"),
    path("things/<uuid:object_id>/check/touch/", walk.touch, name="touch"),
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
    path("api/checks/", api.checks, name="api_checks"),
    path("api/checks/<uuid:check_id>/", api.check, name="api_check"),
    path("api/drafts/<uuid:object_id>/", api.touch, name="api_touch"),
]
