"""The shipped words of every app, brought in by one repeatable command after migrating.

An app with words has a function `load(actor)` in its module `shipped`; it adds what is new and leaves
alone what the society has changed.
"""

from importlib import import_module
from importlib.util import find_spec

from django.apps import apps
from django.core.management.base import OutputWrapper

from museum.people.actor import PROGRAM


def load_shipped_words(out: OutputWrapper | None = None) -> None:
    """Calls each app's loader, in the order of the arrows."""
    for config in apps.get_app_configs():
        name = f"{config.name}.shipped"
        if config.name == "museum.people" or find_spec(name) is None:
            continue
        added = import_module(name).load(PROGRAM)
        if out is not None and added:
            out.write(f"{config.verbose_name}: {added} words added")
