"""Who may do what: the one table, asked by every action and every page.

Rows follow common practice in small museums; where it says 'if granted' or 'not their own', the
action's guard asks further.
"""

from enum import StrEnum
from typing import Final

from django.utils.translation import gettext_lazy as _


class Role(StrEnum):
    """What a person is to the society. One person may hold several."""

    VOLUNTEER = "volunteer"
    CURATOR = "curator"
    REGISTRAR = "registrar"
    READER = "reader"
    ADMINISTRATOR = "administrator"


ROLE_WORDS: Final = {
    Role.VOLUNTEER: _("volunteer"),
    Role.CURATOR: _("curator"),
    Role.REGISTRAR: _("registrar"),
    Role.READER: _("reader"),
    Role.ADMINISTRATOR: _("administrator"),
}

#: roles whose sign-in asks for a second factor
SECOND_FACTOR_ROLES: Final = frozenset({Role.REGISTRAR, Role.ADMINISTRATOR})
#: the most a person may be on a tablet that others use too
TABLET_ROLES: Final = frozenset({Role.VOLUNTEER, Role.CURATOR})

_V, _C, _R, _READ, _A = Role.VOLUNTEER, Role.CURATOR, Role.REGISTRAR, Role.READER, Role.ADMINISTRATOR
_STAFF = frozenset({_V, _C, _R})
_CARE = frozenset({_C, _R})

PERMISSIONS: Final[dict[str, frozenset[Role]]] = {
    # the catalogue
    "catalogue.see": _STAFF | {_READ},
    "catalogue.see_all": _STAFF,
    "catalogue.propose": _STAFF,
    "catalogue.edit": _CARE,
    "number.issue": frozenset({_R}),
    "things.found": _STAFF,
    "number.propose": _CARE,
    "words.edit": _CARE,
    "booking.make": _CARE,
    "photo.add": _STAFF,
    "marks.record": _STAFF,
    "hazard.report": _STAFF,
    "hazard.close": frozenset({_C}),
    "contact.see": frozenset({_R}),
    # places
    "place.see_building": _STAFF | {_READ},
    "place.see_exact": _CARE,
    "place.see_exact_on_round": _STAFF,
    "place.edit": _CARE,
    "place.set_up": _CARE | {_A},
    "movement.record": _STAFF,
    # climate
    "climate.see": _STAFF,
    "climate.record": _STAFF,
    "climate.send_files": _STAFF,
    "climate.set_up": _CARE,
    # condition
    "check.record": _STAFF,
    "check.overrule": _STAFF,
    "round.make": _CARE,
    "round.walk": _STAFF,
    "event.report": _STAFF,
    "look.close": frozenset({_C}),
    "rules.change": frozenset({_C}),
    # treatment: readers who are conservators propose and work, those who sit on the board sign as the second person
    "treatment.see": _STAFF | {_READ},
    "treatment.propose": _STAFF | {_READ},
    "treatment.approve": frozenset({_C}),
    # the word of a conservator, where a step asks for one: whoever holds the qualification
    "treatment.advise": _STAFF | {_READ},
    "standing.see": _STAFF | {_READ},
    "treatment.second": frozenset({_C, _READ}),
    "treatment.work": _STAFF | {_READ},
    "treatment.owner_leave": _CARE,
    "invitation.make": _CARE,
    # what people can do
    "competence.see": _STAFF | {_READ, _A},
    "competence.show": _STAFF | {_READ},
    "competence.sign": frozenset({_C, _READ}),
    "competence.end": frozenset({_C}),
    "qualification.give": frozenset({_C, _A}),
    # what is kept in stock for care
    "stock.see": _STAFF,
    "stock.keep": _STAFF,
    "stock.recall": frozenset({_C}),
    # papers
    "paper.issue": _CARE,
    "paper.see": _STAFF,
    "round.print": _STAFF,
    "label.print": _STAFF,
    # register and money (their own parts come later; the table is whole from the start)
    "value.see": _CARE,
    # data in bulk
    "import.run": frozenset({_R}),
    "job.own": _STAFF | {_READ, _A},
    # the house
    "people.manage": frozenset({_A}),
    "personal.erase": frozenset({_R, _A}),
    "settings.change": frozenset({_A}),
    "tablet.share": frozenset({_C, _A}),
    "account.own": _STAFF | {_READ, _A},
}

#: what an invitation lets somebody do who holds no role: with the things it names, and no others
INVITED: Final = frozenset({"catalogue.see", "photo.add", "treatment.see", "treatment.propose", "treatment.advise", "treatment.work", "account.own", "job.own"})


def roles_that_may(permission: str) -> frozenset[Role]:
    """The roles that hold a permission. An unknown name is a programming error and raises KeyError."""
    return PERMISSIONS[permission]
