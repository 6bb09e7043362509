"""The Warnings page: all that is open or set aside, the chosen one's story, and the map of what is watched.

It shows and asks; what it shows is worked out by the core while this page is before somebody's eyes, and only then.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from dipbook.limits import Limit
from dipbook.parts import Figure
from dipbook.records import WARNING
from dipbook.situation import AsideView, HintView, Situation, WarningView
from dipbook.situation_of_warnings import WarningStory
from dipbook_app import log_trouble, warning_words
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.answer_warning_form import ACKNOWLEDGE, CLOSE, AnswerWarningForm
from dipbook_app.forms.aside_form import BACK, OUT, SHELVE, UNSHELVE, AsideForm, way
from dipbook_app.forms.form import Form
from dipbook_app.theme import Look
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.warning_list import Line, WarningList
from dipbook_app.widgets.warning_story_view import WarningStoryView
from dipbook_app.widgets.watched_grid import WatchedGrid
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

LIST_PX, LIST_SHARE = 380, 0.36
"""Least width of the list [px at the ordinary text], and its share of the page."""
AGAIN_MS = 5_000
"""While nothing changes about the warnings themselves, their story is worked out anew this often at most [ms]."""
WIDEST = 16_777_215
"""No limit of a widget's size [px]."""
FORM_EDGE = 24
"""Around a form's fields [px]."""
ASIDE = "set aside: "
"""Before a limit's name, the key of its line."""
KEY_WORDS = {SHELVE: "Shelve", UNSHELVE: "Off the shelf", OUT: "Out of service", BACK: "Back in service"}


