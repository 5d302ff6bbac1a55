"""Questions asked at every turn: Django spells their statement once a process, and a call only fills in its values.

To spell the statement of a queryset takes Django longer than it takes PostgreSQL to answer it (measured on the page of a
thing: three milliseconds for the statements in force, one for the answer). What a question asks still stands in one place
as a queryset; here is only how its statement is kept. This leans on how Django reads rows (`SQLCompiler`, the `_iterable_class`
of a queryset); tests/test_prepared.py says so if another version of it does this differently.
"""

from collections.abc import Callable
from copy import copy
from datetime import date
from typing import Any, Final, Generic, TypeVar
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, connections, models

T_co = TypeVar("T_co", covariant=True)

#: stand-ins for the values of a question, like nothing else that a statement has
ANY_KEY: Final = UUID("5ca1ab1e-0000-7000-8000-0000000000aa")
ANY_DAY: Final = date(1, 2, 3)
ANY_KEYS: Final = (UUID("5ca1ab1e-0000-7000-8000-0000000000bb"),)


@models.Field.register_lookup
class AnyOf(models.Lookup):
    """`pk__any_of=[...]` (through a foreign key: `thing__pk__any_of`): what `in` asks, as one value, so that the statement is the same for any number."""

    lookup_name = "any_of"

    def get_prep_lookup(self) -> list[Any]:
        return list(self.rhs)

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        left, values = self.process_lhs(compiler, connection)
        return f"{left} = ANY(%s)", (*values, self.rhs)


class Prepared(Generic[T_co]):
    """`make` builds the queryset of one value for each of `examples`, which it may only compare with.

    An example has the type of what it stands for and is like nothing else in the statement. Called with values, it answers
    what `list(make(*values))` would. Not for prefetching, nor for a value that changes the statement (None; `in`: see AnyOf).
    Raises ValueError, at its first call, where an example does not stand in the statement.
    """

    def __init__(self, make: "Callable[..., models.QuerySet[Any, T_co]]", *examples: object) -> None:
        self._make, self._examples = make, [list(one) if isinstance(one, tuple) else one for one in examples]
        self._spelt: _Spelt | None = None

    def __call__(self, *values: object) -> list[T_co]:
        if self._spelt is None:
            self._spelt = _Spelt(self._make(*self._examples), self._examples)
        return self._spelt.rows(values)

    def first(self, *values: object) -> T_co | None:
        """The first row; the queryset should say itself that it is only asked for one."""
        return next(iter(self(*values)), None)


class _Spelt:
    """A queryset with its statement, and which of the statement's values are filled in."""

    def __init__(self, queryset: Any, examples: list[object]) -> None:
        self._queryset, self._compiler = queryset, queryset.query.get_compiler(DEFAULT_DB_ALIAS)
        self._sql, self._fixed = self._compiler.as_sql()
        # Which columns are converted, and how, Django would ask of every column at every call.
        converters = self._compiler.get_converters([column for column, *_more in self._compiler.select])
        self._compiler.get_converters = lambda _columns: converters
        self._slots = [next((n for n, example in enumerate(examples) if type(one) is type(example) and one == example), None) for one in self._fixed]
        if not set(range(len(examples))) <= set(self._slots):
            raise ValueError(f"not every example stands in: {self._sql}")

    def rows(self, values: tuple[object, ...]) -> list[Any]:
        filled = tuple(one if n is None else values[n] for one, n in zip(self._fixed, self._slots, strict=True))
        compiler = copy(self._compiler)
        compiler.connection = connections[DEFAULT_DB_ALIAS]
        compiler.as_sql = lambda *_args, **_more: (self._sql, filled)
        return list(self._queryset._iterable_class(_Asked(self._queryset, compiler)))


class _Asked:
    """What Django's readers of rows want to know of a queryset and its query."""

    def __init__(self, queryset: Any, compiler: Any) -> None:
        self.db, self.model, self._fields = DEFAULT_DB_ALIAS, queryset.model, queryset._fields
        self._known_related_objects: dict[Any, Any] = {}
        self.query, self._compiler = self, compiler

    def get_compiler(self, *_args: object, **_more: object) -> Any:
        return self._compiler
