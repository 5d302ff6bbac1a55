"""Every change of state in this part, as others call it."""

from museum.people.actions.account import change_own_account, change_password, set_pin
from museum.people.actions.competence import (
    end_competence,
    end_qualification,
    give_qualification,
    record_practice,
    record_shown,
    sign_practice,
)
from museum.people.actions.erasing import erase_personal
from museum.people.actions.inviting import accept_invitation, end_invitation, invite
from museum.people.actions.people import (
    add_person,
    change_person,
    end_role,
    first_act,
    give_password,
    give_role,
    mark_back,
    mark_left,
)
from museum.people.actions.second_factor import enrol_second_factor, take_second_factor
from museum.people.actions.society import change_society, choose
from museum.people.actions.tablet import end_tablet, share_tablet

__all__ = [
    "accept_invitation",
    "add_person",
    "change_own_account",
    "change_password",
    "change_person",
    "change_society",
    "choose",
    "end_competence",
    "end_invitation",
    "end_qualification",
    "end_role",
    "end_tablet",
    "enrol_second_factor",
    "erase_personal",
    "first_act",
    "give_password",
    "give_qualification",
    "give_role",
    "invite",
    "mark_back",
    "mark_left",
    "record_practice",
    "record_shown",
    "set_pin",
    "share_tablet",
    "sign_practice",
    "take_second_factor",
]
