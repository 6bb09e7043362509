"""Times as other programs write them, to the form that Dipbook reads: which way round a date is written is chosen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from dipbook.exchange.times import FIRST_YEAR, LAST_YEAR

YEAR_FIRST, DAY_FIRST, MONTH_FIRST = "year first", "day first", "month first"
FORMS = (YEAR_FIRST, DAY_FIRST, MONTH_FIRST)
"""Ways round of a date. A date with the year first, or with the month by name, reads the same in all of them."""
EXAMPLES = {YEAR_FIRST: "2026-03-31", DAY_FIRST: "31/03/2026", MONTH_FIRST: "03/31/2026"}
"""The last day of March 2026, written in each."""

_LONG = {name: n for n, name in enumerate((
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december"), 1)}
_MONTHS = {name[:3]: n for name, n in _LONG.items()}
_WRITTEN = re.compile(
    r"(?P<a>\d{1,4})(?P<s>[-/. ])(?P<b>\d{1,2}|[A-Za-z]{3,9})(?P=s)(?P<c>\d{1,4})"
    r"(?:[Tt ]|,\s*|\s+)\s*(?P<h>\d{1,2}):(?P<m>\d\d)(?::(?P<sec>\d\d)(?:[.,](?P<f>\d{1,9}))?)?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?\s*(?P<off>[Zz]|[+-]\d\d:?\d\d)?", re.ASCII)


def joined(days: Sequence[str], clocks: Sequence[str]) -> list[str]:
    """Date and time of day of two columns as one text, "" where both are blank. days, clocks: as written.

    A date that a spreadsheet wrote with midnight behind it, and a time with a date before it, lose those.
    """
    out = []
    for day, clock in zip(days, clocks, strict=True):
        day = day.removesuffix(" 00:00:00").removesuffix("T00:00:00")
        clock = clock.rpartition("1899-12-31 ")[2].rpartition("1899-12-30 ")[2]
        out.append(f"{day} {clock}".strip())
    return out


def forms(cells: Sequence[str]) -> tuple[str, ...]:
    """The ways round in which every date can be read; one that needs no choice is given alone.

    cells: times as written, blanks say nothing. () if there is no way in which all can be read, or no time at all.
    """
    left = set(FORMS)
    some = False
    for cell in dict.fromkeys(cells):
        found = _WRITTEN.fullmatch(cell) if cell else None
        if found is None:
            continue
        some = True
        left &= {form for form in FORMS if _day(found, form) is not None}
        if not left:
            return ()
    if not some:
        return ()
    return (YEAR_FIRST,) if YEAR_FIRST in left else tuple(form for form in FORMS if form in left)


def has_offsets(cells: Sequence[str]) -> bool:
    """True if every time says its offset. cells: times as written, blanks say nothing."""
    found = [_WRITTEN.fullmatch(cell) for cell in dict.fromkeys(cells) if cell]
    return bool(found) and all(m is not None and bool(m["off"]) for m in found)


def plain(cells: Sequence[str], form: str, offset: str) -> tuple[list[str], list[tuple[int, str]]]:
    """Times in the form of RFC 3339, with a space.

    cells: as written; form: one of FORMS; offset: put behind a time that has none, such as ``+01:00``; "" for none.
    Returns (texts, [(index, what is wrong), …]); one that can't be read is "" in the texts.
    """
    out: list[str] = []
    wrong: list[tuple[int, str]] = []
    known: dict[str, str] = {}
    for i, cell in enumerate(cells):
        if cell in known:
            out.append(known[cell])
            continue
        try:
            out.append(known.setdefault(cell, _plain(cell, form, offset)))
        except ValueError as error:
            out.append("")
            wrong.append((i, str(error)))
    return out, wrong


def _plain(cell: str, form: str, offset: str) -> str:
    if not cell:
        raise ValueError("there is no time in this row")
    found = _WRITTEN.fullmatch(cell)
    if found is None:
        raise ValueError(f"{cell[:40]!r} is no date with a time of day: write it like {EXAMPLES[form]} 02:15")
    day = _day(found, form)
    if day is None:
        raise ValueError(f"{cell[:40]!r} is no date with the {form}: such a date looks like {EXAMPLES[form]}")
    hour = int(found["h"])
    if found["half"]:
        if not 1 <= hour <= 12:
            raise ValueError(f"{cell[:40]!r} is no time of day")
        hour = hour % 12 + (12 if found["half"][0] in "Pp" else 0)
    if hour > 23 or int(found["m"]) > 59 or int(found["sec"] or 0) > 60:
        raise ValueError(f"{cell[:40]!r} is no time of day")
    given = found["off"] or offset
    if given and given not in "Zz" and ":" not in given:
        given = f"{given[:3]}:{given[3:]}"
    seconds = f":{found['sec'] or '00'}" + (f".{found['f']}" if found["f"] else "")
    return f"{day.isoformat()} {hour:02d}:{found['m']}{seconds}{given.upper()}"


def _day(found: re.Match[str], form: str) -> date | None:
    """The date of a match read this way round, None if it is none."""
    a, b, c = found["a"], found["b"], found["c"]
    if not b.isdigit():
        month = _MONTHS.get(b.casefold()) or _LONG.get(b.casefold(), 0)
        year, day = (a, c) if len(a) == 4 else (c, a)
        return _date(year, month, int(day))
    if len(a) == 4:
        return _date(a, int(b), int(c))
    if len(a) > 2 or form == YEAR_FIRST:
        return None
    return _date(c, int(b), int(a)) if form == DAY_FIRST else _date(c, int(a), int(b))


def _date(year: str, month: int, day: int) -> date | None:
    """A date; a year of two digits is one of this century."""
    if len(year) not in (2, 4):
        return None
    number = int(year) + (2000 if len(year) == 2 else 0)
    if not FIRST_YEAR <= number <= LAST_YEAR:
        return None
    try:
        return date(number, month, day)
    except ValueError:
        return None
