"""Photographs: added, said better, taken back; their smaller pictures made."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _

from collection.objects import card, photos
from collection.objects.models import Derivative, Object, Photograph, Shows
from collection.objects.showing import photograph_for
from museum import clock
from museum.disk import settle, write_synced
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.ids import uuid7
from museum.jobs.actions import enqueue
from museum.papers import files
from museum.people.action import Act, action

#: what a photograph may show; only objects must be here already
SUBJECTS: Final = ("object", "component", "finding", "check", "place")
MAKE_SMALLER: Final = "objects.smaller_pictures"
Subject = tuple[str, UUID]


@action("objects.add_photograph", may="photo.add")
def add_photograph(act: Act, photograph_id: UUID, upload: photos.Upload, *, shows: Sequence[Subject], view: str = "", caption: str = "") -> Photograph:
    """Keeps a picture as it came and says what it shows. The same file again for the same thing adds nothing.

    Repeatable by the act's key. `shows` is what is to be seen on it, the main thing first: where a finding or a check is
    shown, name its object too, so that who sees the object sees the picture. The day is the camera's, else today.
    Raises Forbidden, NotFound, Invalid and the refusals of `photos`.
    """
    subjects = _subjects(act, shows)
    _known_view(view)
    if (known := _shown_already(upload.sha256, subjects[0])) is not None:
        _show(act, known, subjects)
        return known
    found = photos.look_at(upload)
    name = upload.name or f"photograph.{photos.SUFFIXES[found.media_type]}"
    kept = files.store(act, upload.file, name=name, media_type=found.media_type)
    photograph = Photograph.objects.create(
        id=photograph_id, act_id=act.id, file=kept, view=view, caption=caption.strip(), taken_by_id=act.actor.person,
        width=found.width, height=found.height, happened_at=found.taken, happened_on=clock.day_of(found.taken or act.now),
        recorded_at=act.now,
    )  # fmt: skip
    after = {"view": view, "caption": photograph.caption, "sha256": kept.sha256}
    act.wrote("photograph.added", photograph, after=after, about=subjects)
    _show(act, photograph, subjects)
    _enqueue(act, photograph)
    return photograph


@action("objects.correct_photograph", may="photo.add")
def correct_photograph(act: Act, photograph_id: UUID, *, view: str, caption: str) -> Photograph:
    """Says better which view it is and what is to be seen: on one's own photograph, or on any with the right to edit.

    Answers the photograph that stands from now on; it shows the same. Raises NotFound, Invalid, Forbidden.
    """
    old = _to_change(act, photograph_id)
    _known_view(view)
    if (old.view, old.caption) == (view, caption.strip()):
        return old
    new = _instead(act, old, view=view, caption=caption.strip())
    subjects = list(_subjects_of(old))
    before = {"view": old.view, "caption": old.caption}
    act.wrote("photograph.corrected", new, before=before, after={"view": view, "caption": new.caption}, about=subjects)
    _show(act, new, subjects)
    Derivative.objects.bulk_create([Derivative(photograph=new, width=row.width, height=row.height, path=row.path) for row in old.derivatives.all()])
    _enqueue(act, new)
    return new


@action("objects.withdraw_photograph", may="photo.add")
def withdraw_photograph(act: Act, photograph_id: UUID, *, reason: str) -> Photograph:
    """Takes a photograph back, such as one of another thing. Its file stays. Raises NotFound, Invalid, Forbidden."""
    old = _to_change(act, photograph_id)
    if not reason.strip():
        raise Invalid(_("Say why it is taken back."), field="reason")
    gone = _instead(act, old, withdraws=True)
    subjects = list(_subjects_of(old))
    act.wrote("photograph.withdrawn", gone, reason=reason.strip(), about=subjects)
    card.refresh(_objects(subjects))
    return gone


@action("objects.make_smaller", may="photo.add")
def make_smaller(act: Act, photograph_id: UUID) -> int:
    """Makes the smaller pictures of a photograph that are not on the disk; answers how many. Can run twice."""
    photograph = Photograph.objects.select_related("file").filter(pk=photograph_id).first()
    if photograph is None:
        raise NotFound
    if not lacks_smaller(photograph):
        return 0
    code, made = photograph.file.sha256, []
    with files.open_file(photograph.file) as original:
        for width, height, data in photos.smaller(original):
            made.append(Derivative(photograph=photograph, width=width, height=height, path=f"{code[:2]}/{code}-{width}.jpg"))
            settle(write_synced(data, _folder()), derivative_path(made[-1]))
    Derivative.objects.bulk_create(made, update_conflicts=True, unique_fields=["photograph", "width"], update_fields=["height", "path"])
    return len(made)


def lacks_smaller(photograph: Photograph) -> bool:
    """Whether a smaller picture is missing, as a row or on the disk."""
    rows = {row.width: row for row in photograph.derivatives.all()}
    return not all(width in rows and derivative_path(rows[width]).exists() for width in photos.WIDTHS)


def derivative_path(row: Derivative) -> Path:
    """Where a smaller picture lies: apart from the originals, since it can be made again."""
    return _folder() / row.path


def _folder() -> Path:
    return Path(settings.VAR_DIR) / "derivatives"


def _subjects(act: Act, shows: Sequence[Subject]) -> list[Subject]:
    """What is shown, each once; locked in the order of the keys. Raises Invalid, NotFound."""
    subjects = list(dict.fromkeys(shows))
    if not subjects or any(kind not in SUBJECTS for kind, _key in subjects):
        raise Invalid(_("Say what the picture shows."), field="shows")
    objects = set(_objects(subjects))
    if Object.objects.visible_to(act.actor).filter(pk__in=objects).count() != len(objects):
        raise NotFound
    for kind, key in sorted(subjects, key=lambda subject: subject[1]):
        lock(f"{kind}:{key}")
    return subjects


def _known_view(view: str) -> None:
    if view and view not in photos.VIEWS:
        raise Invalid(_("Choose one of the views, or none."), field="view")


def _shown_already(sha256: str, subject: Subject) -> Photograph | None:
    shown = Shows.objects.filter(kind=subject[0], subject=subject[1]).values("photograph")
    rows = Photograph.objects.filter(pk__in=shown, file__sha256=sha256, corrected_by=None, withdraws=False)
    return rows.first()


def _show(act: Act, photograph: Photograph, subjects: Iterable[Subject]) -> None:
    """Says what it shows, as far as that is not said already."""
    said = set(_subjects_of(photograph))
    new = [subject for subject in subjects if subject not in said]
    Shows.objects.bulk_create([Shows(id=uuid7(), act_id=act.id, photograph=photograph.pk, kind=kind, subject=key) for kind, key in new])
    card.refresh(_objects(new))


def show_too(act: Act, subject: Subject, other: Subject) -> int:
    """Says that all photographs of one thing show another too, within another action on both; answers how many."""
    shown = Shows.objects.filter(kind=subject[0], subject=subject[1]).values("photograph")
    rows = list(Photograph.objects.filter(pk__in=shown, corrected_by=None, withdraws=False))
    for photograph in rows:
        _show(act, photograph, [other])
    return len(rows)


def _subjects_of(photograph: Photograph) -> Iterable[Subject]:
    return Shows.objects.filter(photograph=photograph.pk).order_by("id").values_list("kind", "subject")


def _objects(subjects: Iterable[Subject]) -> list[UUID]:
    return [key for kind, key in subjects if kind == "object"]


def _to_change(act: Act, photograph_id: UUID) -> Photograph:
    """The photograph as it stands, locked, if this person took it or may edit."""
    lock(f"photograph:{photograph_id}")
    photograph = photograph_for(act.actor, photograph_id)
    if Photograph.objects.filter(corrects=photograph).exists():
        raise NotFound
    if photograph.taken_by_id != act.actor.person:
        act.actor.demand("catalogue.edit")
    return photograph


def _instead(act: Act, old: Photograph, *, view: str = "", caption: str = "", withdraws: bool = False) -> Photograph:
    """The fact that takes the place of another: the same picture, otherwise as said."""
    return Photograph.objects.create(
        id=uuid7(), act_id=act.id, file=old.file, taken_by=old.taken_by, width=old.width, height=old.height, view=view,
        caption=caption, happened_at=old.happened_at, happened_on=old.happened_on, corrects=old, withdraws=withdraws,
        recorded_at=act.now,
    )  # fmt: skip


def _enqueue(act: Act, photograph: Photograph) -> None:
    enqueue(act, MAKE_SMALLER, None, {"photograph": str(photograph.pk)}, _("Smaller pictures"))
