from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.db import transaction

from museum.desk.demo import museum
from museum.desk.demo.care import GUEST_EMAIL
from museum.people.models import Person
from museum.people.passwords import new_password


class Command(BaseCommand):
    help = "Fills an empty house with the demo museum and tells the sign-ins. Safe to repeat."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--people", action="store_true", help="the society and its people alone, without things")

    def handle(self, *args: Any, **options: Any) -> None:
        secret = settings.VAR_DIR / "secrets" / "demo"
        if not secret.exists():
            secret.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            secret.touch(mode=0o600)
            secret.write_text(new_password())
        if not Person.objects.exists():
            with transaction.atomic():
                museum.load(secret.read_text(), things=not options["people"])
        if not Person.objects.filter(email="volunteer@example.org").exists():
            self.stdout.write("This house has people of its own; sign in as one of them.")
            return
        self.stdout.write(f"The demo museum. Every password: {secret.read_text()}")
        for role in ("volunteer", "curator", "registrar", "reader", "conservator", "admin"):
            self.stdout.write(f"  {role + '@example.org':28}{role}")
        if Person.objects.filter(email=GUEST_EMAIL).exists():
            self.stdout.write(f"  {GUEST_EMAIL:28}conservator from outside, invited to two things")
        if not settings.SECOND_FACTOR:
            self.stdout.write("  The second factor of registrar and administrator is off in the demo; SECOND_FACTOR=1 asks for it.")
