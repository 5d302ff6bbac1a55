"""What programs send to the doors of the API, read by a form that the published schema shows."""

from typing import Any, NoReturn

from django.utils.translation import gettext_lazy as _
from rest_framework import serializers
from rest_framework.request import Request


class Keyed(serializers.Serializer[Any]):
    """The key of the act, made by who sends: the same twice is done once."""

    id = serializers.UUIDField()


class Words(serializers.CharField):
    """A text that may be empty or left out; what it must say, the action knows."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_blank": True, "allow_null": True, "default": "", "trim_whitespace": False, **options})

    def run_validation(self, data: Any = serializers.empty) -> str:
        """Nothing is an empty text."""
        return str(super().run_validation(data) or "")


class OneOf(serializers.ChoiceField):
    """One of some codes; a refusal names them."""

    default_error_messages = {"invalid_choice": _("“{input}” is none of these: {codes}."), "required": _("Say one of these: {codes}.")}

    def fail(self, key: str, **data: Any) -> NoReturn:
        """Refuses, with the codes there are."""
        super().fail(key, codes=", ".join(str(code) for code in self.choices if code != ""), **data)


def read_by(form: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    """What was sent, as the form says. Raises the framework's ValidationError, field by field."""
    body = form(data=request.data)
    body.is_valid(raise_exception=True)
    return dict(body.validated_data)
