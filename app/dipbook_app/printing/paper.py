"""A document that flows over pages: words, tables and drawings, set below each other, with breaks where they must be.

Everything is set before anything is drawn, so that each page knows of how many it is one. Black on white, in tenths of
a millimetre.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from dipbook_app.printing.pdf import SMALL, TEXT, THICK, THIN, letters

LEAST = 18
"""Letters of a table are never smaller [0.1 mm]."""
PAD = 11.0
"""Left and right of a cell's words [0.1 mm]."""
LEADING = 1.32
"""From one line of words to the next, times the height of its letters."""
HEADING = 34
STRONG = QColor(0xE4, 0xE4, 0xE4)
"""Ground of totals: light enough for black letters on a poor printer."""
LEFT, RIGHT, CENTRE = "left", "right", "centre"


@dataclass(frozen=True, slots=True)
class Words:
    """Words on a page, one line. x, y: left (right for RIGHT) and top of the line; size: of the letters [0.1 mm]."""

    x: float
    y: float
    text: str
    size: int
    bold: bool = False
    side: str = LEFT


@dataclass(frozen=True, slots=True)
class Line:
    """Straight lines through points [0.1 mm]. width [0.1 mm]. style: of the pen. ground: fills what they enclose."""

    points: tuple[tuple[float, float], ...]
    width: float = THIN
    style: Qt.PenStyle = Qt.PenStyle.SolidLine
    ground: QColor | None = None


Mark = Words | Line


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. text; right: numbers stand on the right."""

    text: str
    right: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A table to be set. headings: a word or more each; rows: (cells, a total). boxes: a square to tick ends each
    row."""

    headings: tuple[Cell, ...]
    rows: tuple[tuple[tuple[Cell, ...], bool], ...]
    boxes: bool = False


