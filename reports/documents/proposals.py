"""The treatment proposal: what was found, what is meant to be done about it and why no less would do, and who decides.

Decide and plan of the process that EN 16853 describes, and what a record of treatment must hold before the work.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Object, Photograph
from collection.objects.queries import material_words, photographs_of, zones_called
from conservation.rules.candidates import level_of
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import TreatmentRules
from conservation.rules.who import stands_below
from conservation.treatments import advice, answering, asking
from conservation.treatments.models import Approval, OwnerLeave, Proposal
from locations.places.queries import where_is, words_of
from museum import clock
from museum.errors import NotFound
from museum.people.actor import Actor
from reports.documents import common, treating
from reports.documents.considered import ladder
from reports.documents.pointed import pointed
from reports.registry import Gathered, document

MOST_PICTURES: Final = 4
#: gates that leave and hands open: the paper is there to get them
BY_LEAVE: Final = frozenset({"APPROVAL", "SECOND", "ROLE", "COMPETENCE"})


@document("treatment_proposal", title=gettext_lazy("Treatment proposal"), version="1", permission="paper.see", seen_by="treatment.see")
def treatment_proposal(subject: UUID, actor: Actor) -> Gathered:
    """Of a proposal by its key."""
    row = Proposal.objects.select_related("finding", "proposed_by", "component").filter(pk=subject).first()
    if row is None:
        raise NotFound
    thing, rules = common.object_for(actor, row.object_id), treatment_rules_in_force()
    facts, looks = asking.facts_of(thing), treating.looks_at(row.finding)
    steps = [_step(n, said, row, facts, rules) for n, said in enumerate(row.steps, start=1)]
    data = {
        "object": common.heading(thing), "place": words_of(where_is(thing), exact=False), "parts": common.parts_of(thing), "dangers": common.dangers(thing),
        "proposal": _proposal(row), "seen": treating.seen(looks[-1]) if looks else None,
        "first_seen": looks[0].of_check.happened_on.isoformat() if looks else "",
        "before": [treating.seen(one) for one in looks[:-1]], "drawing": pointed(thing, row.component_id, row.zone, row.finding),
        "pictures": [common.picture(one, f"F{n}") for n, one in enumerate(_pictures(row), start=1)], "steps": steps,
        "ladder": ladder(row, looks, facts, rules), "stop": treating.stop_signs(), "open": _still_open(steps),
        "deposits": treating.deposits_of([row.finding_id] if row.finding_id else []), "owner": _owner(thing),
        "decisions": _decisions(row), "leave": [treating.given(one) for one in _approvals(row)],
        "conservator": any(step["for_conservator"] for step in steps), "restoration": any(step["restoration"] for step in steps), "rules": rules.version,
    }  # fmt: skip
    title = _("Treatment proposal, %(number)s %(name)s, %(zone)s") % {"number": thing.card.number, "name": thing.card.name, "zone": row.zone}
    return Gathered(data, title.replace("  ", " "), reverse("treatments:proposal", args=[row.pk]), [("proposal", row.pk), ("object", thing.pk)])


def _proposal(row: Proposal) -> dict[str, Any]:
    called = zones_called([(row.component_id, row.zone)])[row.zone_key]
    return {
        "key": str(row.pk), "state": row.state, "state_words": row.get_state_display(), "aim": row.aim, "by": row.proposed_by.name,
        "sent_on": clock.day_of(row.sent_at).isoformat(), "version": row.version, "zone": row.zone, "zone_words": called,
        "part": _part(row), "surface": ", ".join(material_words([row.surface])) or row.surface, "written": advice.written_for(row),
    }  # fmt: skip


def _part(row: Proposal) -> str:
    return "" if row.component.sort == "main" else f"{row.component.letter} {row.component.name}".strip()


def _step(n: int, said: Mapping[str, Any], row: Proposal, facts: asking.ObjectFacts, rules: TreatmentRules) -> dict[str, Any]:
    """A step as proposed, with what its row says and what is to be read and ticked there."""
    step, key = rules.steps.get(said["step"]), f"{row.component_id}/{row.zone}"
    words = treating.step_words(step, rules)
    shows: list[dict[str, str]] = []
    shut = None
    if step is not None and key in facts.zones:
        way = answering.way_of(facts, asking.somebody_able(step.code, facts.day), key, row.surface, step, rules)
        shows = [{"code": code, "words": text} for code, text in way.shows]
        shut = way.refusal
    return words | {
        "n": n, "words": said["words"], "added": treating.agents_in_words(said["agents"], rules), "unknown": list(said["unknown"]), "earlier": said["earlier"],
        "known": step is not None, "shows": shows, "for_conservator": step is None or not stands_below(step.who, "conservator"),
        "restoration": step is not None and level_of(step, rules) == "restoration",
        "shut": {"gate": shut.gate, "why": shut.why, "instead": shut.instead, "opens": shut.opens} if shut and shut.gate not in BY_LEAVE else None,
    }  # fmt: skip


def _still_open(steps: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """What else shuts a step today, each gate once: leave alone does not open it."""
    found = {step["shut"]["gate"]: step["shut"] for step in steps if step["shut"]}
    return list(found.values())


def _pictures(row: Proposal) -> list[Photograph]:
    """Those of the finding first, then those of the thing."""
    of_finding = list(photographs_of("finding", row.finding_id).select_related("file", "taken_by")[:MOST_PICTURES]) if row.finding_id else []
    of_thing = list(photographs_of("object", row.object_id).select_related("file", "taken_by")[:MOST_PICTURES])
    return list(dict.fromkeys([*of_finding, *of_thing]))[:MOST_PICTURES]


def _owner(thing: Object) -> list[dict[str, str]]:
    """The owner's leave in writing, where it is not ours."""
    rows = OwnerLeave.objects.filter(object=thing, corrected_by=None, withdraws=False).select_related("by").order_by(*OwnerLeave.ORDER)
    return [{"letter": row.letter, "until": row.until.isoformat() if row.until else "", "by": row.by.name} for row in rows]


def _decisions(row: Proposal) -> list[dict[str, Any]]:
    return [
        {
            "what": one.what, "words": one.get_what_display(), "by": one.by.name, "role": treating.acted_as(one.act), "on": one.happened_on.isoformat(),
            "remark": one.remark,
        }
        for one in row.decisions.select_related("by", "act").order_by("recorded_at", "id")
    ]  # fmt: skip


def _approvals(row: Proposal) -> list[Approval]:
    rows = Approval.objects.filter(decision__proposal=row, corrected_by=None, withdraws=False)
    return list(rows.select_related(*treating.LEAVE).order_by("recorded_at", "id"))
