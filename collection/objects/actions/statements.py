"""What is said of an object: statements, and their acceptance."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects import card, fields
from collection.objects.actions.common import component_of
from collection.objects.models import Acceptance, Component, Field, Statement
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.people.action import Act, Personal, action


class Decided(DomainError):
    """A proposal that somebody accepted or declined before."""

    code = "decided"
    template = _("This proposal was decided meanwhile. Load the page again to see how.")


@action("objects.say", may="catalogue.propose")
def say(
    act: Act, component_id: UUID, field: str, value: Mapping[str, Any] | str | None, *, words: str = "",
    source: str = "", certainty: str = Statement.Certainty.SURE, language: str = "", replaces: UUID | None = None,
    cell: str = "", propose: bool = False,
) -> Statement:  # fmt: skip
    """Says something of a component; accepted at once for those who may edit, else a proposal that blocks nobody.

    `replaces` is the acceptance the writer saw (none for a first value). Where another value stands by now,
    VersionConflict carries both and nothing is stored; `propose` keeps it as a proposal instead. No value empties
    the field. Raises Invalid, NotFound.
    """
    component = component_of(act, component_id)
    statement = put_statement(
        act, component, field_of(field), value, words=words, source=source, certainty=certainty, language=language,
        replaces=replaces, cell=cell, propose=propose,
    )  # fmt: skip
    card.refresh([component.object_id])
    return statement


@action("objects.accept_statement", may="catalogue.edit")
def accept_statement(act: Act, statement_id: UUID, *, replaces: UUID | None) -> Acceptance:
    """Makes a proposal the record's. Raises VersionConflict where another value stands by now."""
    statement = _undecided(act, statement_id)
    said = fields.Said(statement.value, statement.words)
    _demand_latest(statement.component, statement.field, statement.language, replaces, said)
    accepted = _accept(act, statement, replaces)
    about = [("object", statement.component.object_id)]
    act.wrote("statement.accepted", statement, after=_told(statement.field, said), about=about)
    card.refresh([statement.component.object_id])
    return accepted


@action("objects.decline_statement", may="catalogue.edit")
def decline_statement(act: Act, statement_id: UUID, *, reason: str) -> Statement:
    """Leaves a proposal aside, with the reason its author reads. It stays on record."""
    proposal = _undecided(act, statement_id)
    if not reason.strip():
        raise Invalid(_("Tell the person who proposed it why."), field="reason")
    aside = Statement.objects.create(
        act_id=act.id, component=proposal.component, field=proposal.field, value=None, words=reason.strip(),
        language=proposal.language, author_id=act.actor.person, corrects=proposal, withdraws=True, recorded_at=act.now,
    )  # fmt: skip
    about = [("object", proposal.component.object_id)]
    act.wrote("statement.declined", proposal, reason=reason.strip(), after={"field": proposal.field.code}, about=about)
    return aside


def put_statement(
    act: Act, component: Component, field: Field, value: Mapping[str, Any] | str | None, *, words: str = "",
    source: str = "", certainty: str = Statement.Certainty.SURE, language: str = "", replaces: UUID | None = None,
    cell: str = "", propose: bool = False,
) -> Statement:  # fmt: skip
    """What `say` does, within another action on the same object."""
    said = fields.clean(field, value, words)
    if certainty not in Statement.Certainty.values:
        raise Invalid(_("Say how sure it is: sure, likely, told or disproved."), field="certainty")
    accepts = act.actor.may("catalogue.edit") and not propose
    if accepts:
        _demand_latest(component, field, language, replaces, said)
    statement = Statement.objects.create(
        act_id=act.id, component=component, field=field, value=said.value, words=said.words, language=language,
        source=source.strip(), certainty=certainty, author_id=act.actor.person, cell=cell, recorded_at=act.now,
    )  # fmt: skip
    if accepts:
        _accept(act, statement, replaces)
    what = "statement.made" if accepts else "statement.proposed"
    about = [("object", component.object_id)]
    told = _told(field, said)
    if field.personal and statement.source:
        told["source"] = Personal(statement.source)
    act.wrote(what, statement, after=told, reason="" if field.personal else statement.source, about=about)
    return statement


def field_of(code: str) -> Field:
    """The field with this code. Raises Invalid."""
    row = Field.objects.filter(code=code, retired=False).first()
    if row is None:
        raise Invalid(_("There is no field '%(code)s'."), field="field", code=code)
    return row


def standing(component: Component, field: Field, language: str = "") -> Acceptance | None:
    """The acceptance in force of a single field."""
    rows = Acceptance.objects.filter(component=component, field=field, language=language, replaced_by=None)
    return rows.select_related("statement__author").order_by("-recorded_at", "-id").first()


def _told(field: Field, said: fields.Said) -> dict[str, Any]:
    """What the history says of it: of a personal field the words are kept apart, so that they can be erased."""
    return {"field": field.code, "value": Personal(said.words) if field.personal else said.value}


def _undecided(act: Act, statement_id: UUID) -> Statement:
    """A proposal, its object locked. Raises NotFound, Decided."""
    found = Statement.objects.select_related("field", "component").filter(pk=statement_id, withdraws=False).first()
    if found is None:
        raise NotFound
    component_of(act, found.component_id)
    if Acceptance.objects.filter(statement=found).exists() or Statement.objects.filter(corrects=found).exists():
        raise Decided
    return found


def _demand_latest(component: Component, field: Field, language: str, replaces: UUID | None, said: fields.Said) -> None:
    """Raises VersionConflict where the value the writer saw is no longer the one that stands."""
    if field.repeatable:
        if replaces is None:
            return
        rows = Acceptance.objects.filter(pk=replaces, component=component, field=field, replaced_by=None)
        last = rows.select_related("statement__author").first()
    else:
        last = standing(component, field, language)
    if (last.pk if last else None) != replaces:
        raise _conflict(component, field, last, said)


def _conflict(component: Component, field: Field, last: Acceptance | None, said: fields.Said) -> VersionConflict:
    author = last.statement.author if last else None
    theirs = fields.shown(field, last.statement.value, last.statement.words) if last else ""
    return VersionConflict(
        who=author.name if author else str(_("Somebody")), theirs={field.code: theirs},
        mine={field.code: fields.shown(field, said.value, said.words)},
        version=str(last.pk) if last else "", subject=f"component:{component.pk}",
    )  # fmt: skip


def _accept(act: Act, statement: Statement, replaces: UUID | None) -> Acceptance:
    """The acceptance; the database has the last word on which of two came first."""
    field, component = statement.field, statement.component
    try:
        with transaction.atomic():
            return Acceptance.objects.create(
                act_id=act.id, statement=statement, component=component, field=field, language=statement.language,
                single=not field.repeatable, replaces_id=replaces, accepted_by_id=act.actor.person, recorded_at=act.now,
            )  # fmt: skip
    except IntegrityError:
        said = fields.Said(statement.value, statement.words)
        raise _conflict(component, field, standing(component, field, statement.language), said) from None
