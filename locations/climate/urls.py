from django.urls import path

from locations.climate import api, chart_views, doubt_views, file_views, machine_views, views
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
    path("api/climate/spots/", api.spots, name="api_spots"),
    path("api/climate/loggers/", api.loggers, name="api_loggers"),
]
