"""Codes of the treatments in words: what a deposit is, whom a rule lets, a material by its name."""

from collections.abc import Iterable, Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from collection.objects.queries import zones_called
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.models import Approval, Proposal, Work

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
#: what is never a deposit: it does harm and asks for no decision
NEVER: Final[dict[str, Promise]] = {
    "house_dust": _("house dust"),
    "rust_powder": _("loose rust"),
    "pest_remains": _("remains of insects"),
    "mould": _("mould"),
    "copper_soap": _("copper soap"),
}
#: why an approval is no leave today, by the codes of the gate
FAULTS: Final[dict[str, Promise]] = {
    "none": _("none was given"),
    "other_deed": _("the one there is allows another step"),
    "other_zone": _("the one there is allows another zone"),
    "not_begun": _("its first day is still to come"),
    "ended": _("its last day has passed"),
    "too_long": _("it is longer than an approval may be"),
    "not_by_a_curator": _("no curator gave it"),
    "by_its_proposer": _("whoever proposed it also approved it"),
    "zone_changed": _("the zone's grade or activity is another than on the day it was given"),
    "no_proposal": _("the conservator's written proposal is not on file"),
    "no_reason": _("the trade is divided here, and no reason was written"),
}
#: values of a reason that are texts of the tables, translated where they are shown
OF_THE_TABLES: Final = ("who", "what", "material", "why", "instead")
#: as the tables say of what concerns every material
ANY: Final = "any"
SEVERITIES: Final[dict[str, Promise]] = {
    "forbidden": _("forbidden for everybody"),
    "conservator only": _("for a conservator only"),
    "caution": _("with care"),
}


def told_in(text: str) -> str:
    """A text of the tables in the reader's language; nothing stays nothing."""
    return gettext(text) if text else ""


def words_for(values: Mapping[str, str | int]) -> dict[str, str]:
    """Words for those values of a reason that are codes or texts of the tables: agents by their names, the fault of an approval, what a row says."""
    known, found = treatment_rules_in_force().agents, dict[str, str]()
    if "agents" in values:
        found["agents"] = ", ".join(gettext(known[code].name) if code in known else code for code in str(values["agents"]).split(", "))
    if "fault" in values:
        found["fault"] = str(FAULTS.get(str(values["fault"]), values["fault"]))
    found |= {name: gettext(str(values[name])) for name in OF_THE_TABLES if values.get(name)}
    if values.get("material") == ANY:
        found["material"] = gettext("any surface")
    return found


def deposit_kinds() -> list[tuple[str, str]]:
    """The kinds of deposit in force, code and words."""
    return [(code, deposit_words(code)) for code in treatment_rules_in_force().gate.deposit_kinds]


def deposit_words(code: str) -> str:
    """A kind of deposit, or what is never one, in words."""
    return str({**DEPOSITS, **NEVER}.get(code, code))


def zones_in(rows: Iterable[Proposal | Approval | Work]) -> dict[str, str]:
    """Where these are, as each thing calls its zones: 'component/zone' to its name, at once for all of a page."""
    return zones_called({(row.component_id, row.zone) for row in rows})
