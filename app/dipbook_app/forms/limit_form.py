"""Forms that set, change and withdraw a limit. A new one starts empty: no limit has a value that nobody set."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from dipbook.composing.drift_view import expected, holds_at
from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.limits import ACTIVITIES, KINDS, NOT_SHELVABLE, SUSPECT, TRIP_KINDS, Limit, kind_of, kind_words
from dipbook.rig.writing import same_limit
from dipbook.trips import LAST_N
from dipbook.weighing import WEIGHED, Weighed
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form, sentence
from dipbook_app.forms.limit_texts import (
    ANY,
    SHEET,
    SYSTEMS,
    carried,
    on_words,
    read_limit,
    texts_of_limit,
    value_words,
)
from dipbook_app.weigher import Weigher
from dipbook_app.weighing_words import (
    NOT_WEIGHED_ABOVE,
    SHORT_WAITS,
    WAITS,
    WEIGHED_ABOVE,
    rates_of,
    weighed_words,
)

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

NO_DEADBAND = ("overdue", SUSPECT)
NOTES = {
    "drift": "A rise above its low, or a fall below its high, of the difference of the active system, whatever it "
             "stands at. Where only a part of the value holds, it is over at the latest half that part back.",
    SUSPECT: "Any gauge of the system, or the tank's, in doubt for longer than it is to wait. One more sounds again.",
    TRIP_KINDS[0]: f"Over the last {LAST_N} stands of the {SHEET}, on every row, whatever the rig is doing.",
    TRIP_KINDS[1]: f"Over the whole {SHEET}, on every row, whatever the rig is doing."}
"""Said of a kind that its word alone doesn't explain."""
FOLLOWS = "With a number, the limit follows the noise that is measured, and the value is the most it may be."
LABELS = {"name": "Name", "kind": "Kind", "on": "On", "activity": "During", "value": "Value",
          "noise": "Times the noise", "deadband": "Over when back by", "growth": "Sounds again after",
          "after": "Warns after", "shelve": "May be shelved for",
          "by": "Who sets it", "why": "Why"}
"""Field name -> word on the form, in the form's order."""


