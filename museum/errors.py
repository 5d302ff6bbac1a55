"""Errors that a person can do something about.

Each has a code for programs, data for both, and one sentence for people. `museum.web.errors` turns
them into a page, problem+json or the error of a job: nothing else shows an exception to anybody.
"""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Text = str | Promise


class DomainError(Exception):
    """Something was asked that cannot be done; nothing of it was written."""

    code: ClassVar[str] = "refused"
    status: ClassVar[int] = 409
    template: ClassVar[Text] = _("This cannot be done.")

    def __init__(self, sentence: Text | None = None, /, *, field: str | None = None, **data: Any) -> None:
        self.data: Mapping[str, Any] = data
        self.field = field
        self._sentence = sentence
        super().__init__(self.code)

    @property
    def sentence(self) -> str:
        """What happened and what to do, in the reader's language."""
        return str(self._sentence if self._sentence is not None else self.template) % self.data


class NotFound(DomainError):
    """Absent, or not for this person to see: the two look the same."""

    code = "not_found"
    status = 404
    template = _("There is nothing here, or it is not for you to see.")


class SignedOut(DomainError):
    """Nobody is signed in, or not any more."""

    code = "signed_out"
    status = 401
    template = _("Nobody is signed in here. Sign in and send it again; nothing of it was stored.")


class SecondFactorWanted(DomainError):
    """The person has given a password, and their role asks for a second proof."""

    code = "second_factor_wanted"
    status = 403
    template = _("Your role asks for a second proof that it is you. Enter the code from your phone first.")


class Forbidden(DomainError):
    """The person may see the thing but not do this to it."""

    code = "forbidden"
    status = 403
    template = _("Your role does not allow this. One of these roles can do it: %(roles)s.")


class OpenTooLong(DomainError):
    """A form that stood open too long, or a browser that keeps no cookies."""

    code = "open_too_long"
    status = 403
    template = _("This page stood open too long, or your browser keeps no cookies. Load the page again and repeat.")


class Invalid(DomainError):
    """A value that cannot be taken as it stands; `field` names the input."""

    code = "invalid"
    status = 400
    template = _("This entry cannot be taken as it stands.")


class NothingToSee(DomainError):
    """An address that only takes what a form sends was opened, or was sent something it does not take."""

    code = "method_not_allowed"
    status = 405
    template = _("There is nothing to see at this address: it only takes what a form sends. Nothing was changed. Go back to the page with the form.")


class TooMuch(DomainError):
    """More was sent at once than is taken; nothing of it was read."""

    code = "too_much"
    status = 413
    template = _("This is more than can be sent at once: at most %(megabytes)s megabytes. Nothing of it was stored. Send less, or in several parts.")


class SameKeyOtherContent(DomainError):
    """A request was repeated under the same key with other content."""

    code = "same_key_other_content"
    template = _(
        "This was stored before with other content. The first version stands; what you sent now was not stored. "
        "Compare the two and send the difference as a new entry."
    )


class VersionConflict(DomainError):
    """Somebody else changed the record since this person opened it.

    `data["theirs"]` and `data["mine"]` map field to value; nothing typed is lost.
    """

    code = "version_conflict"
    template = _("%(who)s changed this while you were writing. Both versions are below; nothing you typed is lost.")
