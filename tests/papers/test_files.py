"""Stored files: the bytes as they came, once, on the disk before the row says so."""

import errno
import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from museum.history.models import Change
from museum.papers import files
from museum.papers.models import StoredFile
from museum.people.action import Act, action
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person

LETTER = b"To the keeper of the Hose Tower: the brass helmet is yours."


@action("tests.keep_bytes", may="photo.add")
def keep(act: Act, text: str, name: str) -> StoredFile:
    return files.store(act, text.encode(), name=name, media_type="text/plain")


def test_bytes_lie_under_their_hash_and_come_back_as_they_were(db: None) -> None:
    stored = keep(PROGRAM, LETTER.decode(), "letter.txt")
    code = hashlib.sha256(LETTER).hexdigest()
    assert (stored.sha256, stored.size, stored.name) == (code, len(LETTER), "letter.txt")
    assert files.path_of(stored).relative_to(files.path_of(stored).parents[2]).as_posix() == f"{code[:2]}/{code[2:4]}/{code}"
    with files.open_file(stored) as opened:
        assert opened.read() == LETTER
    assert Change.objects.filter(what="file.stored").count() == 1


def test_the_same_bytes_again_answer_the_same_row(db: None) -> None:
    first = keep(PROGRAM, "one picture", "front.jpg")
    second = keep(PROGRAM, "one picture", "front again.jpg")
    assert second == first
    assert StoredFile.objects.get().name == "front.jpg"
    assert Change.objects.filter(what="file.stored").count() == 1


def test_a_refused_act_leaves_no_row_and_the_next_try_stores(db: None, volunteer: Person, actor_of: Callable[[Person], Actor]) -> None:
    with transaction.atomic():
        keep(actor_of(volunteer), "half an upload", "front.jpg")
        transaction.set_rollback(True)
    assert not StoredFile.objects.exists()
    assert files.path_of(keep(actor_of(volunteer), "half an upload", "front.jpg")).read_bytes() == b"half an upload"


def test_bytes_are_synced_before_the_row_is_written(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[bool] = []
    real = os.fsync

    def note(handle: int) -> None:
        synced.append(StoredFile.objects.exists())
        real(handle)

    monkeypatch.setattr(os, "fsync", note)
    keep(PROGRAM, "slow disk", "front.jpg")
    assert len(synced) >= 2
    assert not any(synced)


def test_a_full_disk_says_what_was_kept_and_leaves_nothing(db: None, monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr(os, "fsync", full)
    settings.FILES_DIR.mkdir(parents=True)
    (settings.FILES_DIR / "incoming").mkdir()
    with pytest.raises(files.NotStored) as refused:
        keep(PROGRAM, "too much", "front.jpg")
    assert "disk is full" in refused.value.sentence
    assert not StoredFile.objects.exists()
    assert [path for path in Path(settings.FILES_DIR).rglob("*") if path.is_file()] == []


def test_lost_bytes_are_said_to_be_lost(db: None) -> None:
    stored = keep(PROGRAM, "gone", "front.jpg")
    files.path_of(stored).unlink()
    with pytest.raises(files.FileLost) as lost:
        files.open_file(stored)
    assert stored.sha256 in lost.value.sentence


@pytest.mark.parametrize("code", ["../../etc/passwd", "AB" * 32, "ab" * 31, ""])
def test_only_a_hash_names_a_file(code: str) -> None:
    with pytest.raises(ValueError):
        files.path_of(code)
