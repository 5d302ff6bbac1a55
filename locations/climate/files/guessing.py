"""How a file is read, as far as the file itself tells it; where two readings are possible, a question."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from locations.climate.files import headings
from locations.climate.files.cells import GROUPS, UNIT, Letters, Table, figures
from locations.climate.files.clocks import evidence
from locations.climate.files.forms import ORDERS, QUANTITIES, Form, Proposal, Question, Unreadable
from locations.climate.files.reading import interval_of
from locations.climate.files.sheets import Sheet
from locations.climate.files.times import DAY, EPOCH, WIDEST, Layout, Shapes, layout, shapes, written
from locations.climate.science.faults import in_exchanged_columns, looks_fahrenheit
from locations.climate.science.figures import NOTHING, PLAIN, SPACES
from locations.climate.science.values import Floats, Ints

#: lines looked at for what their cells are
SOME: Final = 300
SHOWN: Final = 6
#: a humidity of this and less is a part of one (up to 103 %), or comes from a sensor that is dead
MOST_SHARE, LEAST_SHARE = 1.03, 0.05


def propose(sheet: Sheet, *, zone: ZoneInfo, remembered: Form | None = None, clock: str = "", answers: dict[str, str] | None = None) -> Proposal:
    """Guesses the form. `remembered` is how the last file of the same headings was read, `clock` what is known of the logger's clock,
    `answers` what somebody said to the questions. Raises Unreadable `no_times`, `no_figures`, `comma_twice`."""
    guess = _Guess(Table(sheet), sheet.delimiter, zone, answers or {}, remembered, clock)
    guess.columns()
    for step in (guess.decimal_sign, guess.order, guess.unit, guess.share, guess.clock):
        step()
    return guess.proposal()


@dataclass(frozen=True, slots=True)
class _Cells:
    """The lines looked at: number and cells."""

    line: int
    cells: tuple[str, ...]


class _Guess:
    """One step for everything that has to be known; each sets a part of the form or asks."""

    def __init__(self, table: Table, delimiter: str, zone: ZoneInfo, answers: dict[str, str], remembered: Form | None, clock: str) -> None:
        self.table, self.delimiter, self.zone, self.answers, self.known_clock = table, delimiter, zone, answers, clock
        self.questions: list[Question] = []
        whole = len(table) - (table.cut and len(table) > 1)
        self.some = [_Cells(n, table.line(n)) for n in range(min(whole, SOME)) if not table.blank[n]]
        first = self._first_line()
        above = [one for one in self.some if one.line < first]
        self.above = [" ".join(one.cells) for one in above]
        self.usual = table.usual(first)
        self.heading = _heading(above, self.usual)
        self.data = [one for one in self.some if one.line >= first]
        self.remembered = remembered if remembered is not None and remembered.heading == self.heading else None
        self.form = Form(first, self._times(), heading=self.heading)

    def proposal(self) -> Proposal:
        """What was found."""
        shown = tuple((one.line + 1, one.cells) for one in self.data[:SHOWN])
        return Proposal(self.form, tuple(self.questions), headings.serial(self.above), shown)

    def ask(self, code: str, answers: Sequence[str], proposed: str = "", seen: str = "") -> str | None:
        """What was answered, else what was answered last time; else a question."""
        if (said := self.answers.get(code)) in answers:
            return said
        self.questions.append(Question(code, tuple(answers), proposed, seen[:60]))
        return None

    def before(self, name: str) -> str | None:
        """How the last file of the same headings was read."""
        found: str | None = getattr(self.remembered, name) if self.remembered else None
        return found

    # --- where the readings begin, and in which columns ---

    def _first_line(self) -> int:
        for one in self.some:
            times = [n for n, text in enumerate(one.cells) if _time(text)]
            rest = [text for n, text in enumerate(one.cells) if n not in times and _is_figure(text)]
            if any(_dated(one.cells[n]) for n in times) and (rest or self._stamped(times, one)):
                return one.line
        raise Unreadable("no_times")

    def _stamped(self, times: list[int], one: _Cells) -> bool:
        return len(times) > 1 and any(_is_figure(one.cells[n]) for n in times)

    def _times(self) -> tuple[int, ...]:
        """The column with day and hour, else one with the day and one with the hour. Of two, the one of universal time."""
        kinds = [(n, _kind([one.cells[n] for one in self.data if n < len(one.cells)])) for n in range(self.usual)]
        named = [n for n, kind in kinds if kind and headings.TIME.search(self._named(n))]
        whole = [n for n, kind in kinds if kind == "whole"]
        counted = [n for n, kind in kinds if kind == "counted" and (n in named or not whole)]
        if whole or counted:
            universal = [n for n in whole if headings.minutes_ahead(self._named(n)) is not None]
            return ((universal or whole or [n for n in counted if n in named] or counted)[0],)
        days, hours = [n for n, kind in kinds if kind == "day"], [n for n, kind in kinds if kind == "hour"]
        if days and hours:
            return days[0], hours[0]
        raise Unreadable("no_hours" if days else "no_times", line=self.data[0].line + 1)

    def _named(self, column: int) -> str:
        return self.heading[column] if column < len(self.heading) else ""

    def columns(self) -> None:
        """Which columns hold t, rh and lux: by their headings, else asked."""
        figured = [n for n in range(self.usual) if n not in self.form.times and _figures([one.cells[n] for one in self.data if n < len(one.cells)])]
        if not figured:
            raise Unreadable("no_figures", line=self.data[0].line + 1)
        found: dict[str, int] = {}
        # A column that is headed so counts though none of the first lines has a figure there: what it is cannot be dropped in silence.
        for n in (*figured, *(n for n in range(self.usual) if n not in figured and n not in self.form.times and self._filled(n))):
            if (name := headings.quantity(self._named(n))) and name not in found:
                found[name] = n
        if not found:
            found = self._asked_columns(figured)
        self.form = replace(self.form, t=found.get("t"), rh=found.get("rh"), lux=found.get("lux"))
        self._demand_cells_apart(figured)

    def _filled(self, column: int) -> bool:
        texts = [one.cells[column].strip() for one in self.data if column < len(one.cells)]
        return any(text and (text.lower() in NOTHING or any(sign.isdigit() for sign in text)) for text in texts)

    def _asked_columns(self, figured: list[int]) -> dict[str, int]:
        if len(figured) == 1:
            said = self.answers.get("columns") or self._columns_before() or self.ask("columns", QUANTITIES, "t")
            return {said or "t": figured[0]}
        said = self.answers.get("columns") or self._columns_before() or self.ask("columns", ("t rh", "rh t"), "t rh")
        first, second = (said or "t rh").split()[:2] if " " in (said or "t rh") else ("t", "rh")
        return {first: figured[0], second: figured[1]}

    def _columns_before(self) -> str | None:
        if self.remembered is None:
            return None
        there = sorted((column, name) for name in QUANTITIES if (column := self.remembered.column(name)) is not None)
        return " ".join(name for _, name in there[:2])

    def _demand_cells_apart(self, figured: list[int]) -> None:
        """Commas between cells and within figures cannot be told apart: twice as many figures as headings, none with a decimal sign."""
        if self.delimiter != "," or any("." in one.cells[n] for one in self.data for n in figured if n < len(one.cells)):
            return
        if 0 < len([name for name in self.heading if name.strip()]) < self.usual - 1 or any(len(one.cells) != self.usual for one in self.data):
            raise Unreadable("comma_twice", line=self.data[0].line + 1, cell=",".join(self.data[0].cells))

    # --- how figures and times are written ---

    def _texts(self, quantity: str) -> list[str]:
        column = self.form.column(quantity)
        if column is None:
            return []
        when = self.form.times[0]
        return [UNIT.sub("", SPACES.sub("", one.cells[column])) for one in self.data if max(column, when) < len(one.cells) and _told(one.cells[when])]

    def decimal_sign(self) -> None:
        """Point or comma: whichever stands in a figure that cannot be one of thousands; t and rh of a thousand there are none."""
        texts = [text for name in QUANTITIES for text in self._texts(name)]
        both = {text for text in texts if "," in text and "." in text}
        signs = {sign: [text for text in texts if sign in text and text not in both] for sign in ".,"}
        certain = {max(".,", key=text.rfind) for text in both} | {sign for sign, found in signs.items() if any(not _grouped(text) for text in found)}
        if len(certain) > 1:
            raise Unreadable("two_signs", line=self.data[0].line + 1, cell=next((text for text in texts if "," in text), ""))
        if not certain:
            certain = {sign for sign in ".," for name in ("t", "rh") if any(sign in text for text in self._texts(name))}
        if len(certain) == 1:
            self.form = replace(self.form, decimal=certain.pop())
        elif any(signs.values()):
            seen = (signs[","] or signs["."])[0]
            self.form = replace(self.form, decimal=self.before("decimal") or self.ask("decimal", (".", ","), "," if signs[","] else ".", seen))
        else:
            self.form = replace(self.form, decimal=".")

    def order(self) -> None:
        """Day, month, year: only an order in which every line is a day, and at least one that tells it from the others."""
        if not any(found.ordered for _, found in self._day_shapes):
            self.form = replace(self.form, order="ymd")
            return
        possible = [order for order in ORDERS if self._all_good(order)]
        if len(possible) == 1:
            self.form = replace(self.form, order=possible[0])
        elif not possible:
            self.form = replace(self.form, order=self.before("order") or "dmy")
        else:
            before = self.before("order")
            self.form = replace(self.form, order=before if before in possible else self.ask("order", possible, possible[0], self._telling_day()))

    def _telling_day(self) -> str:
        """The first day whose two figures differ, so that whoever is asked can tell which is which; else the first."""
        texts = [self.table.text(int(line), self.form.times[0]) for line in self._lines[:SOME]]
        return next((text for text in texts if len(set(re.findall(r"\d+", text)[:2])) > 1), texts[0])

    @cached_property
    def _lines(self) -> Ints:
        lines = np.arange(self.form.first, len(self.table))
        found: Ints = lines[~self.table.blank[lines] & (self.table.counts[lines] > max(self.form.times))]
        return found

    @cached_property
    def _days(self) -> tuple[Letters, Ints]:
        return self._cells(self.form.times[0])

    @cached_property
    def _hours(self) -> tuple[Letters, Ints]:
        return self._cells(self.form.times[-1]) if len(self.form.times) > 1 else self._days

    @cached_property
    def _day_shapes(self) -> Shapes:
        return shapes(*self._days)

    @cached_property
    def _hour_shapes(self) -> Shapes:
        return shapes(*self._hours) if len(self.form.times) > 1 else self._day_shapes

    def _cells(self, column: int) -> tuple[Letters, Ints]:
        begin, end = self.table.span(self._lines, column)
        width = int(min((end - begin).max(initial=1), WIDEST))
        return self.table.matrix(begin, end, width), end - begin

    def _all_good(self, order: str) -> bool:
        """Whether this order makes a day of every line that has a time at all."""
        letters, lengths = self._days
        timed = np.zeros(len(lengths), dtype=bool)
        for rows, _found in self._day_shapes:
            timed[rows] = True
        good = written(letters, lengths, order, self._day_shapes).good
        return bool(timed.any() and good[timed].all())

    def unit(self) -> None:
        """°C unless the heading says °F; a median above 45 is asked about, once it is known which column is the temperature."""
        if self.form.t is None or any(one.code == "columns" for one in self.questions):
            self.form = replace(self.form, unit="C")
            return
        said = headings.unit(self._named(self.form.t)) or (headings.unit(" ".join(self.above)) if not self._named(self.form.t) else "")
        t = self._values("t")
        if said != "F" and t is not None and looks_fahrenheit(t):
            if self._exchanged(t):
                return
            said = self.before("unit") or self.ask("unit", ("F", "C"), "F", f"{np.nanmedian(t):.1f}") or ""
            self.form = replace(self.form, unit=said or None)
            return
        self.form = replace(self.form, unit=said or "C")

    def share(self) -> None:
        """Humidity that never goes beyond 1 is a part of one, not %; no room is so dry, so it is asked about."""
        rh = self._values("rh")
        if rh is None or float(np.nanmax(rh)) > MOST_SHARE or not (rh > LEAST_SHARE).any():
            return
        said = "yes" if self.remembered is not None and self.remembered.share else self.ask("share", ("yes", "no"), "yes", f"{np.nanmedian(rh):g}")
        self.form = replace(self.form, share=said == "yes")

    def _exchanged(self, t: Floats) -> bool:
        """Whether t and rh look exchanged: asked, and as answered."""
        rh = self._values("rh")
        if rh is None or not in_exchanged_columns(t, rh):
            return False
        said = self.ask("exchanged", ("yes", "no"), "yes", f"{np.nanmedian(t):.1f}")
        if said == "yes":
            self.form = replace(self.form, t=self.form.rh, rh=self.form.t, unit="C")
        return said != "no"

    def _values(self, quantity: str) -> Floats | None:
        column = self.form.column(quantity)
        if column is None:
            return None
        when = self.form.times[0]
        lines = np.array([one.line for one in self.data if max(column, when) < len(one.cells) and _told(one.cells[when])], dtype=np.int64)
        values = figures(self.table, lines, column, self.form.decimal or ",").values
        return values if not np.isnan(values).all() else None

    # --- the clock ---

    def clock(self) -> None:
        """Said in the cells or the heading; else known of the logger; else asked, with what the changes of the clock show."""
        found = [one for _, one in self._hour_shapes]
        if any(one.ahead is not None or _counts_seconds(one) for one in found):
            self.form = replace(self.form, clock="told" if any(one.ahead is not None for one in found) else "utc")
            return
        named = [minutes for column in self.form.times if (minutes := headings.minutes_ahead(self._named(column))) is not None]
        if named:
            self.form = replace(self.form, clock="offset", offset=named[-1])
            return
        shown = self._shown()
        known = self.answers.get("clock") or self.known_clock or self.before("clock")
        if known and not _contradicts(known, shown):
            self.form = replace(self.form, clock=known)
            return
        self.questions.append(Question("clock_otherwise" if known else "clock", ("follows", "standard", "utc"), _likely(shown), shown))

    def _shown(self) -> str:
        if self.form.order is None:
            return ""
        days = written(*self._days, self.form.order, self._day_shapes)
        hours = days if len(self.form.times) == 1 else written(*self._hours, self.form.order, self._hour_shapes)
        good = days.good & hours.good & days.dated
        wall = (days.days * DAY + hours.seconds)[good]
        if (np.diff(wall) < 0).sum() * 2 > len(wall):
            wall = wall[::-1]
        return evidence(wall, self.zone, interval_of(wall)) if len(wall) > 1 else ""


def _contradicts(known: str, shown: str) -> bool:
    return bool(shown) and (known == "follows") != (shown == "follows")


def _likely(shown: str) -> str:
    return {"follows": "follows", "fixed": "standard"}.get(shown, "")


def _heading(above: list[_Cells], usual: int) -> tuple[str, ...]:
    """The headings: the last line above that has words in at least two cells, with a line of units below it if there is one."""
    rows = [one.cells for one in above[-2:] if sum(bool(text.strip()) for text in one.cells) >= 2]
    if not rows:
        return ()
    wide = rows if len(rows) == 1 or len(rows[0]) == len(rows[1]) == usual else rows[-1:]
    return tuple(" ".join(filter(None, (cells[n].strip() if n < len(cells) else "" for cells in wide))) for n in range(max(map(len, wide))))


def _time(text: str) -> Layout | None:
    found = layout(text.strip().encode())
    return None if found is None or (_counts_seconds(found) and not _plausible(text)) else found


def _counts_seconds(found: Layout) -> bool:
    return bool({"epoch", "milli", "serial"} & found.groups.keys())


def _plausible(text: str) -> bool:
    """Whether a bare number can be a count of seconds."""
    digits = text.strip().split(".")[0].split(",")[0]
    return len(digits) == 5 or EPOCH[0] <= int(digits[:10]) < EPOCH[1]


def _dated(text: str) -> bool:
    return (found := _time(text)) is not None and found.has_date


def _told(text: str) -> bool:
    return _time(text) is not None


def _is_figure(text: str) -> bool:
    plain = UNIT.sub("", SPACES.sub("", text)).replace("\u2212", "-")
    return bool(PLAIN.fullmatch(plain)) or any(groups.fullmatch(plain) for groups in GROUPS.values())


def _kind(texts: list[str]) -> str:
    """What the cells of a column are: day and hour, day, hour, a count, or no times; most of them decide."""
    found = [_sort(one) for text in texts if text.strip() and (one := _time(text)) is not None]
    filled = sum(bool(text.strip()) for text in texts)
    if not found or len(found) * 2 < filled:
        return ""
    return "whole" if "whole" in found else max(set(found), key=found.count)


def _sort(found: Layout) -> str:
    if _counts_seconds(found):
        return "counted"
    return "whole" if found.has_date and found.has_clock else "day" if found.has_date else "hour"


def _figures(texts: list[str]) -> bool:
    """Whether most of what stands there are figures or say that there is none."""
    filled = [text.strip() for text in texts if text.strip()]
    told = [text for text in filled if _is_figure(text)]
    return bool(told) and (len(told) + sum(text.lower() in NOTHING for text in filled)) * 2 > len(filled)


def _grouped(text: str) -> bool:
    digits = text.lstrip("+-").replace(",", ".").split(".")
    return len(digits) == 2 and 1 <= len(digits[0]) <= 3 and len(digits[1]) == 3
