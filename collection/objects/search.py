"""Finding things: an exact number first, then names, then any word, then words that are one letter apart, last what is nearly spelt so.

The work is bounded: at most `MOST_RANKED` things are ranked, however large the collection; a page of the list
is read from where the last one ended, never counted off from the start.
"""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from string import ascii_lowercase
from typing import Any, Final
from uuid import UUID

from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.search import SearchQuery, SearchRank, TrigramWordSimilarity
from django.db import connection, transaction
from django.db.models import F, Func, IntegerField, Q, QuerySet, TextField, UUIDField, Value

from collection.objects.card import CONFIG
from collection.objects.models import Card, Number
from collection.objects.numbers import NumberQuestion, ObjectNumber, parse_number, people_sort_key
from museum.people.actor import Actor

A_PAGE: Final = 50
#: more are not ranked: whoever finds as many narrows it down
MOST_RANKED: Final = 500
#: more are not counted
MOST_COUNTED: Final = 1_000
#: how alike a misspelt word must be, 0 to 1
ALIKE: Final = 0.5
FILTERS: Final = ("kind", "whose", "grade", "urgency", "place")
MOST_TYPED: Final = 200
#: of so many words other spellings are tried; of more, of the first
MOST_WORDS: Final = 6
#: words with fewer letters, or more, are meant as they are
SHORTEST: Final = 3
LONGEST: Final = 30


@dataclass(frozen=True, slots=True)
class Found:
    """A page of things. `total` is exact unless `more`; `nearly` says that nothing was spelt as typed."""

    cards: Sequence[Card]
    total: int
    more: bool = False
    nearly: bool = False
    back: dict[str, str] = field(default_factory=dict)
    on: dict[str, str] = field(default_factory=dict)


def things_found(actor: Actor, words: str = "", *, at: dict[str, str] | None = None, **filters: str) -> Found:
    """One page of what this person may see. `at` is the `back` or `on` of another page.

    Without words four queries at most, with words eight, whatever the collection's size.
    """
    rows = _narrowed(actor, **filters)
    if words := _typed(words):
        return _ranked_page(actor, rows, words, at or {})
    return _listed_page(rows, at or {})


def cards_for(actor: Actor, words: str = "", **filters: str) -> "QuerySet[Card]":
    """The cards this person may see, found by words, best first; without words in the order of numbers."""
    rows = _narrowed(actor, **filters)
    if not (words := _typed(words)):
        return rows.order_by("number_sort", "object")
    keys, _nearly = _ranked(actor, rows, words)
    return _in_order(keys)


def carrying(actor: Actor, text: str) -> list[UUID]:
    """The objects this person may see that carry this very number: as their current one first, then formerly."""
    return _by_number(Card.objects.visible_to(actor), _typed(text))


def _typed(words: str) -> str:
    return words.replace("\x00", "").strip()[:MOST_TYPED]


def _narrowed(actor: Actor, **filters: str) -> "QuerySet[Card]":
    rows = Card.objects.visible_to(actor)
    for name in FILTERS:
        value = filters.get(name, "")
        if name == "place":
            shown = "place_text" if actor.may("place.see_exact") else "building_text"
            rows = rows.filter(**{f"{shown}__icontains": value}) if value else rows
        elif value and (name not in ("grade", "urgency") or value in "0123"):
            rows = rows.filter(**{name: value})
    return rows


# the list


def _listed_page(rows: "QuerySet[Card]", at: dict[str, str]) -> Found:
    """From a number on, or back from one."""
    total = rows.order_by()[: MOST_COUNTED + 1].count()
    backwards = at.get("dir") == "back"
    place = (at["after"], at["id"]) if "after" in at and _is_key(at.get("id", "")) else None
    cards = _walk(rows, place, backwards=backwards)
    further = len(cards) > A_PAGE
    cards = cards[:A_PAGE]
    if backwards:
        cards.reverse()
    before, beyond = (further, True) if backwards else (place is not None, further)
    return Found(
        cards, min(total, MOST_COUNTED), more=total > MOST_COUNTED,
        back=_at(cards[0], "back") if before and cards else {}, on=_at(cards[-1], "on") if beyond and cards else {},
    )  # fmt: skip


