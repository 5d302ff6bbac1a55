"""Who somebody is: by e-mail and password, or on a shared tablet by PIN."""

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.hashers import check_password
from django.http import HttpRequest

from museum.people.models import Person
from museum.prepared import ANY_KEY, Prepared

_WITH_ROLES = Prepared(lambda key: Person.objects.with_roles().filter(pk=key)[:1], ANY_KEY)


class ByPassword(ModelBackend):
    """The usual sign-in. The person comes with their roles, in one query."""

    def get_user(self, user_id: Any) -> Person | None:
        person = _WITH_ROLES.first(user_id)
        return person if person is not None and self.user_can_authenticate(person) else None


class ByPin(ByPassword):
    """Changing person on a shared tablet. Only the view of a browser that is one passes a PIN."""

    def authenticate(  # type: ignore[override]
        self, request: HttpRequest | None, username: str | None = None, *, pin: str, **kwargs: Any
    ) -> Person | None:
        person = Person.objects.filter(email__iexact=username or "").exclude(pin="").first()
        if person is None or not check_password(pin, person.pin) or not self.user_can_authenticate(person):
            return None
        return person
