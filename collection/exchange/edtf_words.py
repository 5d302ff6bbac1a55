"""EDTF as offered to people, in words."""

import re

from django.utils.translation import gettext as _

from collection.objects.dates import EdtfError, bounds


def in_words(edtf: str) -> str:
    """'[1914..1918]' as 'at some time, 1914 to 1918'; what has no simple words is said by its first and last day."""
    if pair := re.fullmatch(r"\[(-?[0-9]{4})\.\.(-?[0-9]{4})\]", edtf):
        return _("at some time, %(first)s to %(last)s") % {"first": _year(pair[1]), "last": _year(pair[2])}
    if pair := re.fullmatch(r"(-?[0-9]{4})/(-?[0-9]{4})", edtf):
        return _("all through, %(first)s to %(last)s") % {"first": _year(pair[1]), "last": _year(pair[2])}
    if re.fullmatch(r"-?[0-9]{4}", edtf):
        return _year(edtf)
    try:
        first, last = bounds(edtf)
    except EdtfError:
        return edtf
    told = [str(day) if day else "?" for day in (first, last)]
    return told[0] if told[0] == told[1] else _("%(first)s to %(last)s") % {"first": told[0], "last": told[1]}


def _year(text: str) -> str:
    """Astronomical years before 1 are those BC: 0000 is 1 BC."""
    year = int(text)
    return str(year) if year > 0 else _("%(year)s BC") % {"year": 1 - year}
