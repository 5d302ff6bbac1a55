"""What shares a closed box or case, counted once; and what somebody decided on the humidity of things there."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from collection.objects.queries import in_force
from conservation.rules.placing import Apart, Need
from locations.places.models import HumidityDecision

#: what was decided on of one thing in one place: a material, the other, the bands they ask for
Settled = frozenset[tuple[str, str, str]]
Decided = Mapping[tuple[UUID, UUID], Settled]
NOTHING: Final[Settled] = frozenset()


def decided(object_ids: Collection[UUID]) -> Decided:
    """What stands decided of these things, by thing and place. A pair whose bands are others meanwhile is another pair: it was not decided on."""
    found: dict[tuple[UUID, UUID], set[tuple[str, str, str]]] = {}
    rows = in_force(HumidityDecision.objects.filter(object__in=list(object_ids)))
    for thing, place, pairs in rows.values_list("object", "place", "pairs"):
        found.setdefault((thing, place), set()).update((one, other, asks) for one, other, asks in pairs)
    return {key: frozenset(pairs) for key, pairs in found.items()}


@dataclass(frozen=True, slots=True)
class _One:
    """One thing of a case: its materials, what they ask for, what was decided on it here."""

    materials: frozenset[str]
    needs: frozenset[Need]
    settled: Settled

    @property
    def answered(self) -> Counter[tuple[Need, str, str]]:
        """What it asks for beside another material by these bands, where somebody decided on that."""
        return Counter((need, other, asks) for need in self.needs for one, other, asks in self.settled if one == need.material)


@dataclass(frozen=True, slots=True)
class Company:
    """How many things of a case have each material and each need, and of how many the need was decided on."""

    things: Mapping[UUID, _One]
    of_material: Counter[str]
    of_need: Counter[Need]
    answered: Counter[tuple[Need, str, str]]
    but: _One | None = None

    @classmethod
    def of(
        cls, case: UUID, keys: Collection[UUID], materials: Mapping[UUID, frozenset[str]], needs: Mapping[UUID, frozenset[Need]], said: Decided
    ) -> "Company":  # fmt: skip
        """All that is in a case."""
        things = {key: _One(materials.get(key, frozenset()), needs[key], said.get((key, case), NOTHING)) for key in keys}
        rows = things.values()
        return cls(
            things, Counter(code for one in rows for code in one.materials), Counter(need for one in rows for need in one.needs),
            Counter(answer for one in rows for answer in one.answered),
        )  # fmt: skip

    def without(self, key: UUID) -> "Company":
        """The same, seen from one thing: all but it."""
        return Company(self.things, self.of_material, self.of_need, self.answered, self.things.get(key))

    @property
    def materials(self) -> frozenset[str]:
        """What the others are made of."""
        own = self.but.materials if self.but else frozenset()
        return frozenset(code for code, n in self.of_material.items() if n > (code in own))

    def apart(self, mine: Collection[Need], settled: Settled) -> Iterator[tuple[Apart, bool]]:
        """What no humidity suits of these needs and one of the others', and whether nobody decided on it, of either thing."""
        own_needs, own_answers = (self.but.needs, self.but.answered) if self.but else (frozenset[Need](), Counter[tuple[Need, str, str]]())
        for other, n in self.of_need.items():
            near = n - (other in own_needs)
            for pair in (found for need in mine if near and (found := need.apart(other))):
                answer = (other, pair.one, pair.turned.asks)
                answered = self.answered[answer] - own_answers[answer]
                yield pair, (pair.one, pair.other, pair.asks) not in settled and answered < near
