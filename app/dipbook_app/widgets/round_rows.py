"""The rows of a round, one a tank, in gauging order; larger where there is room, and scrolled where there is not."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from dipbook_app.widgets.dip_heading import DipHeading
from dipbook_app.widgets.dip_row import CLOSER, CLOSEST, HEIGHT, DipRow, width_needed
from dipbook_app.widgets.text_size import BODY_PX, FONT_EVENTS, scaled

WIDE_FROM = 1560
"""Width from which rows and text are larger, if their height allows it too [px]."""
WIDER = 1.3
SPACING, SPACING_CLOSER = 2, 1


class RoundRows(QScrollArea):
    """heading: over the rows, sized as they are. flags: the words that may flag a dip.

    Signals: changed(DipRow), entered(DipRow), moved(DipRow, int), focused(DipRow): as the rows', with the row.
    """

    changed = Signal(object)
    entered = Signal(object)
    moved = Signal(object, int)
    focused = Signal(object)

    def __init__(self, heading: DipHeading, flags: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: list[DipRow] = []
        self._heading = heading
        self._flags = tuple(flags)
        self._columns: dict[str, bool] = {}
        body = QWidget()
        self._column = QVBoxLayout(body)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(SPACING)
        self.setWidget(body)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def set_tanks(self, tanks: Sequence[str]) -> None:
        """Rows for these tanks; what is typed for one that is still there stays."""
        kept = {row.tank: row.content() for row in self.rows}
        while (item := self._column.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows = [DipRow(tank, self._flags) for tank in tanks]
        for row in self.rows:
            row.restore(kept.get(row.tank, {}))
            row.changed.connect(lambda row=row: self.changed.emit(row))
            row.entered.connect(lambda row=row: self.entered.emit(row))
            row.moved.connect(lambda step, row=row: self.moved.emit(row, step))
            row.focused.connect(lambda row=row: self.focused.emit(row))
            self._column.addWidget(row)
        self._column.addStretch(1)
        self.show_columns(**self._columns)
        self._fit()

    def to_top(self) -> None:
        """Show the first row, once the rows have the place that they are to have: the cursor is elsewhere."""
        QTimer.singleShot(0, self.verticalScrollBar(), lambda: self.verticalScrollBar().setValue(0))

    def bring(self, row: DipRow) -> None:
        """Scroll a row into sight, with the one before it and the next, where there is room for them."""
        place = self.rows.index(row)
        roomy = self.viewport().height() >= 3 * (row.height() + SPACING)
        near = self.rows[max(0, place - 1):place + 2] if roomy else []
        for each in (*near, row):
            self.ensureWidgetVisible(each, 0, 0)

    def show_columns(self, **columns: bool) -> None:
        """Show or hide the optional columns: second, time, flag."""
        self._columns = columns
        self._fit()
        self._heading.show_columns(**columns)
        for row in self.rows:
            row.show_columns(**columns)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Larger rows where there is room."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """The text's size has changed, and with it what fits."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_heading"):
            self._fit()

    def _fit(self) -> None:
        text = max(1.0, self.fontInfo().pixelSize() / BODY_PX)
        tall = len(self.rows) * (round(scaled(self, HEIGHT) * WIDER) + SPACING)
        wide = self.width() >= WIDE_FROM * text and tall <= self.height()
        self._heading.set_wide(wide)
        for row in self.rows:
            row.set_wide(wide)
        usual, closer = (len(self.rows) * (scaled(self, height) + space) for height, space in (
            (HEIGHT, SPACING), (CLOSER, SPACING_CLOSER)))
        height = HEIGHT if wide or usual <= self.height() else CLOSER if closer <= self.height() else CLOSEST
        self._column.setSpacing(SPACING if height == HEIGHT else SPACING_CLOSER)
        for row in self.rows:
            row.set_height(height)
        if not self.rows:
            return
        room = self.viewport().width()
        shown = [name for name, on in self._columns.items() if on]
        keys = width_needed(self.rows[0], columns=shown, keys=True, change=True) <= room
        change = keys or width_needed(self.rows[0], columns=shown, keys=False, change=True) <= room
        self._heading.spare(keys=keys, change=change)
        for row in self.rows:
            row.spare(keys=keys, change=change)
        here = self.focusWidget()
        chosen = next((row for row in self.rows if here is not None and row.isAncestorOf(here)), None)
        if chosen is not None:
            self.bring(chosen)
