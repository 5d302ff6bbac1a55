"""What refuses a file however its questions are answered: told before anybody answers them."""

from collections.abc import Iterator
from itertools import product
from typing import Final
from zoneinfo import ZoneInfo

from locations.climate.files import reading
from locations.climate.files.forms import ANSWERS, Form, Proposal, Unreadable
from locations.climate.files.sheets import Sheet
from locations.climate.files.times import DAY

#: refusals that depend on nothing but the cells, and on how day, month and decimals are written
CERTAIN: Final = {"not_a_time", "not_in_time", "not_a_figure", "too_few_cells", "too_many_cells", "twelve_hours"}


def refused_anyhow(sheet: Sheet, proposal: Proposal, *, zone: ZoneInfo, now: int) -> Unreadable | None:
    """The refusal of the likeliest way to read it, where every way ends in one; None where any may do, or where an answer decides."""
    first: Unreadable | None = None
    for form in _ways(proposal):
        try:
            # Whose clock it is may be asked too: another zone is less than a day away.
            reading.read(sheet, form, zone=zone, now=now + DAY)
        except Unreadable as wrong:
            if wrong.code not in CERTAIN:
                return None
            first = first or wrong
        else:
            return None
    return first


def _ways(proposal: Proposal) -> Iterator[Form]:
    """The form with each of the answers to what is open in it; unit and clock change no refusal that is certain."""
    asked = {one.code: one for one in proposal.questions}
    ways = []
    for name in proposal.form.open:
        answers = asked[name].answers if name in asked else ANSWERS[name]
        proposed = asked[name].proposed if name in asked else ""
        ways.append(sorted(answers, key=lambda one: one != proposed) if name in ("order", "decimal") else answers[:1])
    for values in product(*ways):
        yield Form.of(proposal.form.plain() | dict(zip(proposal.form.open, values, strict=True)))
