"""The Connections page: what came back while the pumps were off, one laid over the other, and who accepted which."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.entries.kinds import ACCEPTED, ADOPTED, NOT_ACCEPTED
from dipbook.parts import Figure
from dipbook.situation import ConnectionView, Situation
from dipbook_app import figures_of_pages
from dipbook_app.connection_words import (
    HEADINGS,
    MINUTES,
    NO_CONNECTIONS,
    NO_CURVES,
    accept_question,
    adopt_words,
    band_words,
    cells,
    chosen_words,
)
from dipbook_app.display import DisplayUnits
from dipbook_app.part_words import TIP
from dipbook_app.theme import Look
from dipbook_app.widgets.connection_plot import ConnectionPlot
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.words_label import WordsLabel

ALIKE = 0.1
"""Connections are laid over the chosen one whose flow differs by less than this share."""
LEGEND = "Squares: the chosen one. Shaded: the band it is held against. × not accepted."
DEPTH, FLOW = HEADINGS.index("Depth"), HEADINGS.index("Flow")
FOLLOWED: Mapping[int, float | None] = {HEADINGS.index(f"{m:g} min"): m for m in MINUTES} | {
    HEADINGS.index("Above"): None}
"""Column whose numbers can be followed -> its minute, None for the most that it lay above."""
BUTTON_WIDTH = 132
LEAST_TABLE = 116
DETAIL_LINES = 4
NOTHING = ("", -1)
"""Nothing is asked."""


class ConnectionsPage(QWidget):
    """Curves above, the table below, the newest chosen. In the table Enter accepts, Delete takes back, Insert adopts a
    band: each opens its entry, filled in.

    What a band would hide, and what one would be learned from, is said first; the same key again goes on.

    Signals: entry_wanted(str, object): kind and fields of that entry. figure_asked(Figure): what a figure rests on.
    """

    entry_wanted = Signal(str, object)
    figure_asked = Signal(object)

    def __init__(self, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit_set = unit_set
        self._situation: Situation | None = None
        self._views: tuple[ConnectionView, ...] = ()
        self._cells: list[tuple[str, ...]] = []
        self._filling = False
        self._asked: tuple[str, int] = NOTHING
        title = QLabel("Connections")
        title.setProperty("part", "title")
        self.band = _words("strong")
        self.empty = _words("soft")
        self.plot = ConnectionPlot(look or Look())
        self.legend = _words("soft")
        self.table = self._table()
        self.detail = WordsLabel(DETAIL_LINES, whole=False)
        self.accept_button = self._button("Accept\nEnter", self.accept)
        self.back_button = self._button("Take back\nDel", self.take_back)
        self.adopt_button = self._button("Adopt a band\nIns", self.adopt)
        foot = QHBoxLayout()
        foot.setSpacing(24)
        for button in (self.accept_button, self.back_button, self.adopt_button):
            foot.addWidget(button)
        foot.addWidget(self.detail, 1)
        layout = QVBoxLayout(self)
        for widget, stretch in ((title, 0), (self.band, 0), (self.empty, 0), (self.plot, 5), (self.legend, 0),
                                (self.table, 6)):
            layout.addWidget(widget, stretch)
        layout.addLayout(foot)
        self.setFocusProxy(self.table)
        self._enable()

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self.plot.set_look(look)

    def show_situation(self, situation: Situation) -> None:
        """Show the connections, newest first, and the band in force."""
        self._situation = situation
        units = DisplayUnits(situation.rig, self._unit_set)
        self.band.setText(band_words(situation, units))
        chosen = self.chosen()
        newest = not self._views or (chosen is not None and chosen.off_ms == self._views[0].off_ms)
        views = tuple(reversed(situation.connections))
        rows = [cells(view, units, situation.now_ms) for view in views]
        changed = rows != self._cells or any(a is not b for a, b in zip(views, self._views, strict=False))
        self._views = views
        if changed or len(rows) != self.table.rowCount():
            self._fill(rows)
            place = 0 if newest or chosen is None else next(
                (n for n, v in enumerate(views) if v.off_ms == chosen.off_ms), 0)
            if rows:
                self.table.setCurrentCell(place, 0)
            self._draw()
        curves = any(not view.why_no_curve for view in views)
        self.empty.setText(NO_CURVES if views else NO_CONNECTIONS)
        self.empty.setVisible(not curves)
        for widget in (self.plot, self.legend):
            widget.setVisible(curves)
        self.table.setVisible(bool(views))

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        self._cells = []
        if self._situation is not None:
            self.show_situation(self._situation)

    def chosen(self) -> ConnectionView | None:
        """The connection that the cursor is on."""
        row = self.table.currentRow()
        return self._views[row] if 0 <= row < len(self._views) else None

    def choose(self, off_ms: str) -> None:
        """Put the cursor on a connection, if it is among those shown. off_ms: when its pumps stopped [UTC ms]."""
        place = next((n for n, v in enumerate(self._views) if str(v.off_ms) == off_ms), -1)
        if place >= 0:
            self.table.setCurrentCell(place, 0)

    def figures(self) -> tuple[Figure, ...]:
        """Those of the chosen connection that can be followed."""
        return figures_of_pages.of_a_connection(self.chosen())

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over: the keys, and what is said of the chosen one."""
        return (self.accept_button, self.detail)

    def _follow(self, place: int, column: int) -> None:
        """A number of the table was clicked."""
        if column not in FOLLOWED or not self._cells[place][column]:
            return
        view, minute = self._views[place], FOLLOWED[column]
        self.figure_asked.emit(figures_of_pages.most_above(view) if minute is None else
                               Figure("connection", str(view.off_ms), "back", minute))

    def accept(self) -> None:
        """Ask for the entry that accepts the chosen connection as normal; first, whether, where it flowed back more."""
        view, situation = self.chosen(), self._situation
        if view is None or situation is None:
            return
        words = accept_question(view, self._views, situation, DisplayUnits(situation.rig, self._unit_set))
        if not self._ask(ACCEPTED, view, words):
            self._say(ACCEPTED)

    def take_back(self) -> None:
        """Ask for the entry that says that the chosen connection isn't to be learned from."""
        self._say(NOT_ACCEPTED)

    def adopt(self) -> None:
        """Ask for the entry that adopts a band at the chosen connection's flow, from now on; first, say what of."""
        view = self.chosen()
        if view is not None and view.flow_m3_s is not None and self._situation is not None:
            units = DisplayUnits(self._situation.rig, self._unit_set)
            if self._ask(ADOPTED, view, adopt_words([v for v in self._views if _alike(v, view)], view, units,
                                                    self._situation.now_ms)):
                return
            fields: Mapping[str, Any] = {"state": ADOPTED, "flow_m3_s": view.flow_m3_s, "t_ms": self._situation.now_ms}
            self.entry_wanted.emit("flow-back band", dict(fields))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table's keys."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            button = {Qt.Key.Key_Return: self.accept_button, Qt.Key.Key_Enter: self.accept_button,
                      Qt.Key.Key_Delete: self.back_button, Qt.Key.Key_Insert: self.adopt_button}.get(
                Qt.Key(event.key()))
            if button is not None:
                button.click()
                return True
            if event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End) and self._views:
                self.table.setCurrentCell(0 if event.key() == Qt.Key.Key_Home else len(self._views) - 1, 0)
                return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the table."""
        super().showEvent(event)
        if self.table.currentRow() < 0 and self._views:
            self.table.setCurrentCell(0, 0)
        self.table.setFocus()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "adopt_button"):
            self._fit()
            QTimer.singleShot(0, self, self._fit)   # the buttons take on the new style after this

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns as there is room."""
        super().resizeEvent(event)
        self._fit()

    def _ask(self, what: str, view: ConnectionView, words: str) -> bool:
        """Say words once before something is done; True if they are to be read first. words: "" for none."""
        again = self._asked == (what, view.off_ms)
        self._asked = NOTHING if again or not words else (what, view.off_ms)
        if again or not words:
            self._draw()
            return False
        self.detail.say(words, "doubt")
        return True

    def _say(self, state: str) -> None:
        view = self.chosen()
        if view is not None:
            self.entry_wanted.emit("connection", {"state": state, "t_ms": view.off_ms})

    def _fill(self, rows: list[tuple[str, ...]]) -> None:
        """Only the cells that differ."""
        self._filling = True
        self._cells = rows
        self.table.setRowCount(len(rows))
        for place, texts in enumerate(rows):
            for column, text in enumerate(texts):
                item = self.table.item(place, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.table.setItem(place, column, item)
                if item.text() != text:
                    item.setText(text)
                    item.setToolTip(f"{text}\n{TIP}" if text and column in FOLLOWED else text)
        self._filling = False
        self._fit()

    def _draw(self) -> None:
        """The chosen one over the others of about its flow, and what is said of it."""
        situation, view = self._situation, self.chosen()
        if self._filling or situation is None:
            return
        units = DisplayUnits(situation.rig, self._unit_set)
        like = [v for v in self._views if _alike(v, view)]
        left_out = sum(not v.why_no_curve for v in self._views) - sum(not v.why_no_curve for v in like)
        self.plot.show_connections(like, view, units)
        other = "" if not left_out else f" {left_out} of another flow {'is' if left_out == 1 else 'are'} not drawn."
        self.legend.setText(LEGEND + other)
        told = view is not None and situation.band is not None and view.band_ms == situation.band.t_ms
        if view is None or self._asked[1] != view.off_ms:
            self._asked = NOTHING
        elif self._asked != NOTHING:  # the question stays until it is answered
            self._enable()
            return
        self.detail.say("" if view is None else chosen_words(view, units, situation.now_ms, band_is_told=told))
        self._enable()

    def _enable(self) -> None:
        """What can be done with the chosen one."""
        view = self.chosen()
        curve = view is not None and not view.why_no_curve
        self.accept_button.setEnabled(curve and view is not None and view.on_ms is not None
                                      and view.accepted is not True)
        self.back_button.setEnabled(curve and view is not None and view.accepted is not False)
        self.adopt_button.setEnabled(view is not None and view.flow_m3_s is not None)

    def _fit(self) -> None:
        """Depth, then flow, give way where there isn't room for all; the chosen one's accepted-by stretches."""
        for button in (self.accept_button, self.back_button, self.adopt_button):
            button.setMinimumSize(scaled(self, BUTTON_WIDTH), round(20 / 25.4 * self.logicalDpiY()))
        header = self.table.horizontalHeader()
        wide = [max(self.table.sizeHintForColumn(c), header.sectionSizeHint(c)) for c in range(len(HEADINGS))]
        room = self.table.viewport().width() - sum(wide)
        for column in (DEPTH, FLOW):
            self.table.setColumnHidden(column, room < 0)
            room += wide[column] if room < 0 else 0
        self.table.resizeRowsToContents()
        self.table.setMinimumHeight(scaled(self, LEAST_TABLE))
        if self.table.currentItem() is not None:
            self.table.scrollToItem(self.table.currentItem())

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADINGS))
        table.setHorizontalHeaderLabels(list(HEADINGS))
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        make_plain(table, "Connections")
        table.verticalHeader().setMinimumSectionSize(32)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)
        table.setMouseTracking(True)
        table.installEventFilter(self)
        table.itemSelectionChanged.connect(self._draw)
        table.cellClicked.connect(self._follow)
        table.cellEntered.connect(lambda _row, column: table.viewport().setCursor(
            Qt.CursorShape.PointingHandCursor if column in FOLLOWED else Qt.CursorShape.ArrowCursor))
        return table

    def _button(self, words: str, act: Any) -> QPushButton:
        button = QPushButton(words)
        button.setProperty("part", "big")
        button.setAutoDefault(False)
        button.clicked.connect(lambda _=False: act())
        return button


def _words(part: str) -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    if part:
        label.setProperty("part", part)
    return label


def _alike(view: ConnectionView, chosen: ConnectionView | None) -> bool:
    if chosen is None or view.flow_m3_s is None or chosen.flow_m3_s is None:
        return True
    return abs(view.flow_m3_s - chosen.flow_m3_s) <= ALIKE * chosen.flow_m3_s
