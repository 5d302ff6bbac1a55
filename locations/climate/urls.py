from django.urls import path

from locations.climate import api, chart_views, doubt_views, file_views, loggers_api, machine_views, views
from locations.climate.whatif import views as whatif_views

app_name = "climate"
urlpatterns = [
    path("climate/", views.overview, name="overview"),
    path("climate/by-hand/", views.by_hand, name="by_hand"),
    path("climate/by-hand/<uuid:spot_id>/correct/", views.correct_spot, name="correct_spot"),
    path("climate/files/", file_views.send, name="send"),
    path("climate/files/<uuid:file_id>/", file_views.file, name="file"),
    path("climate/loggers/new/", views.new_logger, name="new_logger"),
    path("climate/loggers/<uuid:logger_id>/", views.logger, name="logger"),
    path("climate/loggers/<uuid:logger_id>/change/", views.change, name="change"),
    path("climate/loggers/<uuid:logger_id>/tell/", views.tell, name="tell"),
    path("climate/loggers/<uuid:logger_id>/readings/", views.readings, name="readings"),
    path("climate/loggers/<uuid:logger_id>/readings.csv", views.readings_table, name="table"),
    path("climate/suspicions/<uuid:suspicion_id>/", doubt_views.suspicion, name="suspicion"),
    path("climate/suspicions/<uuid:suspicion_id>/settle/", doubt_views.settle_it, name="settle"),
    path("climate/rooms/<uuid:place_id>/", chart_views.room, name="room"),
    path("climate/rooms/<uuid:place_id>/climate.csv", chart_views.room_table, name="room_table"),
    path("climate/rooms/<uuid:place_id>/what-if/", whatif_views.whatif, name="whatif"),
    path("climate/rooms/<uuid:place_id>/machine/", machine_views.machine, name="machine"),
    path("climate/window/", whatif_views.window, name="window"),
    path("climate/things/<uuid:object_id>/", chart_views.lived, name="lived"),
    path("climate/things/<uuid:object_id>/climate.csv", chart_views.lived_table, name="lived_table"),
    path("api/climate/rooms/<uuid:place_id>/", api.room, name="api_room"),
    path("api/climate/things/<uuid:object_id>/", api.lived, name="api_lived"),
    path("api/climate/files/", api.files, name="api_files"),
    path("api/climate/files/<uuid:file_id>/", api.file, name="api_file"),
    path("api/climate/files/<uuid:file_id>/answer/", api.file_answer, name="api_file_answer"),
    path("api/climate/spots/", api.spots, name="api_spots"),
    path("api/climate/spots/<uuid:spot_id>/take-back/", api.spot_taken_back, name="api_spot_taken_back"),
    path("api/climate/loggers/", api.loggers, name="api_loggers"),
    path("api/climate/loggers/new/", loggers_api.new_logger, name="api_new_logger"),
    path("api/climate/loggers/<uuid:logger_id>/change/", loggers_api.change, name="api_change_logger"),
    path("api/climate/loggers/<uuid:logger_id>/place/", loggers_api.place, name="api_place_logger"),
    path("api/climate/loggers/<uuid:logger_id>/check/", loggers_api.check, name="api_check_logger"),
    path("api/climate/loggers/<uuid:logger_id>/speaks/", loggers_api.speaks, name="api_logger_speaks"),
    path("api/climate/loggers/<uuid:logger_id>/judge/", loggers_api.judge, name="api_judge_readings"),
    path("api/climate/suspicions/", loggers_api.suspicions, name="api_suspicions"),
    path("api/climate/suspicions/<uuid:suspicion_id>/settle/", loggers_api.settle_it, name="api_settle"),
]