class LimitForm(Form):
    """Sets a new limit, or changes one. desk: takes the table of limits; limit: the one to change, or None."""

    def __init__(self, desk: Desk, limit: Limit | None = None, parent: QWidget | None = None) -> None:
        super().__init__(f"Change the limit “{limit.name}”" if limit else "Set a limit",
                         "Every value is yours: nothing is filled in for a new limit.", parent)
        self.desk = desk
        self.limit = limit
        self._expected = ""
        self.weighed = QLabel()
        rig = current(desk).rig
        tanks = tuple(tank.name for tank in rig.tanks)
        lists = {"kind": tuple(kind_words(kind) for kind in KINDS), "on": (*SYSTEMS, *tanks),
                 "activity": (ANY, *ACTIVITIES)}
        for name, label in LABELS.items():
            self.add_field(FieldRow(name, label, lists.get(name, ())))
        self.field("growth").set_hint("blank: it does not sound again")
        self.field("after").set_hint("blank: the first reading")
        self.field("shelve").set_hint("blank: it can't be shelved")
        self.field("value").set_hint("with its unit")
        self.field("noise").set_hint("blank: the value is the limit")
        self.field("noise").set_note(FOLLOWS)
        if limit is not None:
            for name, text in texts_of_limit(limit, rig).items():
                self.field(name).set_text(text)
        self.field("by").offer(lambda: crew_of(desk)).set_text(desk.on_watch)
        self.weighed.setWordWrap(True)
        self.weighed.setTextFormat(Qt.TextFormat.PlainText)
        self.weighed.setObjectName("weighed")
        self.weighed.hide()
        self.weigher = Weigher(self)
        self.weigher.done.connect(self._show_weighed)
        self.weigher.failed.connect(self._say_failed)
        self.weigh_button = self.add_button("Weigh it on\nquiet hours  F3", self.weigh)
        self.weighed.installEventFilter(self)
        self.column.addWidget(self.weighed)
        self.finish()
        for row in self.fields:
            row.changed.connect(self._forget_weighed)
        self.field("kind").changed.connect(self._fit)
        self._fit()

    def start(self) -> None:
        """Put the cursor into the first field: what is filled in further down would hide the field that is meant."""
        self.fields[0].focus()

    def weigh(self) -> None:
        """Weigh the values as typed on the log's quiet hours; no field changes, and nothing is saved."""
        self.clear_words()
        self._forget_weighed()
        situation = current(self.desk)
        units = DisplayUnits(situation.rig)
        # Who sets it, why and its name weigh nothing: they may still be missing.
        limit, found = read_limit({"name": "weighed", "by": "nobody yet", "why": "weighed", **self.texts()},
                                  situation.rig, since="")
        if limit is None:
            self.show_findings(found, refused="Not weighed.")
        elif limit.kind not in WEIGHED:
            words = f"A limit on {kind_words(limit.kind)} has nothing to be weighed on."
            self._say_weighed(words)
            self.words.say(f"Not weighed. {words}", "doubt")
        else:
            view = situation.drift if limit.kind == "drift" else None
            self._expected = "" if view is None else expected(view, holds_at(limit, view))
            self._say_weighed(WAITS)
            self.words.say(SHORT_WAITS)
            self.weigher.start(self.desk.weighing(limit, rates_of(units)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """F3 weighs; the rest as in every form."""
        if event.key() == Qt.Key.Key_F3 and not event.modifiers():
            self.weigh()
        else:
            super().keyPressEvent(event)

    def _show_weighed(self, made: Weighed) -> None:
        words = weighed_words(made, DisplayUnits(current(self.desk).rig))
        self._say_weighed(" ".join(text for text in (words, sentence(self._expected) if self._expected else "")
                                   if text))
        if made.cost is None:
            self.words.say(NOT_WEIGHED_ABOVE, "doubt")
        else:
            self.words.say(WEIGHED_ABOVE, "done")

    def _say_failed(self, words: str) -> None:
        self._say_weighed(words)
        self.words.say(NOT_WEIGHED_ABOVE, "error")

    def _say_weighed(self, words: str) -> None:
        self.weighed.setText(words)
        self.weighed.setVisible(bool(words))
        if words:  # also where it takes the room that the last words had
            QTimer.singleShot(0, self.weighed, self._bring_weighed)

    def _bring_here(self) -> None:
        """What was weighed stays in sight rather than the field that one is in, until something is typed."""
        if self.weighed.isHidden():
            super()._bring_here()
        else:
            self._bring_weighed()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The answer comes in sight once it has its room."""
        if watched is not self.weighed:
            return super().eventFilter(watched, event)
        if event.type() == QEvent.Type.Resize:
            QTimer.singleShot(0, self.weighed, self._bring_weighed)
        return False

    def _bring_weighed(self) -> None:
        """The answer in sight, from its first line on."""
        if self.weighed.isHidden():
            return
        self.column.activate()
        self.area.ensureWidgetVisible(self.weighed, 0, 0)
        if self.weighed.height() > self.area.viewport().height():
            self.area.verticalScrollBar().setValue(self.weighed.y())

    def _forget_weighed(self) -> None:
        """What was weighed were other values."""
        self.weigher.cancel()
        if not self.weighed.isHidden():
            self.words.say("")
        self._say_weighed("")

    def save(self) -> None:
        """Hand the whole table with this limit in it to the desk."""
        self.clear_words()
        situation = current(self.desk)
        now = DisplayUnits(situation.rig).local(self.desk.now_ms())
        limit, found = read_limit(self.texts(), situation.rig, since=f"{now:%Y-%m-%d %H:%M}")
        if limit is None:
            self.show_findings(found)
            return
        if self.limit is not None:
            limit = carried(self.limit, limit, self.texts(), situation.rig)
        if self.limit is not None and _says_the_same(self.limit, limit):
            self.show_findings((_error("", "Nothing changed."),))
            return
        others = situation.rig.limits
        replaced = self.limit.name if self.limit else None
        if any(other.name == limit.name and other.name != replaced for other in others):
            self.show_findings((_error("name", f"There is a limit called {limit.name}. Choose another name."),))
            return
        if replaced is None:
            limits = (*others, limit)
        else:
            limits = tuple(limit if other.name == replaced else other for other in others)
        words = f"Limit “{limit.name}” {'changed' if replaced else 'set'}: {kind_words(limit.kind)}, "\
                f"{value_words(limit, situation.rig)}."
        _hand_over(self, limit.name, limits, limit.set_by, limit.reason, words)

    def _fit(self) -> None:
        """An overdue limit has no deadband and no growth, one on gauges no value either; one on trips is on nothing
        else, at any activity."""
        kind = kind_of(self.field("kind").text())
        self.field("kind").set_note(NOTES.get(kind, ""))
        for names, left_out in ((("deadband", "growth"), kind in NO_DEADBAND), (("shelve",), kind in NOT_SHELVABLE),
                                (("on", "activity"), kind in TRIP_KINDS), (("noise",), kind != "drift"),
                                (("value",), kind == SUSPECT)):
            for name in names:
                self.field(name).setVisible(not left_out)
                if left_out:
                    self.field(name).set_text("")


class WithdrawForm(Form):
    """Takes a limit out of force. desk: takes the table of limits; limit: the one to withdraw."""

    def __init__(self, desk: Desk, limit: Limit, parent: QWidget | None = None) -> None:
        super().__init__(f"Withdraw the limit “{limit.name}”",
                         f"After that nothing warns of {kind_words(limit.kind)} on {on_words(limit)} by this limit. "
                         "A warning that stands on it stays until it is closed.", parent)
        self.desk = desk
        self.limit = limit
        self.say_save("Withdraw")
        self.add_field(FieldRow("by", "Who").offer(lambda: crew_of(self.desk)))
        self.add_field(FieldRow("why", "Why"))
        self.field("by").set_text(desk.on_watch)
        self.finish()

    def save(self) -> None:
        """Hand the table without this limit to the desk."""
        self.clear_words()
        by, why = self.field("by").text(), self.field("why").text()
        missing = [_error(name, words) for name, text, words in (
            ("by", by, "Who withdraws it? A name is needed."), ("why", why, "Why? A reason is needed.")) if not text]
        if missing:
            self.show_findings(missing)
            return
        limits = tuple(other for other in current(self.desk).rig.limits if other.name != self.limit.name)
        _hand_over(self, self.limit.name, limits, by, why, f"Limit “{self.limit.name}” withdrawn.")


def _hand_over(form: LimitForm | WithdrawForm, name: str, limits: tuple[Limit, ...], author: str, reason: str,
               words: str) -> None:
    """Put a table of limits in force. name: of the limit that is set or withdrawn; words: said once it is."""
    try:
        found = form.desk.set_limits(limits, author=author, reason=reason) or ()
    except DipbookError as error:
        form.show_findings((_error("", str(error)),))
        return
    if any(finding.severity == "error" for finding in found):
        form.show_findings(found)
        return
    form.saved.emit(" ".join([words, *(sentence(f.what) for f in found if f.what.startswith(f"Limit {name}"))]))


def _says_the_same(a: Limit, b: Limit) -> bool:
    """True if two limits differ in nothing but who set them, why and since when."""
    return a.name == b.name and same_limit(a, replace(b, set_by=a.set_by, reason=a.reason, since=a.since))


def _error(column: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=column, kept=False)
