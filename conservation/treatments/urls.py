from django.urls import path

from conservation.treatments import api
from conservation.treatments.views import deciding, leave, may, proposing, work

app_name = "treatments"
urlpatterns = [
    path("things/<uuid:object_id>/may/", may.may, name="may"),
    path("things/<uuid:object_id>/propose/", proposing.propose, name="propose"),
    path("things/<uuid:object_id>/owner-leave/", leave.owner_leave, name="owner_leave"),
    path("things/<uuid:object_id>/work/", work.start, name="start"),
    path("deposits/<uuid:finding_id>/", leave.deposit, name="deposit"),
    path("proposals/", deciding.desk, name="desk"),
    path("proposals/<uuid:proposal_id>/", deciding.proposal, name="proposal"),
    path("proposals/<uuid:proposal_id>/decide/", deciding.decide, name="decide"),
    path("approvals/<uuid:approval_id>/", deciding.approval, name="approval"),
    path("standing/", leave.standing, name="standing"),
    path("standing/<uuid:standing_id>/end/", leave.end_standing, name="end_standing"),
    path("work/", work.sessions, name="sessions"),
    path("work/<uuid:work_id>/", work.work, name="work"),
    path("work/<uuid:work_id>/do/", work.do, name="do"),
    path("api/things/<uuid:object_id>/may/", api.may, name="api_may"),
    path("api/things/<uuid:subject>/proposals/", api.propose, name="api_propose"),
    path("api/things/<uuid:subject>/owner-leave/", api.owner_leave, name="api_owner_leave"),
    path("api/things/<uuid:subject>/work/", api.start, name="api_start"),
    path("api/proposals/<uuid:subject>/again/", api.resubmit, name="api_resubmit"),
    path("api/proposals/<uuid:subject>/withdraw/", api.withdraw, name="api_withdraw"),
    path("api/proposals/<uuid:subject>/return/", api.return_proposal, name="api_return"),
    path("api/proposals/<uuid:subject>/approve/", api.approve, name="api_approve"),
    path("api/approvals/<uuid:subject>/countersign/", api.countersign, name="api_countersign"),
    path("api/approvals/<uuid:subject>/take-back/", api.take_back, name="api_take_back"),
    path("api/people/<uuid:subject>/standing/", api.give_standing, name="api_give_standing"),
    path("api/standing/<uuid:subject>/end/", api.end_standing, name="api_end_standing"),
    path("api/deposits/defaults/", api.deposit_default, name="api_deposit_default"),
    path("api/deposits/<uuid:subject>/kind/", api.name_deposit, name="api_name_deposit"),
    path("api/deposits/<uuid:subject>/decide/", api.decide_deposit, name="api_decide_deposit"),
    path("api/work/<uuid:subject>/spots/", api.spot, name="api_spot"),
    path("api/work/<uuid:subject>/steps/", api.step, name="api_step"),
    path("api/work/<uuid:subject>/stop/", api.stop, name="api_stop"),
    path("api/work/<uuid:subject>/kept/", api.keep, name="api_keep"),
    path("api/work/<uuid:subject>/follow-ups/", api.look_again, name="api_look_again"),
    path("api/work/<uuid:subject>/end/", api.end, name="api_end"),
]