def _walk(rows: "QuerySet[Card]", place: tuple[str, str] | None, *, backwards: bool) -> list[Card]:
    """A page and one more. The first condition lets the index start at the right place."""
    side = "lt" if backwards else "gt"
    if place is not None:
        number, key = place
        here = Q(**{f"number_sort__{side}": number}) | Q(number_sort=number, **{f"object__{side}": key})
        rows = rows.filter(here, **{f"number_sort__{side}e": number})
    order = ("-number_sort", "-object") if backwards else ("number_sort", "object")
    return list(rows.order_by(*order)[: A_PAGE + 1])


def _at(card: Card, direction: str) -> dict[str, str]:
    return {"after": card.number_sort, "id": str(card.pk), "dir": direction}


def _is_key(text: str) -> bool:
    return re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", text) is not None


# the search


def _ranked_page(actor: Actor, rows: "QuerySet[Card]", words: str, at: dict[str, str]) -> Found:
    keys, nearly = _ranked(actor, rows, words)
    start = int(at["from"]) if at.get("from", "").isdecimal() and len(at["from"]) < 5 else 0
    start = min(start, max(0, len(keys) - 1)) // A_PAGE * A_PAGE
    shown = keys[start : start + A_PAGE]
    return Found(
        list(_in_order(shown)), len(keys), more=len(keys) >= MOST_RANKED, nearly=nearly,
        back={"from": str(start - A_PAGE)} if start else {},
        on={"from": str(start + A_PAGE)} if start + A_PAGE < len(keys) else {},
    )  # fmt: skip


def _ranked(actor: Actor, rows: "QuerySet[Card]", words: str) -> tuple[list[UUID], bool]:
    """The keys of what is found, best first, and whether it is only nearly what was typed."""
    with _by_index():
        keys = list(dict.fromkeys([*_by_number(rows, words), *_by_words(actor, rows, _query(words))]))
        if keys:
            return keys[:MOST_RANKED], False
        return (_by_words(actor, rows, _respelt(rows, words)) or _nearly(rows, words))[:MOST_RANKED], True


