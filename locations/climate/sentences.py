"""Codes of the pure parts as sentences for people: why a file is not taken, what is asked, what became of its lines."""

from typing import Any, Final, cast

from django.utils.functional import Promise, lazy
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from locations.climate.files.forms import Unreadable
from locations.climate.science.damp import house_alarms
from museum.web.figures import written

#: hours from which days stand beside them
IN_DAYS: Final = 120
#: %RH for each 10 %RH from which a slope of its own is told
LEAST_SLOPE: Final = 0.3
UNREADABLE: Final[dict[str, Promise]] = {
    "empty": _("The file is empty. Read the logger out again and send what it writes then."),
    "too_large": _("The file is larger than %(megabytes)s MB. Export a shorter time, several times if need be."),
    "not_text": _("This is no table: it holds signs that no text has. Export from the logger's own program as CSV, TXT or XLSX, and send that."),
    "not_a_workbook": _("This workbook cannot be opened; it may be damaged or protected. Open it, save it as XLSX or CSV, and send that."),
    "no_times": _("No column holds a day and an hour beside a figure. Export readings with their times, one reading a line."),
    "no_hours": _("The readings have a day but no hour. Export them with the hour; a daily mean cannot be used."),
    "no_figures": _("No column beside the times holds figures. Export temperature and humidity with the times, and send that."),
    "comma_twice": _("Commas stand between the cells and within the figures, so that nobody can tell them apart. Export with semicolons or tabs between."),
    "two_signs": _("Some figures have a decimal point and some a decimal comma. Export again with one of them."),
    "not_answered": _("Something about this file is still open: %(what)s. Answer it on the page of the file."),
    "too_many_cells": _("This line has a cell more than the others. A decimal comma may have been taken for the end of a cell; export with semicolons."),
    "too_few_cells": _(
        "This line has fewer cells than the others, and a figure in it. It may have been cut off: read the logger out again, or take the line out of "
        "the file, and send it again."
    ),
    "not_a_time": _(
        "This is no time in the way the other lines are written, or no day of the calendar. Correct it if you know what it was, else take the line "
        "out, and send the file again."
    ),
    "not_a_figure": _(
        "This is no figure. Empty the cell if the logger had no value then, or write what its own program shows for that time, and send the file again."
    ),
    "other_columns": _(
        "The headings stand here again, and otherwise than above: another column, or another unit. Make two files of it, from here on the second, and send "
        "both."
    ),
    "exchanged_within": _(
        "From this line on temperature and humidity go on in each other's column. Look at it; make two files of it, from here on the second with its headings "
        "exchanged, and send both."
    ),
    "two_a_time": _(
        "Nearly every time stands there twice, with other values. If temperature and humidity stand below each other, or two loggers are in it, export again "
        "with one line for each time of one logger."
    ),
    "no_offset": _("The other lines say how far their clock is from universal time; this one does not. Export again with that on every line, or on none."),
    "twelve_hours": _("The clock counts to twelve and does not say which half of the day. Export with 24 hours, or with AM and PM."),
    "not_in_time": _(
        "This reading would be of a time to come, or older than any logger. Day and month may be exchanged: export with the year first. If the "
        "logger's clock was not set, nobody can tell its times: set it, and let it run anew."
    ),
    "clock_unset": _(
        "The readings begin on 1 January 2000, where the clock of a logger begins that nobody set after a new battery; nobody can tell their times. Set "
        "its clock and let it run anew. If they are truly so old, take the lines of that day out, and send the file again."
    ),
    "no_readings": _("No line of the file holds a reading. Look whether it is the right file, and whether the logger was running."),
}
LEFT: Final[dict[str, Promise]] = {
    "no_reading": _("lines without a reading: remarks, repeated headings"),
    "no_value": _("times at which the logger has no value"),
    "twice": _("readings that stand there again with the same values"),
    "rivals": _("other values for a time that has one: both are kept, neither is used until somebody decides"),
    "skipped_hour": _("readings in the hour that the change to summer time leaves out: they never were, and are left out"),
    "undecided_hour": _("readings in the hour that comes twice in autumn, where nothing tells which it was: left out"),
    "cut": _("a last line that seems cut off: left out"),
}
QUESTIONS: Final[dict[str, Promise]] = {
    "order": _("Which comes first, the day or the month?"),
    "decimal": _("What is the sign in the figures?"),
    "unit": _("Are the temperatures in °C or in °F?"),
    "columns": _("Which column is which?"),
    "exchanged": _("Temperature and humidity look exchanged. Exchange them?"),
    "clock": _("What did the logger's clock show?"),
    "share": _("Are the humidities written as parts of one, 0.61 for 61 %?"),
    "clock_otherwise": _("The readings contradict what is known of this logger's clock. What did it show?"),
    "logger": _("Which logger wrote this file?"),
}
ANSWERS: Final[dict[str, Promise]] = {
    "ymd": _("year, month, day"), "dmy": _("day, month, year"), "mdy": _("month, day, year"), ".": _("a point before the decimals"),
    ",": _("a comma before the decimals"), "C": _("°C"), "F": _("°F"), "yes": _("yes"), "no": _("no"), "t": _("temperature"), "rh": _("humidity"),
    "lux": _("light"), "t rh": _("first temperature, then humidity"), "rh t": _("first humidity, then temperature"),
    "follows": _("the clock on the wall, summer time too"), "standard": _("winter time all the year"), "utc": _("universal time (UTC)"),
}  # fmt: skip
SHOWN: Final[dict[str, Promise]] = {
    "follows": _("the readings change with summer time"), "fixed": _("the readings run through the change of summer time"),
}  # fmt: skip
FLAGS: Final[dict[int, Promise]] = {
    1: _("above 100 %"), 2: _("out of range"), 4: _("a value of a broken sensor"), 8: _("a leap"), 16: _("stands still"), 32: _("mirrored"),
    64: _("just handled"), 128: _("contradicted"),
}  # fmt: skip


