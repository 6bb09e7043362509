"""The words over the rows of a round, and how far it has come."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QWidget

from dipbook_app.widgets.dip_row import BUTTON_WIDTH, GAP, WIDTHS, label_of
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled

CHANGE = "Change"


class DipHeading(QFrame):
    """The words over the columns, and how far the round has come."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(8, 0, 8, 0)
        layout.setSpacing(GAP)
        self.labels: dict[str, QLabel] = {}
        for name, words in (("name", "Tank, gauged"), ("last", "Last stick"), ("should", "Should read"),
                            ("stick", "Stick says"), ("second", "Second"), ("time", "At"), ("flag", "Flag"),
                            ("keys", ""), ("volume", "Volume"), ("change", CHANGE)):
            self.labels[name] = label_of(words, "small")
            layout.addWidget(self.labels[name])
        self.progress = LineLabel("", "strong", smaller=("small",))
        self.progress.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        layout.addWidget(self.progress, 1)
        self.show_columns()
        self._fit()

    def show_unit(self, symbol: str) -> None:
        """Say in which unit a bare number is read. symbol: of it."""
        self.labels["stick"].setText(f"Stick says, {symbol}" if symbol else "Stick says")

    def show_progress(self, words: str) -> None:
        """How far the round has come. Where that doesn't fit, the word over the changes goes: they say what they are.
        """
        self.progress.setText(words)
        self._make_room()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More room or less for how far the round has come."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        layout, change = self.layout(), self.labels["change"]
        if layout is None:
            return
        for words in (CHANGE, ""):
            change.setText(words)
            layout.activate()
            if not self.progress.cut:
                return

    def spare(self, *, keys: bool, change: bool) -> None:
        """As the rows below it."""
        self.labels["keys"].setVisible(keys)
        self.labels["change"].setVisible(change)
        self._make_room()

    def show_columns(self, *, second: bool = False, time: bool = False, flag: bool = False,
                     should: bool = False) -> None:
        """Show or hide the columns that are optional."""
        for name, shown in (("second", second), ("time", time), ("flag", flag), ("should", should)):
            self.labels[name].setVisible(shown)

    def set_wide(self, wide: bool) -> None:
        """As the rows below it."""
        if bool(self.property("wide")) != wide:
            self.setProperty("wide", wide)
            for widget in (self, *self.labels.values()):
                restyle(widget)
            self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "progress"):
            self._fit()

    def _fit(self) -> None:
        for name, label in self.labels.items():
            if name != "change":  # the last: what stands to its right may come close
                label.setFixedWidth(2 * scaled(self, BUTTON_WIDTH) + 2 * GAP if name == "keys"
                                    else scaled(self, WIDTHS[name]))
