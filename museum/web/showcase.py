"""What the styleguide shows its components with: sample values of an invented collection."""

import re
from functools import cache
from pathlib import Path
from typing import Any, Final

from django import forms
from django.core.paginator import Paginator
from django.utils.translation import gettext_lazy as _

from museum.web.context import THEMES

STATIC: Final = Path(__file__).parent / "static" / "web"
COLOURS: Final = (
    "paper", "sheet", "well", "ink", "slate", "edge", "link", "brass", "brass-fill", "brass-wash", "oxide",
    "oxide-wash", "verdigris", "verdigris-wash", "slate-wash", "stop",
)  # fmt: skip


class Sample(forms.Form):
    """One field of each sort."""

    number = forms.CharField(label=_("Number on the tag"), help_text=_("As written: 1974.12.3 or 1974 12 3."))
    back_by = forms.DateField(label=_("Back by"), error_messages={"invalid": _("This day does not exist. Which day did you agree?")})
    use = forms.ChoiceField(label=_("Use of the place"), choices=[("store", _("store")), ("display", _("display"))])
    how = forms.ChoiceField(label=_("How is it kept?"), widget=forms.RadioSelect, choices=[("box", _("in a box")), ("open", _("open"))])
    told = forms.BooleanField(label=_("The owner was told"), required=False)
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2}))


@cache
def symbols(file: str, prefix: str) -> list[str]:
    """The names of the symbols in a sprite, in the order in which they stand there."""
    return re.findall(rf'id="{prefix}-([\w-]+)"', (STATIC / file).read_text(encoding="utf-8"))


def context(look: str) -> dict[str, Any]:
    """The values of the styleguide; `look` overrules the person's own choice of light or dark."""
    values: dict[str, Any] = {
        "colours": COLOURS, "icons": symbols("icons.svg", "i"),
        "percents": [name.replace("_", ".") for name in symbols("areas.svg", "area")],
        "form": Sample({"number": "1974.12.3", "back_by": "31/02/2027", "use": "store", "how": "box", "told": "on"}),
        "page": Paginator(range(100), 10).page(2), "names": {"name": _("Name"), "walk": _("Turn in the walk")},
        "theirs": {"name": "Shelf 3, north", "walk": "4"}, "mine": {"name": "Shelf 3, by the door", "walk": "5"},
    }  # fmt: skip
    return values | ({"theme": look} if look in THEMES else {})
