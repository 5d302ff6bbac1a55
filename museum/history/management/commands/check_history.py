from typing import Any

from django.core.management.base import BaseCommand, CommandError

from museum.history.verify import verify


class Command(BaseCommand):
    help = "Verifies the whole hash chain of the history and names the first broken entry."

    def handle(self, *args: Any, **options: Any) -> None:
        verdict = verify()
        if verdict.broken_at is not None:
            raise CommandError(f"The history is broken at entry {verdict.broken_at}: {verdict.why}.")
        self.stdout.write(f"The history is whole: {verdict.entries} entries, head {verdict.head}.")
