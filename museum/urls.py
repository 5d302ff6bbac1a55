"""Every address of the program; each app names its own below its prefix."""

from django.urls import include, path

urlpatterns = [
    path("", include("museum.desk.urls")),
    path("", include("museum.people.urls")),
    path("", include("museum.web.urls")),
    path("", include("museum.jobs.urls")),
    path("", include("museum.papers.urls")),
    path("", include("collection.objects.urls")),
    path("", include("conservation.rules.urls")),
    path("", include("locations.places.urls")),
    path("", include("locations.climate.urls")),
    path("", include("conservation.checks.urls")),
    path("", include("conservation.treatments.urls")),
    path("", include("conservation.treatments.learning_urls")),
    path("", include("conservation.treatments.stock_urls")),
    path("", include("collection.exchange.urls")),
    path("", include("reports.urls")),
]

handler400 = "museum.web.views.bad_request"
handler403 = "museum.web.views.forbidden"
handler404 = "museum.web.views.not_found"
handler500 = "museum.web.views.server_error"
