"""Files on their way into the log: chosen, looked at with every finding in its place, then added, whole or not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.findings import Finding
from dipbook.importing import NOTHING_NEW, Importable
from dipbook_app.choosing import TABLES, Choose, choose_file, path_of
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.file_reader import FileReader
from dipbook_app.file_words import count_words, findings_words
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

FILES = (("readings", "Readings file"), ("entries", "Entries file"))
HEADINGS = ("", "File", "Line", "Column", "What")
SEVERITIES = {"error": "✕ refused", "warning": "? look", "note": "note"}
ORDER = tuple(SEVERITIES)
BUTTON_WIDTH = 150


class FilesView(QWidget):
    """Enter goes on and looks at the files, Ctrl+Enter adds them, Esc stops the reading or closes.

    desk: gives the rig and the log's records, and takes what is new. reader: None for one of its own.
    Signals: saved(str): what was added, in words. closed(): the view wants to go away.
    """

    saved = Signal(str)
    closed = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None, *, reader: FileReader | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.choose: Choose = choose_file
        self.reader = reader or FileReader(self)
        self.words = WordsLabel(lines=2)
        self.reader.progress.connect(self.words.say)
        self.reader.done.connect(self._show)
        self.reader.failed.connect(self._failed)
        self.looked: Importable | None = None
        self.fields: dict[str, FieldRow] = {}
        title = QLabel("Add files to the log")
        title.setProperty("part", "title")
        self.counts = QLabel("A readings file, an entries file, or both. They are looked at first; nothing is added "
                             "before you say so.")
        self.counts.setWordWrap(True)
        self.counts.setTextFormat(Qt.TextFormat.PlainText)
        self.table = self._table()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(title)
        layout.addLayout(self._inputs())
        layout.addWidget(self.counts)
        layout.addWidget(self.table, 1)
        layout.addLayout(self._actions())
        self._enable()

    def start(self) -> None:
        """Begin afresh, with the cursor in the first field."""
        self.fields["by"].set_text(self.desk.on_watch)
        self._changed()
        self.fields["readings"].focus()

    def look(self) -> None:
        """Read the files and show what they hold; nothing is added."""
        paths = {name: self.fields[name].text() for name, _ in FILES}
        self._forget()
        if not any(paths.values()):
            self.words.say("Choose or type a readings file, an entries file, or both.", "error")
            self.fields["readings"].focus()
            return
        situation = current(self.desk)
        files = [path_of(text) if text else None for text in paths.values()]
        self.words.say("Opening the files …")
        self.reader.start(files[0], files[1], situation.rig, situation.records, now_ms=self.desk.now_ms(),
                          author=self.fields["by"].text())
        self._enable()

    def add(self) -> None:
        """Add what was looked at; before that, look at it."""
        if self.reader.busy:
            return
        if self.looked is None:
            self.look()
            return
        if not self.fields["by"].text():
            self.words.say("Who adds them? A name is needed.", "error")
            self.fields["by"].focus()
            return
        if not self.looked.ok or not self.looked.drafts:
            return
        said: list[str] = []
        self.desk.said.connect(said.append)
        findings = self.desk.add(self.looked)
        self.desk.said.disconnect(said.append)
        wrong = [f for f in findings if f.severity == "error"]
        if wrong:
            self._forget()
            self._list(findings)
            self.words.say(f"Nothing was added. {sentence(wrong[0].what)}", "error")
            self._enable()
            return
        for name, _ in FILES:
            self.fields[name].set_text("")
        self.saved.emit(" ".join(said))

    def stop(self) -> None:
        """Stop reading; nothing was added."""
        if self.reader.busy:
            self.reader.cancel()
            self.words.say("Stopped. Nothing was added.")
            self._enable()

    # --- events -------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc stops or closes, Ctrl+Enter adds."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            if self.reader.busy:
                self.stop()
            else:
                self.closed.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.add()
        elif enter and isinstance(pressed := self.focusWidget(), QPushButton):
            pressed.click()
        else:
            super().keyPressEvent(event)

    def _changed(self) -> None:
        """Another file: what was looked at no longer counts."""
        self.reader.cancel()
        self._forget()
        self.words.say("")
        self._enable()

    def _forget(self) -> None:
        self.looked = None
        self.counts.setText("")
        self.table.setRowCount(0)

    def _show(self, files: Importable) -> None:
        self.looked = files
        units = DisplayUnits(current(self.desk).rig)
        self.counts.setText("\n".join(count_words(count, units) for count in files.counts))
        self._list(files.findings)
        if not files.ok:
            self.words.say(findings_words(files), "error")
        elif not files.drafts:
            self.words.say(NOTHING_NEW, "done")
        else:
            self.words.say("Nothing is added yet. Look at the figures, then add them with Ctrl+Enter.", "doubt")
        self._enable()

    def _failed(self, words: str) -> None:
        self.words.say(words, "error")
        self._enable()

    def _list(self, findings: tuple[Finding, ...]) -> None:
        """The findings, what refuses the file first, each with its place."""
        ordered = sorted(findings, key=lambda f: (ORDER.index(f.severity) if f.severity in ORDER else len(ORDER),
                                                  f.file, f.line or 0))
        self.table.setRowCount(len(ordered))
        for row, finding in enumerate(ordered):
            cells = (SEVERITIES.get(finding.severity, ""), finding.file, str(finding.line or ""),
                     finding.column or finding.tank, sentence(finding.what))
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        self.table.resizeRowsToContents()

    def _enable(self) -> None:
        busy = self.reader.busy
        self.look_button.setText("Stop\nEsc" if busy else "Look at them\nEnter")
        self.add_button.setEnabled(not busy and self.looked is not None and bool(self.looked.drafts))
        self.close_button.setEnabled(not busy)

    # --- making -------------------------------------------------------------------------------------------------

    def _inputs(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        self.choose_buttons: dict[str, QPushButton] = {}
        rows = [*FILES, ("by", "Added by")]
        for place, (name, label) in enumerate(rows):
            field = self.fields[name] = FieldRow(name, label)
            grid.addWidget(field, place, 0)
            field.moved.connect(lambda step, place=place: self._go(place + step))
            if name == "by":
                field.entered.connect(self.look)
                continue
            field.changed.connect(self._changed)
            field.entered.connect(lambda place=place: self._go(place + 1))
            field.set_hint("its path, or choose it")
            button = QPushButton("Choose …")
            button.setAccessibleName(f"Choose: {label}")
            button.setProperty("tall", True)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, name=name, label=label: self._choose(name, label))
            self.choose_buttons[name] = button
            grid.addWidget(button, place, 1, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(0, 1)
        return grid

    def _go(self, place: int) -> None:
        rows = list(self.fields.values())
        if 0 <= place < len(rows):
            rows[place].focus()

    def _choose(self, name: str, label: str) -> None:
        path = self.choose(self, label, TABLES, next((f.text() for f in self.fields.values() if f.text()
                                                      and f.name != "by"), ""))
        if path:
            self.fields[name].set_text(path)
            self.look()

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADINGS))
        table.setHorizontalHeaderLabels(list(HEADINGS))
        make_plain(table, "Findings on the files")
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)
        return table

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(24)
        self.look_button = QPushButton("Look at them\nEnter")
        self.add_button = QPushButton("Add to the log\nCtrl+Enter")
        self.close_button = QPushButton("Close\nEsc")
        for button, act in ((self.look_button, self._look_or_stop), (self.add_button, self.add),
                            (self.close_button, self.closed.emit)):
            button.setProperty("part", "big")
            button.setMinimumWidth(BUTTON_WIDTH)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, act=act: act())
            row.addWidget(button)
        row.addWidget(self.words, 1)
        return row

    def _look_or_stop(self) -> None:
        if self.reader.busy:
            self.stop()
        else:
            self.look()
