from django.apps import AppConfig


class RulesConfig(AppConfig):
    name = "conservation.rules"
    label = "rules"
    verbose_name = "Rules"

    def ready(self) -> None:
        """From here on the tables count as they stand in the database."""
        from conservation.rules import book, changes

        book.ask(changes.book_now)
