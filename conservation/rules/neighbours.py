"""What harms what stands beside it: vapours in a closed box or case. Ours, on the lists of the AIC exhibit technote."""

from collections.abc import Collection
from dataclasses import dataclass

from conservation.rules.ruleset import RuleSet


@dataclass(frozen=True, slots=True)
class Clash:
    """One material gives off what the other suffers from; `refused` = not even with a caution, where it is planned."""

    vapour: str
    emitter: str
    sufferer: str
    refused: bool


def clashes(mine: Collection[str], theirs: Collection[str], rules: RuleSet) -> list[Clash]:
    """What two things in one closed box or case do to each other by their materials; the refused ones first."""
    found = {*_one_way(mine, theirs, rules), *_one_way(theirs, mine, rules)}
    return sorted(found, key=lambda clash: (not clash.refused, clash.vapour, clash.emitter, clash.sufferer))


def _one_way(emitters: Collection[str], sufferers: Collection[str], rules: RuleSet) -> set[Clash]:
    refused = {pair for pair in rules.refused_neighbours if pair[0] in emitters and pair[1] in sufferers}
    listed = {
        (vapour, emitter, sufferer)
        for vapour, sources in rules.emits.items()
        for emitter in {*sources} & {*emitters}
        for sufferer in {*rules.suffers[vapour]} & {*sufferers}
    }
    named = {pair[0]: vapour for pair in refused for vapour, sources in rules.emits.items() if pair[0] in sources}
    listed |= {(named[emitter], emitter, sufferer) for emitter, sufferer in refused}
    return {Clash(vapour, emitter, sufferer, (emitter, sufferer) in refused) for vapour, emitter, sufferer in listed}
