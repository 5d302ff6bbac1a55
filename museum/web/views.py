"""Error pages in plain words, and the living page of every component."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from museum.errors import Invalid, NotFound
from museum.web.errors import for_api, problem


def _page(request: HttpRequest, status: int, sentence: str) -> HttpResponse:
    return render(request, "web/error.html", {"status": status, "sentence": sentence}, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Absent and forbidden look the same."""
    if for_api(request):
        return problem(NotFound())
    return _page(request, 404, _("There is nothing here, or it is not for you to see."))


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What the browser sent could not be read."""
    if for_api(request):
        return problem(Invalid())
    return _page(request, 400, _("The request could not be read. Go back, load the page again and repeat."))


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The role does not allow it."""
    return _page(request, 403, _("Your role does not allow this."))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that stood open too long, or a browser that keeps no cookies."""
    return _page(
        request, 403, _("This page stood open too long, or your browser keeps no cookies. Nothing was stored. Go back, load the page again and repeat.")
    )


def server_error(request: HttpRequest) -> HttpResponse:
    """Something broke here; the page needs neither database nor session."""
    return render(None, "web/500.html", status=500)  # type: ignore[arg-type]


@require_safe
def styleguide(request: HttpRequest) -> HttpResponse:
    """Every component once, with its words, for people who build on it."""
    context = {"levels": range(4), "percents": ("0.1", "0.5", "1", "3", "8", "16", "33", "50")}
    return render(request, "web/styleguide.html", context)
