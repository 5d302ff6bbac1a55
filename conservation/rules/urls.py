from django.urls import path

from conservation.rules import api, views

app_name = "rules"
urlpatterns = [
    path("rules/", views.tables, name="tables"),
    path("rules/<slug:table>/", views.table, name="table"),
    path("rules/<slug:table>/add/", views.add, name="add"),
    path("rules/<slug:table>/row/<slug:row_code>/", views.row, name="row"),
    path("rules/<slug:table>/row/<slug:row_code>/change/", views.change, name="change"),
    path("rules/<slug:table>/row/<slug:row_code>/return/", views.give_back, name="return"),
    path("api/rules/", api.rules, name="api_rules"),
    path("api/rules/<slug:table>/", api.table, name="api_table"),
    path("api/rules/<slug:table>/<slug:row_code>/", api.change, name="api_change"),
]
