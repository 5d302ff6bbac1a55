"""What headings and the first lines say in words: which quantity, which unit, whose clock, whose serial number."""

import re
from collections.abc import Sequence
from typing import Final

#: the first that fits counts; what fits one of `OTHER` is none of ours
OTHER: Final = re.compile(r"dew|taup|ros[ée]e|frost|absolut|g/m|wet.?bulb|press|druck|batt|volt|co2|mixing|enthalp|min\b|max\b|alarm|limit", re.IGNORECASE)
WORDS: Final = {
    "rh": re.compile(r"\br\.?h\b|%\s*rh|humid|feuchte|\br\.?\s?f\b|humedad|umidit|\bh\.?r\b|\bhr\b|vochtig|^\s*%\s*$|\bhum\b", re.IGNORECASE),
    "t": re.compile(r"temp|°\s*[cf]|º\s*[cf]|℃|℉|\bdeg|celsius|fahrenheit|^\s*t\s*$|\bt\s*[\[(]", re.IGNORECASE),
    "lux": re.compile(r"\blux\b|\blx\b|illum|beleucht|\blight\b|[ée]clairement", re.IGNORECASE),
}
FAHRENHEIT: Final = re.compile(r"°\s*f|º\s*f|℉|fahrenheit|[\[(]\s*f\s*[\])]|\bdeg\.?\s*f\b|temp\w*[_ ]f\b", re.IGNORECASE)
CELSIUS: Final = re.compile(r"°\s*c|º\s*c|℃|celsius|[\[(]\s*c\s*[\])]|\bdeg\.?\s*c\b|temp\w*[_ ]c\b", re.IGNORECASE)
TIME: Final = re.compile(r"time|date|datum|zeit|uhr|heure|fecha|\bhora|data\b|tijd|stamp|epoch|unix", re.IGNORECASE)
ZONE: Final = re.compile(r"\b(?:utc|gmt)\s*(?:([+-])\s?(\d{1,2})(?::?(\d\d))?)?|_utc\b|\butc_", re.IGNORECASE)
SERIAL: Final = re.compile(r"(?:serial(?:\s*(?:number|no\.?|nr\.?|#))?|seriennummer|s/n|sn|ser\.?\s?no\.?)\W{1,4}([A-Z0-9][A-Z0-9-]{3,19})\b", re.IGNORECASE)
#: what stands where a line has its time, when it sums up the readings above or below
SUMS: Final = re.compile(
    r"[\Wø]*(?:min|max|mean|average|avg|median|st\.?\s?d|std|range|count|number|total|sum\b|mittel|durchschnitt|anzahl|summe|moy|m[ée]diane|[ée]cart|nombre|media|promedio"
    r"|gem|percentile|perzentil)",
    re.IGNORECASE,
)


def quantity(heading: str) -> str:
    """t, rh, lux or nothing of ours."""
    plain = heading.replace("_", " ")
    if OTHER.search(plain):
        return ""
    return next((name for name, words in WORDS.items() if words.search(plain)), "")


def unit(heading: str) -> str:
    """C or F, as far as it is said."""
    if FAHRENHEIT.search(heading):
        return "F"
    return "C" if CELSIUS.search(heading) else ""


def minutes_ahead(heading: str) -> int | None:
    """Minutes ahead of universal time, where a heading names its clock."""
    if (found := ZONE.search(heading)) is None:
        return None
    sign, hours, minutes = found.groups()
    whole = int(hours or 0) * 60 + int(minutes or 0)
    return -whole if sign == "-" else whole


def serial(lines: Sequence[str]) -> str:
    """A serial number in the lines above the readings."""
    return next((found.group(1).upper() for line in lines if (found := SERIAL.search(line))), "")