class WarningsPage(QWidget):
    """The list at the left; beside it the story of the chosen warning, or the map (M); below it what can be done.

    In the list: Up and Down choose, Enter acknowledges or closes with a name and a note, Left and Right read the plot.
    Signals: chosen_turned(str): another warning is chosen by a person. acknowledge_wanted(str): of a warning that the
    window keeps. silence_wanted(). entry_wanted(str, object): kind and fields of the entry that a guess is.
    said(str): what was done, in words. figure_asked(Figure): what a figure rests on.
    """

    chosen_turned = Signal(str)
    acknowledge_wanted = Signal(str)
    silence_wanted = Signal()
    entry_wanted = Signal(str, object)
    said = Signal(str)
    figure_asked = Signal(object)

    def __init__(self, desk: Desk, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._unit_set = unit_set
        self._situation: Situation | None = None
        self._open: tuple[WarningView, ...] | None = None
        self._kept: tuple[WarningView, ...] = ()
        self._story: WarningStory | None = None
        self._told: tuple[Any, ...] = ()
        self._told_ms = 0
        self._mapped = False
        self.form: Form | None = None
        look = look or Look()
        self.title = QLabel("Warnings")
        self.title.setProperty("part", "title")
        self.count = QLabel()
        self.count.setProperty("part", "strong")
        self.count.setWordWrap(True)
        self.quiet = QLabel()
        self.quiet.setWordWrap(True)
        self.quiet.setProperty("part", "note")
        self.list = WarningList(look)
        self.story = WarningStoryView(look)
        self.map = WatchedGrid(look)
        self.right = QStackedWidget()
        self.right.addWidget(self.story)
        self.right.addWidget(self.map)
        self.right.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self.panel = QWidget()
        QVBoxLayout(self.panel).setContentsMargins(0, 0, 0, 0)
        self.panel.hide()
        self.words = WordsLabel()
        self._left = QWidget()
        left = QVBoxLayout(self._left)
        left.setContentsMargins(0, 0, 0, 0)
        for widget in (self.title, self.count, self.quiet):
            left.addWidget(widget)
        left.addWidget(self.list, 99)
        left.addWidget(self.story.beside)
        left.addStretch(1)
        beside = QVBoxLayout()
        beside.addWidget(self.right, 1)
        beside.addWidget(self.panel)
        self._body = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._body.setSpacing(14)
        self._body.addWidget(self._left)
        self._body.addLayout(beside, 1)
        layout = QVBoxLayout(self)
        layout.addLayout(self._body, 1)
        self.answer_row = self._actions()
        layout.addLayout(self.answer_row)
        self.list.installEventFilter(self)
        self.map.table.installEventFilter(self)
        self._left.installEventFilter(self)
        self.list.currentRowChanged.connect(lambda _row: self._turned())
        self.setFocusProxy(self.list)
        self._fit()

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        for part in (self.list, self.story, self.map):
            part.set_look(look)

    # --- what it shows ------------------------------------------------------------------------------------------

    def show_open(self, warnings: tuple[WarningView, ...]) -> None:
        """All that are open, those that the window itself keeps among them; with the next situation. warnings: in the
        strip's order."""
        self._open = warnings

    def show_situation(self, situation: Situation) -> None:
        """Show what is open and set aside now."""
        self._situation = situation
        units = self._units(situation)
        given = situation.warnings if self._open is None else self._open
        self._kept = urgencies.in_order(given)
        now = situation.now_ms
        self.count.setText(warning_words.count_words(self._kept, situation.aside))
        self.quiet.setText(warning_words.quiet_words(situation.aside))
        self.quiet.setVisible(not self._kept)
        lines = [_line(w, units, now) for w in self._kept] + [_aside_line(x, units, now) for x in situation.aside]
        self.list.show_lines(lines)
        self._refresh()

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        self._told = ()
        if self._situation is not None:
            self.show_situation(self._situation)

    def choose(self, occurrence: str) -> None:
        """Choose an open warning and show its story. occurrence: the warning's; "" keeps what is chosen."""
        self._mapped = False
        if occurrence:
            self.list.choose(occurrence)
        self._refresh()
        self.list.setFocus()

    def follow(self, occurrence: str) -> None:
        """Choose a warning that was chosen elsewhere; the cursor stays where it is. occurrence: the warning's."""
        self.list.choose(occurrence)

    @property
    def chosen(self) -> WarningView | None:
        """The open warning that is chosen, None where none is, or what is chosen is set aside."""
        return next((w for w in self._kept if w.occurrence == self.list.chosen), None)

    @property
    def chosen_aside(self) -> AsideView | None:
        """The limit set aside that is chosen, or None."""
        aside = () if self._situation is None else self._situation.aside
        return next((x for x in aside if _key_of(x) == self.list.chosen), None)

    @property
    def mapped(self) -> bool:
        """True while the map is shown."""
        return self.right.currentWidget() is self.map

    def figures(self) -> tuple[Figure, ...]:
        """Those of the chosen warning that can be followed to their parts."""
        w = self.chosen
        if w is None or w.kind == log_trouble.KIND:
            return ()
        if w.tank:
            return (Figure("tank", w.tank),)
        return (Figure("difference", w.system),) if w.system in ("active", "all surface") else ()

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over: the keys."""
        return (self.answer_button,)

    def _units(self, situation: Situation) -> DisplayUnits:
        return DisplayUnits(situation.rig, self._unit_set)

    def _refresh(self) -> None:
        """The story of the chosen one or the map, whichever is shown; only what is shown is worked out."""
        situation = self._situation
        if situation is None:
            return
        w = self.chosen
        story = w is not None and not self._mapped
        self._arrange(story)
        self._name_keys()
        if not self.isVisible():
            self._told = ()
            return
        units = self._units(situation)
        told = (self.list.chosen, story, self._unit_set, situation.aside,
                tuple((x.occurrence, x.state, x.limit, x.worst) for x in self._kept), situation.now_ms // 60_000)
        moved = (len(situation.records), situation.activity, situation.watch_on)
        if told == self._told[:-1] and not self._journal_grew(situation) and (
                moved == self._told[-1] or 0 <= situation.now_ms - self._told_ms < AGAIN_MS):
            return
        self._told, self._told_ms = (*told, moved), situation.now_ms
        if story and w is not None:
            self._story = self._told_by_desk(w)
            self.story.show_story(w, self._story, situation, units)
            self._give_beside()
        else:
            self._story = None
            if hasattr(self.desk, "watched_map"):
                self.map.show_map(self.desk.watched_map(), units, situation.now_ms)
            self._point()
        self._name_keys()

    def _journal_grew(self, situation: Situation) -> bool:
        """True if transitions of warnings were stored since the page was told."""
        told = self._told[-1][0] if self._told else 0
        return any(r.kind == WARNING for r in situation.records[told:])

    def _arrange(self, story: bool) -> None:
        """story: the list beside the story; else the map over the whole width, and above it what is set aside where
        nothing is open."""
        self._body.setDirection(QBoxLayout.Direction.LeftToRight if story else QBoxLayout.Direction.TopToBottom)
        self.right.setCurrentWidget(self.story if story else self.map)
        self.story.beside.setVisible(story)
        here = self.list.hasFocus() or self.map.table.hasFocus()
        self.list.setVisible(bool(self.list.lines) and (story or self._aside_only))
        self._left.setVisible(story or not self._kept)
        if here:
            (self.list if self.list.isVisibleTo(self) else self.map.table).setFocus()
        self._fit()

    @property
    def _aside_only(self) -> bool:
        return not self._kept and bool(self.list.lines)

    def _told_by_desk(self, w: WarningView) -> WarningStory | None:
        if w.kind == log_trouble.KIND or not hasattr(self.desk, "warning_story"):
            return None
        return self.desk.warning_story(w.occurrence)

    def _point(self) -> None:
        """The map's cursor goes to what is chosen in the list, once."""
        x, w = self.chosen_aside, self.chosen
        if x is not None:
            self.map.choose(x.kind, x.tank or x.system)
        elif w is not None:
            self.map.choose(w.kind, w.tank or w.system)

    def _turned(self) -> None:
        if self.chosen is not None:
            self.chosen_turned.emit(self.list.chosen)
        self.words.say("")
        self._refresh()

    # --- what a person does -------------------------------------------------------------------------------------

    def answer(self) -> None:
        """Acknowledge or close the chosen warning, with a name and a note."""
        w = self.chosen
        if w is None:
            self.words.say("Choose an open warning first." if self._kept else "No warning is open.", "doubt")
        elif w.kind == log_trouble.KIND:
            self.acknowledge_wanted.emit(w.occurrence)
        elif (how := _way_to_answer(w)) == "":
            self.words.say("It is acknowledged, and its condition still stands: it can be closed once it is over.",
                           "doubt")
        else:
            self._open_form(AnswerWarningForm(self.desk, w.occurrence, warning_words.short_name(w), how))

    def set_aside(self, shelf: bool, name: str = "") -> None:
        """Shelve a limit or take it out of service, or take it up again. shelf: which of both. name: of the limit, ""
        for that of what is chosen."""
        limit = self._limit(name)
        if limit is None:
            self.words.say("Choose a warning, or what is set aside, first.", "doubt")
            return
        how = way(self.desk, limit, shelf)
        w = self.chosen
        if w is not None and w.name == limit.name and how not in w.actions:
            self.words.say("This limit can't be shelved. F9 silences its sound for 30 s." if how == SHELVE else
                           "Not while its warning is open: see to it, acknowledge it and close it first.", "doubt")
            return
        self._open_form(AsideForm(self.desk, limit, how))

    def take_hint(self) -> None:
        """Open the first guess that belongs to the chosen warning as an entry, filled in."""
        hint = self.hint
        if hint is None:
            self.words.say("No guess belongs to this warning.", "doubt")
        else:
            self.entry_wanted.emit(hint.kind, dict(hint.fields))

    @property
    def hint(self) -> HintView | None:
        """The guess that is offered with the story shown, or None."""
        return self._story.hints[0] if self._story is not None and self._story.hints and not self.mapped else None

    def turn(self) -> None:
        """From the story to the map and back."""
        self._mapped = not self.mapped
        self._refresh()
        (self.list if self.list.isVisibleTo(self) else self.map.table).setFocus()

    def close_form(self) -> None:
        """Close the form; what was typed isn't kept."""
        if self.form is not None:
            self.form.hide()
            self.form.deleteLater()
        self.form = None
        self.panel.hide()
        self._fit_form()
        self.list.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The list's keys, the map's key back, and the room below the list."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if watched is self.list and self._key(event):
                return True
            if watched is self.map.table and event.key() == Qt.Key.Key_M and self._kept:
                self.turn()
                return True
        elif event.type() == QEvent.Type.Resize and watched is self._left:
            self._give_beside()
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        acts: dict[Qt.Key, Any] = {
            Qt.Key.Key_Return: self.answer, Qt.Key.Key_Enter: self.answer, Qt.Key.Key_M: self.turn,
            Qt.Key.Key_Left: lambda: self.story.plot.step(-1), Qt.Key.Key_Right: lambda: self.story.plot.step(1),
            Qt.Key.Key_PageUp: lambda: self.story.read_on(-1), Qt.Key.Key_PageDown: lambda: self.story.read_on(1)}
        act = acts.get(Qt.Key(event.key())) if plain else None
        if act is not None:
            act()
        return act is not None

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the list; what is shown is worked out now."""
        super().showEvent(event)
        self._told = ()
        if self.form is None and self.list.isVisibleTo(self):
            self.list.setFocus()
        elif self.form is None:
            self.map.table.setFocus()
        self._refresh()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "words"):
            self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The list has its share of the width."""
        super().resizeEvent(event)
        self._fit()
        if self.form is not None:
            self._fit_form()

    def _fit(self) -> None:
        story = self.right.currentWidget() is self.story
        wide = max(min(scaled(self, LIST_PX), round(self.width() * 0.45)), round(self.width() * LIST_SHARE))
        self._left.setMinimumWidth(wide if story else 0)
        self._left.setMaximumWidth(wide if story else WIDEST)
        self._left.setMaximumHeight(WIDEST if story or not self._aside_only else round(self.height() * 0.4))
        self._give_beside()

    def _give_beside(self) -> None:
        """What is left below the list, once all of it has its height."""
        layout = self._left.layout()
        if layout is None or self.right.currentWidget() is not self.story:
            return
        wide = self._left.width()
        above = self.title.sizeHint().height() + self.count.heightForWidth(wide) + 3 * layout.spacing()
        self.story.give_beside(wide, self._left.height() - above - self.list.needed)

    def _limit(self, name: str = "") -> Limit | None:
        """The limit of a name, "" for that of what is chosen, as the rig has it."""
        if not name:
            name = self.chosen.name if self.chosen is not None else self.chosen_aside.name if self.chosen_aside else ""
        limits: Sequence[Limit] = () if self._situation is None else self._situation.rig.limits
        return next((x for x in limits if x.name == name), None)

    def _open_form(self, form: Form) -> None:
        self.close_form()
        self.words.say("")
        self.form = form
        form.saved.connect(self._saved)
        form.closed.connect(self.close_form)
        layout = self.panel.layout()
        if layout is not None:
            layout.addWidget(form)
        self.panel.show()
        form.show()
        self._fit_form()
        form.start()

    def _fit_form(self) -> None:
        """The form whole, before all else beside the list."""
        form = self.form
        room = self.answer_row.geometry().top() - self.right.y() - 2 * FORM_EDGE
        needed = 0
        if form is not None and (body := form.area.widget()) is not None:
            needed = form.sizeHint().height() - form.area.sizeHint().height() + body.sizeHint().height() + FORM_EDGE
        self.panel.setMinimumHeight(min(needed, max(0, room)))
        self.story.make_room(needed, room)
        self.right.setVisible(not self.story.squeezed or self.mapped)
        self._name_keys()

    def _saved(self, words: str) -> None:
        self.close_form()
        self.words.say(words, "done")
        self.said.emit(words)

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(12)
        self.answer_button = _button("", self.answer)
        self.silence_button = _button("Silence 30 s\nF9", self.silence_wanted.emit)
        self.hint_button = _button("Log the guess\nCtrl+H", self.take_hint)
        self.shelve_button = _button("", lambda: self.set_aside(True))
        self.service_button = _button("", lambda: self.set_aside(False))
        self.map_button = _button("", self.turn)
        self.more_button = _button("Read on\nPage Down", lambda: self.story.read_on(1))
        self.story.more.connect(lambda _more: self._name_keys())
        for button in (self.answer_button, self.silence_button, self.hint_button, self.shelve_button,
                       self.service_button, self.map_button, self.more_button):
            row.addWidget(button)
        row.addWidget(self.words, 1)
        self._name_keys()
        return row

    def _name_keys(self) -> None:
        """The keys say what they would do to what is chosen; those that can't be used aren't there."""
        w, limit = self.chosen, self._limit()
        close = w is not None and _way_to_answer(w) == CLOSE
        self.answer_button.setText("Close with a note\nEnter" if close else "Acknowledge, note\nEnter")
        self.answer_button.setEnabled(w is not None and bool(_way_to_answer(w)))
        self.answer_button.setVisible(bool(self._kept))
        self.silence_button.setVisible(bool(self._kept))
        self.silence_button.setEnabled(any(x.sounding for x in self._kept))
        self.hint_button.setVisible(self.hint is not None)
        for button, shelf, key in ((self.shelve_button, True, "Ctrl+K"), (self.service_button, False, "Ctrl+Shift+K")):
            how = "" if limit is None else way(self.desk, limit, shelf)
            allowed = self.chosen_aside.actions if self.chosen_aside is not None else () if w is None else w.actions
            button.setText(f"{KEY_WORDS.get(how, '')}\n{key}")
            button.setVisible(how in allowed and (not shelf or how in (SHELVE, UNSHELVE)))
        self.map_button.setText("The warning\nM" if self.mapped else "What is watched\nM")
        self.map_button.setVisible(w is not None)
        self.more_button.setVisible(not self.mapped and self.form is None and self.story.has_more)


def _button(words: str, act: Any) -> QPushButton:
    button = QPushButton(words)
    button.setProperty("part", "form")
    button.setAutoDefault(False)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.clicked.connect(lambda _=False: act())
    return button


def _way_to_answer(w: WarningView) -> str:
    """What Enter does to it: acknowledge, close, or "" for nothing now."""
    return ACKNOWLEDGE if ACKNOWLEDGE in w.actions else CLOSE if CLOSE in w.actions else ""


def _line(w: WarningView, units: DisplayUnits, now_ms: int) -> Line:
    head, text = warning_words.line_of(w, units, now_ms)
    return Line(w.occurrence, head, text, urgencies.of(w), waits=w.state in urgencies.UNACKNOWLEDGED)


def _key_of(x: AsideView) -> str:
    return f"{ASIDE}{x.name} {x.tank or x.system}"


def _aside_line(x: AsideView, units: DisplayUnits, now_ms: int) -> Line:
    head, text = warning_words.aside_line(x, units, now_ms)
    return Line(_key_of(x), head, text, urgencies.of_kind(x.kind), aside=True)
