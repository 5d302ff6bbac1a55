import argparse
import sys
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser

from collection.exchange.actions import answer_alike, begin, begin_undo, map_import, start_import
from collection.exchange.answering import ALIKE
from collection.exchange.carrying import bring_in, take_back
from collection.exchange.columns import TARGETS
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of, in_the_way, reasons_of, sorts_of
from collection.exchange.reading import demand_size
from collection.exchange.sentences import short
from collection.exchange.table import table_of
from museum.errors import DomainError
from museum.papers.files import Upload
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role

EPILOG = """
Examples:
  import_register old.csv --numbers grammar                          look at every row, then be asked
  import_register old.xlsx --numbers as_written --column "Ref=former_number" --answer no_number=temporary --yes
  import_register --undo SESSION --reason "the wrong list"           take a whole import back
  import_register --session SESSION --answer date_span=offer:0 --yes answer and go on with one that is there
"""


class Command(BaseCommand):
    help = "Brings in a register from a CSV or XLSX file: every row is taken, known, skipped with a reason, or a question. Or takes one back."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.formatter_class = argparse.RawDescriptionHelpFormatter
        parser.epilog = EPILOG + self._sorts()
        parser.add_argument("file", type=Path, nargs="?")
        parser.add_argument(
            "--numbers", choices=ImportSession.Numbers.values,
            help="whether its numbers follow our form or are of another scheme and kept as written; asked of every new file",
        )  # fmt: skip
        parser.add_argument("--kind", default="other", help="code of the kind where a name says none")
        parser.add_argument("--sheet", default="", help="of a workbook; else its first")
        parser.add_argument("--heading", type=int, help="row of the headings, 0 for none; else it is found")
        parser.add_argument(
            "--column", action="append", default=[], metavar="HEADING=FIELD", help=f"what a column is, else it is guessed: {', '.join(TARGETS)}"
        )
        parser.add_argument("--answer", action="append", default=[], metavar="SORT=CHOICE", help="the same answer for all questions of a sort, see below")
        parser.add_argument("--skip", action="append", default=[], metavar="SORT=REASON", help="leaves out all rows with a question of this sort")
        parser.add_argument("--rows", type=Path, metavar="CSV", help="writes every row with what became of it into this file")
        parser.add_argument("--session", type=UUID, help="goes on with an import that was read before, instead of a file")
        parser.add_argument("--undo", type=UUID, metavar="SESSION", help="takes a whole import back; what something happened to since stays and is listed")
        parser.add_argument("--reason", default="", help="why it is taken back")
        parser.add_argument("--as", dest="email", default="", help="e-mail of the registrar; else the first there is")
        parser.add_argument("--yes", action="store_true", help="bring in what has no question without asking here")

    def handle(self, *args: Any, **options: Any) -> None:
        actor = Actor.of(self._registrar(options["email"]), device="console")
        try:
            if options["undo"]:
                self._take_back(actor, self._found(options["undo"]), options["reason"])
                return
            session = self._found(options["session"]) if options["session"] else self._read(actor, options)
            self._answer(actor, session, options)
            self._tell(session)
            if counts_of(session)["new"] and (options["yes"] or self._agreed()):
                bring_in(actor, begin(actor, session.pk), self._hear)
                self._tell(session)
            if options["rows"]:
                options["rows"].write_bytes(table_of(session).getvalue())
        except DomainError as refused:
            raise CommandError(refused.sentence) from None
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}") from None

    def _read(self, actor: Actor, options: dict[str, Any]) -> ImportSession:
        path: Path | None = options["file"]
        if path is None or not options["numbers"]:
            raise CommandError("Name a file, and say by --numbers whether its numbers follow our form (grammar) or are kept as written (as_written).")
        demand_size(path.stat().st_size)
        session = start_import(actor, Upload(path.name, path.read_bytes()), sheet=options["sheet"])
        return map_import(
            actor, session.pk, version=session.version, columns=session.mapping | self._columns(session, options["column"]),
            numbers_follow=options["numbers"], default_kind=options["kind"], heading=options["heading"],
        )  # fmt: skip

    def _columns(self, session: ImportSession, told: list[str]) -> dict[str, str]:
        """The columns as they were said, by heading or by number from 1."""
        called = {heading.strip().casefold(): str(n) for n, heading in enumerate(session.headings)}
        found: dict[str, str] = {}
        for heading, target in map(self._pair, told):
            column = called.get(heading.casefold()) or (str(int(heading) - 1) if heading.isdecimal() else "")
            if column not in session.mapping or target not in TARGETS:
                raise CommandError(f"{heading}={target}: there is no such column, or no such field.")
            found[column] = target
        return found

    def _answer(self, actor: Actor, session: ImportSession, options: dict[str, Any]) -> None:
        for code, choice in map(self._pair, options["answer"]):
            which, _mark, text = choice.partition("=")
            done = answer_alike(actor, session.pk, code=code, choice=which, text=text)
            self.stdout.write(f"{short(code)}: {done.answered} answered, {done.left} cannot be answered so")
        for code, reason in map(self._pair, options["skip"]):
            done = answer_alike(actor, session.pk, code=code, choice="skip", text=reason)
            self.stdout.write(f"{short(code)}: {done.answered} left out")

    def _take_back(self, actor: Actor, session: ImportSession, reason: str) -> None:
        stays = in_the_way(session)
        take_back(actor, begin_undo(actor, session.pk, reason=reason), self._hear, reason)
        for row in stays:
            self.stdout.write(f"row {row.called} stays: something happened to it since")
        self._tell(session)

    def _tell(self, session: ImportSession) -> None:
        """Counts, and why; the page of the import has each row."""
        for outcome, n in counts_of(session).items():
            self.stdout.write(f"{ImportRow.Outcome(outcome).label:<10}{n:>7}")
            for reason, times in reasons_of(session, outcome):
                if reason:
                    self.stdout.write(f"{'':<12}{times:>5}  {short(reason)}")
        for code, times in sorts_of(session):
            if code in ALIKE:
                self.stdout.write(f"  --answer {code}={'|'.join(ALIKE[code])}   ({times} rows: {short(code)})")
        self.stdout.write(f"Row by row: /import/{session.pk}/preview/")

    def _hear(self, done: int, total: int) -> None:
        if done % 100 == 0 or done == total:
            self.stdout.write(f"{done} of {total}")

    def _agreed(self) -> bool:
        if not sys.stdin.isatty():
            self.stdout.write("Nobody can be asked here, so nothing was brought in. Say --yes to bring in what is new.")
            return False
        return input("Bring in what is new? [y/N] ").strip().lower() in ("y", "yes")

    def _pair(self, told: str) -> tuple[str, str]:
        name, mark, value = told.partition("=")
        if not mark or not name.strip() or not value.strip():
            raise CommandError(f"{told}: write it as NAME=VALUE.")
        return name.strip(), value.strip()

    def _sorts(self) -> str:
        rows = "\n".join(f"  {code}: {', '.join(choices)}" for code, choices in sorted(ALIKE.items()))
        return f"\nSorts of questions and their choices; 'other' is followed by what it is, as in no_name=other=Unknown thing:\n{rows}\n"

    def _found(self, session_id: UUID) -> ImportSession:
        found = ImportSession.objects.filter(pk=session_id).first()
        if found is None:
            raise CommandError("There is no import of this key; its page shows it in the address.")
        return found

    def _registrar(self, email: str) -> Person:
        people = Person.objects.filter(email__iexact=email) if email else Person.objects.order_by("id")
        found = next((person for person in people if Role.REGISTRAR in person.roles()), None)
        if found is None:
            raise CommandError("There is no registrar of this e-mail." if email else "There is no registrar yet.")
        return found
