from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from collection.exchange.actions import Upload, begin, map_import, start_import
from collection.exchange.carrying import bring_in
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, reasons_of
from collection.exchange.sentences import short
from museum.errors import DomainError
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role


class Command(BaseCommand):
    help = "Brings in a register from a CSV or XLSX file: every row is taken, known, skipped or a question."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--numbers", choices=ImportSession.Numbers.values, required=True,
            help="whether its numbers follow our form or are of another scheme and kept as written",
        )  # fmt: skip
        parser.add_argument("--kind", default="other", help="code of the kind where a name says none")
        parser.add_argument("--sheet", default="", help="of a workbook; else its first")
        parser.add_argument("--as", dest="email", default="", help="e-mail of the registrar; else the first there is")
        parser.add_argument("--yes", action="store_true", help="bring in what has no question without asking here")

    def handle(self, *args: Any, **options: Any) -> None:
        actor = Actor.of(self._registrar(options["email"]), device="console")
        try:
            session = self._read(actor, options)
            self._tell(session)
            if counts_of(session)["new"] and (options["yes"] or self._agreed()):
                begin(actor, session.pk)
                bring_in(actor, session, self._hear)
                self._tell(session)
        except DomainError as refused:
            raise CommandError(refused.sentence) from None

    def _read(self, actor: Actor, options: dict[str, Any]) -> ImportSession:
        path: Path = options["file"]
        try:
            upload = Upload(path.name, path.read_bytes())
        except OSError as error:
            raise CommandError(f"{path}: {error.strerror}") from None
        session = start_import(actor, upload, sheet=options["sheet"])
        return map_import(
            actor, session.pk, version=session.version, columns=session.mapping, numbers_follow=options["numbers"],
            default_kind=options["kind"],
        )  # fmt: skip

    def _tell(self, session: ImportSession) -> None:
        """Counts, and why; the page of the import has each row."""
        for outcome, n in counts_of(session).items():
            self.stdout.write(f"{ImportRow.Outcome(outcome).label:<10}{n:>7}")
            for reason, times in reasons_of(session, outcome):
                if reason:
                    self.stdout.write(f"{'':<12}{times:>5}  {short(reason)}")
        self.stdout.write(f"Row by row: /import/{session.pk}/preview/")

    def _hear(self, done: int, total: int) -> None:
        if done % 100 == 0 or done == total:
            self.stdout.write(f"{done} of {total}")

    def _agreed(self) -> bool:
        return input("Bring in what is new? [y/N] ").strip().lower() in ("y", "yes")

    def _registrar(self, email: str) -> Person:
        people = Person.objects.filter(email__iexact=email) if email else Person.objects.order_by("id")
        found = next((person for person in people if Role.REGISTRAR in person.roles()), None)
        if found is None:
            raise CommandError("There is no registrar of this e-mail." if email else "There is no registrar yet.")
        return found
