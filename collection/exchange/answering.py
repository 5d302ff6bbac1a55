"""What can be answered to what a row asks, and what an answer leaves with the row. No database.

Questions of one matter are answered together: those of the number, the name, the kind, the letters, the date, each size. The others can
only be taken as they stand.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from collection.exchange.judging import NUMBER_CODES
from collection.exchange.values import DATE_CODES, DIMENSIONS, SIZE_CODES
from museum.errors import Invalid

MOST_TYPED: Final = 500
Answers = dict[str, Any]
Asked = Mapping[str, Any]

#: a choice to its words where they are the same for every row
WORDS: Final[Mapping[str, Promise]] = {
    "temporary": _("Give a temporary number"), "written": _("Keep the number as written"), "other": _("Something else"),
    "former": _("One thing: the first number is its own, the others are former ones"), "split": _("Several things, one for each number"),
    "offer:0": _("As offered first"), "offer:1": _("As offered second"), "words": _("Keep the words as they stand, and no more"),
    "stamp": _("A size stamped in it"), "take": _("Take it as written"), "again": _("Try it again"),
    "measure:0": _("As the first unit says"), "measure:1": _("As the second unit says"),
    "as:height": _("It is the height"), "as:length": _("It is the length, front to back"), "as:width": _("It is the width"),
    "as:circumference": _("It is the circumference"),
}  # fmt: skip
_NUMBER: Final = ("offer:0", "written", "temporary")
#: sort of question to the choices that can be made for all of it at once
ALIKE: Final[Mapping[str, Sequence[str]]] = {
    "no_number": ("temporary",), "several_numbers": ("former", "split", "written", "temporary"), "number_taken": ("temporary",),
    "duplicate_number": ("temporary",), "part_letter": ("written", "temporary"), "number_range": ("written", "temporary"),
    **dict.fromkeys(("number_is_date", "number_separator", "two_digit_year", "not_our_form", "number_was_figure"), _NUMBER),
    "ditto": ("offer:0", "other"), "no_name": ("other",), "kind_unknown": ("other",), "wrong_encoding": ("offer:0", "words"),
    **dict.fromkeys(sorted(DATE_CODES), ("offer:0", "offer:1", "words")),
    "size_stamp": ("stamp", "words"), "size_unnamed": (*(f"as:{one}" for one in DIMENSIONS), "words"),
    "size_disagrees": ("measure:0", "measure:1", "words"),
    **dict.fromkeys(("not_ours", "returned", "on_loan_unknown"), ("take",)),
}  # fmt: skip
#: what the choices of a sort of question are called where the general words say too little
_NAMED: Final[Mapping[tuple[str, str], Promise]] = {
    ("ambiguous_date", "offer:0"): _("Day first, month second"), ("ambiguous_date", "offer:1"): _("Month first, day second"),
    ("date_span", "offer:0"): _("Made once, at some time within these years"), ("date_span", "offer:1"): _("All through these years"),
    ("date_decade_or_century", "offer:0"): _("The ten years"), ("date_decade_or_century", "offer:1"): _("The hundred years"),
    ("wrong_encoding", "offer:0"): _("Repair the letters"), ("wrong_encoding", "words"): _("Right as they stand"),
    ("ditto", "offer:0"): _("What stands above it"), ("ditto", "other"): _("This, for all of them"),
    ("no_name", "other"): _("This, for all of them"), ("kind_unknown", "other"): _("This kind, for all of them"),
    ("number_was_figure", "offer:0"): _("As the figure stands, without a zero at its end"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer that can be given, in words."""

    value: str
    words: str | Promise


def matter(code: str) -> str:
    """What a question is about: those of one matter are answered together."""
    for name, codes in _MATTERS.items():
        if code in codes:
            return name
    return code


_MATTERS: Final[Mapping[str, frozenset[str]]] = {
    "number": NUMBER_CODES, "name": frozenset({"ditto", "no_name"}), "kind": frozenset({"kind_unknown"}),
    "letters": frozenset({"wrong_encoding"}), "date": DATE_CODES, "size": SIZE_CODES,
}  # fmt: skip


