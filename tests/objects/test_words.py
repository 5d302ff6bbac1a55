"""The shipped words: whole, told in each language begun, and the same codes as the rules and the drawings have."""

import pytest

from collection.objects.dangers import DANGERS
from collection.objects.models import Field, Kind, Material
from collection.objects.outlines import sets
from collection.objects.shipped import load, shipped_data
from conservation.rules.tables import hazards
from museum.history.models import Act
from museum.people.actor import PROGRAM

LANGUAGES = {"en", "de", "fr"}


def test_every_word_is_told_in_each_language_begun() -> None:
    data = shipped_data()
    texts = [*data["zones"].values(), *data["materials"].values(), *(row["texts"] for row in data["fields"])]
    texts += [row["texts"] for row in data["kinds"]] + [one for row in data["kinds"] for one in row["names"].values()]
    assert all(set(one) == LANGUAGES and all(one.values()) for one in texts)


def test_codes_are_given_once_and_name_what_there_is() -> None:
    data = shipped_data()
    for rows in (data["kinds"], data["fields"]):
        assert len({row["code"] for row in rows}) == len(rows)
    assert set(data["order"]) == set(data["zones"])
    for row in data["kinds"]:
        assert row["set"] in sets()
        assert set(row["zones"]) <= set(data["zones"]), row["code"]


def test_dangers_are_those_the_rules_know() -> None:
    assert set(DANGERS) == set(hazards())


@pytest.mark.django_db
def test_bringing_the_words_again_changes_nothing() -> None:
    acts = Act.objects.count()
    Kind.objects.filter(code="fire").update(texts={"en": "brigade"})
    assert load(PROGRAM) == 0
    assert Kind.objects.get(code="fire").texts == {"en": "brigade"}, "the society's own word stays"
    assert Act.objects.count() == acts
    assert Material.objects.count() >= 35, "conservation.md 2.3 names 35"
    assert {"name", "description", "date_made", "dimensions", "marks"} <= set(Field.objects.values_list("code", flat=True))
