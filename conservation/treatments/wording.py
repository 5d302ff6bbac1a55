"""Codes of the treatments in words: what a deposit is, whom a rule lets, a material by its name."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from conservation.rules.treatment_book import treatment_rules_in_force

#: kind of a deposit to its words
DEPOSITS: Final[dict[str, Promise]] = {
    "mud": _("mud"),
    "service_soot": _("soot of its service"),
    "coal_dust": _("coal dust"),
    "paint_splash": _("splashes of paint"),
    "hair": _("hair"),
    "polish_residue": _("residue of polish"),
    "body_stain": _("blood or sweat"),
    "other": _("something else"),
}
SEVERITIES: Final[dict[str, Promise]] = {
    "forbidden": _("forbidden for everybody"),
    "conservator only": _("for a conservator only"),
    "caution": _("with care"),
}


def deposit_kinds() -> list[tuple[str, str]]:
    """The kinds of deposit in force, code and words."""
    return [(code, str(DEPOSITS.get(code, code))) for code in treatment_rules_in_force().gate.deposit_kinds]