def why(wrong: Unreadable) -> str:
    """The refusal in a sentence, with line and cell."""
    said = str(UNREADABLE[wrong.code]) % wrong.data
    if wrong.line is not None and wrong.cell:
        return _now("Line %(line)s, “%(cell)s”: %(said)s") % {"line": wrong.line, "cell": wrong.cell, "said": said}
    return _now("Line %(line)s: %(said)s") % {"line": wrong.line, "said": said} if wrong.line is not None else said


def figure(value: float) -> str:
    """A figure as the reader's language writes it."""
    return written(float(value))


def why_lazily(wrong: Unreadable) -> Promise:
    """The same for an error: worded when it is read, in the language of whoever reads it; a sign of percent stands for itself."""
    return cast(Promise, lazy(lambda: why(wrong).replace("%", "%%"), str)())


def against_the_record(logger: str, told: dict[str, Any]) -> list[str]:
    """What a file that contradicts the record throughout says otherwise, what that looks like, and what to do."""
    said = _now("Of %(common)s times that stand in the record of %(logger)s already, this file has other figures for %(contradicting)s.")
    cause = ("earlier" if told["shift"] > 0 else "later") if told["cause"] == "clock" else told["cause"]
    figures = {name: figure(value) if isinstance(value, int | float) else value for name, value in told.items()}
    figures |= {"logger": logger, "hours": figure(abs(told["shift"]) / 3600)}
    return [said % figures, *(str(words) % figures for words in _LOOKS_LIKE[cause])]


def question(code: str, answers: list[str], proposed: str, seen: str) -> dict[str, Any]:
    """A question as a page shows it."""
    return {
        "code": code, "words": QUESTIONS[code], "seen": SHOWN.get(seen, seen), "proposed": proposed,
        "answers": [(answer, ANSWERS.get(answer, answer)) for answer in answers],
    }  # fmt: skip


def left_out(counts: dict[str, Any], lines: dict[str, Any]) -> list[tuple[str, int, str]]:
    """What became of lines that gave no reading: words, how many, the first of them."""
    return [(str(words), counts[code], ", ".join(map(str, lines.get(code, [])))) for code, words in LEFT.items() if counts.get(code)]


def noticed(flags: int) -> str:
    """What the import noticed about a reading."""
    return ", ".join(str(words) for bit, words in FLAGS.items() if flags & bit)


