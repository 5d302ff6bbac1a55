"""Who asks: a person with the roles that count here and now, or the program itself."""

from dataclasses import dataclass, replace
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from museum.errors import Forbidden, SecondFactorWanted
from museum.people.models import Invitation, Person
from museum.people.permissions import INVITED, ROLE_WORDS, TABLET_ROLES, Role, roles_that_may


@dataclass(frozen=True, slots=True)
class Actor:
    """The acting person as an action sees them.

    `key` makes a call repeatable: the same key with the same content is carried out once.
    `tablet` says that they are on a browser which others use too. `sender` is who sent what `person` wrote,
    where the two differ. Who is `unproved` has yet to show the second factor and may do nothing. `invited` are the things
    that an invitation opens to somebody without a role.
    """

    person: UUID | None
    name: str
    roles: frozenset[Role]
    key: UUID | None = None
    device: str = ""
    sender: UUID | None = None
    program: bool = False
    unproved: bool = False
    tablet: bool = False
    invited: frozenset[UUID] = frozenset()

    @classmethod
    def of(cls, person: Person, *, tablet: bool = False, device: str = "") -> "Actor":
        """The actor a person is; on a shared tablet a volunteer's and a curator's rights, no more."""
        roles = person.roles()
        invited = frozenset() if roles or tablet else Invitation.objects.opens_to(person.id)
        return cls(person.id, person.name, roles & TABLET_ROLES if tablet else roles, device=device, tablet=tablet, invited=invited)

    def keyed(self, key: UUID | None) -> "Actor":
        """The same actor, calling under an idempotency key."""
        return replace(self, key=key)

    @property
    def someone(self) -> UUID:
        """The person who acts, where only a person may. Raises Forbidden for the program and for nobody."""
        if self.person is None:
            raise Forbidden(_("Only a person can do this."))
        return self.person

    def may(self, permission: str) -> bool:
        """Whether a role of this actor, or their invitation, holds the permission; the program holds all."""
        by_role = bool(self.roles & roles_that_may(permission))
        return self.program or (not self.unproved and (by_role or (bool(self.invited) and permission in INVITED)))

    def demand(self, permission: str) -> None:
        """Raises Forbidden, naming who could do it."""
        if self.unproved:
            raise SecondFactorWanted
        if not self.may(permission):
            able = ", ".join(sorted(str(ROLE_WORDS[role]) for role in roles_that_may(permission)))
            raise Forbidden(roles=able, permission=permission)

    @property
    def role_words(self) -> str:
        """The roles as they stand in the history."""
        return "program" if self.program else ",".join(sorted(self.roles)) or ("invited" if self.invited else "")


#: a visitor who is not signed in
NOBODY = Actor(person=None, name="", roles=frozenset())
#: the program itself: scheduled work, thumbnails, shipped words
PROGRAM = Actor(person=None, name="the program", roles=frozenset(), program=True)
