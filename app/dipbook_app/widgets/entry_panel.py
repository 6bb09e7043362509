"""The place beside a page where one form at a time is open; the page and its warnings stay in sight."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from dipbook.entries.kinds import BY_NAME, HANDOVER, HANDOVER_CONFIRMED
from dipbook.records import Record
from dipbook.situation import NoticeView, RunningEntry
from dipbook_app.current import current
from dipbook_app.drafts import Drafts
from dipbook_app.forms.answer_form import AnswerForm
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.flow_check_form import FlowCheckForm
from dipbook_app.forms.form import Form
from dipbook_app.forms.handover_form import HandoverForm
from dipbook_app.forms.kept_form import KeptForm
from dipbook_app.forms.prefill import meant
from dipbook_app.forms.stop_form import StopForm
from dipbook_app.forms.void_form import VoidForm
from dipbook_app.unsaved import ANSWER, CALL_OFF, CORRECT, ENTRY, STOP, STRIKE, Unsaved, unsaved
from dipbook_app.widgets.kind_chooser import KindChooser
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

WIDTH = 420
FLOW_CHECK = "flow check"


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
        rig = current(self.desk).rig
        self.chooser = chooser = KindChooser({"equipment": " ".join(each.name for each in rig.equipment),
                                              "valve": " ".join(valve.name for valve in rig.valves)})
        chooser.chosen.connect(lambda name: self.add(name, meant(BY_NAME[name], chooser.word.text(), rig)))
        self.chooser.closed.connect(self.close_form)
        self._layout.addWidget(self.chooser, 1)
        self.show()
        self.turned.emit()
        self.chooser.start()

    def add(self, kind: str, values: Mapping[str, Any] | None = None) -> None:
        """Open the form of a new entry. kind: its name; values: prefilled texts or payload values (a hint's)."""
        if kind in (HANDOVER, HANDOVER_CONFIRMED):
            self._open(HandoverForm(self.desk))
            return
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
        self._open(VoidForm(self.desk, record, drafts=self._drafts))

    def stop(self, running: RunningEntry) -> None:
        """Ask when a running entry ended."""
        self._open(StopForm(self.desk, running, drafts=self._drafts))

    def answer(self, notice: NoticeView, *, calls_off: bool = False) -> None:
        """Ask what the answer to a notice was; calls_off: why it is called off."""
        self._open(AnswerForm(self.desk, notice, calls_off=calls_off, drafts=self._drafts))

    def unsaved(self) -> tuple[Unsaved, ...]:
        """What is typed and not saved, the oldest first; not of the form that is before one's eyes."""
        if self._drafts is None:
            return ()
        seen = self.form.draft_name if isinstance(self.form, KeptForm) and self.isVisible() else ""
        return tuple(each for each in unsaved(self._drafts, current(self.desk)) if each.name != seen)

    def resume(self, what: Unsaved) -> None:
        """Go on with what isn't saved: the form that is open, or opened again."""
        if isinstance(self.form, KeptForm) and self.form.draft_name == what.name:
            self.form.start()
            return
        situation = current(self.desk)
        record = next((r for r in situation.records if r.uid == what.of), None)
        notice = next((n for n in situation.notices if n.uid == what.of), None)
        running = next((r for r in situation.running if r.uid == what.of), None)
        if what.how == ENTRY and what.of == FLOW_CHECK:
            self.check_flow()
        elif what.how == ENTRY:
            self._open(EntryForm(self.desk, BY_NAME[what.of], drafts=self._drafts, draft=what.name))
        elif what.how == CORRECT and record is not None:
            self.correct(record)
        elif what.how == STRIKE and record is not None:
            self.strike(record)
        elif what.how == STOP and running is not None:
            self.stop(running)
        elif what.how in (ANSWER, CALL_OFF) and notice is not None:
            self.answer(notice, calls_off=what.how == CALL_OFF)

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
