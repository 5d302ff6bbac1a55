"""Dates in words to EDTF, earliest and latest day; or a question. Nothing is guessed.

The words as found are kept by the caller. Conventions: `conventions.py`. Reading is strict: what no rule here reads
whole is asked, with what it may mean offered where that can be said.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from collection.objects.dates import traps
from collection.objects.dates.atoms import Ask, Atom, read_atom
from collection.objects.dates.conventions import SHIPPED, Conventions
from collection.objects.dates.days import Day
from collection.objects.dates.edtf import EdtfError, bounds
from collection.objects.dates.marks import marked, marks_of, read_end
from collection.objects.dates.normal import normal
from collection.objects.dates.spans import Found, completed, interval, span, ways, year_ends


@dataclass(frozen=True, slots=True)
class Reading:
    """A date read. `edtf` None: known to be unknown. `confirm`: it is stored as read, but a person is asked whether
    one of these EDTF texts is meant instead (used all through, or made once within)."""

    text: str
    edtf: str | None
    earliest: Day | None = None
    latest: Day | None = None
    confirm: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """Words that a person must decide: why, and the EDTF texts they may mean.

    `why` is one of: two_digit_year, short_year, day_month_order, year_or_day, month_or_years, month_as_number,
    day_number, no_such_day, letter_for_digit, decade_or_century, model_year, acquisition, about_on_more, doubt_on_more,
    backwards, slash, several_dates, words_beside, not_read.
    """

    text: str
    why: str
    candidates: tuple[str, ...] = ()


def read_date(text: str, house: Conventions = SHIPPED) -> Reading | Question:
    """Reads a date as old records write it."""
    if traps.is_unknown(text, house):
        return Reading(text, None)
    words = normal(text, house)
    try:
        for trap in traps.ALL:
            trap(words, house, lambda rest: _offers(rest, house))
        found = _whole(_common_era(words), house) or _plain_edtf(text.strip(), house)
        if found is None:
            raise _not_read(words, house)
        return Reading(text, found[0], *bounds(found[0], house), confirm=found[1:])
    except Ask as ask:
        return Question(text, ask.why, tuple(ask.candidates))
    except EdtfError:
        return Question(text, "backwards")


def _common_era(words: str) -> str:
    """'1121 ah/ad 1717': where another calendar stands first, the years follow the part in our era."""
    part = r"[^/-]*(?:-[^/-]*)?\b(?:ah|am) ?/ ?ad ?"
    first = re.sub(rf"^{part}", "ad ", words)
    return re.sub(r"-[^/-]*\b(?:ah|am) ?/ ?ad ?", "-ad ", first)


def _whole(words: str, house: Conventions) -> Found | None:
    """The first rule that reads all the words."""
    purpose, rest = _purpose(words, house)
    if purpose == "made" and (atom := read_atom(rest, house)) and atom.kind == "period":
        return (f"[{atom.listed}]",)
    for rule in (_between, _limits, _both_limits, _lasting, _single, _one_of, _pair):
        if found := rule(rest, house):
            return found
    return span(rest, purpose, house)


def _purpose(words: str, house: Conventions) -> tuple[str, str]:
    """'made' or 'used' where the words begin with it, and the rest."""
    for purpose in ("made", "used"):
        if found := re.match(rf"(?:{house.any_of(purpose)})\b:? ?(?:in |on )?", words):
            return purpose, words[found.end() :]
    return "", words


def _single(words: str, house: Conventions) -> Found | None:
    about, doubt, rest = marks_of(words)
    atom = read_atom(rest, house)
    return (marked(atom, about, doubt),) if atom else None


def _between(words: str, house: Conventions) -> Found | None:
    found = re.fullmatch("(?:some time |sometime )?between (.+) and (.+)", words)
    for left, right in completed(found[1], found[2], house) if found else ():
        if (first := read_atom(left, house)) and (last := read_atom(right, house)):
            return (f"[{year_ends(first)[0]}..{year_ends(last)[1]}]",)
    return None


_BEFORE: Final = ("before (.+)", "earlier than (.+)", "pre[- ](.+)")
_UP_TO: Final = ("by (.+)", "not? (?:after|later than) (.+)", "(.+) (?:or|and) (?:earlier|before)")
_AFTER: Final = ("after (.+)", "later than (.+)", "post[- ](.+)")
_FROM_ON: Final = ("not? (?:before|earlier than) (.+)", "(.+) (?:or|and) (?:later|after)")


def _limits(words: str, house: Conventions) -> Found | None:
    """Before, by, after, not before."""
    rules: tuple[tuple[tuple[str, ...], Callable[[str, Day, Day], str]], ...] = (
        (_UP_TO, lambda kind, first, last: f"[..{_as_exact(last, kind)}]"),
        (_FROM_ON, lambda kind, first, last: f"[{_as_exact(first, kind)}..]"),
        (_BEFORE, lambda kind, first, last: f"[..{_as_exact(first.before, kind)}]"),
        (_AFTER, lambda kind, first, last: f"[{_as_exact(last.after, kind)}..]"),
    )
    for patterns, write in rules:
        for pattern in patterns:
            found = re.fullmatch(pattern, words)
            if found and (limit := _limit(found[1], write, house)):
                return (limit,)
    return None


def _limit(words: str, write: Callable[[str, Day, Day], str], house: Conventions) -> str | None:
    about, doubt, rest = marks_of(words)
    atom = read_atom(rest, house)
    first, last = bounds(atom.edtf, house) if atom else (None, None)
    if atom is None or first is None or last is None:
        return None
    edtf = write(atom.kind, first, last)
    if about or doubt:
        raise Ask("about_on_more" if about else "doubt_on_more", edtf)
    return edtf


def _as_exact(day: Day, kind: str) -> str:
    """A day written as exactly as the words it comes from."""
    size = {"month": -3, "season": -3, "day": None, "period": None}.get(kind, -6)
    return str(day)[:size]


def _both_limits(words: str, house: Conventions) -> Found | None:
    """'After 1945, before 1957'."""
    found = re.fullmatch("(after .+?),? (?:and |but )?(before .+)", words) or re.fullmatch(
        "(not? (?:before|earlier than) .+?),? (?:and |but |or )?(not? (?:after|later than) .+|before .+)", words
    )
    first, last = (_limits(side, house) for side in found.groups()) if found else (None, None)
    return (first[0].rstrip("]") + last[0].removeprefix("[.."),) if first and last else None


def _lasting(words: str, house: Conventions) -> Found | None:
    """'From 1916 on', 'since 1916', 'until 1945', 'from 1916 to 1918': use that lasted."""
    if found := re.fullmatch("from (.+?) (?:to|until|till|-) (.+)", words):
        pair = interval(found[1], found[2], house)
        return (pair[0],) if pair else None
    if found := re.fullmatch("(?:from|since) (.+?)(?:,? (?:on|onwards?|onward))?|(.+) onwards?", words):
        first = read_end(found[1] or found[2], house, 0)
        return (f"{first}/..",) if first else None
    if found := re.fullmatch("(?:until|till|up to|to) (.+?)(?:,? (?:start|beginning) (?:unknown|not known))?", words):
        last = read_end(found[1], house, 1)
        return (f"/{last}",) if last else None
    return None


def _one_of(words: str, house: Conventions) -> Found | None:
    """'1916 or 1917', '1696, 1756, or 1816', '1938/39'."""
    if years := re.fullmatch("([0-9]{4})/([0-9]{1,2}|[0-9]{4})", words, re.ASCII):
        following = str(int(years[1]) + 1)
        if len(years[2]) == 1:
            raise Ask("month_or_years", *ways(years[1], years[2]))
        if not following.endswith(years[2]):
            raise Ask("slash", *ways(years[1], years[2]))
        return (f"[{years[1]},{following}]",)
    about, doubt, rest = marks_of(words)
    pieces = [piece for piece in re.split(",? or |, ", rest) if piece]
    if len(pieces) < 2 or " or " not in rest:
        return None
    atoms = [_in_list(piece, pieces, house) for piece in pieces]
    if None in atoms:
        return None
    edtf = f"[{','.join(atom.listed for atom in atoms if atom)}]"
    if about or doubt:
        raise Ask("about_on_more" if about else "doubt_on_more", edtf)
    return (edtf,)


def _in_list(piece: str, pieces: list[str], house: Conventions) -> Atom | None:
    """A date of a list; what it leaves out stands in the first ('1916 or 17') or the last ('17th or 18th century')."""
    left = next(completed(piece, pieces[-1], house))[0] if piece != pieces[-1] else piece
    ways = [left, *(way for way, _right in completed(piece, pieces[-1], house))]
    if re.fullmatch("[0-9]{1,2}", piece) and re.fullmatch("[0-9]{4}", pieces[0]):
        ways = [pieces[0][: -len(piece)] + piece]
    return next((atom for way in ways if (atom := read_atom(way, house))), None)


def _pair(words: str, house: Conventions) -> Found | None:
    """'1879 and 1887': two dates, or one of two; asked."""
    found = re.fullmatch("(.+) (?:and|&|[+]) (.+)", words)
    for left, right in completed(found[1], found[2], house) if found else ():
        if (first := read_atom(left, house)) and (last := read_atom(right, house)):
            raise Ask("several_dates", f"[{first.listed},{last.listed}]", f"{{{first.listed},{last.listed}}}")
    return None


def _plain_edtf(text: str, house: Conventions) -> Found | None:
    """EDTF as such, where nothing in it can be taken for words."""
    if not re.search(r"[][{}~%X]|\.\.", text):
        return None
    try:
        bounds(text, house)
    except EdtfError:
        return None
    return (text,)


def _offers(words: str, house: Conventions) -> Found:
    """What words may mean that are part of a question."""
    try:
        return (_whole(normal(words, house), house) or ())[:1]
    except Ask as ask:
        return ask.candidates
    except EdtfError:
        return ()


def _not_read(words: str, house: Conventions) -> Ask:
    """What can be read in pieces is offered; nothing is taken."""
    pieces = [piece.strip() for piece in re.split(r"[(),;:]", words) if re.search("[0-9]", piece)]
    found: list[str] = []
    for piece in [*pieces, *re.findall(r"(?:about )?\b[0-9]{4}(?:-[0-9]{2,4})?\b", words)]:
        try:
            read = _whole(_common_era(piece), house)
        except (Ask, EdtfError):
            continue
        if read and read[0] not in found:
            found.append(read[0])
    if len(pieces) > 1 and len(found) > 1:
        return Ask("several_dates", *found)
    return Ask("words_beside" if found else "not_read", *found)
