"""The place beside a page where one form at a time is open; the page and its warnings stay in sight."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from dipbook.entries.kinds import BY_NAME
from dipbook.records import Record
from dipbook.situation import NoticeView, RunningEntry
from dipbook_app.drafts import Drafts
from dipbook_app.forms.answer_form import AnswerForm
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.flow_check_form import FlowCheckForm
from dipbook_app.forms.form import Form
from dipbook_app.forms.stop_form import StopForm
from dipbook_app.forms.void_form import VoidForm
from dipbook_app.widgets.kind_chooser import KindChooser
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

WIDTH = 420


class EntryPanel(QWidget):
    """Shows the chooser or a form, or hides.

    desk: takes the entries. drafts: keeps what is typed, or None.
    Signals: saved(str): words on what was saved. turned(): it was opened or closed. closed(): nothing is open any more.
    """

    saved = Signal(str)
    turned = Signal()
    closed = Signal()

    def __init__(self, desk: Desk, drafts: Drafts | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._drafts = drafts
        self.form: Form | None = None
        self.chooser: KindChooser | None = None
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self.setFixedWidth(scaled(self, WIDTH))
        self.hide()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS:
            self.setFixedWidth(scaled(self, WIDTH))

    def choose(self) -> None:
        """Ask for the kind of entry."""
        self._clear()
        self.chooser = KindChooser()
        self.chooser.chosen.connect(lambda name: self.add(name))
        self.chooser.closed.connect(self.close_form)
        self._layout.addWidget(self.chooser, 1)
        self.show()
        self.turned.emit()
        self.chooser.start()

    def add(self, kind: str, values: Mapping[str, Any] | None = None) -> None:
        """Open the form of a new entry. kind: its name; values: prefilled texts or payload values (a hint's)."""
        self._open(EntryForm(self.desk, BY_NAME[kind], drafts=self._drafts, values=values))

    def check_flow(self) -> None:
        """Start a flow check by the clock, or come back to the one that runs."""
        if isinstance(self.form, FlowCheckForm):
            self.form.start()
        else:
            self._open(FlowCheckForm(self.desk, drafts=self._drafts))

    def correct(self, record: Record) -> None:
        """Open the form that corrects ``record``."""
        self._open(EntryForm(self.desk, BY_NAME[record.kind], drafts=self._drafts, corrects=record))

    def strike(self, record: Record) -> None:
        """Ask why ``record`` is struck out."""
        self._open(VoidForm(self.desk, record))

    def stop(self, running: RunningEntry) -> None:
        """Ask when a running entry ended."""
        self._open(StopForm(self.desk, running))

    def answer(self, notice: NoticeView, *, calls_off: bool = False) -> None:
        """Ask what the answer to a notice was; calls_off: why it is called off."""
        self._open(AnswerForm(self.desk, notice, calls_off=calls_off))

    def close_form(self) -> None:
        """Close what is open; a draft of it stays."""
        self._clear()
        self.hide()
        self.turned.emit()
        self.closed.emit()

    def _open(self, form: Form) -> None:
        self._clear()
        self.form = form
        form.saved.connect(self._saved)
        form.closed.connect(self.close_form)
        self._layout.addWidget(form, 1)
        self.show()
        self.turned.emit()
        form.show()
        form.start()

    def _saved(self, words: str) -> None:
        self.close_form()
        self.saved.emit(words)

    def _clear(self) -> None:
        self.form = None
        self.chooser = None
        while (item := self._layout.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
