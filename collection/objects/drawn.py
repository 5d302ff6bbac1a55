"""The photographs of an object on which zones are drawn: views beside, or in place of, the outline drawings."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from collection.objects.models import Object, Photograph, ZoneNote
from collection.objects.queries import in_force, photographs_of
from collection.objects.shapes import Point


@dataclass(frozen=True, slots=True)
class DrawnZone:
    """A zone as drawn on one photograph."""

    note: ZoneNote

    @property
    def key(self) -> str:
        """'component/code', as checks write it."""
        return f"{self.note.component_id}/{self.note.zone}"

    @property
    def code(self) -> str:
        return self.note.zone

    @property
    def points(self) -> list[Point]:
        """Its corners in parts of the upright picture."""
        return [(x, y) for x, y in self.note.shape or ()]


@dataclass(frozen=True, slots=True)
class DrawnView:
    """A photograph with its zones. `keys` are those under which its file was known before it was said better what it shows."""

    photograph: Photograph
    zones: Sequence[DrawnZone]
    keys: frozenset[UUID]

    @property
    def code(self) -> str:
        """How a finding names this view."""
        return view_code(self.photograph.pk)

    def is_named(self, view: str) -> bool:
        """Whether a finding that names this view means this photograph."""
        return any(view == view_code(key) for key in self.keys)

    def only(self, keys: "set[str]") -> "DrawnView":
        """The same with those zones alone that the object has."""
        return DrawnView(self.photograph, [zone for zone in self.zones if zone.key in keys], self.keys)


def view_code(photograph_id: UUID) -> str:
    """The view of a finding whose point lies in a photograph."""
    return f"photo:{photograph_id}"


def drawn_views(thing: Object, noted: Sequence[ZoneNote] | None = None) -> list[DrawnView]:
    """The standing photographs of an object on which zones are drawn, by their view. One query where there are none, else three;
    one less with all that was `noted` of its zones at hand.

    A photograph that was said better since is another row with the same file: what was drawn on it stands.
    """
    notes = list(shapes_of(thing)) if noted is None else [note for note in noted if note.photograph is not None and note.shape is not None]
    if not notes:
        return []
    pictures = Photograph.objects.filter(file__in=Photograph.objects.filter(pk__in={note.photograph for note in notes}).values("file"))
    file_of = dict(pictures.values_list("pk", "file_id"))
    standing = photographs_of("object", thing.pk).filter(file_id__in=set(file_of.values())).select_related("file", "taken_by")
    return [
        DrawnView(
            photograph, [DrawnZone(note) for note in notes if note.photograph and file_of.get(note.photograph) == photograph.file_id],
            frozenset(key for key, file in file_of.items() if file == photograph.file_id),
        )
        for photograph in sorted(standing, key=lambda row: (row.view or "~", row.pk))
    ]  # fmt: skip


def shapes_of(thing: Object) -> "QuerySet[ZoneNote]":
    """The drawn zones of an object that stand, oldest first."""
    rows = ZoneNote.objects.filter(component__object=thing, photograph__isnull=False, shape__isnull=False)
    return in_force(rows).select_related("component")


def shape_on(photograph: Photograph, component_id: UUID, zone: str) -> ZoneNote | None:
    """How this zone stands drawn on this photograph."""
    same = Photograph.objects.filter(file=photograph.file_id).values("pk")
    return in_force(ZoneNote.objects.filter(component=component_id, zone=zone, photograph__in=same, shape__isnull=False)).last()
