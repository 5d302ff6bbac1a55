"""Rebuilds what this part derives."""

import logging

from collection.objects import card
from collection.objects.actions.photographs import make_smaller
from collection.objects.models import Object, Photograph
from museum.papers.files import FileLost
from museum.people.actor import PROGRAM

log = logging.getLogger(__name__)


def rebuild() -> int:
    """Every card anew, and the smaller pictures that are missing; answers how many cards."""
    keys = list(Object.objects.values_list("pk", flat=True))
    card.refresh(keys)
    for photograph in Photograph.objects.filter(withdraws=False).values_list("pk", flat=True):
        try:
            make_smaller(PROGRAM, photograph)
        except FileLost as lost:
            log.warning("%s", lost.sentence)
    return len(keys)
