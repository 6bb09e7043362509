"""What all tables share: rows are read and chosen whole, never typed into, and Tab goes on past them."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtWidgets import QAbstractItemView, QStyledItemDelegate, QStyleOptionViewItem, QTableView

ROOM_AT_THE_SIDES, ROOM_ABOVE_AND_BELOW = 28, 12
"""Kept beside and around the words of a cell of several lines [px]."""


class WholeCells(QStyledItemDelegate):
    """For a column that is as wide as there is room: its cells ask for the height that their words take, with some to
    spare, since what just fits as measured is drawn with dots. table: of the column."""

    def __init__(self, table: QTableView) -> None:
        super().__init__(table)
        self._table = table

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        hint = super().sizeHint(option, index)
        width = max(1, self._table.columnWidth(index.column()) - ROOM_AT_THE_SIDES)
        words = self._table.fontMetrics().boundingRect(
            QRect(0, 0, width, 10_000), Qt.TextFlag.TextWordWrap, str(index.data() or ""))
        return QSize(hint.width(), max(hint.height(), words.height() + ROOM_ABOVE_AND_BELOW))


def make_plain(table: QTableView, name: str) -> None:
    """Give a table the look and the manners of the others. name: for those who can't see it."""
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setTabKeyNavigation(False)
    table.setShowGrid(False)
    table.setAlternatingRowColors(True)
    table.setAccessibleName(name)
    table.verticalHeader().hide()
    header = table.horizontalHeader()
    header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    header.setSectionsClickable(False)
