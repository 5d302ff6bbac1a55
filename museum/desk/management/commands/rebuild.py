from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from collection.objects import derived as objects
from conservation.checks import derived as checks
from locations.climate import exposure, spans
from locations.places import derived as places


class Command(BaseCommand):
    help = "Makes anew what is kept for speed (cards, stays, spans of loggers, states, due dates) from the facts, to equal rows."

    def handle(self, *args: Any, **options: Any) -> None:
        # In the order of the arrows: each part writes its own, and of the card its own columns.
        parts = (
            ("cards", objects), ("things with stays", places), ("loggers with their spans", spans), ("parts with their climate", exposure),
            ("objects judged and dated", checks),
        )  # fmt: skip
        for name, part in parts:
            with transaction.atomic():
                self.stdout.write(f"{part.rebuild()} {name}")
