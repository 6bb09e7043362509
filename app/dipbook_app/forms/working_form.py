"""A form with calculators beside its fields, for the kinds of entry that have them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QPushButton, QVBoxLayout

from dipbook.entries.kinds import REMARK
from dipbook.situation import Situation
from dipbook_app.calculators import ASKS, OF_KIND
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.kept_form import KeptForm
from dipbook_app.forms.work_out import KEY, WorkOut


class WorkingForm(KeptForm):
    """F3 opens the calculator, or shows its next one; Shift+F3 takes its answer into the fields, where it is seen and
    can be changed before it is saved.

    Attribute: work_out: the panel, None for a kind without a calculator.
    """

    work_out: WorkOut | None = None
    _came_from: FieldRow | None = None
    _asks = ""

    def add_calculators(self, kind: str, situation: Callable[[], Situation]) -> None:
        """Put the calculators of a kind before its fields, closed. kind: its name; situation: what is known now."""
        if kind not in OF_KIND:
            return
        self.work_out = panel = WorkOut(OF_KIND[kind], situation, self.texts)
        self.work_out_button = QPushButton()
        self.work_out_button.setProperty("tall", True)
        self.work_out_button.setAutoDefault(False)
        self.work_out_button.clicked.connect(self._turn_work_out)
        panel.taken.connect(self._take_over)
        panel.came.connect(self._bring)
        panel.foot.installEventFilter(self)
        panel.closed.connect(self._worked_out_closed)
        self.column.addWidget(panel)
        layout = self.layout()
        if isinstance(layout, QVBoxLayout):
            layout.insertWidget(layout.indexOf(self.area), self.work_out_button)
            layout.insertWidget(layout.indexOf(self.words), panel.foot)
        self._asks = f"{ASKS[kind]}: {KEY}"
        self._say_work_out()

    def go_work_out(self) -> None:
        """Open the calculator; where it is open, its next one."""
        if self.work_out is not None:
            self.words.say("")
            if self.work_out.isHidden():
                self._came_from = next((row for row in self.fields if row.editor is self.focusWidget()), None)
                self.work_out.open()
            else:
                self.work_out.next()
            self._say_work_out()

    def put_away(self) -> None:
        """Close the calculator, if it is open."""
        if self.work_out is not None and not self.work_out.isHidden():
            self.work_out.close_panel()

    def discard(self) -> None:
        """As of every form; what it asks is seen."""
        self.put_away()
        super().discard()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """F3 works out, Shift+F3 takes over, Esc closes the calculator first; the rest as in every form."""
        panel = self.work_out
        if event.key() == Qt.Key.Key_Escape and panel is not None and not panel.isHidden():
            panel.close_panel()
        elif event.key() != Qt.Key.Key_F3 or panel is None:
            super().keyPressEvent(event)
        elif event.modifiers() & Qt.KeyboardModifier.ShiftModifier and not panel.isHidden():
            panel.take()
        else:
            self.go_work_out()

    def _bring_here(self) -> None:
        """The sum's field that one is in stays in sight too, also when the answer takes more room."""
        rows = () if self.work_out is None or self.work_out.isHidden() else self.work_out.rows
        here = next((row for row in rows if row.editor is self.focusWidget()), None)
        if here is None:
            super()._bring_here()
        else:
            self._bring(here)

    def _turn_work_out(self) -> None:
        if self.work_out is not None and self.work_out.isHidden():
            self.go_work_out()
        else:
            self.put_away()

    def _say_work_out(self) -> None:
        """What the keys do now."""
        closed = self.work_out is None or self.work_out.isHidden()
        self.work_out_button.setText(self._asks if closed else "Close the sum: Esc")
        self.close_button.setText("Leave\nEsc" if closed else "Leave\n")
        for part in (self.help, self.words):  # their room is the fields' while a sum is open
            part.setVisible(closed)

    def _worked_out_closed(self) -> None:
        self._say_work_out()
        if self._came_from is None:
            self.start()
        else:
            self._came_from.focus()

    def _take_over(self, takes: Mapping[str, str]) -> None:
        """Fill the fields in, say what was and what is, and put the cursor in the first one."""
        told: list[str] = []
        first: FieldRow | None = None
        for row in self.fields:
            before, text = row.text(), takes.get(row.name, row.text())
            if text == before:
                continue
            row.set_text(text)
            was = f" (it was {before})" if before and not text.startswith(before) else ""
            told.append(f"{row.label.text().lower()} {text or 'left out'}{was}")
            first = first or row
        if first is None:
            self.words.say("The fields hold that already.")
            return
        first.focus()
        if first.name == REMARK.name and isinstance(first.editor, QLineEdit):
            first.editor.home(False)  # from its beginning, and no key wipes it out
        QTimer.singleShot(0, self, self._bring_here)  # once the words have taken their room
        self.words.say(f"Taken over: {'; '.join(told)}. Look at it: nothing is saved yet.")
        self._told = self.words.said
