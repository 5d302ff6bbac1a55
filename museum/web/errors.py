"""The one place where an error becomes something to read: a page for people, problem+json (RFC 9457) for programs."""

from collections.abc import Mapping
from http import HTTPStatus
from math import ceil
from typing import Any, Final

from django.core.exceptions import PermissionDenied
from django.core.serializers.json import DjangoJSONEncoder
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from rest_framework import exceptions as api
from rest_framework.response import Response

from museum.errors import DomainError, Forbidden, Invalid, NotFound, SignedOut

PROBLEM: Final = "application/problem+json"


class Broken(DomainError):
    """A fault of the program itself."""

    code = "broken"
    status = 500
    template = gettext_lazy(
        "Something broke here. What was stored before is safe; what you sent just now may not have been stored. "
        "Look whether it is there before you send it again."
    )


class TooOften(DomainError):
    """A program asks more often in one person's name than is answered."""

    code = "too_often"
    status = 429
    template = gettext_lazy("Your program asks too often, and this was not done. It may ask again in %(seconds)s seconds.")


class ApiRefusal(DomainError):
    """What the interface itself cannot take: a body that is no JSON, a method that is not there."""

    code = "bad_request"
    status = 400

    def __init__(self, error: api.APIException) -> None:
        super().__init__(str(error.detail).replace("%", "%%"))
        self.http_status = error.status_code


def for_api(request: HttpRequest) -> bool:
    """Whether a program asks."""
    return request.path.startswith("/api/")


def body(exc: DomainError) -> dict[str, Any]:
    """The members of the problem: the code, the sentence, the input it is about, and the data of the error."""
    status = status_of(exc)
    members: dict[str, Any] = {
        "type": "about:blank", "title": HTTPStatus(status).phrase, "status": status,
        "code": exc.code, "detail": exc.sentence,
    }  # fmt: skip
    if exc.field is not None:
        members["field"] = exc.field
    return members | {key: value for key, value in exc.data.items() if key not in members}


def status_of(exc: DomainError) -> int:
    """The HTTP status."""
    return exc.http_status if isinstance(exc, ApiRefusal) else exc.status


def problem(exc: DomainError) -> JsonResponse:
    """The error as problem+json."""
    return JsonResponse(body(exc), encoder=DjangoJSONEncoder, status=status_of(exc), content_type=PROBLEM)


def answer(request: HttpRequest, exc: DomainError) -> HttpResponse:
    """The error for whoever asked. What is absent and what is forbidden to see give the very same page."""
    if for_api(request):
        return problem(exc)
    shown = NotFound() if isinstance(exc, NotFound) else exc
    context = {"sentence": shown.sentence, "status": status_of(shown), "code": shown.code}
    return render(request, "web/error.html", context, status=status_of(shown))


def problem_json(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """The REST framework's exception handler. What it does not know becomes a plain error 500."""
    known = _known(exc)
    if known is None:
        return None
    headers = {"Retry-After": str(known.data["seconds"])} if isinstance(known, TooOften) else {}
    return Response(body(known), status=status_of(known), headers=headers, content_type=PROBLEM)


def _known(exc: Exception) -> DomainError | None:
    known: DomainError | None = None
    match exc:
        case DomainError():
            known = exc
        case Http404() | api.NotFound():
            known = NotFound()
        case api.NotAuthenticated() | api.AuthenticationFailed():
            known = SignedOut()
        case PermissionDenied() | api.PermissionDenied():
            known = Forbidden(_("This page was open too long, or your role does not allow it. Load the page again."))
        case api.ValidationError():
            known = _invalid(exc)
        case api.Throttled():
            known = TooOften(seconds=ceil(getattr(exc, "wait", None) or 1))
        case api.APIException():
            known = ApiRefusal(exc)
    return known


def _invalid(exc: api.ValidationError) -> Invalid:
    """All inputs that are wrong in `fields`; the sentence is the first one's."""
    detail = exc.detail
    if not isinstance(detail, dict):
        return Invalid(_first(detail).replace("%", "%%"))
    fields = {str(name): _first(said) for name, said in detail.items()}
    name = next(iter(fields))
    return Invalid(f"{name}: {fields[name]}".replace("%", "%%"), field=name, fields=fields)


def _first(said: Any) -> str:
    while isinstance(said, (list, dict)):
        said = next(iter(said.values() if isinstance(said, dict) else said))
    return str(said)