@dataclass
class Flow:
    """Pages as they fill. left, top, right, bottom: of what may be filled [0.1 mm]. pages: marks of each. y: where the
    next thing goes."""

    left: float
    top: float
    right: float
    bottom: float
    pages: list[list[Mark]] = field(default_factory=lambda: [[]])
    y: float = 0.0

    def __post_init__(self) -> None:
        self.y = self.top

    @property
    def width(self) -> float:
        """Of what may be filled [0.1 mm]."""
        return self.right - self.left

    def put(self, *marks: Mark) -> None:
        """Marks on the page that is being filled."""
        self.pages[-1].extend(marks)

    def new_page(self) -> None:
        """Go on, on another page."""
        self.pages.append([])
        self.y = self.top

    def room_for(self, height: float) -> None:
        """Another page unless there is room [0.1 mm] on this one."""
        if self.y + height > self.bottom and self.y > self.top:
            self.new_page()

    def gap(self, height: float) -> None:
        """Leave some white [0.1 mm], but not on top of a page."""
        if self.y > self.top:
            self.y += height

    def words(self, text: str, size: int = TEXT, *, bold: bool = False, width: float | None = None) -> None:
        """Words, as many lines as they take, over the pages if need be. width: they may take [0.1 mm], None all."""
        for line in wrapped(text, size, self.width if width is None else width, bold=bold):
            self.room_for(size * LEADING)
            self.put(Words(self.left, self.y, line, size, bold))
            self.y += size * LEADING

    def heading(self, text: str, below: float) -> None:
        """A heading that stays with what is below it, so high [0.1 mm] at least."""
        self.gap(34)
        self.room_for(HEADING * LEADING + below)
        self.put(Words(self.left, self.y, text, HEADING, True))
        self.y += HEADING * LEADING + 6

    def drawing(self, height: float, draw: Callable[[QRectF], Iterator[Mark]]) -> None:
        """A drawing so high [0.1 mm], over the whole width. draw: gives its marks, in the rectangle that it gets."""
        self.room_for(height)
        self.put(*draw(QRectF(self.left, self.y, self.width, height)))
        self.y += height

    def grid(self, grid: Grid, width: float | None = None) -> float:
        """A table, over as many pages as it takes, its headings on each. width: it may take [0.1 mm], None all. Returns
        how wide it is. Letters become smaller where it doesn't fit otherwise."""
        size, widths = fitted(grid, self.width if width is None else width)
        box = size * 1.6 if grid.boxes else 0.0
        total = sum(widths) + box
        heads = [wrapped(c.text, size, w - 2 * PAD, bold=True) for c, w in zip(grid.headings, widths, strict=True)]
        head = max(len(h) for h in heads) * size * LEADING + 8
        step = size * LEADING

        def headings() -> None:
            for lines, cell, x, w in zip(heads, grid.headings, _starts(self.left, widths), widths, strict=True):
                self._lines(lines, cell, x, w, self.y + 4 + (head - 8 - len(lines) * step), size, bold=True)
            self.y += head
            self.put(Line(((self.left, self.y), (self.left + total, self.y)), THICK))

        first = True
        for cells, strong in grid.rows:
            lines = [wrapped(c.text, size, w - 2 * PAD, bold=strong) for c, w in zip(cells, widths, strict=True)]
            tall = max(1, *(len(x) for x in lines)) * step + 6
            if first or self.y + tall > self.bottom:
                if not first:
                    self.new_page()
                self.room_for(head + tall)
                headings()
                first = False
            if strong:
                corners = ((self.left, self.y), (self.left + total, self.y), (self.left + total, self.y + tall),
                           (self.left, self.y + tall))
                self.put(Line(corners, 0.0, Qt.PenStyle.NoPen, STRONG))
            for text, cell, x, w in zip(lines, cells, _starts(self.left, widths), widths, strict=True):
                self._lines(text, cell, x, w, self.y + 3, size, bold=strong)
            if grid.boxes:
                x, y, side = self.left + total - box + 6, self.y + 5, size
                self.put(Line(((x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)), THIN))
            self.y += tall
            self.put(Line(((self.left, self.y), (self.left + total, self.y)), 0.8))
        return total

    def _lines(self, lines: Sequence[str], cell: Cell, x: float, width: float, y: float, size: int, *,
               bold: bool) -> None:
        for n, line in enumerate(lines):
            if line:
                at = x + width - PAD if cell.right else x + PAD
                self.put(Words(at, y + n * size * LEADING, line, size, bold, RIGHT if cell.right else LEFT))


def draw(painter: QPainter, marks: Sequence[Mark]) -> None:
    """Draw a page. painter: scaled to tenths of a millimetre. marks: of it."""
    for mark in marks:
        if isinstance(mark, Words):
            painter.setPen(QPen(Qt.GlobalColor.black, THIN))
            painter.setFont(letters(mark.size, bold=mark.bold))
            wide = 20_000.0
            x = {LEFT: mark.x, RIGHT: mark.x - wide, CENTRE: mark.x - wide / 2}[mark.side]
            side = {LEFT: Qt.AlignmentFlag.AlignLeft, RIGHT: Qt.AlignmentFlag.AlignRight,
                    CENTRE: Qt.AlignmentFlag.AlignHCenter}[mark.side]
            flags = (side | Qt.AlignmentFlag.AlignVCenter).value | Qt.TextFlag.TextDontClip.value
            painter.drawText(QRectF(x, mark.y, wide, mark.size * LEADING), flags, mark.text)
        elif mark.ground is not None:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(mark.ground)
            painter.drawPolygon([QPointF(x, y) for x, y in mark.points])
            painter.setBrush(Qt.BrushStyle.NoBrush)
        else:
            painter.setPen(QPen(Qt.GlobalColor.black, mark.width, mark.style, Qt.PenCapStyle.FlatCap))
            if len(mark.points) == 2:
                painter.drawLine(QLineF(*mark.points[0], *mark.points[1]))
            else:
                painter.drawPolyline([QPointF(x, y) for x, y in mark.points])


