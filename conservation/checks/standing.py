"""How an object stands by all its checks: each zone as its last answered look, free of the framework."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar


class SeenLike(Protocol):
    """An observation: which finding, in which zone, and how it changed."""

    @property
    def finding_key(self) -> Hashable: ...
    @property
    def zone_key(self) -> str: ...
    @property
    def change(self) -> str: ...


S = TypeVar("S", bound=SeenLike)


@dataclass(frozen=True, slots=True)
class Look(Generic[S]):
    """One check as far as it answers zones."""

    answers: Mapping[str, str]
    seen: Sequence[S]


def standing(looks: Iterable[Look[S]]) -> dict[str, list[S]]:
    """Zone to the observations that stand, from looks in the order of what happened.

    'Nothing seen' clears a zone; 'not visible' and 'not checked' leave it as it stood; a finding that a
    look at its zone did not mention (somebody else's, told at the same time) stands too.
    """
    zones: dict[str, dict[Hashable, S]] = {}
    for look in looks:
        for zone, answer in look.answers.items():
            if answer == "nothing":
                zones[zone] = {}
        for seen in look.seen:
            found = zones.setdefault(seen.zone_key, {})
            if seen.change == "gone":
                found.pop(seen.finding_key, None)
            elif seen.change not in ("not_visible", "not_checked"):
                found[seen.finding_key] = seen
    return {zone: list(found.values()) for zone, found in zones.items()}


def answered(looks: Iterable[Look[S]]) -> set[str]:
    """The zones that some look has answered with nothing or findings."""
    return {z for look in looks for z, answer in look.answers.items() if answer in ("nothing", "findings")}
