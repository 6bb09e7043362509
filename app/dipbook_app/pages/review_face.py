"""What the Review page is made of: which span, what isn't explained, the sections; and their room."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from dipbook_app.review_sections import BOOKS, SECTIONS, TREND
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.tables_view import TablesView
from dipbook_app.widgets.words_label import WordsLabel

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
        self.state = WordsLabel(2)
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
        self.places: dict[str, QWidget] = {name: view for name, view in self.tables.items()}
        for widget in self.places.values():
            self.stack.addWidget(widget)
        self._lay()

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
        self.column = column

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        for key in (*self.section_keys.values(), self.earlier, self.later, self.kind_key, self.show_key, self.view_key,
                    self.report_key):
            key.setStyleSheet(f"font-size: {look.px(13)}px; padding: 2px 6px;")
        for field in (self.from_field, self.to_field):
            field.setMinimumWidth(field.fontMetrics().horizontalAdvance(TIME_WORDS) + 18)

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
        return self.tables.get(section, self.tables[BOOKS])


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
