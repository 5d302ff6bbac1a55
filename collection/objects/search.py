"""Finding things: an exact number first, then words, then what is nearly spelt so."""

from typing import Any

from django.contrib.postgres.search import SearchQuery, SearchRank, TrigramWordSimilarity
from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When

from collection.objects.models import Card, Number, Object
from collection.objects.numbers import ObjectNumber, parse_number
from museum.people.actor import Actor

#: how alike a misspelt word must be
ALIKE = 0.45
FILTERS = ("kind", "whose", "grade", "urgency")


def cards_for(actor: Actor, words: str = "", **filters: str) -> "QuerySet[Card]":
    """The cards this person may see, found by words, best first; without words in the order of numbers.

    Readers see public things only; the place column is not theirs to search.
    """
    rows = Card.objects.filter(object__in=Object.objects.visible_to(actor)) if not actor.may("catalogue.see_all") else _all()
    for name in FILTERS:
        if (value := filters.get(name)) not in (None, ""):
            rows = rows.filter(**{name: value})
    words = words.replace("\x00", "").strip()
    return _ranked(rows, words) if words else rows.order_by("number_sort", "object")


def _all() -> "QuerySet[Card]":
    return Card.objects.filter(withdrawn=False)


def _ranked(rows: "QuerySet[Card]", words: str) -> "QuerySet[Card]":
    read = parse_number(words)
    texts = [words, str(read)] if isinstance(read, ObjectNumber) else [words]
    exact = Number.objects.filter(text__in=texts).exclude(state="withdrawn").values("object")
    query = SearchQuery(words, config="simple", search_type="websearch")
    found = rows.filter(Q(search=query) | Q(object__in=exact) | Q(number__istartswith=words))
    if not found.exists():
        return _nearly(rows, words)
    first = Case(When(object__in=exact, then=Value(0)), default=Value(1), output_field=IntegerField())
    return found.annotate(exact=first, rank=SearchRank(F("search"), query)).order_by("exact", "-rank", "number_sort", "object")


def _nearly(rows: "QuerySet[Card]", words: str) -> "QuerySet[Card]":
    """Nothing has the words as written: what has words like them."""
    alike: Any = TrigramWordSimilarity(words, "words")
    return rows.filter(words__trigram_word_similar=words).annotate(alike=alike).filter(alike__gte=ALIKE).order_by("-alike", "number_sort", "object")
