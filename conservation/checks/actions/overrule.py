"""A person's own grade or urgency beside the computed one."""

from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from conservation.checks import derived
from conservation.checks.models import Judgement, Overrule
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action


class NotByNumber(DomainError):
    """A forcing term, a hold or 'wet' is not overruled by a number."""

    code = "not_by_number"
    template = _("Urgency 3 stands because of %(why)s. It goes when the finding changes or the hazard is closed, not by a number.")


@action("checks.overrule", may="check.overrule")
def overrule(act: Act, object_id: UUID, *, judgement_id: UUID, what: str, value: int, reason: str) -> Overrule:
    """Puts a person's value beside the computed one; it is in force until the next graded check.

    Both values, the name and the reason stay. Raises Invalid without a reason, NotByNumber where
    safety forced the value.
    """
    if what not in ("grade", "urgency") or value not in (0, 1, 2, 3):
        raise Invalid(_("Grade and urgency go from 0 to 3."), field="value")
    if not reason.strip():
        raise Invalid(_("Say why: the reason stays beside both values."), field="reason")
    lock(f"object:{object_id}")
    if not Object.objects.visible_to(act.actor).filter(pk=object_id).exists():
        raise NotFound()
    judgement = Judgement.objects.filter(object_id=object_id).order_by("-recorded_at", "-id").first()
    if judgement is None or judgement.pk != judgement_id:
        raise DomainError(_("The object was judged again meanwhile. Look at the new judgement first; your reason was not stored."))
    if what == "urgency" and (forced := judgement.result.get("forced")) and value < judgement.urgency:
        raise NotByNumber(why=", ".join(forced))
    fact = Overrule.objects.create(
        act_id=act.id, judgement=judgement, what=what, value=value, reason=reason.strip(), author_id=act.actor.someone, recorded_at=act.now
    )
    act.wrote("check.overruled", fact, before={what: getattr(judgement, what)}, after={what: value}, reason=reason.strip(), about=[("object", object_id)])
    derived.refresh([object_id])
    return fact