def alike(code: str) -> list[Choice]:
    """The choices for all questions of a sort."""
    return [Choice(value, _NAMED.get((code, value)) or WORDS[value]) for value in ALIKE.get(code, ())]


def answered(row: Any, code: str, choice: str, text: str = "") -> Answers:
    """The row's answers with one more. Raises Invalid where this row's question cannot be answered so."""
    found = next((one for one in row.findings if one["code"] == code), None)
    if found is None or not (answer := _answer(found, choice, text.strip()[:MOST_TYPED])):
        raise Invalid(_("This cannot be the answer here; choose another."), field=matter(code))
    kept: Answers = {name: value for name, value in row.answers.items() if name not in ("skip", "why")}
    if matter(code) == "size":
        answer = {"size": {**kept.get("size", {}), str(found["column"]): answer["size"]}}
    if "take" in answer:
        answer = {"take": sorted({*kept.get("take", ()), *answer["take"]})}
    return kept | answer


def left_out(why: str) -> Answers:
    """What leaves a row out. Raises Invalid without a reason."""
    if not why.strip():
        raise Invalid(_("Say why it is left out."), field="why")
    return {"skip": True, "why": why.strip()[:MOST_TYPED]}


def _answer(found: Asked, choice: str, text: str) -> Answers:
    about = matter(found["code"])
    maker = {"number": _of_number, "name": _of_name, "kind": _of_kind, "letters": _of_letters, "date": _of_date, "size": _of_size}.get(about)
    if maker:
        return maker(found["data"], choice, text)
    if choice == "again" and about == "refused":
        return {"tries": "again"}
    return {"take": [found["code"]]} if choice == "take" and about != "too_long" else {}


def _offered(data: Asked, choice: str, name: str = "offers") -> Any:
    """The offer that a choice names, 'offer:1'; None where there is none."""
    at = choice.partition(":")[2]
    offers = data.get(name) or ()
    return offers[int(at)] if at.isascii() and at.isdecimal() and int(at) < len(offers) else None


def _of_number(data: Asked, choice: str, text: str) -> Answers:
    if choice == "temporary" or (choice == "written" and data.get("text")):
        return {"number": {"do": choice}}
    if choice in ("former", "split"):
        texts = [piece.strip() for piece in text.replace(";", ",").split(",") if piece.strip()] or list(data.get("pieces", ()))
        return {"number": {"do": choice, "texts": texts}} if len(texts) > 1 else {}
    offer = _offered(data, choice) if choice.startswith("offer:") else text
    return {"number": {"do": "other", "text": offer}} if offer else {}


def _of_name(data: Asked, choice: str, text: str) -> Answers:
    name = _offered(data, choice) if choice.startswith("offer:") else text
    return {"name": name} if name else {}


def _of_kind(data: Asked, choice: str, text: str) -> Answers:
    return {"kind": text} if text and choice == "other" else {}


def _of_letters(data: Asked, choice: str, text: str) -> Answers:
    if choice == "words":
        return {"take": ["wrong_encoding"]}
    return {"repair": True} if choice == "offer:0" else {}


def _of_date(data: Asked, choice: str, text: str) -> Answers:
    if choice == "words":
        return {"date": {"words": True}}
    offer = _offered(data, choice) if choice.startswith("offer:") else text
    return {"date": {"edtf": offer}} if offer else {}


def _of_size(data: Asked, choice: str, text: str) -> Answers:
    if choice in ("words", "stamp"):
        return {"size": {"as": choice}}
    which, _mark, name = choice.partition(":")
    if which == "measure":
        measure = _offered(data, choice, "measures")
        return {"size": dict(measure)} if measure else {}
    measures = data.get("measures") or ()
    return {"size": {**measures[0], "label": name}} if which == "as" and name in DIMENSIONS and measures else {}
