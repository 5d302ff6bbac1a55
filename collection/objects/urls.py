from django.urls import path

from collection.objects import api, booking_api, photo_views
from collection.objects.views import bookings, drawing, lists, making, parts, record, words

app_name = "objects"
urlpatterns = [
    path("things/", lists.things, name="things"),
    path("things/new/", making.new_thing, name="new"),
    path("things/<uuid:object_id>/what/", making.what_it_is, name="what"),
    path("things/<uuid:object_id>/edit/", record.edit, name="edit"),
    path("things/<uuid:object_id>/say/", record.say_field, name="say"),
    path("things/<uuid:object_id>/said/", record.said, name="said"),
    path("things/<uuid:object_id>/accept/<uuid:statement_id>/", record.accept, name="accept"),
    path("things/<uuid:object_id>/decline/<uuid:statement_id>/", record.decline, name="decline"),
    path("things/<uuid:object_id>/parts/", parts.parts, name="parts"),
    path("things/<uuid:object_id>/zones/", drawing.drawn, name="drawn"),
    path("things/<uuid:object_id>/numbers/", parts.numbers, name="numbers"),
    path("things/<uuid:object_id>/dangers/", parts.dangers, name="dangers"),
    path("things/<uuid:object_id>/planned/", bookings.planned, name="planned"),
    path("things/<uuid:object_id>/planned/new/", bookings.plan, name="plan"),
    path("things/<uuid:object_id>/planned/<uuid:booking_id>/", bookings.booking, name="booking"),
    path("things/<uuid:object_id>/photographs/", photo_views.photographs, name="photographs"),
    path("photos/<uuid:photograph_id>/", photo_views.photograph, name="photograph"),
    path("photos/<uuid:photograph_id>/<int:width>.jpg", photo_views.smaller, name="smaller"),
    path("photos/<uuid:photograph_id>/original/", photo_views.original, name="original"),
    path("api/photos/", photo_views.api_add, name="api_photos"),
    path("words/", words.words, name="words"),
    path("words/kinds/<slug:code>/", words.zones, name="zones"),
    path("n/<path:text>/", lists.by_number, name="by_number"),
    path("api/objects/", api.objects, name="api_objects"),
    path("api/objects/<uuid:object_id>/", api.one, name="api_object"),
    path("api/objects/<uuid:object_id>/numbers/", api.numbers, name="api_numbers"),
    path("api/objects/<uuid:object_id>/components/", api.components, name="api_components"),
    path("api/objects/<uuid:object_id>/statements/", api.said, name="api_said"),
    path("api/objects/<uuid:object_id>/bookings/", booking_api.bookings, name="api_bookings"),
    path("api/bookings/<uuid:booking_id>/", booking_api.booking, name="api_booking"),
    path("api/objects/<uuid:object_id>/zones/", api.drawn, name="api_drawn"),
    path("api/zones/<uuid:note_id>/erase/", api.erase, name="api_erase"),
    path("api/statements/", api.statements, name="api_statements"),
]
