"""Error pages in plain words, and the living page of every component."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from museum.errors import Forbidden, Invalid, NotFound, OpenTooLong
from museum.web import showcase
from museum.web.errors import Broken, answer, for_api, problem


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Absent and forbidden look the same."""
    return answer(request, NotFound())


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What the browser sent could not be read."""
    return answer(request, Invalid(_("The request could not be read. Go back, load the page again and repeat.")))


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The role does not allow it."""
    return answer(request, Forbidden(_("Your role does not allow this.")))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that stood open too long, or a browser that keeps no cookies."""
    return answer(request, OpenTooLong())


def server_error(request: HttpRequest) -> HttpResponse:
    """Something broke here; the page needs neither database nor session."""
    if for_api(request):
        return problem(Broken())
    return render(None, "web/500.html", status=500)


@require_safe
def styleguide(request: HttpRequest) -> HttpResponse:
    """Every component once, with its words and its markup, for people who build on it."""
    response = render(request, "web/styleguide.html", showcase.context(request.GET.get("look", "")))
    response["X-Robots-Tag"] = "noindex"
    return response
