"""Two people changed one record: the page that shows both versions, whatever the form was."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from museum.errors import VersionConflict


def both_versions(request: HttpRequest, conflict: VersionConflict, *, back: str, names: Mapping[str, Any]) -> HttpResponse:
    """Both, field by field, with all that was typed ready to be sent again. `names` says what the fields are called."""
    sides = {side: {name: _plain(value) for name, value in conflict.data[side].items()} for side in ("theirs", "mine")}
    shown = VersionConflict(**{**conflict.data, **sides})
    context = {"conflict": shown, "again": request.path, "back": back, "typed": request.POST, "names": names}
    return render(request, "web/conflict.html", context, status=VersionConflict.status)


def _plain(value: Any) -> Any:
    return (_("yes") if value else _("no")) if isinstance(value, bool) else value
