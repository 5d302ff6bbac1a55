"""Browsers that several people share."""

from uuid import UUID

from museum import clock
from museum.errors import NotFound
from museum.people.action import Act, action
from museum.people.actions.common import filled
from museum.people.models import Tablet


@action("people.share_tablet", may="tablet.share")
def share_tablet(act: Act, *, name: str) -> Tablet:
    """A browser becomes a shared tablet of this name."""
    tablet = Tablet.objects.create(name=filled(name, "name"))
    act.wrote("tablet.shared", tablet, after={"name": tablet.name})
    return tablet


@action("people.end_tablet", may="tablet.share")
def end_tablet(act: Act, tablet_id: UUID, *, reason: str = "") -> Tablet:
    """It is shared no more: whoever is signed in on it is signed out, and it lists no names."""
    tablet = Tablet.objects.select_for_update().filter(pk=tablet_id).first()
    if tablet is None:
        raise NotFound
    if tablet.ended_on is None:
        tablet.ended_on = clock.today()
        tablet.version += 1
        tablet.save()
        act.wrote("tablet.ended", tablet, after={"ended_on": tablet.ended_on}, reason=reason)
    return tablet
