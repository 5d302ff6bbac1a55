from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from collection.objects.models import Object
from museum.desk.generating.filling import fill
from museum.errors import DomainError


class Command(BaseCommand):
    help = (
        "Adds N generated things with checks, photographs and moves, to measure the program on. Not for a house with a real collection: "
        "facts stay, so what is generated cannot be taken out again."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("objects", type=int, metavar="N")
        parser.add_argument("--up-to", action="store_true", help="no more than are missing to N things")

    def handle(self, *args: Any, **options: Any) -> None:
        objects: int = options["objects"]
        if objects < 1:
            raise CommandError("Say how many things: one or more.")
        if options["up_to"] and (objects := objects - Object.objects.count()) < 1:
            self.stdout.write("As many things are there already.")
            return
        try:
            fill(objects, lambda told: self.stderr.write(told) if options["verbosity"] > 1 else None)
        except DomainError as error:
            raise CommandError(error.sentence) from None
        self.stdout.write(f"{objects} generated things were added.")
