from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from museum.errors import DomainError
from museum.people.actions import first_act
from museum.people.actor import PROGRAM
from museum.people.models import Person
from museum.people.passwords import new_password
from museum.people.secret import Secret


class Command(BaseCommand):
    help = "Begins the house: its society and one administrator who is registrar too. Prints the password once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", default="Administrator")
        parser.add_argument("--email", default="admin@example.org")
        parser.add_argument("--society", default="Our society")
        parser.add_argument("--language", default="en")
        parser.add_argument("--once", action="store_true", help="say so, and no more, when somebody is here already")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["once"] and Person.objects.exists():
            self.stdout.write("Sign in as before; who has lost the password: bin/manage let_in E-MAIL")
            return
        password = new_password()
        try:
            person = first_act(
                PROGRAM, name=options["name"], email=options["email"], password=Secret(password),
                society=options["society"], language=options["language"],
            )  # fmt: skip
        except DomainError as error:
            raise CommandError(error.sentence) from None
        self.stdout.write(f"{person.email}  {password}")
        self.stdout.write("This password is shown only now. Change it on the page of the account.")
