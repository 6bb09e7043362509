"""The Rig page: tanks, pumps, hole and string as forms with a picture beside them; nothing counts until it is adopted.

Tab goes from the sections' keys to the table and its form; Enter in the table goes into the form, Esc back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QKeySequence, QResizeEvent, QShortcut, QShowEvent
from PySide6.QtWidgets import QWidget

from dipbook.errors import RigFileError
from dipbook.rig.keys import SINGLE
from dipbook_app.current import current
from dipbook_app.drafts import Drafts
from dipbook_app.forms.adopt_draft_form import AdoptDraftForm
from dipbook_app.pages.rig_face import RigFace
from dipbook_app.rig_draft import OVERTAKEN
from dipbook_app.rig_rows import SECTIONS, problem_words
from dipbook_app.widgets.text_size import FONT_EVENTS

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


class RigPage(RigFace):
    """desk: adopts; drafts: keep what is typed.

    Signals: said(str): what was done. file_wanted(): a whole file is to be adopted instead.
    """

    said = Signal(str)
    file_wanted = Signal()

    def __init__(self, desk: Desk, drafts: Drafts, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(desk, drafts, unit_set, parent)
        self.adopting: AdoptDraftForm | None = None
        for button, act in ((self.add_buttons[0], lambda: self.add(self.section.can_grow[0][0])),
                            (self.add_buttons[1], lambda: self.add(self.section.can_grow[1][0])),
                            (self.remove_button, self.remove), (self.review_button, self.review),
                            (self.discard_button, self.discard), (self.file_button, self.file_wanted.emit)):
            button.clicked.connect(lambda _=False, act=act: act())
        for keys, act in (("Ctrl+Shift+D", self.discard), ("Ctrl+Return", self.review),
                          ("Ctrl+PgUp", lambda: self.step_section(-1)), ("Ctrl+PgDown", lambda: self.step_section(1))):
            shortcut = QShortcut(QKeySequence(keys), self.body)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)
        self.review_wanted.connect(self.review)
        self.table.installEventFilter(self)

    def step_section(self, step: int) -> None:
        """The next section (1) or the one before (-1)."""
        self._show_section(SECTIONS[(SECTIONS.index(self.section) + step) % len(SECTIONS)])
        self.table.setFocus()

    # --- what a person does -------------------------------------------------------------------------------------

    def edit(self) -> None:
        """Go into the form of the chosen row."""
        if self.form is not None:
            self.form.start()

    def add(self, kind: str = "") -> None:
        """One more table below the chosen row. kind: of it; "" for the chosen row's."""
        row = self.chosen()
        kinds = [k for k, _ in self.section.can_grow]
        kind = kind or (row.kind if row is not None and row.kind in kinds else kinds[0] if kinds else "")
        if not kind:
            self.words.say("These stand once each; type what is to be described.", "doubt")
            return
        try:
            sign = self.draft.add(kind, row.sign if row is not None and row.kind == kind else "")
        except RigFileError as error:
            self.words.say(str(error), "error")
            return
        self._choose(kind, sign)
        self.words.say(f"Added here: a {self.section.word(kind)}. It counts once it is adopted.", "done")
        self.edit()

    def remove(self) -> None:
        """Take the chosen table out; asks once."""
        row = self.chosen()
        if row is None:
            return
        if row.kind in SINGLE:
            self.words.say("Blank its fields to take it out.", "doubt")
            return
        if self._asked != f"{row.kind} {row.sign}":
            self._asked = f"{row.kind} {row.sign}"
            self.words.say(f"Del again takes out {row.name}.", "doubt")
            return
        try:
            self.draft.remove(row.kind, row.sign)
        except RigFileError as error:
            self.words.say(str(error), "error")
            return
        self._asked = ""
        self.words.say(f"{row.name} is taken out here. It counts once it is adopted.", "done")

    def review(self) -> None:
        """Show what differs, and ask who and why."""
        if not self.draft.proposal.changed:
            self.words.say("Nothing is typed that isn't in force.", "doubt")
            return
        self._open(AdoptDraftForm(self.desk, self.draft.proposal.text, problem_words(self.draft),
                                  OVERTAKEN if self.draft.overtaken else ""))

    def discard(self) -> None:
        """Throw away what is typed; asks once."""
        if not self.draft.proposal.changed:
            return
        if self._asked != "discard":
            self._asked = "discard"
            self.words.say("Discard again throws away all that is typed here and not adopted.", "doubt")
            return
        self.draft.discard(self._situation)
        self._show_form()
        self.words.say("Discarded. The rig stands as adopted.", "done")

    def close_form(self) -> None:
        """Back to the table; nothing was adopted."""
        if self.adopting is not None:
            self.adopting.hide()
            self.adopting.deleteLater()
        self.adopting = None
        self.panel.hide()
        self.body.show()
        self.table.setFocus()

    # --- events -------------------------------------------------------------------------------------------------

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "panel"):
            self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table's keys."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = Qt.Key(event.key())
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                (self.review if event.modifiers() & Qt.KeyboardModifier.ControlModifier else self.edit)()
                return True
            if key == Qt.Key.Key_Insert:
                grows = self.section.can_grow
                other = event.modifiers() & Qt.KeyboardModifier.ShiftModifier and len(grows) > 1
                self.add(grows[1][0] if other else grows[0][0] if grows else "")
                return True
            if key == Qt.Key.Key_Delete:
                self.remove()
                return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the table."""
        super().showEvent(event)
        if self.adopting is None:
            self.table.setFocus()

    def hideEvent(self, event: QHideEvent) -> None:
        """The page is left, or the window closed: what is typed goes to the disk now."""
        super().hideEvent(event)
        self.draft.flush()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The parts as there is room."""
        super().resizeEvent(event)
        self._fit()

    # --- inside -------------------------------------------------------------------------------------------------

    def _open(self, form: AdoptDraftForm) -> None:
        self.close_form()
        self.adopting = form
        form.saved.connect(self._adopted)
        form.closed.connect(self.close_form)
        self._panel.addWidget(form)
        self.body.hide()
        self.panel.show()
        form.show()
        form.start()

    def _adopted(self, words: str) -> None:
        self.draft.discard(current(self.desk))
        self.close_form()
        self._show_form()
        self.words.say(words, "done")
        self.said.emit(words)

