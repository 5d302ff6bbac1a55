"""Asking for labels: set by the worker, fetched by whoever asked. They are no papers: nothing is numbered or kept."""

from collections.abc import Sequence
from uuid import UUID

from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from museum.errors import Invalid
from museum.jobs.actions import enqueue
from museum.jobs.models import Job
from museum.people.action import Act, action
from museum.people.models import Society
from reports.labels.content import Wanted, labels_for
from reports.labels.stock import STOCKS


@action("reports.ask_for_labels", may="label.print")
def ask_for_labels(
    act: Act, stock: str, *, things: Sequence[UUID] = (), places: Sequence[UUID] = (), inside: bool = False, parts: bool = False, start: int = 1
) -> Job:
    """Has labels set in the background. What can be refused is refused at once: NotFound, Forbidden, Invalid."""
    if stock not in STOCKS:
        raise Invalid(_("Choose what the labels are printed on."), field="stock")
    on = STOCKS[stock]
    most = on.columns * on.rows
    if not 1 <= start <= most:
        raise Invalid(_("This sheet has the labels 1 to %(most)d. Say at which of them printing begins."), field="start", most=most)
    with translation.override(Society.load().language):
        count = len(labels_for(act.actor, Wanted(things, places, inside, parts)))
    if not count:
        raise Invalid(_("Nothing is chosen to be labelled."), field="thing")
    arguments = {"stock": stock, "things": list(things), "places": list(places), "inside": inside, "parts": parts, "start": start}
    title = ngettext("%(n)d label", "%(n)d labels", count) % {"n": count}
    return enqueue(act, "print_labels", act.actor.person, arguments, title)
