"""What the Review page is made of: which span, what isn't explained, the sections; and their room."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from dipbook_app.review_sections import BOOKS, SECTIONS, TREND
from dipbook_app.theme import Look
from dipbook_app.widgets.bridge_chart import BridgeChart
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.overview_strip import OverviewStrip
from dipbook_app.widgets.review_plot import ReviewPlot
from dipbook_app.widgets.tables_view import TablesView
from dipbook_app.widgets.words_label import WordsLabel

BEHIND_PX = 300
"""Width of what is behind the cursor [px at text size 1]."""
TIME_WORDS = "2026-03-14 06:00"
"""As wide is a field for a time."""
ASK_SPAN = "05:45 or 2026-03-14 05:45"


class ReviewFace(QWidget):
    """The widgets of the page and their places; what the keys do is the page's."""

    def __init__(self, look: Look | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        look = look or Look()
        self.title = QLabel("Review")
        self.title.setProperty("part", "title")
        self.chosen_words = LineLabel("", "strong", smaller=("firm",), lines=2)
        self.view_label = QLabel()
        self.answer = LineLabel("", "strong", smaller=("firm",), lines=2)
        self.state = WordsLabel(1)
        self.earlier, self.later = _key("‹ Alt+←"), _key("Alt+→ ›")
        self.kind_key, self.view_key = _key("Days  D"), _key("As shown then  K")
        self.from_field, self.to_field = _field("From"), _field("To")
        self.show_key, self.report_key = _key("Show  Enter"), _key("Make report  R")
        self.section_keys = {name: _key(f"{n} {name}", checkable=True) for n, name in enumerate(SECTIONS, 1)}
        group = QButtonGroup(self)
        for key in self.section_keys.values():
            group.addButton(key)
        self.stack = QStackedWidget()
        self.tables = {name: TablesView(look, name) for name in SECTIONS if name != TREND}
        self.strip = OverviewStrip(look)
        self.plot = ReviewPlot(look)
        self.behind = QListWidget()
        self.behind.setAccessibleName("Behind the cursor")
        self.behind.setWordWrap(True)
        self.behind.setSpacing(2)
        self.behind.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.behind.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.behind.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        self.bridge = BridgeChart(look)
        self.places: dict[str, QWidget] = {}
        for name in SECTIONS:
            self.places[name] = self._place(name)
            self.stack.addWidget(self.places[name])
        self.form = QWidget()
        self.form.hide()
        self.name_field = _field("Name")
        self.write_key, self.leave_key = _key("Write  Enter"), _key("Leave  Esc")
        self.paper_key = _key("")
        self._lay()

    def _place(self, section: str) -> QWidget:
        """A section: its tables, the trend over what is behind its cursor, or the bridge beside its tables."""
        if section not in (TREND, BOOKS):
            return self.tables[section]
        place = QWidget()
        if section == TREND:
            across = QHBoxLayout(place)
            across.setContentsMargins(0, 0, 0, 0)
            across.addWidget(self.plot, 1)
            across.addWidget(self.behind)
            return place
        row = QHBoxLayout(place)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.bridge, 2)
        row.addWidget(self.tables[section], 3)
        return place

    def _lay(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(self.title)
        head.addWidget(self.chosen_words, 1)
        head.addWidget(self.view_label)
        which = QHBoxLayout()
        which.setSpacing(6)
        for key in (self.earlier, self.later, self.kind_key):
            which.addWidget(key)
        which.addSpacing(8)
        for words, field in (("From", self.from_field), ("to", self.to_field)):
            label = QLabel(words)
            label.setBuddy(field)
            which.addWidget(label)
            which.addWidget(field, 1)
        which.addWidget(self.show_key)
        which.addSpacing(8)
        which.addWidget(self.view_key)
        which.addWidget(self.report_key)
        sections = QHBoxLayout()
        sections.setSpacing(4)
        for key in self.section_keys.values():
            sections.addWidget(key, 1)
        column = QVBoxLayout(self)
        column.setSpacing(4)
        column.addLayout(head)
        column.addLayout(which)
        column.addWidget(self.answer)
        column.addWidget(self.state)
        column.addLayout(sections)
        column.addWidget(self.stack, 1)
        column.addWidget(self.strip)
        row = QHBoxLayout(self.form)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        label = QLabel("Report beside the log, name")
        label.setBuddy(self.name_field)
        for widget, stretch in ((label, 0), (self.name_field, 1), (self.paper_key, 0), (self.write_key, 0),
                                (self.leave_key, 0)):
            row.addWidget(widget, stretch)
        column.insertWidget(2, self.form)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        for key in (*self.section_keys.values(), self.earlier, self.later, self.kind_key, self.show_key, self.view_key,
                    self.report_key, self.paper_key, self.write_key, self.leave_key):
            key.setStyleSheet(f"font-size: {look.px(13)}px; padding: 2px 6px;")
        for field in (self.from_field, self.to_field):
            field.setMinimumWidth(round(QFontMetricsF(look.font(15)).horizontalAdvance(TIME_WORDS)) + 20)
        self.behind.setFixedWidth(look.px(BEHIND_PX))
        self.behind.setStyleSheet(f"font-size: {look.px(13)}px;")

    @property
    def section(self) -> str:
        """Which section is shown."""
        return next(name for name, place in self.places.items() if place is self.stack.currentWidget())

    def show_place(self, section: str) -> None:
        """Show a section. section: a key of SECTIONS."""
        self.stack.setCurrentWidget(self.places[section])
        self.section_keys[section].setChecked(True)
        self.setFocusProxy(self.focused(section))

    def focused(self, section: str) -> QWidget:
        """Where the cursor goes in a section. section: a key of SECTIONS."""
        return self.plot if section == TREND else self.tables[section]


def _key(words: str, *, checkable: bool = False) -> QPushButton:
    key = QPushButton(words)
    key.setAutoDefault(False)
    key.setCheckable(checkable)
    key.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    key.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
    return key


def _field(name: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setToolTip(f"{name}: {ASK_SPAN}")
    return field
