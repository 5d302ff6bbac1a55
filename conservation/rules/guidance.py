"""How approved work is led, step by step, and how it is taught: texts as data, each sequence with what it rests on."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from conservation.rules.book import DATA, BadRules
from conservation.rules.treatment_tables import TreatmentRules

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Guided:
    """One sequence: for which steps, what protects, what is done in order, when to stop, what never.

    `test_spot` empty = none is asked for; `wait_minutes` is the time to be waited, 0 = none.
    """

    code: str
    name: str
    steps: tuple[str, ...]
    protection: tuple[str, ...]
    do: tuple[str, ...]
    test_spot: str
    wait_minutes: int
    stop: tuple[str, ...]
    never: tuple[str, ...]
    afterwards: str
    source: str

    def besides(self, cautions: str) -> tuple[str, ...]:
        """What protects and is not said already by the cautions of the step that is led."""
        return tuple(one for one in self.protection if not _said(one, cautions))


@dataclass(frozen=True, slots=True)
class Guidance:
    """All sequences, with what ends any session and what everything gives way to."""

    sequences: tuple[Guided, ...]
    stop_signs: tuple[str, ...]
    when_stopped: str
    gives_way: str

    def of(self, step: str) -> Guided | None:
        """The sequence that leads this step; None where the row itself is all there is."""
        return next((guided for guided in self.sequences if step in guided.steps), None)


@dataclass(frozen=True, slots=True)
class Lesson:
    """One page that teaches a gentle step on a practice piece, with what the teacher shows, looks for and asks.

    `drawings` are the words under its drawings, in their order.
    """

    step: str
    title: str
    aim: str
    practice_piece: str
    show: tuple[str, ...]
    good: tuple[str, ...]
    ask: tuple[str, ...]
    drawings: tuple[str, ...] = ()


def read_guidance(raw: Mapping[str, Any]) -> Guidance:
    """The sequences from their JSON. Raises BadRules."""
    return Guidance(
        sequences=tuple(_made(Guided, row) for row in raw.get("sequences", [])),
        stop_signs=tuple(raw.get("stop_signs", [])),
        when_stopped=raw.get("when_stopped", ""),
        gives_way=raw.get("gives_way", ""),
    )


def read_lessons(raw: Sequence[Mapping[str, Any]]) -> tuple[Lesson, ...]:
    """The lessons from their JSON. Raises BadRules."""
    return tuple(_made(Lesson, row) for row in raw)


def _made(made: type[Made], row: Mapping[str, Any]) -> Made:
    try:
        return made(**{name: tuple(value) if isinstance(value, list) else value for name, value in row.items()})
    except TypeError as fault:
        raise BadRules([f"A text of guidance has another form than the shipped one: {row.get('code') or row.get('step') or '?'}."]) from fault


def gaps(guidance: Guidance, lessons: Sequence[Lesson], rules: TreatmentRules) -> list[str]:
    """What does not fit the tables in force, in sentences: a step led or taught that is none, a gentle one without a lesson."""
    led = {step for guided in guidance.sequences for step in guided.steps}
    taught = {lesson.step for lesson in lessons}
    gentle = {step.code for step in rules.steps.values() if step.gentle}
    told = [f"{code} is led or taught, and is no step of the tables." for code in sorted((led | taught) - set(rules.steps))]
    told += [f"{code} is gentle and has no lesson." for code in sorted(gentle - taught)]
    return told + [f"{code} is gentle and has no guided sequence." for code in sorted(gentle - led)]


@cache
def shipped_guidance() -> Guidance:
    """The sequences as shipped."""
    return read_guidance(json.loads((DATA / "sequences.json").read_text(encoding="utf-8")))


@cache
def shipped_lessons() -> tuple[Lesson, ...]:
    """The lessons as shipped."""
    return read_lessons(json.loads((DATA / "lessons.json").read_text(encoding="utf-8")))


def _said(protection: str, cautions: str) -> bool:
    """Whether all words of weight of it, what stands in brackets left out, and each grade (FFP3) stand in the cautions."""
    whole, told = re.sub(r"\([^)]*\)", "", protection.lower()), cautions.lower()
    grades = r"[a-z]+\d+"
    return {*re.findall(r"[^\W\d]{4,}", whole), *re.findall(grades, protection.lower())} <= {*re.findall(r"[^\W\d]+", told), *re.findall(grades, told)}
