"""A file of another form, as far as it can be read by what has been said of it, and what has still to be said."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from dipbook.entries.fields import match
from dipbook.exchange import dates, dialect, encodings, proposals, sheets, tables
from dipbook.exchange.encodings import Encoding
from dipbook.exchange.mapping import (
    CLOCK,
    DATE,
    IGNORE,
    RIGS_ZONE,
    TANK,
    TIME,
    Mapping,
    Problem,
    fitted,
    key_of,
    problems,
)
from dipbook.findings import Finding
from dipbook.rig.model import Rig

NOTHING_SAID = Mapping(())
SAMPLES = 3
"""Cells of a column that are shown."""
MOST_WORDS = 100
"""Different words in the column of tanks beyond which it can't be one (our choice, no source)."""


@dataclass(frozen=True, slots=True)
class Foreign:
    """A file of another form.

    name: for messages; digest: SHA-256 of its bytes, hex. mapping: what is said, remembered, shown by the file or
    proposed by its headings; own: True if all headings are in Dipbook's own form.
    encoding: how the bytes are read, None for a workbook; odd_lines: (line, text) in which the encoding matters.
    separators, decimals, sheets: those that are possible; what is in use stands in ``mapping``.
    heading_line; headings; samples: first cells of each column. words: those of the column of tanks.
    date_forms: ways round in which all dates can be read; offsets: True if every time has its own.
    problems: what has still to be said. refused: why the file can't be read at all, or None.
    rows, lines: what is below the headings; torn_off: (line, why) of rows with another count of cells.
    """

    name: str
    digest: str
    mapping: Mapping
    own: bool = False
    encoding: Encoding | None = None
    odd_lines: tuple[tuple[int, str], ...] = ()
    separators: tuple[str, ...] = ()
    decimals: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()
    heading_line: int = 1
    headings: tuple[str, ...] = ()
    samples: tuple[tuple[str, ...], ...] = ()
    words: tuple[str, ...] = ()
    date_forms: tuple[str, ...] = ()
    offsets: bool = False
    problems: tuple[Problem, ...] = ()
    refused: Finding | None = None
    rows: Sequence[Sequence[str]] = field(default=(), repr=False)
    lines: Sequence[int] = field(default=(), repr=False)
    torn_off: tuple[tuple[int, str], ...] = field(default=(), repr=False)

    @property
    def key(self) -> str:
        """Under what the mapping of such headings is remembered."""
        return key_of(self.headings)

    @property
    def ready(self) -> bool:
        """True if nothing has to be said any more."""
        return self.refused is None and not self.problems


def look(data: bytes, name: str, rig: Rig, said: Mapping = NOTHING_SAID) -> Foreign:
    """Look at a file by what has been said of it.

    data: its bytes; name: for messages; rig: its tanks and pumps; said: what a person chose or what is remembered; ""
    and no columns for what nobody said. Never raises for what is in the file.
    """
    start = Foreign(name, hashlib.sha256(data).hexdigest(), said)
    if sheets.is_workbook(data):
        opened, rows, lines = _of_workbook(data, start)
    else:
        opened, rows, lines = _of_text(data, start)
    if not opened.ready:
        return opened
    if not rows:
        return replace(opened, refused=_refusal(opened, "the file is empty: it needs a heading and rows", "empty_file"))
    return _columns(opened, rows, lines, rig)


def _of_workbook(data: bytes, f: Foreign) -> tuple[Foreign, Sequence[Sequence[str]], Sequence[int]]:
    found, refused = sheets.load(data, f.name)
    if refused is not None:
        return replace(f, refused=refused), (), ()
    names = tuple(sheet.name for sheet in found)
    chosen = f.mapping.sheet or (names[0] if len(names) == 1 else "")
    f = replace(f, sheets=names, encoding=None, decimals=(".",), mapping=replace(
        f.mapping, encoding="", separator="", decimal=".", sheet=chosen))
    if not names:
        return replace(f, refused=_refusal(f, "the workbook is empty", "empty_file")), (), ()
    if f.mapping.sheet not in names:
        said = f"there is no sheet {f.mapping.sheet!r}: the" if f.mapping.sheet else "several"
        return replace(f, problems=(Problem(f"{said} sheets with data are {', '.join(names)}: say which one", None,
                                            "sheet"),)), (), ()
    sheet = found[names.index(f.mapping.sheet)]
    return f, sheet.rows, sheet.lines


