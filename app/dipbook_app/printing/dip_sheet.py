"""The blank dip sheet on paper: black lines and text, as vectors, on A4 or Letter, a page after another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from dipbook.cautions import CAUTION
from dipbook_app.printing.pdf import HEAD, MARGIN, MM, PAPERS, SMALL, TEXT, THICK, THIN, letters, write_pages
from dipbook_app.printing.sheet_content import (
    ENTRIES_A_PAGE,
    ENTRIES_HOW_TO,
    ENTRIES_LATER,
    HOW_TO,
    KEYED_LATER,
    DipSheet,
    SheetPage,
)

__all__ = ["PAPERS", "draw_page", "write_pdf"]

NAME, REACH, LAST = 38 * MM, 27 * MM, 20 * MM
STICK = 0.54
"""Share of a round's width for the stick; the rest is for the second reading, and below it the time of the dip."""
BELOW = ("Gauged by", "Hole depth", "Bit depth", "Pumps, flow")
ENTRY_COLUMNS = (("What (transfer, addition, dump …)", 48), ("From", 22), ("To", 22), ("Volume or mass", 24),
                 ("Rate", 20), ("Mud weight", 18), ("Start", 15), ("End", 15), ("Stick before", 19),
                 ("Stick after", 19), ("Who was told, when", 26), ("Remark, by whom", 34))
"""Headings and shares of the width."""


def write_pdf(sheet: DipSheet, path: Path, paper: str = "a4") -> int:
    """Write a sheet to a PDF file, over what was there. paper: a key of PAPERS. Returns the number of pages.

    Raises DipbookError as write_pages.
    """
    return write_pages(path, f"Dip sheet, {sheet.rig}", paper, len(sheet.pages),
                       lambda painter, n, width, height: draw_page(painter, sheet, n, width, height), "dip sheet")


def draw_page(painter: QPainter, sheet: DipSheet, number: int, width: float, height: float) -> None:
    """Draw one page.

    painter: scaled to tenths of a millimetre. number: of the page, from 0. width, height: of the paper [0.1 mm].
    """
    painter.setPen(QPen(Qt.GlobalColor.black, THIN))
    area = QRectF(MARGIN, MARGIN, width - 2 * MARGIN, height - 2 * MARGIN)
    page = sheet.pages[number]
    top = _head(painter, sheet, page, area)
    foot = _foot(painter, area, KEYED_LATER if page.rows else ENTRIES_LATER,
                 f"Page {number + 1} of {len(sheet.pages)}")
    inner = QRectF(area.left(), top, area.width(), foot - top)
    if page.rows:
        _rounds(painter, sheet, page, inner)
    else:
        _entries(painter, inner)


def _head(painter: QPainter, sheet: DipSheet, page: SheetPage, area: QRectF) -> float:
    """Rig, what the page is, and the blanks for date, tour and crew. Returns where it ends [0.1 mm]."""
    x, y, width = area.left(), area.top(), area.width()
    rounds = f"round {page.first}" if page.first == page.last else f"rounds {page.first} to {page.last}"
    tanks = "" if len({p.rows for p in sheet.pages}) < 3 or not page.rows else \
        f", {page.rows[0].name} to {page.rows[-1].name}"
    what = f"Dip sheet, {rounds}{tanks}" if page.rows else "Entries: what explains the changes"
    mark = "" if not sheet.invented or "invented" in sheet.rig.casefold() else " (invented)"
    name = f"DRILL, not the well: {sheet.rig}{mark}" if sheet.drill else f"{sheet.rig}{mark}"
    _text(painter, QRectF(x, y, width * 0.6, 60), name, HEAD, bold=True)
    _text(painter, QRectF(x + width * 0.6, y, width * 0.4, 60), what, TEXT, bold=True, right=True)
    y += 72
    blanks = (("Date", 0.17), ("Tour", 0.15), ("Crew", 0.36), ("Well", 0.32))
    for label, share in blanks:
        room = QRectF(x, y, width * share - 20, 62)
        taken = _text(painter, room, label, TEXT)
        painter.drawLine(room.bottomLeft() + QPointF(taken + 12, 0), room.bottomRight())
        x += width * share
    y += 74
    how = HOW_TO if page.rows else ENTRIES_HOW_TO
    said = f"Times in {sheet.zone}. Unit of a stick without one: {sheet.unit}. {how}"
    _text(painter, QRectF(area.left(), y, width, 34), said, SMALL)
    return y + 44


def _foot(painter: QPainter, area: QRectF, later: str, pages: str) -> float:
    """The caution, what becomes of the sheet, and the page's number. Returns where it begins [0.1 mm]."""
    font = letters(SMALL)
    text = f"{later}\n{CAUTION}"
    room = QRectF(area.left(), 0, area.width() - 220, 2000)
    tall = _wrapped(font, text, room.width())
    top = area.bottom() - tall
    painter.setFont(font)
    painter.drawText(QRectF(area.left(), top, room.width(), tall), Qt.TextFlag.TextWordWrap.value, text)
    _text(painter, QRectF(area.right() - 210, area.bottom() - 36, 210, 36), pages, SMALL, bold=True, right=True)
    return top - 20


