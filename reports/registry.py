"""The one list of printed documents: what each is called, who may issue it, where its data comes from.

    @document("condition_report", title=_("Condition report"), version="1", permission="paper.issue")
    def condition_report(subject: UUID, actor: Actor) -> Gathered: ...

The function takes a plain key and answers what JSON can carry; its template is reports/<name>.html.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from museum.errors import Invalid, NotFound
from museum.history.chain import digest
from museum.people.actor import Actor


@dataclass(frozen=True, slots=True)
class Gathered:
    """What a document will say, frozen: from here on nothing is asked of the database."""

    data: Mapping[str, Any]
    #: how the paper is called in lists
    title: str
    #: the page of what it is about
    address: str
    #: whose time-lines show that it was issued
    about: Sequence[tuple[str, UUID]]

    @property
    def hash(self) -> str:
        """SHA-256 of the data as canonical JSON: what is printed on the paper."""
        return digest(self.data)


Gather = Callable[..., Gathered]
Options = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Document:
    """A kind of document. `seen_by` is the permission that a reader of the issued paper needs; `options` what may be asked beside its subject,
    such as the days it is about: its data keep what was asked under `asked`."""

    name: str
    title: Any
    version: str
    permission: str
    seen_by: str
    gather: Gather
    options: Sequence[str] = ()

    def gathered(self, subject: UUID, actor: Actor, options: Options | None = None) -> Gathered:
        """What it will say. Raises Invalid for an option it does not have."""
        asked = {name: text for name, text in (options or {}).items() if text}
        if unknown := sorted(set(asked) - set(self.options)):
            raise Invalid(field=unknown[0])
        return self.gather(subject, actor, **asked)

    @property
    def template(self) -> str:
        """Its template."""
        return f"reports/{self.name}.html"


DOCUMENTS: Final[dict[str, Document]] = {}


def document(
    name: str, *, title: Any, version: str, permission: str, seen_by: str = "paper.see", options: Sequence[str] = ()
) -> Callable[[Gather], Gather]:  # fmt: skip
    """Enters a document into the list, with the function that gathers its data; its options are arguments by name, as text."""

    def register(gather: Gather) -> Gather:
        DOCUMENTS[name] = Document(name, title, version, permission, seen_by, gather, options)
        return gather

    return register


def document_called(name: str, actor: Actor) -> Document:
    """The document, if it exists; Forbidden for whoever may not issue it."""
    if name not in DOCUMENTS:
        raise NotFound
    found = DOCUMENTS[name]
    actor.demand(found.permission)
    return found
