"""Two dates with a line between them, and what each end leaves to the other."""

import re
from collections.abc import Iterator

from collection.objects.dates.atoms import Ask, Atom, era_of, read_atom
from collection.objects.dates.conventions import Conventions
from collection.objects.dates.edtf import bounds
from collection.objects.dates.marks import read_end

#: an EDTF text and those to ask about
Found = tuple[str, ...]


def year_ends(atom: Atom) -> tuple[str, str]:
    """The ends without unspecified digits: those of a run in a set."""
    first, last = atom.ends
    return first.replace("X", "0"), last.replace("X", "9")


def span(words: str, purpose: str, house: Conventions) -> Found | None:
    """'1940-45', 'about 1914 to 1918', '4th-3rd century bc'. The bare ones are asked for confirmation."""
    rest = re.sub("[ (]*[?][ )]*$|^probably |^[?] ?", "", words)
    for cut in re.finditer("-| to | through | until ", rest):
        pair = interval(rest[: cut.start()].strip(), rest[cut.end() :].strip(), house)
        if pair is None:
            continue
        if rest != words:
            raise Ask("doubt_on_more", pair[0])
        return _for_purpose(purpose, *pair)
    return None


def _for_purpose(purpose: str, interval: str, within: str) -> Found:
    """Used: all through. Made: once within. Not said: all through, with the other asked about."""
    if purpose == "made":
        if not within:
            raise Ask("about_on_more", interval)
        return (within,)
    return (interval, within) if within and not purpose else (interval,)


def interval(left: str, right: str, house: Conventions) -> tuple[str, str] | None:
    """'Used all through' and 'made once within' for two ends; the second is empty where an end carries a mark."""
    bare = re.fullmatch("[0-9]{4}", left) and re.fullmatch("[0-9]{1,2}", right)
    if bare and (len(right) < 2 or int(right) <= 12):
        raise Ask("month_or_years", *ways(left, right))
    for first_words, last_words in completed(left, right, house):
        first, last = read_end(first_words, house, 0), read_end(last_words, house, 1)
        if first and last:
            bounds(f"{first}/{last}", house)
            return f"{first}/{last}", _within(read_atom(first_words, house), read_atom(last_words, house))
    return None


def _within(first: Atom | None, last: Atom | None) -> str:
    return f"[{year_ends(first)[0]}..{year_ends(last)[1]}]" if first and last else ""


def ways(year: str, end: str) -> tuple[str, ...]:
    """What '1938-9' may mean: a pair of years, a month."""
    last = year[: -len(end)] + end
    years = () if last <= year else (f"[{year},{last}]",) if int(last) == int(year) + 1 else (f"{year}/{last}",)
    return (*years, f"{year}-{int(end):02}") if len(end) <= 2 and 1 <= int(end) <= 12 else years


def completed(left: str, right: str, house: Conventions) -> Iterator[tuple[str, str]]:
    """Both ends with what one leaves to the other: the era, the century, the month, the first digits of a year."""
    left, right = _with_era(left, right)
    lefts, rights = [left], [right]
    era, bare = era_of(right)
    tokens = bare.split()
    era = f" {era}" if era and era not in left else ""
    lefts += [f"{left} {' '.join(tokens[n:])}{era}" for n in range(1, len(tokens))]
    year = re.search("[0-9]{4}$", left)
    if year and re.fullmatch("[0-9]{1,2}", right):
        rights = [year[0][: -len(right)] + right]
    if re.fullmatch("[0-9]{3}0'?s", left) and re.fullmatch("[0-9]0'?s", right):
        rights = [left[:2] + right]
    before = left.split()
    rights += [f"{' '.join(before[:n])} {right}" for n in range(1, len(before))]
    for one in lefts:
        for other in rights:
            yield one, other


def _with_era(left: str, right: str) -> tuple[str, str]:
    """BC on the last end only is BC on both; AD on either is AD on both."""
    eras = tuple(set(re.findall(r"\b(ad|bc)\b", side)) for side in (left, right))
    if not eras[0] and eras[1]:
        return f"{left} {eras[1].pop()}", right
    if eras[0] == {"ad"} and not eras[1]:
        return left, f"{right} ad"
    return left, right
