"""The page of the dials as a person uses it: what is typed is kept, to the last field."""

from collections.abc import Callable

from django.test import Client

from locations.climate.models import Spot
from museum.people.models import Person
from tests import stock


def test_light_and_ultraviolet_are_typed_beside_each_other_and_shown(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    """Lux say nothing of ultraviolet, so a meter that reads both needs a place for both."""
    store, client = stock.shelf()[1], as_person(volunteer)
    assert f'name="uv-{store.pk}"' in client.get("/climate/by-hand/").content.decode()
    client.post("/climate/by-hand/", {f"lux-{store.pk}": "110", f"uv-{store.pk}": "62,5"})
    assert [(spot.lux, spot.uv) for spot in Spot.objects.all()] == [(110, 62.5)]
    page = client.get("/climate/by-hand/").content.decode()
    assert "110 lux" in page
    assert "62.5 µW/lm" in page