def fitted(grid: Grid, width: float) -> tuple[int, list[float]]:
    """(height of its letters, width of each column) [0.1 mm] with which a table fits a width [0.1 mm]. Columns of
    numbers keep theirs; the others share what is left, and wrap."""
    for size in range(SMALL, LEAST - 1, -2):
        room = width - (size * 1.6 if grid.boxes else 0.0)
        natural = [_widest(grid, n, size) for n in range(len(grid.headings))]
        if sum(natural) <= room:
            return size, natural
        least = [_longest_word(grid, n, size) if _wraps(grid, n) else w for n, w in enumerate(natural)]
        free = room - sum(least)
        if free >= 0.0 or size <= LEAST + 1:
            wanted = [max(w - m, 0.0) for w, m in zip(natural, least, strict=True)]
            # Short columns get all they want first: a name isn't broken so that a sentence has a longer line.
            shares = dict.fromkeys(range(len(wanted)), 0.0)
            left, waiting = max(free, 0.0), [n for n, w in enumerate(wanted) if w > 0.0]
            while waiting and left > 0.5:
                each = left / len(waiting)
                for n in list(waiting):
                    more = min(each, wanted[n] - shares[n])
                    shares[n] += more
                    left -= more
                waiting = [n for n in waiting if wanted[n] - shares[n] > 0.5]
            found = [m + shares[n] for n, m in enumerate(least)]
            over = sum(found) / room
            return size, [w / over for w in found] if over > 1.0 else found
    raise AssertionError("the smallest letters are always taken")


def wrapped(text: str, size: int, width: float, *, bold: bool = False) -> list[str]:
    """Words in lines no wider than a width [0.1 mm]; a word that is wider by itself is broken. size: of the letters."""
    lines: list[str] = []
    for part in text.split("\n"):
        line = ""
        for word in part.split(" "):
            longer = f"{line} {word}" if line else word
            if wide(longer, size, bold=bold) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            while wide(word, size, bold=bold) > width and len(word) > 1:
                cut = next((n for n in range(len(word) - 1, 1, -1) if wide(word[:n], size, bold=bold) <= width), 1)
                lines.append(word[:cut])
                word = word[cut:]
            line = word
        lines.append(line)
    return lines


@lru_cache(maxsize=20_000)
def wide(text: str, size: int, *, bold: bool = False) -> float:
    """How wide words are in one line [0.1 mm]. size: of the letters [0.1 mm]."""
    return _metrics(size, bold=bold).horizontalAdvance(text)


@lru_cache(maxsize=64)
def _metrics(size: int, *, bold: bool) -> QFontMetricsF:
    return QFontMetricsF(letters(size, bold=bold))


def _column(grid: Grid, n: int) -> list[tuple[str, bool]]:
    return [(grid.headings[n].text, True), *((cells[n].text, strong) for cells, strong in grid.rows)]


def _wraps(grid: Grid, n: int) -> bool:
    return not grid.headings[n].right


def _widest(grid: Grid, n: int, size: int) -> float:
    """Of a column as it would like to be: a heading of numbers may wrap at its spaces."""
    cells = _column(grid, n)
    head = _word(cells[0][0], size, bold=True) if grid.headings[n].right else wide(cells[0][0], size, bold=True)
    return max([head, *(wide(text, size, bold=strong) for text, strong in cells[1:])]) + 2 * PAD + 2


def _longest_word(grid: Grid, n: int, size: int) -> float:
    return max(_word(text, size, bold=strong) for text, strong in _column(grid, n)) + 2 * PAD + 2


def _word(text: str, size: int, *, bold: bool) -> float:
    return max((wide(word, size, bold=bold) for word in text.split()), default=0.0)


def _starts(left: float, widths: Sequence[float]) -> Iterator[float]:
    for width in widths:
        yield left
        left += width
