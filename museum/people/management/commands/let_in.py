from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from museum.people.actions import give_password, take_second_factor
from museum.people.actor import PROGRAM
from museum.people.models import Person
from museum.people.passwords import new_password
from museum.people.secret import Secret


class Command(BaseCommand):
    help = "For an administrator who cannot sign in: prints a new password once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--second-factor", action="store_true", help="they enrol a phone anew")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email__iexact=options["email"]).first()
        if person is None:
            raise CommandError(f"Nobody here has the e-mail {options['email']}.")
        password = new_password()
        give_password(PROGRAM, person.id, password=Secret(password))
        if options["second_factor"]:
            take_second_factor(PROGRAM, person.id, reason="asked for at the server's own console")
        self.stdout.write(f"{person.email}  {password}")
