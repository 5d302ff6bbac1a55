"""From which address somebody asks: what tries at passwords are counted by."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str | None:
    """The address that the outermost of our proxies heard; what stands before it in the list, the sender may have made up."""
    heard = [part.strip() for part in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")]
    told = heard[-settings.PROXIES] if 0 < settings.PROXIES <= len(heard) else ""
    return _address(told) or _address(request.META.get("REMOTE_ADDR", ""))


def _address(text: str) -> str | None:
    try:
        return str(ip_address(text))
    except ValueError:
        return None
