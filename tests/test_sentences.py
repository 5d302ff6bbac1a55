"""Sentences of errors are filled in by %: a sign of percent that stands for itself is written twice, else telling the error breaks."""

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

import museum.errors
from conservation.treatments import refusal
from locations.climate import sentences as sentences_of_climate
from locations.climate.actions import loggers

ROOT = Path(__file__).parents[1]
ROOMS = ("museum", "collection", "conservation", "locations", "reports")
ERRORS = {name for name, found in vars(museum.errors).items() if isinstance(found, type) and issubclass(found, museum.errors.DomainError)}


class Anything(Mapping[str, int]):
    """Whatever a sentence asks for."""

    def __getitem__(self, key: str) -> int:
        return 1

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def sentences() -> Iterator[tuple[str, str]]:
    """Every sentence given to an error or standing as its template, with where."""
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                for text in _told(node):
                    yield f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', 0)}", text


def _told(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Call(func=ast.Name(id=name), args=[first, *_]) if name in ERRORS:
            yield from _words(first)
        case ast.Assign(targets=[ast.Name(id="template")], value=value):
            yield from _words(value)
        case _:
            pass


def _words(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Call(func=ast.Name(id="_" | "gettext" | "gettext_lazy"), args=[ast.Constant(value=str(text))]):
            yield text
        case _:
            pass


def test_every_sentence_of_an_error_can_be_told() -> None:
    broken, told = [], list(sentences())
    for where, text in told:
        try:
            str(text) % Anything()
        except (ValueError, TypeError) as wrong:
            broken.append(f"{where}: {text} ({wrong})")
    assert len(told) > 100
    assert not broken, "\n".join(broken)


@pytest.mark.parametrize("text", ["100 % of it", "up to 100 %; no more"])
def test_a_lone_sign_of_percent_would_be_found(text: str) -> None:
    with pytest.raises((ValueError, TypeError)):
        str(text) % Anything()


@pytest.mark.parametrize("words", [loggers._POINTS, sentences_of_climate.UNREADABLE, {gate: one for gate, (one, *_) in refusal.OWN.items()}])
def test_sentences_chosen_by_a_code_can_be_told(words: Mapping[str, object]) -> None:
    for text in words.values():
        assert str(text) % Anything()
