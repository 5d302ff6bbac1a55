"""What is said of an object: statements, and their acceptance."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects import card, fields
from collection.objects.models import Acceptance, Component, Field, Object, Statement
from museum.errors import Invalid, NotFound, VersionConflict
from museum.history.record import lock
from museum.people.action import Act, Personal, action


@action("objects.say", may="catalogue.propose")
def say(
    act: Act, component_id: UUID, field: str, value: Mapping[str, Any] | str | None, *, words: str = "", source: str = "",
    certainty: str = Statement.Certainty.SURE, language: str = "", replaces: UUID | None = None, cell: str = "",
) -> Statement:  # fmt: skip
    """Says something of a component; accepted at once for those who may edit, else a proposal that blocks nobody.

    `replaces` is the acceptance the writer saw (none for a first value). Where another value stands by now,
    VersionConflict carries both and nothing is stored. Raises Invalid, NotFound.
    """
    component = component_of(act, component_id)
    row = field_of(field)
    said = fields.clean(row, value, words)
    if certainty not in Statement.Certainty.values:
        raise Invalid(field="certainty")
    statement = Statement(
        act_id=act.id, component=component, field=row, value=said.value, words=said.words, language=language, source=source,
        certainty=certainty, author_id=act.actor.person, cell=cell, recorded_at=act.now,
    )  # fmt: skip
    if act.actor.may("catalogue.edit"):
        _demand_latest(component, row, language, replaces, said)
    statement.save(force_insert=True)
    shown: Any = Personal(said.words) if row.personal else said.value
    accepts = act.actor.may("catalogue.edit")
    if accepts:
        _accept(act, statement, replaces)
    what = "statement.made" if accepts else "statement.proposed"
    act.wrote(what, statement, after={"field": field, "value": shown}, reason=source, about=[("object", component.object_id)])
    return statement


@action("objects.accept_statement", may="catalogue.edit")
def accept_statement(act: Act, statement_id: UUID, *, replaces: UUID | None) -> Acceptance:
    """Makes a proposal the record's."""
    statement = Statement.objects.select_related("field", "component").filter(pk=statement_id).first()
    if statement is None or not Object.objects.visible_to(act.actor).filter(pk=statement.component.object_id).exists():
        raise NotFound()
    said = fields.Said(statement.value, statement.words)
    _demand_latest(statement.component, statement.field, statement.language, replaces, said)
    accepted = _accept(act, statement, replaces)
    act.wrote("statement.accepted", statement, about=[("object", statement.component.object_id)])
    return accepted


def component_of(act: Act, component_id: UUID) -> Component:
    """The component, its object locked; absent where the person may not see it."""
    component = Component.objects.select_related("object").filter(pk=component_id).first()
    if component is None or not Object.objects.visible_to(act.actor).filter(pk=component.object_id).exists():
        raise NotFound()
    lock(f"object:{component.object_id}")
    return component


def field_of(code: str) -> Field:
    """The field with this code. Raises Invalid."""
    row = Field.objects.filter(code=code, retired=False).first()
    if row is None:
        raise Invalid(_("There is no field '%(code)s'."), field="field", code=code)
    return row


def standing(component: Component, field: Field, language: str = "") -> Acceptance | None:
    """The acceptance in force of a single field."""
    rows = Acceptance.objects.filter(component=component, field=field, language=language, replaced_by=None)
    return rows.select_related("statement__author").order_by("-recorded_at").first()


def _demand_latest(component: Component, field: Field, language: str, replaces: UUID | None, said: fields.Said) -> None:
    """Raises VersionConflict where the value the writer saw is no longer the one that stands."""
    if field.repeatable and replaces is None:
        return
    if replaces is not None and field.repeatable:
        last = Acceptance.objects.filter(pk=replaces, component=component, replaced_by=None).select_related("statement__author").first()
    else:
        last = standing(component, field, language)
    if (last.pk if last else None) == replaces:
        return
    author = last.statement.author if last else None
    raise VersionConflict(
        who=author.name if author else "?", theirs={field.code: last.statement.words if last else ""}, mine={field.code: said.words},
        version=str(last.pk) if last else "", subject=f"component:{component.pk}",
    )  # fmt: skip


def _accept(act: Act, statement: Statement, replaces: UUID | None) -> Acceptance:
    try:
        with transaction.atomic():
            accepted = Acceptance.objects.create(
                act_id=act.id, statement=statement, component_id=statement.component_id, field_id=statement.field_id,
                language=statement.language, single=not statement.field.repeatable, replaces_id=replaces,
                accepted_by_id=act.actor.person, recorded_at=act.now,
            )  # fmt: skip
    except IntegrityError:
        raise VersionConflict(who="?", theirs={}, mine={statement.field.code: statement.words}, version="") from None
    card.refresh([statement.component.object_id])
    return accepted


