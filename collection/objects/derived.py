"""Rebuilds what this part derives."""

import logging

from collection.objects import card
from collection.objects.actions.photographs import lacks_smaller, make_smaller
from collection.objects.models import Object, Photograph
from museum.papers.files import FileLost
from museum.people.actor import PROGRAM

log = logging.getLogger(__name__)


def rebuild() -> int:
    """Every card anew, and the smaller pictures that are missing; answers how many cards."""
    keys = list(Object.objects.values_list("pk", flat=True))
    card.refresh(keys)
    for photograph in Photograph.objects.filter(withdraws=False).prefetch_related("derivatives").iterator(chunk_size=1_000):
        if not lacks_smaller(photograph):
            continue
        try:
            make_smaller(PROGRAM, photograph.pk)
        except FileLost as lost:
            log.warning("%s", lost.sentence)
    return len(keys)