def _of_text(data: bytes, f: Foreign) -> tuple[Foreign, Sequence[Sequence[str]], Sequence[int]]:
    encoding = encodings.look(data)
    f = replace(f, encoding=encoding, mapping=replace(f.mapping, sheet=""))
    name = encoding.name if encoding.certain else f.mapping.encoding
    if not name:
        return replace(f, odd_lines=encodings.samples(data, encoding.guess or "utf-8"), problems=(
            Problem(encodings.question(encoding), None, "encoding"),)), (), ()
    known = name if encoding.certain else encodings.named(name)
    if known is None:
        return replace(f, problems=(Problem(f"the encoding {name!r} isn't known here: say one of "
                                            f"{', '.join(encodings.OFFERED)}", None, "encoding"),)), (), ()
    f = replace(f, odd_lines=encodings.samples(data, known), mapping=replace(
        f.mapping, encoding="" if encoding.certain else known))
    text, wrong = encodings.decode(data, known, f.name)
    if wrong is not None:
        return _undecoded(f, wrong), (), ()
    fits = dialect.separators(text)
    possible = dialect.possible(text)
    separator = f.mapping.separator or (fits[0] if len(fits) == 1 else "")
    f = replace(f, separators=possible, mapping=replace(f.mapping, separator=separator))
    if not text.strip():
        return replace(f, refused=_refusal(f, "the file is empty: it needs a heading and rows", "empty_file")), (), ()
    if not possible:
        return replace(f, refused=_refusal(f, "nothing sets cells apart here: a table of readings has commas, "
                                              "semicolons, tabs or bars between them", "separator")), (), ()
    if separator not in dialect.SEPARATORS:
        names = " or ".join(dialect.SEPARATORS[s] for s in (fits or possible))
        said = f"cells could be set apart by {names}" if len(fits) > 1 else f"the rows aren't equally wide by {names}"
        return replace(f, problems=(Problem(f"{said}: say the separator", None, "separator"),)), (), ()
    rows, lines, torn = dialect.split(text, separator, f.name)
    return (replace(f, refused=torn), (), ()) if torn is not None else (f, rows, lines)


def _undecoded(f: Foreign, wrong: Finding) -> Foreign:
    """A text that can't be read in this encoding: one that was chosen can be chosen anew."""
    assert f.encoding is not None
    if f.encoding.certain:
        return replace(f, refused=wrong)
    place = f"line {wrong.line}: " if wrong.line else ""
    return replace(f, problems=(Problem(place + wrong.what, None, "encoding"),))


