"""What stands on the pages of a report, in the order in which it is read, and how it falls into pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSizeF, Qt

from dipbook import reports
from dipbook.cautions import CAUTION
from dipbook.reports import Column, Report, Table, Writing
from dipbook.reports.table import COUNT, QUANTITIES, SPAN, TEXT, U, Value
from dipbook_app.display import DisplayUnits, shown_unit, shown_words
from dipbook_app.printing.paper import LEADING, RIGHT, STRONG, Cell, Flow, Grid, Line, Mark, Words, wide, wrapped
from dipbook_app.printing.pdf import HEAD, MARGIN, MM, SMALL, THICK, THIN, size_of
from dipbook_app.printing.pdf import TEXT as LETTERS
from dipbook_app.printing.report_plots import bridge, trend

FIRST_PAGE = ("reconciliation", "difference")
BESIDE = 8 * MM
"""Between the reconciliation and its drawing [0.1 mm]."""
BRIDGE_LEAST = 85 * MM
TREND_HIGH, TREND_LEAST = 92 * MM, 62 * MM
BLANKS = ("Handed over by", "Taken over by", "Seen by the toolpusher")
TITLE = "Tour report"
DRILL = "DRILL: a training drill, not the well"
CONFIRMED = "How it stands at the end of the span. Tick what was checked against the rig."


@dataclass(frozen=True, slots=True)
class Document:
    """A report ready to be drawn. title: of the document. pages: marks of each."""

    title: str
    pages: tuple[tuple[Mark, ...], ...]


def lay_out(report: Report, made_ms: int, *, paper: str = "a4", unit_set: str = "",
            alarm_figures: Sequence[Table] = ()) -> Document:
    """A report on paper.

    report: its figures. made_ms: when it is made [UTC ms]. paper: a key of PAPERS. unit_set: as on the screen, in which
    the report was asked for too. alarm_figures: tables that stand after the warnings.
    """
    size = size_of(paper)
    by, units = reports.writing(report), DisplayUnits(report.rig, unit_set)
    foot = wrapped(CAUTION, SMALL, size.width() - 2 * MARGIN - 320)
    flow = Flow(MARGIN, MARGIN + 118, size.width() - MARGIN,
                size.height() - MARGIN - len(foot) * SMALL * LEADING - 24)
    by_name = {t.name: t for t in reports.tables(report, alarm_figures)}
    _front(flow, report, made_ms, by, units, by_name)
    for name, table in by_name.items():
        if name not in FIRST_PAGE and name != "handover":
            _section(flow, table, by)
    _handover(flow, by_name["handover"], by)
    count = len(flow.pages)
    title = f"{TITLE}, {report.rig.name}, {report.span.tour or reports.said(report.span, report.rig.zone)}"
    return Document(title, tuple(
        (*_head(report, units, size), *marks, *_foot(foot, n, count, size)) for n, marks in enumerate(flow.pages, 1)))


def mark_of(report: Report) -> str:
    """What every page is marked with: a drill, invented data, or nothing. report: of it."""
    words = [DRILL] if report.drill else []
    return ". ".join([*words, "Invented data: no real rig, well or crew"] if report.rig.invented else words)


def statement(report: Report, units: DisplayUnits) -> str:
    """What isn't explained, in one sentence. report: of it. units: the crew's."""
    a = report.active
    if a.unexplained_m3 is None:
        return f"Not explained: unknown, {a.why}."
    way = "more" if a.unexplained_m3 > 0 else "less"
    nothing = not units.volume_number(abs(a.unexplained_m3)).strip("0.,")
    means = "nothing shown" if nothing else f"{way} mud on surface than is booked"
    said = f"{units.signed_volume(a.unexplained_m3)} {units.plus_minus(a.u_m3)}"
    part = " In part: a tank wasn't gauged or not read at an end." if a.opening_partial or a.closing_partial else ""
    return f"Not explained in this span: {said}, {means}.{part}"


def _front(flow: Flow, report: Report, made_ms: int, by: Writing, units: DisplayUnits,
           tables: dict[str, Table]) -> None:
    """The first page: what this is, what isn't explained, where the mud went, and the trend."""
    flow.words(statement(report, units), HEAD - 6, bold=True)
    flow.words(known_words(report, made_ms, units), SMALL)
    flow.gap(10)
    table = tables["reconciliation"]
    flow.heading(table.title, 100)
    top, page = flow.y, len(flow.pages)
    wide_ = flow.grid(grid(table, by), width=flow.width - BRIDGE_LEAST - BESIDE)
    if len(flow.pages) == page:
        area = QRectF(flow.left + wide_ + BESIDE, top, flow.width - wide_ - BESIDE, max(flow.y - top, 45 * MM))
        flow.put(*bridge(report.active, units, area))
        flow.y = max(flow.y, top + 45 * MM) if report.active.closing_m3 is not None else flow.y
    _note(flow, table)
    flow.gap(20)
    left = flow.bottom - flow.y
    flow.drawing(left if left >= TREND_LEAST else TREND_HIGH, lambda area: trend(report, by, units, area))
    _section(flow, tables["difference"], by)


