"""The handover of the watch, by two entries: who leaves goes through what stands, who takes over signs for it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QWidget

from dipbook.entries.kinds import HANDOVER, HANDOVER_CONFIRMED
from dipbook.findings import Finding
from dipbook.reports import HandoverView, Standing
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

CONFIRM_HELP = ("Who leaves goes through what stands now: Enter on each group says that it is seen. Who takes over "
                "signs next.")
SIGN_HELP = "Who takes over reads what was confirmed and signs. From then on the watch is theirs."
SEEN = "seen"


class SeenRow(FieldRow):
    """A group of what stands, with its lines; Enter, or a click, says that it is seen, Backspace takes that back."""

    def __init__(self, group: str, lines: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(group, group, parent=parent)
        assert isinstance(self.editor, QLineEdit)
        self.editor.setReadOnly(True)
        self.editor.setAccessibleName(f"{group}: {'. '.join(lines)}. Enter when seen")
        self.set_hint("Enter when seen")
        self.set_note("\n".join(lines))

    def say(self, words: str, tone: str = "quiet") -> None:
        """What is said stands above the lines, which stay."""
        super().say(f"{words}\n{self.note}" if words else "", tone)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A click is as good as Enter."""
        if watched is self.editor and event.type() == QEvent.Type.MouseButtonPress:
            self.set_text(SEEN)
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.set_text(SEEN)
        elif event.key() in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.set_text("")
        return super()._key(event)


class HandoverForm(Form):
    """First who leaves confirms, then who takes over signs; each is an entry. desk: takes them."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Hand over the watch", CONFIRM_HELP, parent)
        self.desk = desk
        self._view = desk.standing()
        self._anew = self.add_button("Go through it anew\nCtrl+G", self.begin_anew)
        self._show()

    @property
    def signing(self) -> bool:
        """True where what stands was confirmed, and somebody is to sign for it."""
        return self._view.confirmed is not None

    def begin_anew(self) -> None:
        """Go through what stands once more, whatever was confirmed."""
        if self.signing:
            self._view = HandoverView(self._view.since_ms, self._view.lines)
            self._show()
            self.start()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ctrl+G goes through it anew."""
        if event.key() == Qt.Key.Key_G and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.begin_anew()
        else:
            super().keyPressEvent(event)

    def save(self) -> None:
        """Hand the entry of this step to the desk; after the first the form goes on with the second."""
        self.clear_words()
        texts, now_ms = self.texts(), self.desk.now_ms()
        if self.signing:
            typed = {"leaving": self._leaving} | {k: texts[k] for k in ("arriving", "remark") if k in texts}
            found = self.desk.log_entry(HANDOVER, typed, t_ms=now_ms, author=texts.get("arriving", ""))
            if not _refused(found):
                self.saved.emit(f"{texts['arriving']} has the watch, signed for at "
                                f"{self._units().time_near(now_ms, now_ms)}.")
                return
        else:
            unseen = [row for row in self.fields if isinstance(row, SeenRow) and not row.text()]
            groups = ", ".join(row.name for row in self.fields if isinstance(row, SeenRow))
            typed = {"confirmed": groups} | {k: texts[k] for k in ("leaving", "remark") if k in texts}
            found = tuple(Finding("not gone through yet: Enter when it is seen", code="unseen", column=row.name,
                                  severity="error", kept=False) for row in unseen) or \
                self.desk.log_entry(HANDOVER_CONFIRMED, typed, t_ms=now_ms, author=texts.get("leaving", ""))
            if not _refused(found):
                self._view = self.desk.standing()
                self._show()
                self.start()
                return
        self.show_findings(found)

    # --- its two faces ------------------------------------------------------------------------------------------

    def _show(self) -> None:
        self.fields = []
        while (item := self.column.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        confirmed = self._view.confirmed
        self._anew.setVisible(self.signing)
        self.help.setText(SIGN_HELP if self.signing else CONFIRM_HELP)
        self.say_save("Sign" if self.signing else "Confirm")
        self._leaving = "" if confirmed is None else str(confirmed.payload.get("leaving") or "")
        if confirmed is None:
            self.add_field(FieldRow("leaving", "Who leaves").offer(lambda: crew_of(self.desk))).set_text(
                self.desk.on_watch)
            for group, lines in self._view.groups():
                self.add_field(SeenRow(group, [self._line(x) for x in lines]))
            self.add_field(FieldRow("remark", "Remark"))
        else:
            row = self.add_field(FieldRow("arriving", "Who takes over").offer(lambda: crew_of(self.desk)))
            row.set_note(f"{self._leaving} confirmed at {self._units().time_near(confirmed.t_ms, self.desk.now_ms())}. "
                         f"{self._changed()}")
            self.add_field(FieldRow("remark", "Remark"))
            for group, lines in self._view.groups():
                self.column.addWidget(_text(group, "firm"))
                self.column.addWidget(_text("\n".join(self._line(x) for x in lines), "small"))
        self.finish()
        for n in range(self.column.count()):        # at once: a layout shows what is put in later only when it is idle
            item = self.column.itemAt(n)
            if item is not None and (widget := item.widget()) is not None:
                widget.show()

    def _changed(self) -> str:
        added, gone = ([self._line(x) for x in lines] for lines in (self._view.added, self._view.gone))
        said = [*(f"New since: {x}." for x in added), *(f"No more: {x}." for x in gone)]
        return " ".join(said) if said else "Nothing has changed since."

    def _line(self, x: Standing) -> str:
        since = "" if x.since_ms is None else f" (since {self._units().time_near(x.since_ms, self.desk.now_ms())})"
        return shown_words(f"{x.words.rstrip('.')}{since}")

    def _units(self) -> DisplayUnits:
        return DisplayUnits(current(self.desk).rig)


def _text(words: str, part: str) -> QLabel:
    label = QLabel(words)
    label.setProperty("part", part)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def _refused(found: Sequence[Finding]) -> bool:
    return any(f.severity == "error" for f in found)
