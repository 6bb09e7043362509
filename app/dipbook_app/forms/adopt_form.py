"""Adopts a rig file: what differs in words, whether it changed now or was always so, who and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook_app.choosing import RIG_FILES, Choose, choose_file, path_of
from dipbook_app.current import crew_of, current
from dipbook_app.forms.adopting_words import EFFECTIVE, missing, reach_words, refusal
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form, sentence

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


class AdoptForm(Form):
    """desk: adopts it; path: of a rig file, or "" to choose or type one."""

    def __init__(self, desk: Desk, path: str = "", parent: QWidget | None = None) -> None:
        super().__init__("Adopt a rig file", "Until you adopt it, the log keeps the rig that it has.", parent)
        self.desk = desk
        self.choose: Choose = choose_file
        self._seen = ""
        self.say_save("Adopt")
        file = self.add_field(FieldRow("file", "Rig file"))
        file.set_hint("its path, or choose it")
        file.changed.connect(self._forget)
        file.entered.disconnect()
        file.entered.connect(self._look_and_go)
        self.choose_button = QPushButton("Choose …")
        self.choose_button.setProperty("tall", True)
        self.choose_button.setAutoDefault(False)
        self.choose_button.clicked.connect(self._choose)
        self.buttons.insertWidget(0, self.choose_button)
        self.differences = QLabel()
        self.differences.setWordWrap(True)
        self.differences.setTextFormat(Qt.TextFormat.PlainText)
        self.differences.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.column.addWidget(self.differences)
        self.add_field(FieldRow("effective", "The difference", tuple(EFFECTIVE)))
        self.add_field(FieldRow("by", "Who adopts it").offer(lambda: crew_of(self.desk)))
        self.add_field(FieldRow("why", "Why"))
        self.field("by").set_text(desk.on_watch)
        self.finish()
        if path:
            file.set_text(path)
            self.look()

    def look(self) -> bool:
        """Read the file and show what differs; True if it can be adopted."""
        self.clear_words()
        self._forget()
        text = self.field("file").text()
        if not text:
            self.show_findings((refusal("file", "Choose or type a rig file."),))
            return False
        try:
            doc = document.read(path_of(text))
        except RigFileError as error:
            self.differences.setText("\n\n".join(error.problems) or str(error))
            self.show_findings((refusal("file", "This file can't be used; what is wrong stands below."),))
            return False
        words = difference_in_words(current(self.desk).rig, doc.rig)
        if not words:
            self.differences.setText("")
            self.words.say("The file says what the log has already: there is nothing to adopt.", "done")
            return False
        parts = ["What differs:", *(f"•  {w}" for w in words), "", reach_words(self.desk, doc.text)]
        if doc.findings:
            parts += ["", "Of the file itself:", *(f"•  {sentence(f.what)}" for f in doc.findings)]
        self.differences.setText("\n".join(parts))
        self._seen = doc.text
        return True

    def save(self) -> None:
        """Adopt what was looked at; a file that changed since is looked at again."""
        seen = self._seen
        effective, by, why = (self.field(name).text() for name in ("effective", "by", "why"))
        if not self.look():
            return
        if self._seen != seen:
            self.words.say("Look at the differences, then adopt.", "doubt")
            return
        if blank := missing((("effective", effective), ("by", by), ("why", why))):
            self.show_findings(blank)
            return
        found = self.desk.adopt_rig(self._seen, author=by, reason=why, effective=EFFECTIVE[effective]) or ()
        if any(f.severity == "error" for f in found):
            self.show_findings(found)
            return
        self.saved.emit(f"Adopted {path_of(self.field('file').text()).name}: it {effective}.")

    def _forget(self) -> None:
        self._seen = ""
        self.differences.setText("")

    def _look_and_go(self) -> None:
        if self.look():
            self.field("effective").focus()

    def _choose(self) -> None:
        path = self.choose(self, "A rig file", RIG_FILES, self.field("file").text())
        if path:
            self.field("file").set_text(path)
            self._look_and_go()
