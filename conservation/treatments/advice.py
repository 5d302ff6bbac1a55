"""The conservator's word on a proposal: whether it asks for one, and what was said."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.who import stands_below
from conservation.treatments.models import Decision, Proposal


def asks_conservator(proposal: Proposal) -> bool:
    """Whether one of its steps is a conservator's; an act without a row is."""
    steps = [treatment_rules_in_force().steps.get(said["step"]) for said in proposal.steps]
    return any(step is None or not stands_below(step.who, "conservator") for step in steps)


def word_on(proposal: Proposal) -> Decision | None:
    """The last agreement of a conservator to the proposal as it was last sent."""
    rows = Decision.objects.filter(proposal=proposal, what=Decision.What.ENDORSED, recorded_at__gte=proposal.sent_at, corrected_by=None, withdraws=False)
    return rows.select_related("by").order_by("recorded_at", "id").last()


def written_for(proposal: Proposal) -> str:
    """The conservator's written proposal: what is filed with it, and what a conservator wrote to it here."""
    word = word_on(proposal)
    said = _("%(name)s, conservator, %(day)s: %(words)s") % {"name": word.by.name, "day": date_format(word.happened_on), "words": word.remark} if word else ""
    return "; ".join(filter(None, [proposal.written, said]))