def _columns(f: Foreign, rows: Sequence[Sequence[str]], lines: Sequence[int], rig: Rig) -> Foreign:
    """What the columns are, as far as it is said or their headings say it."""
    place = dialect.heading_place(rows)
    if f.mapping.heading_row:
        place = next((i for i, line in enumerate(lines) if line == f.mapping.heading_row), -1)
        if place < 0:
            return replace(f, refused=_refusal(f, f"line {f.mapping.heading_row} can't be the headings: it is blank or "
                                                  "beyond the end", "no_heading"))
    headings = [" ".join(cell.split()) for cell in rows[place]]
    while headings and not headings[-1]:
        headings.pop()
    body, at, torn_off = tables.even(rows[place + 1:], lines[place + 1:], len(headings), f.mapping.separator or ",")
    f = replace(f, heading_line=lines[place], headings=tuple(headings), rows=body, lines=at,
                torn_off=tuple(torn_off))
    if len(headings) < 2 or not body:
        return replace(f, refused=_refusal(f, "there are no rows below the headings: the file is cut short, or isn't a "
                                              "table", "no_rows"))
    cells = [[cell.strip() for cell in column] for column in zip(*body, strict=True)]
    own = proposals.own(headings, rig)
    if f.mapping.columns:
        mapping, found = fitted(f.mapping, headings)
        mapping = replace(mapping, columns=tuple(
            replace(c, meaning=IGNORE) if not c.meaning and not c.heading and not any(cells[i]) else c
            for i, c in enumerate(mapping.columns)))
    else:
        columns = own or proposals.proposed(headings, [not any(column) for column in cells], rig)
        mapping, found = replace(f.mapping, columns=columns), ()
    stamps = _stamps(mapping, cells)
    forms, offsets = dates.forms(stamps), dates.has_offsets(stamps)
    words = tuple(dict.fromkeys(w for i in mapping.places(TANK)[:1] for w in cells[i] if w))
    told = dict(mapping.tanks)
    tanks = [t.name for t in rig.tanks]
    mapping = replace(
        mapping, dates=mapping.dates or (forms[0] if len(forms) == 1 else ""),
        zone=mapping.zone or (RIGS_ZONE if own is not None else ""),
        tanks=tuple((w, told[w] if w in told else str(match(w, tanks))) for w in words
                    if w in told or match(w, tanks) is not None))
    if f.sheets:
        decimals: tuple[str, ...] = (".",)
    else:
        decimals = dialect.decimals(cell for i, column in enumerate(cells) if mapping.columns[i].meaning
                                    not in (IGNORE, TIME, DATE, CLOCK) for cell in column[:dialect.LOOKED_AT])
        mapping = replace(mapping, decimal=mapping.decimal or (
            decimals[0] if len(decimals) == 1 else rig.decimal if not decimals else ""))
    asked = [*found]
    if mapping.decimal not in dialect.DECIMALS:
        asked.append(Problem("the decimal sign could be the point or the comma: say which", None, "decimal"))
    if len(words) > MOST_WORDS:
        asked.append(Problem(f"this column has {len(words)} different words: it can't be the tank",
                             mapping.places(TANK)[0], "column"))
        words = ()
    asked += problems(mapping, rig, date_forms=forms, offsets=offsets, words=words)
    samples = tuple(tuple(list(dict.fromkeys(cell for cell in column[:200] if cell))[:SAMPLES]) for column in cells)
    return replace(f, mapping=mapping, own=own is not None, decimals=decimals, samples=samples, words=words,
                   date_forms=forms, offsets=offsets, problems=tuple(asked))


def _stamps(mapping: Mapping, cells: Sequence[Sequence[str]]) -> list[str]:
    """The times of the rows as written, [] where nobody has said which columns they are."""
    whole, days, clocks = (mapping.places(meaning) for meaning in (TIME, DATE, CLOCK))
    if whole:
        return list(cells[whole[0]])
    return dates.joined(cells[days[0]], cells[clocks[0]]) if days and clocks else []


def stamps(f: Foreign) -> list[str]:
    """The times of a file's rows as written. f: one that is ready."""
    cells = [[cell.strip() for cell in column] for column in zip(*f.rows, strict=True)]
    return _stamps(f.mapping, cells)


def findings(f: Foreign) -> tuple[Finding, ...]:
    """What keeps a file from being read, as findings with their places. f: the file."""
    if f.refused is not None:
        return (f.refused,)
    made = []
    for p in f.problems:
        heading = f.headings[p.place] or f"{p.place + 1}" if p.place is not None and p.place < len(f.headings) else ""
        line = f.heading_line if heading else f.odd_lines[0][0] if p.part == "encoding" and f.odd_lines else None
        made.append(Finding(p.what, code="asked", severity="error", file=f.name, line=line, column=heading, kept=False))
    return tuple(made)


def _refusal(f: Foreign, what: str, code: str) -> Finding:
    return Finding(what, code=code, severity="error", file=f.name, kept=False)
