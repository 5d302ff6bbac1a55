"""What people write for what they would use, matched to the agents of the tables; what is not known is never passed.

Plurals, accents and one wrong letter in a longer word are forgiven, and a guess is said. Words that may mean
several things count as all of them. The lists of words are ours.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from conservation.rules.treatment_tables import TreatmentRules

#: shorter words are taken as they stand: one letter more or less makes too many others of them
GUESSED_FROM: Final = 5
#: words that change nothing of what is meant, and measures
FILLERS: Final = frozenset(
    re.findall(
        r"\w+",
        "a an and the of with by in on or some little bit very then only just plus use using apply put clean cleaning thin small clear fresh "
        "mild gentle gently cold warm lukewarm good new old my our it them from for to "
        "mm cm \u03bcm ml g gram grams micrometre micrometres micron microns percent thick wide long strip strips piece pieces layer layers drop drops "
        "mikrometer gramm prozent dick breit lang streifen stueck stuck lage lagen schicht schichten tropfen "
        "micrometres gramme grammes pour cent epaisseur bande bandes morceau morceaux couche couches goutte gouttes "
        "ein eine einem einen einer mit und oder etwas wenig dem den der die das vom von zum zur "
        "un une de du des le la les l d avec et ou au aux peu en sur pour",
    )
)
#: endings that a plural has and its singular has not, the longest first
ENDINGS: Final = ("es", "en", "er", "s", "n", "e", "x")
#: and those that may be missing from what is typed; not more, for 'dust' is no duster
ADDED: Final = ("s", "es", "n", "en")


@dataclass(frozen=True, slots=True)
class Guess:
    """A word taken for another that differs by one letter."""

    typed: str
    taken_for: str


@dataclass(frozen=True, slots=True)
class Understood:
    """What a free text means: agents of the tables, guesses to be confirmed, and words that nobody here knows."""

    agents: frozenset[str]
    guesses: tuple[Guess, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def ask_the_curator(self) -> bool:
        """Whether a curator must say what is meant: something is unknown, or nothing at all was understood."""
        return bool(self.unknown) or not self.agents


def understood(text: str, rules: TreatmentRules) -> Understood:
    """The agents a free text names: the longest known phrase first, then word by word; the rest is unknown."""
    known = _phrases(rules)
    words = plain(text).split()
    agents: set[str] = set()
    guesses: list[Guess] = []
    unknown: list[str] = []
    at = 0
    while at < len(words):
        length, phrase = _longest(words[at:], known)
        typed = " ".join(words[at : at + length])
        at += length
        if phrase is not None:
            agents |= known[phrase]
            if phrase != typed and not _same_but_for_number(typed, phrase):
                guesses.append(Guess(typed, phrase))
        elif typed not in FILLERS and not typed.isdigit():
            unknown.append(typed)
    return Understood(frozenset(agents), tuple(guesses), tuple(dict.fromkeys(unknown)))


def _phrases(rules: TreatmentRules) -> dict[str, frozenset[str]]:
    """Phrase to agents; what may mean several goes before what one agent says of itself."""
    known: dict[str, frozenset[str]] = {}
    for agent in rules.agents.values():
        for phrase in (agent.code.replace("_", " "), *agent.words):
            known[plain(phrase)] = known.get(plain(phrase), frozenset()) | {agent.code}
    return known | {plain(phrase): row.agents for row in rules.ambiguous for phrase in row.words}


def plain(text: str) -> str:
    """Small letters without accents, words parted by one blank."""
    parted = unicodedata.normalize("NFKD", text.casefold())
    return " ".join(re.findall(r"[^\W_]+", "".join(letter for letter in parted if not unicodedata.combining(letter))))


def _longest(words: Sequence[str], known: Mapping[str, frozenset[str]]) -> tuple[int, str | None]:
    """How many words are used up and which phrase they are; exact ones before guesses of the same length."""
    for length in range(min(4, len(words)), 0, -1):
        typed = " ".join(words[:length])
        if (phrase := _exact(typed, known)) or (phrase := _guess(typed, known)):
            return length, phrase
    return 1, None


def _exact(typed: str, known: Mapping[str, frozenset[str]]) -> str | None:
    return next((form for form in _forms(typed) if form in known), None)


def _forms(typed: str) -> Iterator[str]:
    """As typed, then its last word as a plural or singular may have it."""
    yield typed
    if typed in FILLERS:
        return
    for ending in ENDINGS:
        if typed.endswith(ending) and len(typed) - len(ending) >= 3:
            yield typed.removesuffix(ending)
    for ending in ADDED:
        yield typed + ending


def _same_but_for_number(typed: str, phrase: str) -> bool:
    return phrase in set(_forms(typed))


def _guess(typed: str, known: Mapping[str, frozenset[str]]) -> str | None:
    """The phrase one letter away; of several the one that names the most, so that a guess never lets more through."""
    if len(typed) < GUESSED_FROM or typed in FILLERS:
        return None
    near = [phrase for phrase in known if len(phrase) >= GUESSED_FROM and one_letter_apart(typed, phrase)]
    return max(near, key=lambda phrase: (len(known[phrase]), phrase), default=None)


def one_letter_apart(one: str, other: str) -> bool:
    """Whether one letter is missing, too many, wrong, or two neighbours have changed places."""
    if abs(len(one) - len(other)) > 1 or one == other:
        return False
    start = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    mine, theirs = one[start:], other[start:]
    swapped = mine[:2] == theirs[1::-1] and mine[2:] == theirs[2:] if len(mine) > 1 and len(theirs) > 1 else False
    return mine[1:] == theirs[1:] or mine[1:] == theirs or mine == theirs[1:] or swapped
