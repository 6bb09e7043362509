"""A form that keeps what is typed as a draft, until it is saved or a person throws it away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from dipbook_app.drafts import Drafts
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form
from dipbook_app.typed_times import clock

DISCARD = "Discard\nCtrl+Shift+D"


class KeptForm(Form):
    """title, help_text: as of every form. drafts: keeps what is typed, or None.

    The form is filled in, then ``remember`` is called; what differs from then on is typed and kept.
    """

    def __init__(self, title: str, help_text: str, drafts: Drafts | None, parent: QWidget | None = None) -> None:
        super().__init__(title, help_text, parent)
        self._drafts = drafts
        self._began_ms: int | None = None
        self._as_opened: dict[str, str] = {}
        self._asked_discard = False
        self.restored = QLabel()
        self.restored.setProperty("part", "strong")
        self.restored.setWordWrap(True)  # or its words would widen the form beyond the window's edge
        self.restored.hide()
        self.column.addWidget(self.restored)
        self.discard_button = self.add_button(DISCARD, self.discard)
        self.discard_button.setToolTip("Throw away what is typed here; nothing in the log is changed")
        self.discard_button.hide()

    @property
    def draft_name(self) -> str:
        """The name under which this form's draft is kept: how the form is opened again, and of what."""
        raise NotImplementedError

    @property
    def draft_label(self) -> str:
        """What isn't saved, in words."""
        return self.title.text()

    @property
    def kept(self) -> bool:
        """True if there is a draft of this form."""
        return self._drafts is not None and self._drafts.get(self.draft_name) is not None

    def add_field(self, row: FieldRow) -> FieldRow:
        """Put a field below the last one; what is typed in it is kept."""
        row.changed.connect(self._keep)
        return super().add_field(row)

    def remember(self, zone: str, now_ms: int, *, restore: bool = True) -> None:
        """The form is filled in: what differs from now on is typed. zone, now_ms [UTC ms]: for the words on a draft.

        restore: True brings back what was typed before and not saved.
        """
        self._as_opened = self.texts()
        self._began_ms = None
        kept = self._drafts.get(self.draft_name) if self._drafts is not None and restore else None
        if not kept:
            return
        self._bring_back(kept)
        self._began_ms = int(kept.get("began_ms", now_ms))
        began = clock(self._began_ms, zone, now_ms=now_ms)
        self.restored.setText(f"Begun {began} and not saved: restored. Check the time.")
        self.restored.show()
        self.discard_button.show()

    def drop_draft(self) -> None:
        """It is saved: nothing is left to keep."""
        if self._drafts is not None:
            self._drafts.drop(self.draft_name)
        self._began_ms = None

    def discard(self) -> None:
        """Throw away what is typed and close; asks once."""
        if not self.kept:
            return
        if not self._asked_discard:
            self._asked_discard = True
            self.words.say("Discard again throws away what is typed here.", "doubt")
            return
        self.drop_draft()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ctrl+Shift+D throws away; the rest as in every form."""
        both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
        if event.key() == Qt.Key.Key_D and event.modifiers() == both:
            self.discard()
        else:
            super().keyPressEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """The form is closed or the window is: the draft goes to the disk now."""
        super().hideEvent(event)
        if self._drafts is not None:
            self._drafts.flush()

    def _bring_back(self, kept: Mapping[str, Any]) -> None:
        """Fill in a draft. kept: as ``_content`` made it."""
        for name, text in dict(kept.get("texts", {})).items():
            if any(row.name == name for row in self.fields):
                self.field(name).set_text(str(text))

    def _content(self) -> dict[str, Any]:
        """The draft beside when it was begun, as plain JSON values."""
        return {"texts": {row.name: row.text() for row in self.fields}}

    def _worth_keeping(self) -> bool:
        """True if anything was typed."""
        return self.texts() != self._as_opened

    def _keep(self) -> None:
        """Keep a draft from the first change on that the person makes (the form is on the screen by then)."""
        if self._drafts is None or not self.isVisible():
            return
        if self._asked_discard:
            self._asked_discard = False
            self.words.say("")
        if not self._worth_keeping():
            self.drop_draft()
        else:
            if self._began_ms is None:
                self._began_ms = self._clock_ms()
            self._drafts.put(self.draft_name, {"began_ms": self._began_ms, "label": self.draft_label,
                                               **self._content()})
        self.discard_button.setVisible(self.kept)

    def _clock_ms(self) -> int:
        """The desk's clock [UTC ms]."""
        raise NotImplementedError