def doubted(kind: str, told: dict[str, Any]) -> list[str]:
    """What a suspicion rests on, in sentences."""
    said = [str(words) for words in _RESTS_ON["apart" if told.get("apart") else kind]]
    if kind == "drift":
        slope = said[3:] if abs(told.get("slope", 0)) >= LEAST_SLOPE else []
        said = [said[told["size"] < 0], *slope, *(said[2:3] if told["now"] is not None else [])]
    elif kind == "clock":
        said = said[:1] if told["hours"] > 0 else said[1:2]
    elif kind == "salts":
        said = said[: 2 if told["before"] else 1]
    figures = {name: written(str(value)) if isinstance(value, int | float) else value for name, value in told.items()}
    figures |= {name: figure(told[name] if name == "usual" else abs(told[name])) for name in ("size", "hours", "slope", "usual") if name in told}
    return [words % figures for words in said]


#: how leaky a room is, by the codes of its tightness
LEAKS: Final[dict[str, Promise]] = {
    "tight": _("tight: few doors, good windows"), "usual": _("usual: a door that is used"), "leaky": _("leaky: old brick, gaps, a loft hatch"),
}  # fmt: skip


def alarmed(kind: str, hours: int, *, at_least: bool, figures: dict[str, float]) -> str:
    """What an alarm rests on, in words that follow the name of a place."""
    resets = {rule.over: rule.reset for rule in house_alarms() if rule.reset is not None}
    # An alarm counted by limits that are others now still has its words.
    reset = resets.get(figures.get("over", 0.0), figures.get("over") if kind == "mould" else None)
    counted = figures | ({"reset": reset} if reset is not None else {})
    whole = {name: figure(value) if name in ("index", "colder", "quality") else f"{value:.0f}" for name, value in counted.items()}
    said = str(_ALARMED[_alarm_code(kind, at_least, counted)]) % {"time": _long(hours), **whole}
    said = _now("%(said)s, the longest of %(runs)s times") % {"said": said, **whole} if "runs" in whole else said
    if "quality" in whole:
        return _now("at its wall (as cold as the air outdoors makes it, quality %(quality)s), not in the room: %(said)s") % {"said": said, **whole}
    return _now("at its wall (told to be %(colder)s °C colder), not in the room: %(said)s") % {"said": said, **whole} if "colder" in whole else said


def _alarm_code(kind: str, at_least: bool, figures: dict[str, float]) -> str:
    if "index" in figures:
        return "index"
    told = "presumed" if kind == "mould" else "from_to" if "reset" in figures else "hours"
    return f"{told}_at_least" if at_least else told


