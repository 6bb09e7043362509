"""The bridge from the opening volume, by each term, to what was expected, and by what isn't explained to what is there.

Readable in grey: terms are outlined, what isn't explained is filled, totals are thick lines; each has its number.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.reports.reconciliation import Reconciliation
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look

TOTAL, TERM, REST = "total", "term", "rest"
ROW_PX, LEAST_ROW_PX = 26, 17
LETTERS_PX, LEAST_PX = 13, 11
GAP = 8
"""Between words, bars and numbers [px]."""
BARS_PX = 90
"""The least width of the bars [px at text size 1]."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One row. label. kind: TOTAL, TERM or REST. from_m3, to_m3: where it begins and ends [m3]. said: its number."""

    label: str
    kind: str
    from_m3: float
    to_m3: float
    said: str


def bars(of: Reconciliation, units: DisplayUnits) -> tuple[Bar, ...]:
    """The rows of a system's books, () where nothing can be reconciled. of: the books. units: the crew's."""
    if of.opening_m3 is None or of.closing_m3 is None or of.unexplained_m3 is None:
        return ()
    at = of.opening_m3
    rows = [Bar("Opening", TOTAL, at, at, units.volume_number(at))]
    for term in of.terms:
        rows.append(Bar(term.label, TERM, at, at + term.volume_m3, units.volume_number(term.volume_m3, sign=True)))
        at += term.volume_m3
    rows.append(Bar("Expected", TOTAL, at, at, units.volume_number(at)))
    rows.append(Bar("Not explained", REST, at, of.closing_m3, units.volume_number(of.unexplained_m3, sign=True)))
    return (*rows, Bar("Closing", TOTAL, of.closing_m3, of.closing_m3, units.volume_number(of.closing_m3)))


class BridgeChart(QWidget):
    """Shows the books of one system."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._bars: tuple[Bar, ...] = ()
        self._none = ""
        self._title = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Bridge from opening to closing")

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(360), self._look.px(300))

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._size()

    def show_books(self, of: Reconciliation, units: DisplayUnits) -> None:
        """of: the system's books. units: the crew's."""
        self._bars = bars(of, units)
        self._title = f"Active system, {units.volume_word}"
        self._none = "" if self._bars else f"Nothing can be reconciled: {of.why}."
        self.setAccessibleDescription("; ".join(f"{b.label} {b.said}" for b in self._bars) or self._none)
        self._size()

    def shown(self) -> tuple[Bar, ...]:
        """The rows as they are drawn."""
        return self._bars

    def _size(self) -> None:
        metrics = QFontMetricsF(self._look.font(LEAST_PX, bold=True))
        labels = max((metrics.horizontalAdvance(b.label) for b in self._bars), default=60.0)
        numbers = max((metrics.horizontalAdvance(b.said) for b in self._bars), default=60.0)
        self.setMinimumWidth(round(labels + numbers + 4 * GAP + self._look.px(BARS_PX)))
        self.setMinimumHeight(round((len(self._bars) + 1.2) * (metrics.height() + 1)))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self._look
        painter.fillRect(self.rect(), look.colour("panel"))
        if not self._bars:
            painter.setPen(look.colour("soft"))
            painter.setFont(look.font(LETTERS_PX))
            painter.drawText(QRectF(self.rect()).adjusted(GAP, GAP, -GAP, -GAP), Qt.TextFlag.TextWordWrap.value,
                             self._none)
            return
        row = min(float(look.px(ROW_PX)), (self.height() - 4) / (len(self._bars) + 1.2))
        px = next((p for p in range(LETTERS_PX, LEAST_PX, -1)
                   if QFontMetricsF(look.font(p)).height() <= row and self._fits(p)), LEAST_PX)
        bold = QFontMetricsF(look.font(px, bold=True))
        left = GAP + max(bold.horizontalAdvance(b.label) for b in self._bars) + GAP
        right = self.width() - 2 * GAP - max(bold.horizontalAdvance(b.said) for b in self._bars)
        ends = [v for b in self._bars for v in (b.from_m3, b.to_m3)]
        low, tall = min(ends), max(max(ends) - min(ends), 1e-9)

        def x(value_m3: float) -> float:
            return left + (value_m3 - low) / tall * (right - left)

        painter.setFont(look.font(px, bold=True))
        painter.setPen(look.colour("ink"))
        painter.drawText(QRectF(GAP, 2, self.width() - 2 * GAP, row), Qt.AlignmentFlag.AlignVCenter.value, self._title)
        y = 2 + row * 1.1
        for n, bar in enumerate(self._bars):
            self._row(painter, bar, QRectF(0, y, self.width(), row), (x(bar.from_m3), x(bar.to_m3)), px)
            if n + 1 < len(self._bars):
                painter.setPen(QPen(look.colour("line"), 1, Qt.PenStyle.DotLine))
                painter.drawLine(QLineF(x(bar.to_m3), y + row * 0.8, x(bar.to_m3), y + row * 1.2))
            y += row

    def _fits(self, px: int) -> bool:
        metrics = QFontMetricsF(self._look.font(px, bold=True))
        words = max(metrics.horizontalAdvance(b.label) + metrics.horizontalAdvance(b.said) for b in self._bars)
        return words + 4 * GAP + self._look.px(BARS_PX) <= self.width()

    def _row(self, painter: QPainter, bar: Bar, box: QRectF, ends: tuple[float, float], px: int) -> None:
        look = self._look
        painter.setFont(look.font(px, bold=bar.kind != TERM))
        painter.setPen(look.colour("ink"))
        for side, words in ((Qt.AlignmentFlag.AlignLeft, bar.label), (Qt.AlignmentFlag.AlignRight, bar.said)):
            painter.drawText(box.adjusted(GAP, 0, -GAP, 0), (side | Qt.AlignmentFlag.AlignVCenter).value, words)
        a, b = sorted(ends)
        if bar.kind == TOTAL:
            painter.setPen(QPen(look.colour("ink"), 3))
            painter.drawLine(QLineF(a, box.top() + 1, a, box.bottom() - 1))
            return
        bar_box = QRectF(a, box.top() + box.height() * 0.2, max(2.0, b - a), box.height() * 0.6)
        painter.setPen(QPen(look.colour("ink"), 2 if bar.kind == REST else 1))
        painter.setBrush(look.colour("mud") if bar.kind == REST else Qt.BrushStyle.NoBrush)
        painter.drawRect(bar_box)
        painter.setBrush(Qt.BrushStyle.NoBrush)
