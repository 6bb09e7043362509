"""What all tables share: rows are read and chosen whole, never typed into, and Tab goes on past them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QTableView


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
