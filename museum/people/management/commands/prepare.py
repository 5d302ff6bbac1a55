from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connections

from museum.history import guard
from museum.people.shipped import load_shipped_words


class Command(BaseCommand):
    help = "Brings the database to what this version needs: tables, the guard on facts, shipped words. Safe to repeat."

    def handle(self, *args: Any, **options: Any) -> None:
        owner = "owner" if "owner" in connections else "default"
        call_command("migrate", database=owner, interactive=False, verbosity=0)
        guard.install(connections[owner])
        load_shipped_words(self.stdout)
        self.stdout.write("The database is ready.")
