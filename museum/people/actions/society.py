"""What the society decides for itself."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from museum.errors import Invalid
from museum.people.action import Act, action, claim_version
from museum.people.actions.common import filled, language_of, written
from museum.people.models import Society


@action("people.change_society", may="settings.change")
def change_society(
    act: Act,
    *,
    version: int,
    name: str,
    short_name: str = "",
    address: str = "",
    email: str = "",
    language: str = "en",
    currency: str = "EUR",
    opening_days: Iterable[int] = (),
) -> Society:
    """What the society is called, where it is, when it is open (ISO weekdays, 1 = Monday; none = every day)."""
    days = sorted(set(opening_days))
    if not set(days) <= set(range(1, 8)):
        raise Invalid(_("A day of the week is a number from 1, Monday, to 7, Sunday."), field="opening_days")
    if not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
        raise Invalid(_("A currency has three letters, as in EUR or GBP."), field="currency")
    mine: dict[str, Any] = {
        "name": filled(name, "name"), "short_name": short_name.strip(), "address": address.strip(),
        "email": email.strip(), "language": language_of(language), "currency": currency.upper(), "opening_days": days,
    }  # fmt: skip
    house = claim_version(Society.objects.all(), UUID(Society.KEY), version, mine)
    return written(act, house, mine, "society.changed")


@action("people.choose", may="settings.change")
def choose(act: Act, name: str, value: Any, *, reason: str = "") -> Society:
    """One of the society's further choices, by name; None goes back to the program's own."""
    house = Society.objects.select_for_update().get(pk=Society.KEY)
    before = house.settings.get(name)
    settings = {key: kept for key, kept in house.settings.items() if key != name}
    house.settings = settings if value is None else settings | {name: value}
    house.version += 1
    house.save()
    act.wrote("society.choice", house, before={name: before}, after={name: value}, reason=reason)
    return house
