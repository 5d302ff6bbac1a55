"""The first things said of a component, all at once: nothing stands there yet that they could collide with."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from collection.objects import fields
from collection.objects.models import Acceptance, Component, Field, Statement
from museum.errors import Invalid
from museum.people.action import Act, Personal


def put_first_statements(act: Act, component: Component, said: Mapping[str, Any], cells: Mapping[str, str]) -> None:
    """Says and accepts whatever is known of a component made in this very act. Three queries, however much it is.

    `said` maps field code to a value or a list of values, `cells` field code to the cell it came from.
    """
    known = {row.code: row for row in Field.objects.filter(code__in=list(said), retired=False)}
    statements = [
        Statement(
            act_id=act.id, component=component, field=field, value=one.value, words=one.words,
            author_id=act.actor.person, cell=cells.get(field.code, ""), recorded_at=act.now,
        )
        for field, one in _cleaned(known, said)
    ]  # fmt: skip
    Statement.objects.bulk_create(statements)
    Acceptance.objects.bulk_create(
        Acceptance(
            act_id=act.id, statement=row, component=component, field=row.field, single=not row.field.repeatable,
            accepted_by_id=act.actor.person, recorded_at=act.now,
        )
        for row in statements
    )  # fmt: skip
    for row in statements:
        value = Personal(row.words) if row.field.personal else row.value
        after = {"field": row.field.code, "value": value}
        act.wrote("statement.made", row, after=after, about=[("object", component.object_id)])


def _cleaned(known: Mapping[str, Field], said: Mapping[str, Any]) -> Iterator[tuple[Field, fields.Said]]:
    for code, value in said.items():
        if (field := known.get(code)) is None:
            raise Invalid(_("There is no field '%(code)s'."), field="field", code=code)
        values = value if isinstance(value, list) else [value]
        if len(values) > 1 and not field.repeatable:
            raise Invalid(_("This field holds one value."), field=code)
        for one in values:
            found = str(one.get("text") or "") if isinstance(one, Mapping) else ""
            yield field, fields.clean(field, one, found.strip())
