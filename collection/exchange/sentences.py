"""Why a row is what it is, in words: one sentence a code."""

from collections.abc import Mapping
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: Final[Mapping[str, Promise]] = {
    "title_row": _("stands above the headings"),
    "heading_row": _("is the row of headings"),
    "empty_row": _("is empty"),
    "total_row": _("sums up the list"),
    "left_out": _("is left out, as somebody said"),
    "joined_again": _("was split off and is one thing with the row after all"),
    "taken_back": _("was brought in and taken back"),
    "known": _("was brought in before"),
    "number_is_date": _("“%(text)s” looks like a date; a spreadsheet may have made it of a number."),
    "number_separator": _("“%(text)s” is written with other marks than points; it could also be a date."),
    "two_digit_year": _("“%(text)s” has a year of two digits; the century is never guessed."),
    "several_numbers": _("“%(text)s” holds more than one number: several things, or parts of one?"),
    "number_range": _("“%(text)s” is outside what a number can be: years 1800 to 2199, lot and item 1 to 999999."),
    "not_our_form": _("“%(text)s” does not follow the form of our numbers, as in 1974.12.3."),
    "number_was_figure": _(
        "The spreadsheet holds “%(text)s” as a figure; a zero at its end would have been lost."
    ),
    "part_letter": _("“%(text)s” is the number of a part of %(whole)s, and this row would make a thing of its own."),
    "no_number": _("There is no number: a loose part, or a thing nobody numbered?"),
    "duplicate_number": _("%(text)s stands in row %(row)s too: the same thing twice, a part of it, or a wrong number?"),
    "number_taken": _("%(text)s is in the catalogue already, or was once given."),
    "ditto": _("“%(text)s” repeats the row above; say what it stands for."),
    "no_name": _("Nothing says what the thing is."),
    "name_from_title": _("The title “%(text)s” stands for the empty name."),
    "kind_unknown": _("“%(text)s” is no kind of headgear that the house knows."),
    "serial_date": _("“%(text)s” may be the day number of a spreadsheet, %(day)s."),
    "ambiguous_date": _("“%(text)s”: day and month can be read in two ways."),
    "date_two_digits": _("“%(text)s” is a date with a year cut short; the century is never guessed."),
    "date_year_or_day": _("“%(text)s” may be a day, or a year that a spreadsheet made a day of."),
    "date_month_or_years": _("“%(text)s” may be a month, or years."),
    "date_no_such_day": _("“%(text)s”: there is no such day."),
    "date_letter": _("“%(text)s” holds a slip: a letter for a figure, or years in the wrong order."),
    "date_decade_or_century": _("“%(text)s” may be ten years or a hundred."),
    "date_several": _("“%(text)s” holds more than one date: which is the date of the thing?"),
    "date_span": _("“%(text)s” is read as all through these years; it may have been made once, within them."),
    "date_words": _("“%(text)s” stays in words: no rule reads it as a date."),
    "size_words": _("“%(text)s” stays in words: its figures cannot be read."),
    "size_disagrees": _("“%(text)s” says two sizes that contradict each other."),
    "size_stamp": _("“%(text)s” looks like a head size stamped in it, not a measure."),
    "size_unnamed": _("“%(text)s” does not say what was measured."),
    "not_ours": _("“%(text)s”: it may be borrowed. Brought in, nothing is said about whose it is."),
    "returned": _("“%(text)s”: it may have gone back, and be none of ours now."),
    "on_loan_unknown": _("“%(text)s”: it may be away. Brought in, its place is not known."),
    "currency": _("“%(text)s” names a currency. It stays in words: a value without its day, its valuer and its basis is no valuation."),
    "number_format": _("“%(text)s” can be read in two ways of writing figures; it stays in words."),
    "value_text": _("“%(text)s” is no amount by itself; it stays in words."),
    "total_count": _("It says %(said)s things; the list above has %(counted)s."),
    "total_sum": _("It says %(said)s; the amounts above that can be read come to %(counted)s, and of %(unread)s the words give none."),
    "wrong_encoding": _("“%(text)s” was read in the wrong character set."),
    "too_long": _("A cell is too long for a record; put it into a paper and refer to it."),
    "refused": _("%(sentence)s"),
}  # fmt: skip


def sentence(code: str, data: Mapping[str, Any]) -> str:
    """The reason in words; a refusal of the catalogue says its own."""
    if told := data.get("sentence"):
        return str(told)
    return str(SENTENCES[code]) % data if code in SENTENCES else code


def short(code: str) -> str:
    """The same without a row at hand, for lists of reasons."""
    words = SHORT.get(code) or SENTENCES.get(code)
    return str(words) if words else code


SHORT: Final[Mapping[str, Promise]] = {
    "number_is_date": _("number looks like a date"), "number_separator": _("number with other marks than points"),
    "two_digit_year": _("year of two digits"), "several_numbers": _("several numbers in one cell"),
    "number_range": _("number out of range"), "not_our_form": _("number of another form"),
    "number_was_figure": _("number kept as a figure"), "part_letter": _("number of a part"),
    "no_number": _("no number"),
    "duplicate_number": _("number twice in the file"), "number_taken": _("number given before"),
    "ditto": _("repeats the row above"), "no_name": _("no name"), "kind_unknown": _("kind not known"),
    "serial_date": _("date may be a day number"), "ambiguous_date": _("day and month in doubt"),
    "date_two_digits": _("date with a short year"), "date_year_or_day": _("year, or a day"), "date_month_or_years": _("month, or years"),
    "date_no_such_day": _("no such day"), "date_letter": _("slip in a date"), "date_decade_or_century": _("decade or century"),
    "date_several": _("several dates"), "date_span": _("span of years, read as all through"), "date_words": _("date in words only"),
    "size_words": _("size in words only"), "size_disagrees": _("sizes that disagree"), "size_stamp": _("may be a size stamp"),
    "size_unnamed": _("measure without a name"),
    "not_ours": _("may be borrowed"), "returned": _("may have gone back"), "on_loan_unknown": _("may be away"),
    "wrong_encoding": _("wrong character set"), "too_long": _("cell too long"),
    "refused": _("refused by the catalogue"),
}  # fmt: skip
