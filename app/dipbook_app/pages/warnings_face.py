"""What the Warnings page is made of: the list, the story or the map beside it, a form, the keys; and their room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
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
from dipbook.situation import AsideView, HintView, Situation, WarningView
from dipbook.situation_of_warnings import WarningStory
from dipbook_app import urgency as urgencies
from dipbook_app import warning_words
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.answer_warning_form import ACKNOWLEDGE, CLOSE
from dipbook_app.forms.aside_form import BACK, OUT, SHELVE, UNSHELVE, way
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
WIDEST = 16_777_215
"""No limit of a widget's size [px]."""
FORM_EDGE = 24
"""Around a form's fields [px]."""
ASIDE = "set aside: "
"""Before a limit's name, the key of its line."""
KEY_WORDS = {SHELVE: "Shelve", UNSHELVE: "Off the shelf", OUT: "Out of service", BACK: "Back in service"}


class WarningsFace(QWidget):
    """What is chosen and shown, and how it shares the page; what the keys do is the page's. desk: for the limits that
    are set aside."""

    def __init__(self, desk: Desk, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._unit_set = unit_set
        self._situation: Situation | None = None
        self._kept: tuple[WarningView, ...] = ()
        self._story: WarningStory | None = None
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
        self.setFocusProxy(self.list)
        self._fit()

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        for part in (self.list, self.story, self.map):
            part.set_look(look)

    @property
    def chosen(self) -> WarningView | None:
        """The open warning that is chosen, None where none is, or what is chosen is set aside."""
        return next((w for w in self._kept if w.occurrence == self.list.chosen), None)

    @property
    def chosen_aside(self) -> AsideView | None:
        """The limit set aside that is chosen, or None."""
        aside = () if self._situation is None else self._situation.aside
        return next((x for x in aside if key_of(x) == self.list.chosen), None)

    @property
    def mapped(self) -> bool:
        """True while the map is shown."""
        return self.right.currentWidget() is self.map

    @property
    def hint(self) -> HintView | None:
        """The guess that is offered with the story shown, or None."""
        return self._story.hints[0] if self._story is not None and self._story.hints and not self.mapped else None

    def _units(self, situation: Situation) -> DisplayUnits:
        return DisplayUnits(situation.rig, self._unit_set)

    def _limit(self, name: str = "") -> Limit | None:
        """The limit of a name, "" for that of what is chosen, as the rig has it."""
        if not name and self.on_map:
            name = self._on_cell()
        elif not name:
            name = self.chosen.name if self.chosen is not None else self.chosen_aside.name if self.chosen_aside else ""
        limits: Sequence[Limit] = () if self._situation is None else self._situation.rig.limits
        return next((x for x in limits if x.name == name), None)

    @property
    def on_map(self) -> bool:
        """True while the keys act on the map's cell: it is shown, and the cursor isn't in the list."""
        return self.mapped and not (self.list.isVisibleTo(self) and self.list.hasFocus())

    def _on_cell(self) -> str:
        """Name of the limit of the map's chosen cell, of several that of the line chosen, else the first; "" for none.
        """
        names = [w.limit.name for w in self.map.limits]
        x = self.chosen_aside
        return x.name if x is not None and x.name in names else names[0] if names else ""

    # --- its room -----------------------------------------------------------------------------------------------

    def _arrange(self, story: bool) -> None:
        """story: the list beside the story; else the map over the whole width, and above it what is set aside where
        nothing is open."""
        self._body.setDirection(QBoxLayout.Direction.LeftToRight if story else QBoxLayout.Direction.TopToBottom)
        self.right.setCurrentWidget(self.story if story else self.map)
        self.story.beside.setVisible(story)
        here = self.list.hasFocus() or self.map.table.hasFocus()
        self.list.setVisible(bool(self.list.lines) and (story or self._list_above))
        self._left.setVisible(story or not self._kept or self._list_above)
        if here:
            (self.list if self.list.isVisibleTo(self) else self.map.table).setFocus()
        self._fit()

    @property
    def _list_above(self) -> bool:
        """True where the map stands below the list: for a limit that is set aside, so that Up leads on in the list."""
        return bool(self.list.lines) and (not self._kept or self.chosen_aside is not None)

    def _fit(self) -> None:
        story = self.right.currentWidget() is self.story
        wide = max(min(scaled(self, LIST_PX), round(self.width() * 0.45)), round(self.width() * LIST_SHARE))
        self._left.setMinimumWidth(wide if story else 0)
        self._left.setMaximumWidth(wide if story else WIDEST)
        self._left.setMaximumHeight(WIDEST if story or not self._list_above else round(self.height() * 0.4))
        self._give_beside()

    def _give_beside(self) -> None:
        """What is left below the list, once all of it has its height."""
        layout = self._left.layout()
        if layout is None or self.right.currentWidget() is not self.story:
            return
        wide = self._left.width()
        above = self.title.sizeHint().height() + self.count.heightForWidth(wide) + 3 * layout.spacing()
        self.story.give_beside(wide, self._left.height() - above - self.list.needed)

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

    # --- its keys -----------------------------------------------------------------------------------------------

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(12)
        self.answer_button, self.shelve_button, self.service_button, self.map_button = (_button("") for _ in range(4))
        self.silence_button = _button("Silence 30 s\nF9")
        self.hint_button = _button("Log the guess\nCtrl+H")
        self.more_button = _button("Read on\nPage Down")
        for button in (self.answer_button, self.silence_button, self.hint_button, self.shelve_button,
                       self.service_button, self.map_button, self.more_button):
            row.addWidget(button)
        row.addWidget(self.words, 1)
        self.story.more.connect(lambda _more: self._name_keys())
        self._name_keys()
        return row

    def _name_keys(self) -> None:
        """The keys say what they would do to what is chosen; those that can't be used aren't there."""
        w, limit = self.chosen, self._limit()
        close = w is not None and way_to_answer(w) == CLOSE
        self.answer_button.setText("Close with a note\nEnter" if close else "Acknowledge, note\nEnter")
        self.answer_button.setEnabled(w is not None and bool(way_to_answer(w)))
        self.answer_button.setVisible(bool(self._kept))
        self.silence_button.setVisible(bool(self._kept))
        self.silence_button.setEnabled(any(x.sounding for x in self._kept))
        self.hint_button.setVisible(self.hint is not None)
        for button, shelf, key in ((self.shelve_button, True, "Ctrl+K"), (self.service_button, False, "Ctrl+Shift+K")):
            how = "" if limit is None else way(self.desk, limit, shelf)
            allowed = self._allowed(limit)
            button.setText(f"{KEY_WORDS.get(how, '')}\n{key}")
            button.setVisible(how in allowed and (not shelf or how in (SHELVE, UNSHELVE)))
        self.map_button.setText("The warning\nM" if self.mapped else "What is watched\nM")
        self.map_button.setVisible(bool(self._kept))
        self.more_button.setVisible(not self.mapped and self.form is None and self.story.has_more)


    def _allowed(self, limit: Limit | None) -> tuple[str, ...]:
        """What may be done to a limit: by its open warning, by how it is set aside, else what may be done to a quiet
        one."""
        if limit is None:
            return ()
        aside = () if self._situation is None else self._situation.aside
        said = [w.actions for w in self._kept if w.name == limit.name]
        said += [x.actions for x in aside if x.name == limit.name]
        return said[0] if said else (OUT, SHELVE) if limit.shelve_ms is not None else (OUT,)


def _button(words: str) -> QPushButton:
    button = QPushButton(words)
    button.setProperty("part", "form")
    button.setAutoDefault(False)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    return button


def way_to_answer(w: WarningView) -> str:
    """What Enter does to it: acknowledge, close, or "" for nothing now."""
    return ACKNOWLEDGE if ACKNOWLEDGE in w.actions else CLOSE if CLOSE in w.actions else ""


def key_of(x: AsideView) -> str:
    """By which its line is known."""
    return f"{ASIDE}{x.name} {x.tank or x.system}"


def list_line(w: WarningView, units: DisplayUnits, now_ms: int) -> Line:
    """An open warning's line in the list."""
    head, text = warning_words.line_of(w, units, now_ms)
    return Line(w.occurrence, head, text, urgencies.of(w), waits=w.state in urgencies.UNACKNOWLEDGED)


def aside_list_line(x: AsideView, units: DisplayUnits, now_ms: int) -> Line:
    """The line of a limit that is set aside."""
    head, text = warning_words.aside_line(x, units, now_ms)
    return Line(key_of(x), head, text, urgencies.of_kind(x.kind), aside=True)