def known_words(report: Report, made_ms: int, units: DisplayUnits) -> str:
    """Which knowledge it shows, and when it was made. report: of it. made_ms: [UTC ms]. units: the crew's."""
    made = f"{units.date(made_ms)} {units.time(made_ms)}, {report.rig.zone} ({units.offset(made_ms)})"
    count = report.learned_since
    records = f"{count} {'record' if count == 1 else 'records'}"
    if report.then:
        view = f"As the log stood when the span ended; {records} learned since are left out"
    else:
        late = f"; {records} of the span were learned after it had ended" if count else ""
        view = f"As known when it was made{late}"
    return f"{view}. Made {made}. Record {report.last_seq} of the log is the last that it rests on."


def _section(flow: Flow, table: Table, by: Writing) -> None:
    """A heading, its table, its note. A table that never has a line on paper isn't told of."""
    rows = [r for r in table.rows if r.paper]
    if not rows and not table.none:
        return
    flow.heading(table.title, 120)
    if rows:
        flow.grid(grid(table, by))
    else:
        flow.words(table.none)
    _note(flow, table)


def _note(flow: Flow, table: Table) -> None:
    if table.note:
        flow.gap(6)
        flow.words(shown_words(table.note), SMALL)


def _handover(flow: Flow, table: Table, by: Writing) -> None:
    """What the leaving crew confirms, and the lines for signatures, which aren't parted."""
    flow.heading(table.title, 200)
    flow.words(CONFIRMED, SMALL)
    flow.gap(6)
    flow.grid(grid(table, by, boxes=True))
    high = 14 * MM
    flow.gap(20)
    flow.room_for(high * len(BLANKS))
    for words in BLANKS:
        flow.y += high
        x = flow.left
        for label, share in ((f"{words} (name)", 0.42), ("Signature", 0.34), ("Date, time", 0.24)):
            room = flow.width * share - 30
            taken = wide(label, LETTERS)
            flow.put(Words(x, flow.y - LETTERS * LEADING, label, LETTERS),
                     Line(((x + taken + 12, flow.y), (x + room, flow.y)), THIN))
            x += flow.width * share
    flow.y += 10


def grid(table: Table, by: Writing, *, boxes: bool = False) -> Grid:
    """A table as words, with the columns and rows that stand on paper, without columns in which nothing stands; the
    screen shows the same. table; by: how values are written. boxes: a square to tick ends each row."""
    rows = [r for r in table.rows if r.paper]
    kept = [n for n, c in enumerate(table.columns) if c.paper and any(r.cells[n] != "" for r in rows)]
    columns = [table.columns[n] for n in kept]
    return Grid(tuple(Cell(heading(c), _right(c)) for c in columns), tuple(
        (tuple(Cell(_said(c, r.cells[n], by, held=r.held), _right(c)) for c, n in zip(columns, kept, strict=True)),
         r.strong) for r in rows), boxes)


def heading(column: Column) -> str:
    """``Volume, bbl``. column: of a table."""
    return f"{column.heading}, {shown_unit(column.unit)}" if column.unit and column.what != U else column.heading


def _said(column: Column, value: Value, by: Writing, *, held: bool) -> str:
    said = reports.on_paper(column, value, by, held=held)
    return shown_words(said) if column.what == TEXT else said


def _right(column: Column) -> bool:
    return column.what in (*QUANTITIES, SPAN, COUNT)


def _head(report: Report, units: DisplayUnits, size: QSizeF) -> list[Mark]:
    """The rig, the span and the mark, on every page."""
    left, right, y = MARGIN, size.width() - MARGIN, MARGIN
    span = reports.said(report.span, report.rig.zone)
    what = f"Tour {report.span.tour}" if report.span.tour else TITLE
    offset = "" if report.span.two_offsets(report.rig.zone) else f", {units.offset(report.span.to_ms)}"
    marks: list[Mark] = [Words(right, y, what, HEAD - 8, True, RIGHT),
                         Words(right, y + 46, f"{span}{offset}", SMALL, side=RIGHT)]
    room = right - left - max(wide(what, HEAD - 8, bold=True), wide(f"{span}{offset}", SMALL)) - 40
    name = wrapped(report.rig.name, HEAD - 8, room, bold=True)[0]
    marks.append(Words(left, y, name, HEAD - 8, True))
    said = mark_of(report)
    if said:
        y0, tall = y + 48, SMALL * LEADING + 6
        long = wide(said, SMALL, bold=True) + 24
        corners = ((left, y0), (left + long, y0), (left + long, y0 + tall), (left, y0 + tall))
        marks += [Line(corners, 0.0, Qt.PenStyle.NoPen, STRONG), Line((*corners, corners[0]), THICK),
                  Words(left + 12, y0 + 3, said, SMALL, True)]
    marks.append(Line(((left, MARGIN + 98), (right, MARGIN + 98)), THIN))
    return marks


def _foot(lines: Sequence[str], number: int, count: int, size: QSizeF) -> list[Mark]:
    """The caution and the number of the page."""
    step = SMALL * LEADING
    top = size.height() - MARGIN - len(lines) * step
    marks: list[Mark] = [Words(MARGIN, top + n * step, line, SMALL) for n, line in enumerate(lines)]
    marks.append(Words(size.width() - MARGIN, size.height() - MARGIN - step, f"Page {number} of {count}", SMALL, True,
                       RIGHT))
    return marks


__all__ = ["Document", "grid", "heading", "known_words", "lay_out", "mark_of", "statement"]