@contextmanager
def _by_index() -> Iterator[None]:
    """The planner cannot tell how common a beginning or a likeness is, and would read the whole table for some."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT set_config('enable_seqscan', 'off', true), set_config('pg_trgm.word_similarity_threshold', %s, true)", [str(ALIKE)])
        yield


def _by_number(rows: "QuerySet[Card]", words: str) -> list[UUID]:
    """What carries this very number: as its current one first, then formerly or on a part."""
    read = parse_number(words)
    texts = {words, str(read)} if isinstance(read, ObjectNumber) else {words}
    written = f"~{people_sort_key(words)}~"
    carried = Number.objects.filter(Q(text__in=texts) | Q(sort_key__gte=written, sort_key__lt=f"{written}\U0010ffff"))
    found = carried.exclude(state="withdrawn").values_list("object", "state", "component")[:MOST_RANKED]
    ranked = sorted(found, key=lambda one: (one[1] != "current", one[2] is not None))
    keys = list(dict.fromkeys([*(key for key, _state, _component in ranked), *_by_letter(read)]))
    seen = set(rows.filter(pk__in=keys).values_list("pk", flat=True)) if keys else set()
    return [key for key in keys if key in seen]


def _by_letter(read: ObjectNumber | NumberQuestion) -> list[UUID]:
    """What has a part with this letter: the number of the whole as its part a, and of a part lettered before the thing had one, stands nowhere by itself."""
    if not isinstance(read, ObjectNumber) or not read.part:
        return []
    whole = Number.objects.filter(text=str(read.whole), component=None, object__components__letter=read.part).exclude(state="withdrawn")
    return [key for key, _state in sorted(whole.values_list("object", "state")[:MOST_RANKED], key=lambda one: one[1] != "current")]


def _by_words(actor: Actor, rows: "QuerySet[Card]", query: list[list[str]]) -> list[UUID]:
    """Names of headgear first, other names next, mentions last."""
    if not query:
        return []
    named = _matching(rows, "named", _weighted(query, ""))
    named.sort(key=lambda one: (one[1] == "other", -one[2]))
    keys = [key for key, _kind, _rank in named]
    if len(keys) < MOST_RANKED:
        weights = "" if actor.may("catalogue.see_all") else "ABC"
        keys += [key for key, _kind, _rank in _matching(rows, "search", _weighted(query, weights))]
    return list(dict.fromkeys(keys))


def _matching(rows: "QuerySet[Card]", column: str, query: str) -> list[tuple[UUID, str, float]]:
    """Key, kind and rank of what matches, best first and then by number; of very many, some."""
    search = SearchQuery(query, config=CONFIG, search_type="raw")
    matching = rows.filter(**{column: search}).annotate(rank=SearchRank(F(column), search)).order_by()
    ranked = sorted(matching.values_list("pk", "kind", "rank", "number_sort")[:MOST_RANKED], key=lambda one: (-one[2], one[3]))
    return [(key, kind, rank) for key, kind, rank, _sort in ranked]


def _query(words: str) -> list[list[str]]:
    """The words to look for, each a list of spellings of which one must stand there."""
    return [[word] for word in re.findall(r"\w+(?:[.’-]\w+)*", words.replace("'", "’"))]


def _weighted(query: list[list[str]], weights: str) -> str:
    """As the database reads it: every word begins one that stands in a text of these weights (none = of any)."""
    either = (" | ".join(f"'{word}':*{weights}" for word in spelt) for spelt in query)
    return " & ".join(f"({spelt})" for spelt in either)


def _respelt(rows: "QuerySet[Card]", words: str) -> list[list[str]]:
    """The words, each with those within one letter of it by which something is found; nothing where there are none."""
    query = [[_plain(word)] for (word,) in _query(words)][:MOST_WORDS]
    near = [_one_letter_apart(word) for (word,) in query]
    if not any(near):
        return []
    wide = (" | ".join([f"'{word}':*", *(f"'{other}'" for other in sorted(others))]) for (word,), others in zip(query, near, strict=True))
    search = SearchQuery(" & ".join(f"({spelt})" for spelt in wide), config=CONFIG, search_type="raw")
    lexemes: Any = Func(F("search"), function="tsvector_to_array", output_field=ArrayField(TextField()))
    standing = {one for told in rows.filter(search=search).order_by().values_list(lexemes)[:MOST_RANKED] for one in told[0]}
    return [[word, *sorted(others & standing)] for (word,), others in zip(query, near, strict=True)] if standing else []


def _one_letter_apart(word: str) -> set[str]:
    """What somebody may have meant who left out, doubled, mistook or swapped one letter. Numbers are meant as they are typed."""
    if not SHORTEST <= len(word) <= LONGEST or any(sign.isdecimal() for sign in word):
        return set()
    parts = [(word[:n], word[n:]) for n in range(len(word) + 1)]
    letters = sorted({*ascii_lowercase, *word} - {"-", ".", "’"})
    left_out = {before + letter + after for before, after in parts for letter in letters}
    mistaken = {before + letter + after[1:] for before, after in parts if after for letter in letters}
    too_many = {before + after[1:] for before, after in parts if after}
    swapped = {before + after[1] + after[0] + after[2:] for before, after in parts if len(after) > 1}
    return {other for other in left_out | mistaken | too_many | swapped if other[:1].isalnum() and other[-1:].isalnum()} - {word}


def _plain(word: str) -> str:
    """Small letters without accents, as the index holds them."""
    return "".join(sign for sign in unicodedata.normalize("NFKD", word.casefold()) if not unicodedata.combining(sign))


def _nearly(rows: "QuerySet[Card]", words: str) -> list[UUID]:
    """Nothing has the words as written: what has words like them in its numbers and names."""
    alike: Any = TrigramWordSimilarity(words, "words")
    found = rows.filter(words__trigram_word_similar=words).annotate(alike=alike).order_by()
    ranked = list(found.values_list("pk", "alike", "number_sort")[:MOST_RANKED])
    return [key for key, _alike, _sort in sorted(ranked, key=lambda one: (-one[1], one[2]))]


def _in_order(keys: Sequence[UUID]) -> "QuerySet[Card]":
    """These cards, in this order."""
    listed = Value(list(keys), ArrayField(UUIDField()))
    stands = Func(listed, F("object_id"), function="array_position", output_field=IntegerField())
    return Card.objects.filter(pk__in=keys).alias(stands=stands).order_by("stands")
