"""What every answer carries, and what becomes of an error that a person can do something about."""

from collections.abc import Callable
from typing import Final

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

from museum.errors import DomainError, NothingToSee, TooMuch
from museum.people.doors import actor_of
from museum.web.errors import answer, for_api

MEGABYTE: Final = 1_048_576
#: several photographs of the largest kind, or a whole register
MOST: Final = 250 * MEGABYTE
MOST_OF_A_STRANGER: Final = MEGABYTE
WORDS: Final = ("text/", "application/json", "application/problem+json", "image/svg+xml")
POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)


class Compression(GZipMiddleware):
    """Squeezes words, not pictures and papers, which are squeezed already."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "")
        return super().process_response(request, response) if kind.startswith(WORDS) else response


class ContentSecurityPolicy:
    """Only the program's own files, nothing inline, no evaluation, in nobody's frame."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response


class Bounds:
    """Refuses by its announced length what is too much to send at once, before a byte of it is kept, and any NUL, which no text holds.

    Whoever is not signed in sends a form and no more; so nobody from outside can fill the disk. Stands after the
    middleware that says who asks.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        most = MOST_OF_A_STRANGER if actor_of(request).person is None else MOST
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not length.isdigit() or int(length) > most:
            return answer(request, TooMuch(megabytes=most // MEGABYTE))
        if "\0" in request.path or "%00" in request.META.get("QUERY_STRING", "") or _nul_sent(request):
            raise BadRequest
        return self.get_response(request)


def _nul_sent(request: HttpRequest) -> bool:
    """Whether a text that is sent has a NUL; no keyboard makes one. Files may."""
    if for_api(request):
        return request.content_type == "application/json" and (b"\0" in request.body or b"\\u0000" in request.body)
    return any("\0" in text for name, values in request.POST.lists() for text in (name, *values))


class DomainErrors:
    """Turns a domain error that no view caught into a page or, under /api/, into problem+json."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if isinstance(response, HttpResponseNotAllowed) and not response.content:
            page = answer(request, NothingToSee())
            page.headers["Allow"] = response.headers["Allow"]
            return page
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, DomainError):
            return answer(request, exception)
        return None
