"""The first rows of a file as they are read, before anything is added."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from dipbook.importing import FirstRow
from dipbook_app.display import DisplayUnits
from dipbook_app.widgets.plain_table import make_plain

MOST, FEW = 4, 2
"""Rows that are shown, and where findings need the room."""


class FirstRows(QTableWidget):
    """A row a time, a column a tank: levels and volumes in the crew's units, times in the rig's."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, 0, parent)
        make_plain(self, "First rows as they are read")
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.hide()

    def show_rows(self, rows: Sequence[FirstRow], units: DisplayUnits, most: int = MOST) -> None:
        """Show them. rows: from the looking; units: the crew's; most: no more rows than that."""
        tanks = list(dict.fromkeys(tank for row in rows for tank, _, _ in row.dips))
        self.setColumnCount(1 + len(tanks))
        self.setHorizontalHeaderLabels(["Rig time", *tanks])
        rows = rows[:most]
        self.setRowCount(len(rows))
        for r, row in enumerate(rows):
            cells = {tank: units.level(v) if what == "level" else units.volume(v) for tank, what, v in row.dips}
            texts = [f"{units.date(row.t_ms)} {units.clock(row.t_ms)}", *(cells.get(tank, "") for tank in tanks)]
            for c, text in enumerate(texts):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.setItem(r, c, item)
        self.resizeRowsToContents()
        tall = self.horizontalHeader().sizeHint().height() + sum(self.rowHeight(r) for r in range(len(rows)))
        self.setFixedHeight(tall + self.horizontalScrollBar().sizeHint().height() + 4)
        self.setVisible(bool(rows))
