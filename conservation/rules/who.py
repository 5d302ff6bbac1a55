"""Who has the last word, and what harms its neighbours."""

from collections.abc import Collection, Iterable, Sequence
from typing import Final

from conservation.rules.ruleset import RuleSet

#: from the lowest to the highest
STANDINGS: Final = ("volunteer", "curator", "conservator", "licensed specialist")


def highest(standings: Iterable[str]) -> str:
    """The highest of these; volunteer for none. Raises ValueError for an unknown one."""
    return STANDINGS[max((STANDINGS.index(standing) for standing in standings), default=0)]


def who_is_needed(
    asks: Iterable[str], *, urgency: int, hazard_level: int, event: bool = False, loan_return_new_damage: bool = False
) -> str:
    """Highest of what the findings ask, and of what urgency, hazards, an event or new damage ask."""
    wanted = list(asks)
    if hazard_level >= 3:
        wanted.append("licensed specialist")
    if urgency >= 3:
        wanted.append("conservator")
    if urgency == 2 or event or loan_return_new_damage or hazard_level == 2:
        wanted.append("curator")
    return highest(wanted)


def clashes(mine: Collection[str], theirs: Collection[str], rules: RuleSet) -> Sequence[tuple[str, str, str]]:
    """(what, emitter, sufferer) for vapours from one list of materials that harm the other, in a closed box or case."""
    found = []
    for what, emitters in rules.emits.items():
        for emitter in sorted(set(emitters) & set(mine)):
            found += [(what, emitter, sufferer) for sufferer in sorted(set(rules.suffers[what]) & set(theirs))]
    return found
