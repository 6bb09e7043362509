"""The record of a drill on paper: what it was, each signal with its times, room for the debrief, and signatures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSizeF, Qt

from dipbook.cautions import CAUTION
from dipbook.debrief.signed_record import TRAINING, DrillRecord
from dipbook.errors import DipbookError
from dipbook.reports import drill_record
from dipbook.reports.table import Table
from dipbook.rig.model import Rig
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.printing.paper import LEADING, RIGHT, STRONG, Cell, Flow, Grid, Line, Mark, Words, draw, wide, wrapped
from dipbook_app.printing.pdf import HEAD, MARGIN, MM, SMALL, THICK, THIN, size_of, write_pages
from dipbook_app.printing.pdf import TEXT as LETTERS

TITLE = "Drill record"
BLANKS = {TRAINING: ("Trainee", "Instructor", "Seen by the toolpusher")}
ON_THE_RIG = ("Run by", "In charge, who consented", "Driller")
PAIR = ("", "")
ROOM_WORDS = "What was said in the debrief"
LINES_OF_ROOM = 3
LINE_HIGH = 9 * MM


def write_record(record: DrillRecord, rig: Rig, path: Path, *, paper: str = "a4", unit_set: str = "") -> int:
    """Write a drill's record to a PDF file, over what was there. Returns the number of pages.

    record: of the drill. rig: that it ran on, for its units and its clock. path: of the file. paper: a key of PAPERS.
    unit_set: as on the screen. Raises DipbookError as write_pages.
    """
    pages = lay_out(record, rig, paper=paper, unit_set=unit_set)
    title = f"{TITLE}, {record.rig}, {record.ident}"
    return write_pages(path, title, paper, len(pages),
                       lambda painter, n, width, height: draw(painter, pages[n]), "drill record")


def write_csv(records: Sequence[DrillRecord], path: Path) -> None:
    """Write drills' records to a CSV file, over what was there. records: of them. path: of the file. Raises
    DipbookError where it can't be written."""
    try:
        path.write_bytes(drill_record.csv_of_record(records))
    except OSError as error:
        raise DipbookError(f"The record can't be written to {path} ({error.strerror or error}). Choose another "
                           "place.") from error


def lay_out(record: DrillRecord, rig: Rig, *, paper: str = "a4", unit_set: str = "") -> list[list[Mark]]:
    """The marks of each page. record, rig, paper, unit_set: as of ``write_record``."""
    size, units = size_of(paper), DisplayUnits(rig, unit_set)
    foot = wrapped(CAUTION, SMALL, size.width() - 2 * MARGIN - 320)
    flow = Flow(MARGIN, MARGIN + 118, size.width() - MARGIN,
                size.height() - MARGIN - len(foot) * SMALL * LEADING - 24)
    symbols = {**rig.units, "volume": units.volume_unit, "length": units.length_unit, "level": units.level_unit}
    for table in drill_record.tables(record, symbols, rig.zone, rig.decimal):
        _section(flow, table)
    _room(flow)
    _signatures(flow, BLANKS.get(record.what, ON_THE_RIG))
    count = len(flow.pages)
    return [[*_head(record, size), *marks, *_foot(foot, n, count, size)] for n, marks in enumerate(flow.pages, 1)]


def _section(flow: Flow, table: Table) -> None:
    flow.heading(shown_words(table.title), 120)
    if table.rows:
        headings = [c.heading for c in table.columns]
        rows = [tuple(shown_words(str(x)) for x in row.cells) for row in table.rows]
        if len(headings) == len(PAIR):      # side by side, so that a drill with one signal has one page
            half = -(-len(rows) // 2)
            rows = [(*a, *b) for a, b in zip(rows[:half], [*rows[half:], PAIR][:half], strict=True)]
            headings *= 2
        flow.grid(Grid(tuple(Cell(h) for h in headings), tuple((tuple(Cell(x) for x in row), False) for row in rows)))
    else:
        flow.words(table.none)
    if table.note:
        flow.gap(6)
        flow.words(shown_words(table.note), SMALL)


def _room(flow: Flow) -> None:
    """Lines to write on by hand."""
    flow.heading(ROOM_WORDS, LINES_OF_ROOM * LINE_HIGH)
    for _ in range(LINES_OF_ROOM):
        flow.y += LINE_HIGH
        flow.put(Line(((flow.left, flow.y), (flow.right, flow.y)), THIN))


def _signatures(flow: Flow, blanks: Sequence[str]) -> None:
    high = 14 * MM
    flow.gap(20)
    flow.room_for(high * len(blanks))
    for words in blanks:
        flow.y += high
        x = flow.left
        for label, share in ((f"{words} (name)", 0.42), ("Signature", 0.34), ("Date, time", 0.24)):
            taken = wide(label, LETTERS)
            flow.put(Words(x, flow.y - LETTERS * LEADING, label, LETTERS),
                     Line(((x + taken + 12, flow.y), (x + flow.width * share - 30, flow.y)), THIN))
            x += flow.width * share
    flow.y += 10


def _head(record: DrillRecord, size: QSizeF) -> list[Mark]:
    """The rig, what this is, and the mark DRILL, on every page."""
    left, right, y = MARGIN, size.width() - MARGIN, MARGIN
    what = f"{TITLE} {record.ident}"
    name = wrapped(record.rig, HEAD - 8, right - left - wide(what, HEAD - 8, bold=True) - 40, bold=True)[0]
    said = drill_record.mark_of(record)
    y0, tall, long = y + 48, SMALL * LEADING + 6, wide(said, SMALL, bold=True) + 24
    corners = ((left, y0), (left + long, y0), (left + long, y0 + tall), (left, y0 + tall))
    return [Words(left, y, name, HEAD - 8, True), Words(right, y, what, HEAD - 8, True, RIGHT),
            Line(corners, 0.0, Qt.PenStyle.NoPen, STRONG), Line((*corners, corners[0]), THICK),
            Words(left + 12, y0 + 3, said, SMALL, True), Line(((left, MARGIN + 98), (right, MARGIN + 98)), THIN)]


def _foot(lines: Sequence[str], number: int, count: int, size: QSizeF) -> list[Mark]:
    """The caution and the number of the page."""
    step = SMALL * LEADING
    top = size.height() - MARGIN - len(lines) * step
    marks: list[Mark] = [Words(MARGIN, top + n * step, line, SMALL) for n, line in enumerate(lines)]
    marks.append(Words(size.width() - MARGIN, size.height() - MARGIN - step, f"Page {number} of {count}", SMALL, True,
                       RIGHT))
    return marks
