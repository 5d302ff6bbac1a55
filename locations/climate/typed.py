"""What was typed into the forms of the climate: figures as people write them, days and hours of the society's clock."""

import re
from datetime import date, datetime
from typing import Final

from django.utils.translation import gettext as _

from locations.climate.science.figures import read_figure
from locations.climate.science.values import NoValue
from museum import clock
from museum.errors import Invalid

#: units that people write behind a figure: of humidity, warmth, light, litres, size
UNIT: Final = re.compile(r"\s*(%|°\s*C|°|lx|lux|l|litres?|liter|m3|m³)\.?$", re.IGNORECASE)


def figure(text: str | None, field: str) -> float | None:
    """A figure with point or comma, its unit typed behind it or not; none where nothing was typed. Raises Invalid."""
    if not text or not text.strip():
        return None
    try:
        return read_figure(UNIT.sub("", text.strip()) or text)
    except NoValue:
        raise Invalid(_("“%(typed)s” is no figure. Write it as 20.5 or 20,5."), field=field, typed=text[:20]) from None


def whole(text: str | None, field: str) -> int | None:
    """A count. Raises Invalid."""
    value = figure(text, field)
    if value is None:
        return None
    if value != int(value):
        raise Invalid(_("“%(typed)s” is no whole number."), field=field, typed=(text or "")[:20])
    return int(value)


def moment(text: str | None, field: str = "at") -> datetime | None:
    """A day and hour by the society's clock; none where nothing was typed. Raises Invalid."""
    if not text or not text.strip():
        return None
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        raise Invalid(_("“%(typed)s” is no day and hour."), field=field, typed=text[:20]) from None
    return found if found.tzinfo else found.replace(tzinfo=clock.zone())


def day(text: str | None, field: str) -> date | None:
    """A day. Raises Invalid."""
    if not text or not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Invalid(_("“%(typed)s” is no day."), field=field, typed=text[:20]) from None
