"""What somebody means to do: a step of the tables with what they would add to it, or an act in their own words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from conservation.rules.agents import Understood, plain, understood
from conservation.rules.gate import deed_of
from conservation.rules.treatment_tables import Step, TreatmentRules
from museum.errors import Invalid


@dataclass(frozen=True, slots=True, kw_only=True)
class Meant:
    """One step as somebody asks for it: `step` a code or '', `words` what they would use, `earlier` why the lesser steps are not enough."""

    step: str = ""
    words: str = ""
    earlier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """The same, understood: agents beside those of the step, guesses, and words that nobody here knows."""

    step: str | None
    added: frozenset[str] = frozenset()
    words: str = ""
    earlier: str = ""
    guesses: Sequence[tuple[str, str]] = ()
    unknown: Sequence[str] = ()

    @property
    def name(self) -> str:
        """What an approval calls it."""
        return self.step or deed_of(self.added)

    def stored(self) -> dict[str, Any]:
        """As a proposal keeps it."""
        return {
            "step": self.step or "", "agents": sorted(self.added), "words": self.words, "earlier": self.earlier,
            "guesses": [list(guess) for guess in self.guesses], "unknown": list(self.unknown),
        }  # fmt: skip


def understand(meant: Meant, rules: TreatmentRules) -> Deed:
    """What is meant, by the tables in force. Raises Invalid where neither a known step nor anything to use is named."""
    step = _step(meant.step.strip(), rules)
    words = meant.words.strip()
    if step is None and not words:
        raise Invalid(_("Choose a step, or say what you would use."), field="step")
    read = understood(words, rules)
    added = read.agents - (step.agents if step else frozenset())
    unknown = _beside(read, words, step)
    guesses = [(guess.typed, guess.taken_for) for guess in read.guesses]
    return Deed(step=step.code if step else None, added=added, words=words, earlier=meant.earlier.strip(), guesses=guesses, unknown=unknown)


def _beside(read: Understood, words: str, step: Step | None) -> tuple[str, ...]:
    """The words that nobody here knows; what the step itself names among its tools and materials is known."""
    named = frozenset(plain(step.tools).split()) if step else frozenset()
    if read.unknown:
        return tuple(word for word in read.unknown if word not in named)
    return (words,) if words and not read.agents else ()


def deed_as_stored(row: Mapping[str, Any]) -> Deed:
    """A step of a proposal as it was kept."""
    return Deed(
        step=row["step"] or None, added=frozenset(row["agents"]), words=row["words"], earlier=row["earlier"],
        guesses=[(typed, taken) for typed, taken in row["guesses"]], unknown=row["unknown"],
    )  # fmt: skip


def _step(code: str, rules: TreatmentRules) -> Step | None:
    if code and code not in rules.steps:
        raise Invalid(_("There is no step '%(step)s' in the tables."), field="step", step=code)
    return rules.steps.get(code)
