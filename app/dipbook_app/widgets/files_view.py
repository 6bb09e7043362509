"""Files on their way into the log: chosen, looked at with every finding in its place, then added, whole or not."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
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
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.file_reader import FileReader
from dipbook_app.file_words import count_words, findings_words
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.first_rows import FEW, MOST, FirstRows
from dipbook_app.widgets.other_form import OtherForm
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import scaled
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

FILES = (("readings", "Readings file"), ("entries", "Entries file"))
HEADINGS = ("", "File", "Line", "Column", "What")
SEVERITIES = {"error": "✕ refused", "warning": "? look", "note": "note"}
FILE, LINE, PLACE = 1, 2, 3
PLACE_WIDTH = 150
"""The most room for the name of a column or tank [px]."""
MOST_OF_WIDTH = 0.62
"""The part of the width that the columns of a file may take when findings stand beside them."""
ORDER = tuple(SEVERITIES)
BUTTON_WIDTH = 150
WAIT_MS = 200
"""After a choice, before the file is looked at again: several choices in a row are one."""
REMEMBERED = "These headings were seen before: what was said of them then is filled in. Check it."


class FilesView(QWidget):
    """Enter goes on and looks at the files, Ctrl+Enter adds them, Ctrl+G leaves bad rows out, Esc stops or closes.

    Of readings in another form it asks what their columns are; a file of Dipbook's own form shows nothing of that.

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
        self.good_rows_only = False
        self._told = False
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(WAIT_MS)
        self._again.timeout.connect(self._read)
        self.fields: dict[str, FieldRow] = {}
        title = QLabel("Add files to the log")
        title.setProperty("part", "title")
        self.counts = QLabel("A readings file, an entries file, or both. They are looked at first; nothing is added "
                             "before you say so.")
        self.counts.setWordWrap(True)
        self.counts.setTextFormat(Qt.TextFormat.PlainText)
        self.table = self._table()
        self.form = OtherForm(desk, self)
        self.form.changed.connect(self._say_again)
        self._before = self._missed = ("", "quiet")
        for lists in (self.form.read_as, self.form.mapping):
            lists.missed.connect(self._say_missed)
        self.first = FirstRows()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(title)
        layout.addLayout(self._inputs())
        layout.addWidget(self.form.read_as)
        layout.addLayout(self._halves(), 1)
        layout.addLayout(self._actions())
        self.form.forget()
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
        self._told = False
        self._read()

    def _read(self) -> None:
        """Read the files by what is said of them so far."""
        self._again.stop()
        situation = current(self.desk)
        texts = [self.fields[name].text() for name, _ in FILES]
        files = [path_of(text) if text else None for text in texts]
        self.words.say("Opening the files …")
        self.reader.start(files[0], files[1], situation.rig, situation.records, now_ms=self.desk.now_ms(),
                          author=self.fields["by"].text(), said=self.form.said, good_rows_only=self.good_rows_only,
                          held=self.desk.held())
        self._enable()

    def leave_out(self) -> None:
        """Leave out the rows that can't be read; what is left is shown before it is added."""
        if self.looked is not None and self.looked.could_leave_out and not self.reader.busy:
            self.good_rows_only = True
            self._forget()
            self._read()

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
            if not self.form.go_to_problem(self.looked.other) and self.table.rowCount():
                self.table.setFocus(Qt.FocusReason.TabFocusReason)
            return
        other = self.looked.other
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
        said += self.form.remember(other)
        for name, _ in FILES:
            self.fields[name].set_text("")
        self.saved.emit(" ".join(said))

    def stop(self) -> None:
        """Stop reading; nothing was added."""
        if self.busy:
            self._again.stop()
            self.reader.cancel()
            self.words.say("Stopped. Nothing was added.")
            self._enable()

    @property
    def busy(self) -> bool:
        """True while the files are read, or are about to be read again."""
        return self.reader.busy or self._again.isActive()

    # --- events -------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc stops or closes, Ctrl+Enter adds."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            if self.busy:
                self.stop()
            else:
                self.closed.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.add()
        elif event.key() == Qt.Key.Key_G and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.leave_out()
        elif enter and isinstance(pressed := self.focusWidget(), QPushButton):
            pressed.click()
        elif enter and isinstance(self.focusWidget(), DropList):
            self.focusNextChild()
        else:
            super().keyPressEvent(event)

    def _changed(self) -> None:
        """Another file: what was looked at no longer counts."""
        self._again.stop()
        self.reader.cancel()
        self.good_rows_only, self._told = False, False
        self.form.forget()
        self._forget()
        self.words.say("")
        self._enable()

    def _forget(self) -> None:
        self.looked = None
        self.counts.setText("")
        self.first.hide()
        self.table.setRowCount(0)

    def _say_again(self) -> None:
        self.reader.cancel()
        self.good_rows_only = False
        self._forget()
        self._again.start()
        self._enable()

    def _show(self, files: Importable) -> None:
        if self.form.recall(files.other):
            self._read()
            return
        self.looked = files
        self.form.show_file(files.other)
        self._order()
        units = DisplayUnits(current(self.desk).rig)
        self.counts.setText("\n".join(count_words(count, units) for count in files.counts))
        found = tuple(f for f in files.findings if f.code != "asked")
        self.first.show_rows(files.first, units, FEW if found and self.form.mapping.isVisibleTo(self) else MOST)
        self._list(found)
        if not files.ok:
            asked = all(f.code == "asked" for f in files.findings if f.severity == "error")
            self.words.say(findings_words(files), "doubt" if asked else "error")
            if files.other is not None and not self._told:
                self._told = True
                self.form.go_to_problem(files.other)
        elif not files.drafts:
            self.words.say(NOTHING_NEW, "done")
        else:
            recalled = f"{REMEMBERED} " if self.form.remembered else ""
            self.words.say(f"{recalled}Nothing is added yet. Look at the figures, then add them with Ctrl+Enter.",
                           "doubt")
        self._enable()

    def _failed(self, words: str) -> None:
        self.words.say(words, "error")
        self._enable()

    def _list(self, findings: tuple[Finding, ...]) -> None:
        """The findings, what refuses the file first, each with its place."""
        ordered = sorted(findings, key=lambda f: (ORDER.index(f.severity) if f.severity in ORDER else len(ORDER),
                                                  f.file, f.line or 0))
        beside = self.form.mapping.isVisibleTo(self)
        files = len({finding.file for finding in ordered if finding.file})
        self.table.setRowCount(len(ordered))
        for row, finding in enumerate(ordered):
            cells = (SEVERITIES.get(finding.severity, ""), finding.file, str(finding.line or ""),
                     finding.column or finding.tank, (where(finding, files) if beside else "")
                     + sentence(finding.what))
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        self.table.setVisible(bool(ordered) or self.form.read_as.isHidden())
        self.found.setVisible(bool(ordered) or self.form.mapping.isHidden() or bool(self.counts.text()))
        self._fit_findings(beside)

    def _enable(self) -> None:
        busy = self.busy
        self.look_button.setText("Stop\nEsc" if busy else "Look at them\nEnter")
        self.add_button.setEnabled(not busy and self.looked is not None and bool(self.looked.drafts))
        could = self.looked.could_leave_out if self.looked is not None else 0
        self.leave_out_button.setVisible(bool(could) and not busy)
        self.leave_out_button.setText(f"Leave out {could} {'row' if could == 1 else 'rows'}\nCtrl+G")
        self.close_button.setEnabled(not busy)

    def _say_missed(self, words: str) -> None:
        """What was typed in a list finds nothing: said below, and what stood there comes back once that is over."""
        if words:
            if self.words.said != self._missed[0]:
                self._before = (self.words.said, self.words.tone)
            self.words.say(words, "error")
            self._missed = (self.words.said, "error")
        elif self.words.said == self._missed[0]:
            self.words.say(*self._before)

    def _order(self) -> None:
        """Tab goes as one reads: the files, how the file is read, its columns, the keys, what was found."""
        chain: list[QWidget] = []
        for name, _ in FILES:
            chain += [self.fields[name].editor, self.choose_buttons[name]]
        chain += [self.fields["by"].editor, *self.form.read_as.lists.values(), *self.form.mapping.stops]
        chain += [self.look_button, self.add_button, self.leave_out_button, self.close_button, self.first, self.table]
        for one, next_one in pairwise(chain):
            QWidget.setTabOrder(one, next_one)

    def _fit_findings(self, beside: bool) -> None:
        """Room for the words of the findings. beside: the columns of the file take a part of the width, and where a
        finding is stands before its words."""
        for column in (FILE, LINE, PLACE):
            self.table.setColumnHidden(column, beside)
        wide = max(self.table.sizeHintForColumn(PLACE), self.table.horizontalHeader().sectionSizeHint(PLACE))
        self.table.setColumnWidth(PLACE, min(wide, scaled(self, PLACE_WIDTH)))
        self.table.resizeRowsToContents()
        self.form.mapping.setMinimumWidth(min(self.form.mapping.wide, round(self.width() * MOST_OF_WIDTH)) if beside
                                          else 0)
        self.halves.setStretch(0, 3 if self.form.mapping.asks else 0)

    # --- making -------------------------------------------------------------------------------------------------

    def _halves(self) -> QHBoxLayout:
        """What the columns are, and beside it, once it can be told, what the files hold."""
        self.found = QWidget()
        column = QVBoxLayout(self.found)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.counts)
        column.addWidget(self.first)
        column.addWidget(self.table, 1)
        column.addStretch(0)
        self.halves = QHBoxLayout()
        self.halves.setSpacing(16)
        self.halves.addWidget(self.form.mapping, 3)
        self.halves.addWidget(self.found, 2)
        return self.halves

    def _inputs(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        self.choose_buttons: dict[str, QPushButton] = {}
        rows = [*FILES, ("by", "Added by")]
        for place, (name, label) in enumerate(rows):
            field = self.fields[name] = FieldRow(name, label)
            grid.addWidget(field, place // 2, place % 2 * 2)
            field.moved.connect(lambda step, place=place: self._go(place + step))
            if name == "by":
                field.offer(lambda: crew_of(self.desk)).entered.connect(self.look)
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
            grid.addWidget(button, place // 2, place % 2 * 2 + 1, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(2, 1)
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
        header.setSectionResizeMode(PLACE, QHeaderView.ResizeMode.Interactive)
        header.setSectionResizeMode(len(HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)
        header.sectionResized.connect(lambda *_: table.resizeRowsToContents())
        table.setVerticalScrollMode(QTableWidget.ScrollMode.ScrollPerPixel)
        return table

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(24)
        self.look_button = QPushButton("Look at them\nEnter")
        self.add_button = QPushButton("Add to the log\nCtrl+Enter")
        self.leave_out_button = QPushButton("Leave out\nCtrl+G")
        self.close_button = QPushButton("Leave\nEsc")
        for button, act in ((self.look_button, self._look_or_stop), (self.add_button, self.add),
                            (self.leave_out_button, self.leave_out),
                            (self.close_button, self.closed.emit)):
            button.setProperty("part", "big")
            button.setMinimumWidth(BUTTON_WIDTH)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, act=act: act())
            row.addWidget(button)
        row.addWidget(self.words, 1)
        return row

    def _look_or_stop(self) -> None:
        if self.busy:
            self.stop()
        else:
            self.look()


def where(finding: Finding, files: int) -> str:
    """Where a finding is, before its words: "Line 3, Pit 1 (cm): ". files: how many files there are findings on."""
    parts = [finding.file if files > 1 else "", f"line {finding.line}" if finding.line else "",
             finding.column or finding.tank]
    words = ", ".join(part for part in parts if part)
    return f"{words[:1].upper()}{words[1:]}: " if words else ""
