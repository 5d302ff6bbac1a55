"""A password or PIN on its way into an action."""

from dataclasses import dataclass, field

from django.utils.crypto import salted_hmac


@dataclass(frozen=True, slots=True)
class Secret:
    """Shown nowhere; in the digest of the act stands a keyed hash, from which it cannot be guessed."""

    text: str = field(repr=False)

    @property
    def sha256(self) -> str:
        return salted_hmac("museum.people.secret", self.text, algorithm="sha256").hexdigest()
