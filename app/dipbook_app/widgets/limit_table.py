"""The table of limits: a row for each that is set, marked where it isn't in force."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QItemSelectionModel
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from dipbook.limits import TRIP_KINDS, Limit, kind_words
from dipbook.rig.model import Rig
from dipbook_app.forms.limit_texts import EVERY_ROW, on_words, texts_of_limit, value_words
from dipbook_app.widgets.plain_table import WholeCells, make_plain
from dipbook_app.widgets.text_size import scaled

HEADINGS = ("Name", "Kind", "On", "During", "Value", "Over when\nback by", "Sounds again\nafter", "Warns\nafter",
            "Set by", "Why", "Since")
NAME, VALUE, SET_BY, WHY, SINCE = (HEADINGS.index(name) for name in ("Name", "Value", "Set by", "Why", "Since"))
BESIDE_A_FORM = 5
"""Columns shown while a form is open beside the table."""
LEAST_WHY = 170
"""Room for a limit's reason in the table [px]; where there is less, it isn't shown there."""
LEAST_ROW = 44


class LimitTable(QTableWidget):
    """A row for each limit, in the order of the rig file."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, len(HEADINGS), parent)
        self.setHorizontalHeaderLabels(list(HEADINGS))
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        make_plain(self, "Limits")
        self.verticalHeader().setMinimumSectionSize(LEAST_ROW)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(WHY, QHeaderView.ResizeMode.Stretch)
        self.setItemDelegateForColumn(WHY, WholeCells(self))

    def show_limits(self, rig: Rig, marks: Mapping[str, str], struck: Iterable[str]) -> None:
        """Show the limits of a rig.

        marks: limit's name -> what keeps it from being in force, in a word or two below its value. struck: names of
        those that warn nobody now: their row is struck through, but for the name and that word, which are bold.
        """
        self.setRowCount(len(rig.limits))
        for place, limit in enumerate(rig.limits):
            off = limit.name in struck
            for column, text in enumerate(_cells(limit, rig, marks.get(limit.name, ""))):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                if off:
                    font = QFont(self.font())
                    font.setBold(column in (NAME, VALUE))
                    font.setStrikeOut(column not in (NAME, VALUE, SET_BY, WHY, SINCE))
                    item.setFont(font)
                self.setItem(place, column, item)

    def choose(self, rows: Iterable[int]) -> None:
        """Choose these rows, and bring the first in sight."""
        rows = sorted(rows)
        if not rows:
            return
        self.setCurrentCell(rows[0], 0)
        for row in rows[1:]:
            self.selectionModel().select(self.model().index(row, 0), QItemSelectionModel.SelectionFlag.Select
                                         | QItemSelectionModel.SelectionFlag.Rows)
        self.scrollTo(self.model().index(rows[0], 0))

    def show_columns(self, room: int, *, beside_a_form: bool) -> None:
        """Who, why and since when as there is room. room: for the table [px]."""
        header = self.horizontalHeader()
        room -= scaled(self, LEAST_WHY)
        for column in (*range(SET_BY), SET_BY, SINCE):
            room -= max(self.sizeHintForColumn(column), header.sectionSizeHint(column))
            self.setColumnHidden(column, (beside_a_form and column >= BESIDE_A_FORM)
                                 or (column >= SET_BY and room < 0))
        self.setColumnHidden(WHY, beside_a_form)
        self.resizeRowsToContents()


def _cells(limit: Limit, rig: Rig, mark: str) -> tuple[str, ...]:
    """The texts of a limit's row. mark: below its value."""
    texts = texts_of_limit(limit, rig)
    kind = kind_words(limit.kind) + ("" if limit.watched else " (not watched by this version)")
    during = EVERY_ROW if limit.kind in TRIP_KINDS else limit.activity
    value = value_words(limit, rig)
    if limit.times_noise is not None:
        value = value.replace(", ", ",\n", 1)  # or it would be the widest column of all
    value = "\n".join(text for text in (value, mark) if text)
    return (limit.name, kind, on_words(limit), during, value, texts.get("deadband", ""), texts.get("growth", ""),
            texts["after"], limit.set_by, limit.reason, limit.since)