def _rounds(painter: QPainter, sheet: DipSheet, page: SheetPage, area: QRectF) -> None:
    """The table of tanks and rounds, with what is noted once a round below it."""
    count = page.last - page.first + 1
    each = (area.width() - NAME - REACH - LAST) / count
    title = 20 * MM
    row = min(14 * MM, (area.height() - title) / (len(page.rows) + len(BELOW)))
    x = [area.left(), area.left() + NAME, area.left() + NAME + REACH, area.left() + NAME + REACH + LAST]
    y = area.top()
    for left, wide, words in ((x[0], NAME, "Tank, how it is gauged"), (x[1], REACH, "What the\nstick reads at"),
                              (x[2], LAST, "Last stick,\nits time")):
        _text(painter, QRectF(left + 8, y, wide - 12, title), words, SMALL, bold=True)
    for n in range(count):
        left = x[3] + n * each
        _text(painter, QRectF(left, y + 4, each, 34), str(page.first + n), TEXT, bold=True, centre=True)
        _text(painter, QRectF(left + 8, y + 42, each, 50), "from", SMALL)
        _text(painter, QRectF(left + 8, y + 92, each, 50), "to", SMALL)
        painter.drawLine(QLineF(left + 72, y + 88, left + each - 8, y + 88))
        painter.drawLine(QLineF(left + 72, y + 138, left + each - 8, y + 138))
        _text(painter, QRectF(left + 8, y + 140, each, 30), "stick", SMALL)
        _text(painter, QRectF(left + STICK * each + 8, y + 140, (1 - STICK) * each, 30), "again", SMALL)
        _text(painter, QRectF(left + STICK * each + 8, y + 168, (1 - STICK) * each, 30), "time", SMALL)
    y += title
    for tank in page.rows:
        _text(painter, QRectF(x[0] + 8, y, NAME - 12, row / 2), tank.name, TEXT, bold=True)
        _text(painter, QRectF(x[0] + 8, y + row / 2 - 4, NAME - 12, row / 2), tank.how, SMALL)
        for left, wide, over, under in ((x[1], REACH, tank.heel, tank.brim), (x[2], LAST, tank.last, tank.when)):
            _text(painter, QRectF(left + 8, y, wide - 12, row / 2), over, SMALL)
            _text(painter, QRectF(left + 8, y + row / 2 - 4, wide - 12, row / 2), under, SMALL)
        y += row
    for words in BELOW:
        _text(painter, QRectF(x[0] + 8, y, NAME + REACH + LAST - 12, row), words, TEXT)
        y += row
    across = [area.top(), *(area.top() + title + n * row for n in range(len(page.rows) + len(BELOW) + 1))]
    thick = {0, 1, 1 + len(page.rows), len(across) - 1}
    _grid(painter, across, thick, [*x[:3], *(x[3] + n * each for n in range(count + 1))], area)
    painter.setPen(QPen(Qt.GlobalColor.black, THIN, Qt.PenStyle.DotLine))
    for n in range(count):  # the second reading beside the first, the time of the dip below it
        middle, right = x[3] + (n + STICK) * each, x[3] + (n + 1) * each
        painter.drawLine(QLineF(middle, across[1], middle, across[1 + len(page.rows)]))
        for upper, lower in pairwise(across[1:2 + len(page.rows)]):
            painter.drawLine(QLineF(middle, (upper + lower) / 2, right, (upper + lower) / 2))
    painter.setPen(QPen(Qt.GlobalColor.black, THIN))


def _entries(painter: QPainter, area: QRectF) -> None:
    """Empty lines for what explains the changes."""
    shares = [share for _, share in ENTRY_COLUMNS]
    edges = [area.left() + area.width() * sum(shares[:n]) / sum(shares) for n in range(len(shares) + 1)]
    title = 12 * MM
    row = (area.height() - title) / ENTRIES_A_PAGE
    for (words, _), left, right in zip(ENTRY_COLUMNS, edges, edges[1:], strict=False):
        _text(painter, QRectF(left + 8, area.top(), right - left - 12, title), words, SMALL, bold=True, wrap=True)
    across = [area.top(), *(area.top() + title + n * row for n in range(ENTRIES_A_PAGE + 1))]
    _grid(painter, across, {0, 1, len(across) - 1}, edges, area)


def _grid(painter: QPainter, across: Sequence[float], thick: set[int], down: Sequence[float], area: QRectF) -> None:
    for n, y in enumerate(across):
        painter.setPen(QPen(Qt.GlobalColor.black, THICK if n in thick else THIN))
        painter.drawLine(QLineF(area.left(), y, down[-1], y))
    painter.setPen(QPen(Qt.GlobalColor.black, THIN))
    for x in down:
        painter.drawLine(QLineF(x, across[0], x, across[-1]))


def _text(painter: QPainter, room: QRectF, words: str, size: int, *, bold: bool = False, right: bool = False,
          centre: bool = False, wrap: bool = False) -> float:
    """Words in their room, on the left unless said otherwise, smaller where they don't fit. Returns their width."""
    font, wide = next((font, wide) for font, wide in _fonts(words, size, bold=bold)
                      if wide <= room.width() or wrap or font.pixelSize() <= 14)
    painter.setFont(font)
    side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignHCenter if centre else \
        Qt.AlignmentFlag.AlignLeft
    flags = (side | Qt.AlignmentFlag.AlignVCenter).value | Qt.TextFlag.TextDontClip.value
    painter.drawText(room, flags | (Qt.TextFlag.TextWordWrap.value if wrap else 0), words)
    return wide


def _fonts(words: str, size: int, *, bold: bool) -> Iterator[tuple[QFont, float]]:
    """The font of a size and smaller ones, each with how wide the words are in it [0.1 mm]."""
    for pixels in range(size, 0, -2):
        font = letters(pixels, bold=bold)
        measure = QFontMetricsF(font)
        yield font, max(measure.horizontalAdvance(line) for line in words.split("\n"))


def _wrapped(font: QFont, text: str, width: float) -> float:
    """How tall words are, wrapped to a width [0.1 mm]."""
    room = QRectF(0, 0, width, 10_000)
    return QFontMetricsF(font).boundingRect(room, Qt.TextFlag.TextWordWrap.value, text).height() + 4

