"""What programs send to the doors of the API, read by a form that the published schema shows."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request


class Keyed(serializers.Serializer[Any]):
    """The key of the act, made by who sends: the same twice is done once."""

    id = serializers.UUIDField()


def read_by(form: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    """What was sent, as the form says. Raises the framework's ValidationError, field by field."""
    body = form(data=request.data)
    body.is_valid(raise_exception=True)
    return dict(body.validated_data)
