"""Dangers to people that a thing may hold: their lasting codes and names. What to do about each is in the rules."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

DANGERS: Final[Mapping[str, Promise]] = {
    "MOULD": _("mould"),
    "ASBESTOS": _("asbestos"),
    "LEAD_PAINT": _("lead paint, red lead, white lead putty"),
    "LEAD": _("lead"),
    "CHROMATE": _("chromate primer"),
    "CADMIUM": _("cadmium plate"),
    "PESTICIDE": _("arsenic, mercury or DDT residues"),
    "MERCURY_FELT": _("mercury in felt"),
    "MERCURY_LIQUID": _("liquid mercury"),
    "RADIOACTIVE": _("radium or other luminous paint"),
    "CELLULOSE_NITRATE": _("cellulose nitrate"),
    "PLASTIC_DECAY": _("decaying acetate, PVC or foam"),
    "SOLVENT": _("solvents"),
    "SHARP_HEAVY": _("sharp edges, weight, springs"),
    "AMMUNITION": _("ammunition, flares, gas capsules, pressure bottles"),
    "DROPPINGS": _("rodent or bird droppings"),
}
