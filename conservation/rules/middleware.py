"""One request sees one state of the rules, asked for at most once."""

from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase

from conservation.rules.book import held


class RulesHeld:
    """Holds the rules that count when they are first asked for, until the answer is made."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        with held():
            return self.get_response(request)
