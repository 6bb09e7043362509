"""The Warnings page: all that is open or set aside, the chosen one's story, and the map of what is watched.

It shows and asks; what it shows is worked out by the core while this page is before somebody's eyes, and only then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QWidget,
)

from dipbook.parts import Figure
from dipbook.records import WARNING
from dipbook.situation import Situation, WarningView
from dipbook.situation_of_warnings import WarningStory
from dipbook_app import urgency as urgencies
from dipbook_app import warning_words
from dipbook_app.forms.answer_warning_form import AnswerWarningForm
from dipbook_app.forms.aside_form import SHELVE, AsideForm, way
from dipbook_app.forms.form import Form
from dipbook_app.pages.warnings_face import WarningsFace, aside_list_line, list_line, way_to_answer
from dipbook_app.standing_notice import KINDS
from dipbook_app.theme import Look

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

AGAIN_MS = 5_000
"""While nothing changes about the warnings themselves, their story is worked out anew this often at most [ms]."""


class WarningsPage(WarningsFace):
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
        super().__init__(desk, look, unit_set, parent)
        self._open: tuple[WarningView, ...] | None = None
        self._current = self._followed = ""
        self._following = False
        self._told: tuple[Any, ...] = ()
        self._told_ms = 0
        self._mapped = False
        self.list.installEventFilter(self)
        self.map.table.installEventFilter(self)
        self._left.installEventFilter(self)
        self.list.currentRowChanged.connect(lambda _row: self._turned())
        self.map.table.currentCellChanged.connect(lambda *_: self._name_keys())
        for button, act in ((self.answer_button, self.answer), (self.silence_button, self.silence_wanted.emit),
                            (self.hint_button, self.take_hint), (self.map_button, self.turn),
                            (self.shelve_button, lambda: self.set_aside(True)),
                            (self.service_button, lambda: self.set_aside(False)),
                            (self.more_button, lambda: self.story.read_on(1))):
            button.clicked.connect(lambda _=False, act=act: act())

    # --- what it shows ------------------------------------------------------------------------------------------

    def show_open(self, warnings: tuple[WarningView, ...], current: str = "") -> None:
        """All that are open, those that the window itself keeps among them; with the next situation. warnings: in the
        strip's order. current: the one that the strip shows and its keys act on; when it turns to another, the list
        does."""
        self._open = warnings
        self._current = current

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
        self.list.show_lines((*(list_line(w, units, now) for w in self._kept),
                              *(aside_list_line(x, units, now) for x in situation.aside)))
        if self._current != self._followed:  # what is set aside stays chosen until the strip turns
            self.follow(self._current)
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
        self._following, self._followed = True, occurrence
        self.list.choose(occurrence)
        self._following = False

    def figures(self) -> tuple[Figure, ...]:
        """Those of the chosen warning that can be followed to their parts."""
        w = self.chosen
        if w is None or w.kind in KINDS:
            return ()
        if w.tank:
            return (Figure("tank", w.tank),)
        system = "active" if w.kind == "drift" else w.system
        return (Figure("difference", system),) if system in ("active", "all surface") else ()

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over: the keys."""
        return (self.answer_button,)

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
                self.map.show_map(self.desk.watched_map(), units, situation.now_ms, situation.aside)
            self._point()
        self._name_keys()

    def _journal_grew(self, situation: Situation) -> bool:
        """True if transitions of warnings were stored since the page was told."""
        told = self._told[-1][0] if self._told else 0
        return any(r.kind == WARNING for r in situation.records[told:])

    def _told_by_desk(self, w: WarningView) -> WarningStory | None:
        if w.kind in KINDS or not hasattr(self.desk, "warning_story"):
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
        if not self._following:
            if self.chosen is not None:
                self._current = self._followed = self.list.chosen
                self.chosen_turned.emit(self.list.chosen)
            self.words.say("")
        self._refresh()

    # --- what a person does -------------------------------------------------------------------------------------

    def answer(self) -> None:
        """Acknowledge or close the chosen warning, with a name and a note."""
        w = self.chosen
        if w is None:
            self.words.say("Choose an open warning first." if self._kept else "No warning is open.", "doubt")
        elif w.kind in KINDS:
            self.acknowledge_wanted.emit(w.occurrence)
        elif (how := way_to_answer(w)) == "":
            self.words.say("It is acknowledged, and its condition still stands: it can be closed once it is over.",
                           "doubt")
        else:
            self._open_form(AnswerWarningForm(self.desk, w.occurrence, warning_words.short_name(w), how))

    def set_aside(self, shelf: bool, name: str = "") -> None:
        """Shelve a limit or take it out of service, or take it up again. shelf: which of both. name: of the limit, ""
        for that of what is chosen."""
        limit = self._limit(name)
        if limit is None:
            self.words.say("Nobody set a limit here: there is nothing to set aside." if self.on_map else
                           "Choose a warning, or what is set aside, first.", "doubt")
            return
        how = way(self.desk, limit, shelf)
        w = next((x for x in self._kept if x.name == limit.name), None)
        if w is not None and how not in w.actions:
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

    def turn(self) -> None:
        """From the story to the map and back."""
        if self.chosen is None and self._kept:  # from what is set aside back to the warnings
            self._mapped = False
            if not self.list.choose(self._current):
                self.list.setCurrentRow(0)
        else:
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
            back = event.key() == Qt.Key.Key_Escape
            if watched is self.map.table and (back or event.key() == Qt.Key.Key_M) and self.list.lines:
                if self._kept and not (back and self.list.isVisibleTo(self)):
                    self.turn()
                self.list.setFocus()
                return True
            if watched is self.list and back and self.mapped and self._kept:
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

    def _saved(self, words: str) -> None:
        self.close_form()
        self.words.say(words, "done")
        self.said.emit(words)
