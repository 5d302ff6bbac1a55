"""Real helmets brought in from a register: rows of the museums' open data, through the import like any other."""

import csv
import io
from collections.abc import Sequence

from collection.exchange import carrying
from collection.exchange.actions import Upload, begin, map_import, start_import
from collection.objects.models import Number, Object
from museum.people.actor import Actor
from tests.reference.tables import reference_path

#: helmets of steel with leather, by their numbers in the open data
HELMETS = ("51.1366", "51.472")


def brought_in(by: Actor, numbers: Sequence[str] = HELMETS) -> list[Object]:
    """These rows as a register of their own, mapped as guessed, run; the things that came of them."""
    with reference_path("real_catalogue.csv").open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["ObjectNumber"] in numbers]
    text = io.StringIO()
    register = csv.writer(text)
    register.writerow(["Number", "Name", "Material", "Date", "Dimensions", "Inscriptions"])
    register.writerows([row["ObjectNumber"], row["Title"], row["Medium"], row["DateText"], row["Dimensions"], row["Inscriptions"]] for row in rows)
    session = start_import(by, Upload("register.csv", text.getvalue().encode()))
    session = map_import(by, session.pk, version=1, columns=session.mapping, numbers_follow="as_written", default_kind="armed_service")
    carrying.bring_in(by, begin(by, session.pk), lambda done, total: None)
    return [Number.objects.get(text=number).object for number in numbers]
