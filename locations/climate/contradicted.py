"""Whether a file contradicts throughout what is stored of its logger: the wrong logger was chosen, or the clock is another."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from locations.climate import storing
from locations.climate.files.contradicting import AT_OTHERS, FARTHEST, Contradiction, agree, explained, sample
from locations.climate.files.reading import Batch
from locations.climate.models import Logger


def contradiction(batch: Batch, pieces: Iterator[Batch], logger: Logger, file: int) -> Contradiction | None:
    """That a person has to be asked before anything of a file is stored; None where it agrees with the record, or nearly. `pieces` are those of `batch`."""
    common, others = 0, []
    for piece in pieces:
        new, other, own = storing.compared(piece, logger.number, file)
        common += int((~new).sum()) - own
        others.append(other)
    wrong = np.flatnonzero(np.concatenate(others))
    if not len(wrong):
        return None
    found = Contradiction(common, len(wrong), int(batch.at[wrong[0]]), int(batch.at[wrong[-1]]))
    return _told(found, sample(batch.some(wrong)), logger) if found.throughout else None


def _told(found: Contradiction, some: Batch, logger: Logger) -> Contradiction:
    few, others = sample(some, AT_OTHERS), dict(Logger.objects.exclude(pk=logger.pk).values_list("number", "name"))
    for number, record in sorted(storing.kept_at(others, few.at).items()):
        if agree(few, record):
            return replace(found, cause="other", name=others[number])
    return explained(found, some, storing.kept(logger.number, found.first - FARTHEST, found.last + FARTHEST))
