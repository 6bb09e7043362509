"""The Limits page: who set what limit, why and since when; and, in words, what nothing watches."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QResizeEvent, QShortcut, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from dipbook.limits import NOT_SHELVABLE, Limit, kind_words
from dipbook.situation import Situation
from dipbook_app.aside_words import list_words
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.adopt_form import AdoptForm
from dipbook_app.forms.approve_form import ApproveForm
from dipbook_app.forms.aside_form import BACK, OUT, SHELVE, UNSHELVE, AsideForm, way
from dipbook_app.forms.form import Form, sentence
from dipbook_app.forms.limit_form import LimitForm, WithdrawForm
from dipbook_app.forms.several_form import SeveralForm
from dipbook_app.limit_standing import marks, waiting_words
from dipbook_app.limit_words import SHOWN, approved_lines, drift_words, head_words
from dipbook_app.widgets.key_rows import KeyRows
from dipbook_app.widgets.limit_history import LimitHistory
from dipbook_app.widgets.limit_table import LimitTable
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

MARGINS = 44
WHILE_OPEN = "History, Approve and Adopt a rig file: once the form is left (Esc)."
"""Said while a form is open."""
BUTTON_WIDTH = 92
KEY_WORDS = {SHELVE: "Shelve", UNSHELVE: "Off the shelf", OUT: "Out of service", BACK: "Back in service"}
"""What the keys that set a limit aside say, by what they would do."""
PANEL_WIDTH = 420
WHOLE_WIDTH = 1200


class LimitsPage(QWidget):
    """The table of limits, with forms beside it that never block the page.

    desk: takes the table of limits. In the table: Insert sets a new one, Enter changes, Ctrl+Enter changes several,
    Delete withdraws. F4 shows what the limits were, Shift+F4 approves them, Ctrl+R adopts a rig file.
    Signals: said(str): what was done, in words.
    """

    said = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.limits: tuple[Limit, ...] = ()
        self._waiting: dict[str, str] = {}
        self._marks: dict[str, str] = {}
        self._to_choose: tuple[str, ...] = ()
        self._just_saved = False
        self.form: Form | LimitHistory | None = None
        title = QLabel("Limits")
        title.setProperty("part", "title")
        self.unwatched = QLabel()
        self.unwatched.setWordWrap(True)
        self.unwatched.setProperty("part", "strong")
        self.aside = QLabel()
        self.aside.setWordWrap(True)
        self.aside.setTextFormat(Qt.TextFormat.PlainText)
        self.aside.hide()
        self.approved = QLabel()
        self.approved.setWordWrap(True)
        self.approved.setTextFormat(Qt.TextFormat.PlainText)
        self.table = LimitTable()
        self.table.installEventFilter(self)
        self.table.itemSelectionChanged.connect(self._chosen_anew)
        self.words = WordsLabel()
        self.detail = QLabel()
        self.detail.setWordWrap(True)
        self.detail.setTextFormat(Qt.TextFormat.PlainText)
        self.detail.setProperty("part", "soft")
        self.body = QWidget()
        left = QVBoxLayout(self.body)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(title)
        left.addWidget(self.unwatched)
        left.addWidget(self.aside)
        left.addWidget(self.approved)
        left.addWidget(self.table, 1)
        left.addWidget(self.detail)
        left.addWidget(self.words)
        left.addWidget(self._actions())
        self.panel = QWidget()
        QVBoxLayout(self.panel).setContentsMargins(0, 0, 0, 0)
        self.panel.hide()
        layout = QHBoxLayout(self)
        layout.addWidget(self.body, 1)
        layout.addWidget(self.panel)
        self._fit_panel()
        self.setFocusProxy(self.table)

    def show_situation(self, situation: Situation) -> None:
        """Show the limits in force and what they leave out."""
        rig = situation.rig
        words = head_words(situation)
        self.unwatched.setText(words)
        self.unwatched.setVisible(bool(words))
        self.aside.setText(list_words(situation.aside, DisplayUnits(rig), situation.now_ms))
        self.aside.setVisible(bool(situation.aside) and self.form is None)  # beside a form the table's marks say it
        self._show_approved(situation)
        if isinstance(self.form, LimitHistory):
            self.form.show_record(situation.limits_record)
        self._name_keys()
        just_saved = self._just_saved
        waiting, marked = waiting_words(situation), marks(situation)
        if (rig.limits, waiting, marked) != (self.limits, self._waiting, self._marks) \
                or self.table.rowCount() != len(rig.limits):
            row, first = self.table.currentRow(), not self.table.rowCount()
            self.limits, self._waiting, self._marks = rig.limits, waiting, marked
            self.table.show_limits(rig, marked, {x.name for x in situation.aside})
            self._show_columns()
            if rig.limits and (first or row >= 0):
                self.table.setCurrentCell(min(max(row, 0), len(rig.limits) - 1), 0)
            self._enable()
        self._choose()
        self._just_saved = just_saved

    def add(self) -> None:
        """Open the form of a new limit."""
        self._open(LimitForm(self.desk))

    def change(self) -> None:
        """Open the form of the chosen limit, or of those that are chosen."""
        limit = self.chosen()
        if len(self.several()) > 1:
            self.change_several()
        elif limit is None:
            self.words.say("Choose a limit first.", "doubt")
        elif not limit.watched:
            self.words.say("This version doesn't watch that kind. Change it in the rig file.", "doubt")
        else:
            self._open(LimitForm(self.desk, limit))

    def change_several(self) -> None:
        """Open the form of the limits that are chosen; where only one is, of all of its kind."""
        limit, names = self.chosen(), [x.name for x in self.several()]
        now = current(self.desk).rig.limits
        limits = tuple(x for x in now if x.name in names)
        if len(limits) < 2 and limit is not None:
            limits = tuple(x for x in now if x.kind == limit.kind)
        unread = [x.name for x in limits if not x.watched]
        if len(limits) < 2:
            self.words.say("Choose several limits first: Shift with the arrows, or Ctrl and a click.", "doubt")
        elif unread:
            self.words.say(f"This version doesn't watch {', '.join(unread)}. Change it in the rig file.", "doubt")
        else:
            self._open(SeveralForm(self.desk, limits))

    def show_history(self) -> None:
        """Show what the chosen limit was, or all of them were: who, when, why, and the value before and after."""
        limit = self.chosen()
        shown = LimitHistory(DisplayUnits(current(self.desk).rig), limit.name if limit is not None else "")
        shown.show_record(current(self.desk).limits_record)
        self._open(shown, whole=True)

    def approve(self) -> None:
        """Open the form by which a person approves the limits in force."""
        if self.limits:
            self._open(ApproveForm(self.desk))
        else:
            self.words.say("No limit is set: there is nothing to approve.", "doubt")

    def withdraw(self) -> None:
        """Ask who withdraws the chosen limit, and why."""
        limit = self.chosen()
        if len(self.several()) > 1:
            self.words.say("Choose one limit: several can be changed at once, not withdrawn.", "doubt")
        elif limit is None:
            self.words.say("Choose a limit first.", "doubt")
        else:
            self._open(WithdrawForm(self.desk, limit))

    def set_aside(self, shelf: bool, name: str = "") -> None:
        """Shelve a limit or take it out of service, or take it up again. shelf: which; name: of it, "" the chosen."""
        limit = next((x for x in current(self.desk).rig.limits if x.name == name), None) if name else self.chosen()
        if limit is None:
            self.words.say("Choose a limit first.", "doubt")
        elif (how := way(self.desk, limit, shelf)) == SHELVE and limit.kind in NOT_SHELVABLE:
            self.words.say(f"{limit.name} can't be shelved: a warning of {kind_words(limit.kind)} never is. F9 "
                           "silences its sound for 30 s.", "doubt")
        elif how == SHELVE and limit.shelve_ms is None:
            self.words.say(f"Nobody has set for how long {limit.name} may be shelved. Change the limit (Enter) to set "
                           "it.", "doubt")
        else:
            self._open(AsideForm(self.desk, limit, how))

    def adopt(self, path: str = "") -> None:
        """Open the form that adopts a rig file. path: of the file, "" to choose one there."""
        self._open(AdoptForm(self.desk, path), whole=True)

    def chosen(self) -> Limit | None:
        """The limit of the chosen row, or None."""
        row = self.table.currentRow()
        return self.limits[row] if 0 <= row < len(self.limits) else None

    def several(self) -> tuple[Limit, ...]:
        """The limits of all rows that are chosen."""
        rows = sorted(index.row() for index in self.table.selectionModel().selectedRows())
        return tuple(self.limits[row] for row in rows if row < len(self.limits))

    def close_form(self) -> None:
        """Close the form; nothing was changed."""
        if self.form is not None:
            self.form.hide()
            self.form.deleteLater()
        self.form = None
        if self.words.said == WHILE_OPEN:
            self.words.say("")
        self.panel.hide()
        self.body.show()
        self._show_columns()
        self._show_approved(current(self.desk))
        self.aside.setVisible(bool(current(self.desk).aside))
        self.table.setFocus()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "panel"):
            self._fit_panel(whole=self.body.isHidden())
            self._show_columns()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table's keys."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            change = self.change_several if event.modifiers() & Qt.KeyboardModifier.ControlModifier else self.change
            act = {Qt.Key.Key_Insert: self.add, Qt.Key.Key_Return: change, Qt.Key.Key_Enter: change,
                   Qt.Key.Key_Delete: self.withdraw}.get(Qt.Key(event.key()))
            once_too_many = self._just_saved and act is change
            self._just_saved = False
            if once_too_many:
                self.words.say(f"{self.words.said} Enter again changes what is chosen.", "done")
                return True
            if act is not None:
                act()
                return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the table."""
        super().showEvent(event)
        if self.form is None:
            if self.table.currentRow() < 0 and self.limits:
                self.table.setCurrentCell(0, 0)
            self.table.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns as there is room."""
        super().resizeEvent(event)
        self._show_columns()

    def _show_approved(self, situation: Situation) -> None:
        """Who approved the limits, and what isn't so; beside a form the first line of it."""
        lines = approved_lines(situation, DisplayUnits(situation.rig), SHOWN)
        self.approved.setText("\n".join(lines[:None if self.form is None else 1]))
        self.approved.setVisible(bool(lines))
        part = "strong" if situation.limits_record.differing else ""
        if part != (self.approved.property("part") or ""):
            self.approved.setProperty("part", part)
            restyle(self.approved)

    def _fit_panel(self, *, whole: bool = False) -> None:
        """whole: the form takes the page, else it stands beside the table."""
        self.body.setVisible(not whole)
        self.panel.setMinimumWidth(0 if whole else scaled(self, PANEL_WIDTH))
        self.panel.setMaximumWidth(scaled(self, WHOLE_WIDTH if whole else PANEL_WIDTH))

    def _open(self, form: Form | LimitHistory, *, whole: bool = False) -> None:
        self._fit_panel(whole=whole)
        self.words.say(WHILE_OPEN)
        if self.form is not None:
            self.form.hide()
            self.form.deleteLater()
        self.form = form
        if isinstance(form, Form):
            form.saved.connect(self._saved)
        form.closed.connect(self.close_form)
        layout = self.panel.layout()
        if layout is not None:
            layout.addWidget(form)
        self.panel.show()
        self._show_columns()
        self._show_approved(current(self.desk))
        self.aside.hide()
        form.show()
        form.start()

    def _saved(self, words: str) -> None:
        """What was saved is chosen and in sight, as soon as the table has it; one Enter too many changes nothing."""
        form = self.form
        names = (form.field("name").text(),) if isinstance(form, LimitForm) else (
            form.changed if isinstance(form, SeveralForm) else ())
        waiting = waiting_words(current(self.desk))
        words = " ".join((words, *(waiting[name] for name in names if name in waiting)))
        self.close_form()
        self._to_choose = names
        self._choose()
        self._just_saved = True
        self._enable()
        self.words.say(words, "done")
        self.said.emit(words)

    def _choose(self) -> None:
        """Choose what was saved, if the table has all of it by now."""
        rows = {x.name: row for row, x in enumerate(self.limits)}
        if self._to_choose and all(name in rows for name in self._to_choose):
            self.table.choose(rows[name] for name in self._to_choose)
            self._to_choose = ()

    def _actions(self) -> KeyRows:
        """The keys: what is done about the chosen limits, then about all of them."""
        keys = KeyRows()
        self.add_button = QPushButton("Set a limit\nIns")
        self.change_button = QPushButton("Change\nEnter")
        self.several_button = QPushButton("Several\nCtrl+Enter")
        self.withdraw_button = QPushButton("Withdraw\nDel")
        self.shelve_button = QPushButton()
        self.service_button = QPushButton()
        self.history_button = QPushButton("History\nF4")
        self.approve_button = QPushButton("Approve\nShift+F4")
        self.adopt_button = QPushButton("Adopt a rig file\nCtrl+R")
        for button, act, key in ((self.add_button, self.add, ""), (self.change_button, self.change, ""),
                                 (self.several_button, self.change_several, ""),
                                 (self.withdraw_button, self.withdraw, ""),
                                 (self.shelve_button, lambda: self.set_aside(True), ""),
                                 (self.service_button, lambda: self.set_aside(False), ""),
                                 (self.history_button, self.show_history, "F4"),
                                 (self.approve_button, self.approve, "Shift+F4"),
                                 (self.adopt_button, self.adopt, "Ctrl+R")):
            button.setProperty("part", "big")
            button.setMinimumWidth(BUTTON_WIDTH)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, act=act: act())
            button.setShortcut(key)
            keys.add(button)
        self._of_all = (self.history_button, self.approve_button, self.adopt_button)
        self._refused = []
        for key in ("F4", "Shift+F4", "Ctrl+R"):
            refused = QShortcut(QKeySequence(key), self)
            refused.activated.connect(lambda key=key: self._say_leave_first(key))
            self._refused.append(refused)
        return keys

    def _show_columns(self) -> None:
        """Why, who and since when in the table as there is room; the chosen limit's always below it."""
        self.table.show_columns(self.width() - MARGINS, beside_a_form=self.form is not None)
        for button in self._of_all:  # beside a form they would take a row of the table's: the words say where they are
            button.setVisible(self.form is None)
        for refused in self._refused:
            refused.setEnabled(self.form is not None)

    def _say_leave_first(self, key: str) -> None:
        """A key that would take the place of the form: what is typed in it isn't lost by that."""
        if isinstance(self.form, Form):
            self.form.words.say(f"{key} is for when this form is left (Esc).", "doubt")

    def _chosen_anew(self) -> None:
        self._just_saved = False
        self._enable()

    def _enable(self) -> None:
        limit = self.chosen()
        said = list(self._waiting.values())
        if limit is not None:
            said.append(f"{limit.name}: set by {limit.set_by}, {limit.since}. {sentence(limit.reason)}")
            said += drift_words(limit, current(self.desk))
        self.detail.setText("\n".join(said))
        chosen = limit is not None
        self.change_button.setEnabled(chosen)
        self.withdraw_button.setEnabled(chosen)
        self._name_keys()

    def _name_keys(self) -> None:
        """The keys that set a limit aside say what they would do to the chosen one."""
        limit = self.chosen()
        for button, shelf, keys in ((self.shelve_button, True, "Ctrl+K"), (self.service_button, False, "Ctrl+Shift+K")):
            how = way(self.desk, limit, shelf) if limit is not None else SHELVE if shelf else OUT
            button.setText(f"{KEY_WORDS[how]}\n{keys}")
            button.setEnabled(limit is not None)
        self.shelve_button.setVisible(limit is not None and limit.shelve_ms is not None)