def _long(hours: int) -> str:
    """Hours; where nobody feels them any more, days beside them."""
    if hours < IN_DAYS:
        return ngettext("%(n)s hour", "%(n)s hours", hours) % {"n": hours}
    return _now("%(hours)s hours (%(days)s days)") % {"hours": figure(hours), "days": figure(hours // 24)}


def next_steps(kind: str) -> list[str]:
    """What a person does about a suspicion."""
    return [str(words) for words in _LOOK[kind]]


_RESTS_ON: Final[dict[str, tuple[Promise, ...]]] = {
    "drift": (
        _("When that first went beyond chance, it read %(size)s %% more than usual (give or take %(error)s %%) against what stands in the same room. "
          "Usually they differ by %(usual)s %%, as learnt over %(days)s days, and that moves by %(spread)s %% from one day to the next."),
        _("When that first went beyond chance, it read %(size)s %% less than usual (give or take %(error)s %%) against what stands in the same room. "
          "Usually they differ by %(usual)s %%, as learnt over %(days)s days, and that moves by %(spread)s %% from one day to the next."),
        _("In the last two weeks it was %(now)s %% away from usual."),
        _("For each 10 %% of humidity the difference changes by %(slope)s %%, as it does between honest sensors; that part is left out."),
    ),
    "apart": (
        _("When that first went beyond chance, it read %(size)s %% more (give or take %(error)s %%) than the air outdoors and %(others)s other rooms let "
          "expect. How they hang together was learnt over %(days)s days; what that leaves open moves by %(spread)s %% from one week to the next."),
        _("When that first went beyond chance, it read %(size)s %% less (give or take %(error)s %%) than the air outdoors and %(others)s other rooms let "
          "expect. How they hang together was learnt over %(days)s days; what that leaves open moves by %(spread)s %% from one week to the next."),
        _("In the last two weeks it was %(now)s %% away from that. A new source of damp, a heater or a closed door does the same: look for one first."),
    ),
    "clock": (
        _("Warmth comes and goes %(hours)s hours later in its record than before, against %(others)s other records (correlation %(correlation)s)."),
        _("Warmth comes and goes %(hours)s hours earlier in its record than before, against %(others)s other records (correlation %(correlation)s)."),
    ),
    "swapped": (
        _("Since their files were fetched, each reads as the other did: the days after lie %(as_they_are)s squared spreads from the days before, and "
          "%(exchanged)s if the two are exchanged."),
    ),
    "stuck": (_("For %(hours)s hours it wrote %(value)s %% and nothing else, while its temperature moved."),),
    "mirrored": (_("Over %(readings)s readings every step of its humidity is the same multiple of the step of its temperature. Air does not do that."),),
    "salts": (
        _("Over salts it showed %(off)s %% against what was true; up to 3 %% is what such sensors do."),
        _("Against the check before that is a change of %(changed)s %%."),
    ),
}  # fmt: skip
_LOOK: Final[dict[str, tuple[Promise, ...]]] = {
    "drift": (
        _("Check it, and what it is compared with, over two salts; store the check. Readings are corrected from a check on, never before it."),
        _("See whether one of them was moved, stands nearer a wall, or was splashed."),
    ),
    "clock": (
        _("Compare its clock with one that is right, and see what it does in summer time."),
        _("Set it when you next read it out; say on its page what its clock shows."),
    ),
    "swapped": (_("Read the labels of both where they stand. If they were exchanged, tell where each stands, and from when."),),
    "stuck": (_("Breathe on it: what follows is alive. A sensor that was wet stays dead."),),
    "mirrored": (_("Open its file: one column may have been made from the other by the program that exported it."),),
    "salts": (_("Decide about the readings since it was last right; they are not corrected backward by themselves."),),
}
#: what a file that contradicts the record looks like, by what was found, and what to do
_LOOKS_LIKE: Final[dict[str, tuple[Promise, Promise]]] = {
    "other": (_("Its figures are those of %(name)s at the same times: it seems to be the file of that logger."), _("If so, choose that one below.")),
    "earlier": (
        _("The same figures stand in the record, %(hours)s hours earlier: the clock was set otherwise, or shows another time than was said of it."),
        _("Say below what it showed. If it was set wrongly, set it right, and do not read this file."),
    ),
    "later": (
        _("The same figures stand in the record, %(hours)s hours later: the clock was set otherwise, or shows another time than was said of it."),
        _("Say below what it showed. If it was set wrongly, set it right, and do not read this file."),
    ),
    "unit": (
        _("Its temperatures are those of the record in the other unit: °F was taken for °C, or the other way round."),
        _("Do not read this file; export it again with the right unit in the heading."),
    ),
    "exchanged": (
        _("Its temperatures are the humidities of the record, and the other way round: two columns are exchanged."),
        _("Do not read this file; export it again with the right headings."),
    ),
    "rounded": (
        _("They differ by no more than rounding: the same readings, exported with more decimals or fewer."),
        _("They are in already; this file need not be read."),
    ),
    "": (
        _("It may be the file of another logger, or the clock or the unit may be another than before."),
        _("Look at the label of the logger, and at the first readings below."),
    ),
}
_ALARMED: Final[dict[str, Promise]] = {
    "hours": _("over %(over)s %% for %(time)s without a break"),
    "hours_at_least": _("over %(over)s %% for at least %(time)s without a break"),
    "from_to": _("over %(over)s %%, then never below %(reset)s %%, for %(time)s"),
    "from_to_at_least": _("over %(over)s %%, then never below %(reset)s %%, for at least %(time)s"),
    "presumed": _("over %(over)s %%, then never below %(reset)s %%, for %(time)s, up to %(highest)s %%: mould must be presumed"),
    "presumed_at_least": _("over %(over)s %%, then never below %(reset)s %%, for at least %(time)s, up to %(highest)s %%: mould must be presumed"),
    "index": _("air in which mould grows on leather, cork and felt (computed index %(index)s of 6)"),
}
