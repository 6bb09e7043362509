"""Following a figure to its parts: the one way from a number on any page to the entries and readings behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QObject, QPoint
from PySide6.QtWidgets import QApplication, QStackedWidget, QWidget
from shiboken6 import isValid

from dipbook.parts import Figure, Part, Parts
from dipbook.situation import Situation
from dipbook_app.display import DisplayUnits
from dipbook_app.page_names import LOG
from dipbook_app.widgets.parts_panel import PartsPanel
from dipbook_app.widgets.text_size import scaled

if TYPE_CHECKING:
    from dipbook_app.window import Window

WIDTH, MOST = 560, 0.56
"""Width of the panel [px], and the share of the page that it takes at most."""
NO_FIGURE = "Nothing here can be followed to its parts."
NOT_KNOWN = "What this figure rests on isn't known: the log has nothing of it yet."


class Following(QObject):
    """Owns the panel. A page says which figure was asked for by its signal ``figure_asked(Figure)``, which figures it
    has by ``figures()``, where one is shown by ``shown_in(Figure)``, and what of it the panel keeps clear of by
    ``kept_clear()``; all are optional."""

    def __init__(self, window: Window, stack: QStackedWidget) -> None:
        super().__init__(window)
        self._window, self._stack = window, stack
        self._desk: Any = None
        self._units: DisplayUnits | None = None
        self._newest: Situation | None = None
        self._told: tuple[object, ...] = ()
        self._way: list[Figure] = []
        self._before: QWidget | None = None
        self._at_left = False
        self.panel = PartsPanel(stack.parentWidget())
        self.panel.taken.connect(self._take)
        self.panel.back_wanted.connect(self._back)
        self.panel.entries_wanted.connect(self._show_entries)
        self.panel.left.connect(self.close)
        stack.currentChanged.connect(lambda _=0: self.close(here=False))
        stack.installEventFilter(self)

    def take(self, desk: Any) -> None:
        """Ask this desk from now on, None for none."""
        self.close(here=False)
        self._desk, self._newest = desk, None

    def show_situation(self, situation: Situation, units: DisplayUnits) -> None:
        """Bring what is shown up to date. situation: now. units: the crew's."""
        self._newest, self._units = situation, units
        if self.is_open and (len(situation.records), situation.now_ms // 60_000, units) != self._told:
            self._show()

    @property
    def is_open(self) -> bool:
        """True while the panel is before one's eyes."""
        return not self.panel.isHidden()

    def ask(self, figure: Figure) -> None:
        """Show what a figure rests on, beside where it was asked for."""
        self._begin(figure)

    def ask_here(self) -> None:
        """The figure where the cursor is, or the page's first; again, its next."""
        figures = self._figures()
        if self.is_open and self._way and self._way[0] in figures:
            place = (figures.index(self._way[0]) + 1) % len(figures)
            for figure in (*figures[place:], *figures[:place]):
                if self._parts(figure) is not None:
                    self._begin(figure)
                    return
        here = QApplication.focusWidget()
        chosen = here.figure_here() if here is not None and hasattr(here, "figure_here") else None
        for wanted in (chosen, *figures):
            if wanted is not None and self._parts(wanted) is not None:
                self._begin(wanted)
                return
        self._window.say(NOT_KNOWN if figures else getattr(self._page, "no_figure", NO_FIGURE))

    def close(self, *, here: bool = True) -> None:
        """Close the panel. here: the cursor goes back to where it was."""
        if not self.is_open:
            return
        self.panel.hide()
        self._way = []
        before, self._before = self._before, None
        if here and before is not None and isValid(before) and before.isVisible():
            before.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The panel goes with the page's size."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.Move) and self.is_open:
            self._place()
        return super().eventFilter(watched, event)

    @property
    def _page(self) -> Any:
        """The page shown."""
        return self._stack.currentWidget()

    def _figures(self) -> tuple[Figure, ...]:
        """Those of the page shown."""
        return tuple(self._page.figures()) if hasattr(self._page, "figures") else ()

    def _begin(self, figure: Figure) -> None:
        if self._parts(figure) is None:
            self._window.say(NOT_KNOWN)
            return
        focused = QApplication.focusWidget()
        if focused is not None and not self.panel.isAncestorOf(focused):
            self._before = focused
        page = self._page
        near = page.shown_in(figure) if hasattr(page, "shown_in") else None
        self._at_left = near is not None and near.mapTo(page, near.rect().center()).x() > page.width() / 2
        self._way = [figure]
        self._show()
        self._place()
        self.panel.show()
        self.panel.raise_()
        self.panel.setFocus()

    def _parts(self, figure: Figure) -> Parts | None:
        if self._desk is None or not hasattr(self._desk, "parts_of"):
            return None
        found: Parts | None = self._desk.parts_of(figure)
        return found

    def _show(self) -> None:
        units, newest = self._units, self._newest
        parts = self._parts(self._way[-1])
        if parts is None or units is None or newest is None:
            self.close()
            return
        figures = self._figures()
        one = self._way[0]
        place = f"{figures.index(one) + 1} of {len(figures)}, next F1" if len(self._way) == 1 and one in figures else ""
        self._told = (len(newest.records), newest.now_ms // 60_000, units)
        self.panel.show_parts(parts, units, newest.now_ms, back=len(self._way) > 1, place=place)

    def _place(self) -> None:
        """Beside what was asked for, from edge to edge of what the page lets be covered."""
        page, stack = self._page, self._stack
        top, bottom = 4, stack.height() - 4
        kept = page.kept_clear() if hasattr(page, "kept_clear") else ()
        for widget in (w for w in kept if w.isVisible()):
            a = widget.mapTo(page, QPoint(0, 0)).y()
            b = a + widget.height()
            if (a + b) / 2 < stack.height() / 2:
                top = max(top, b + 4)
            else:
                bottom = min(bottom, a - 4)
        width = min(scaled(self.panel, WIDTH), round(stack.width() * MOST))
        left = 4 if self._at_left else stack.width() - width - 4
        self.panel.setGeometry(stack.x() + left, stack.y() + top, width, max(bottom - top, 1))

    def _take(self, part: Part) -> None:
        """Go on to a part that is a figure itself; show an entry or a round in the log."""
        if part.follow is not None:
            if self._parts(part.follow) is not None:
                self._way.append(part.follow)
                self._show()
        elif part.uid:
            self._show_record(part.uid)

    def _back(self) -> None:
        if len(self._way) > 1:
            self._way.pop()
            self._show()

    def _show_record(self, uid: str) -> None:
        page = self._window.open_page(LOG)
        if page is not None:
            page.show_kinds(())
            page.spans.setCurrentIndex(0)
            page.choose(uid)

    def _show_entries(self) -> None:
        """In the log: the chosen part's entry, or all entries that the figure follows from."""
        part, parts = self.panel.chosen(), self.panel.parts
        if part is not None and part.uid:
            self._show_record(part.uid)
        elif parts is not None and (page := self._window.open_page(LOG)) is not None:
            if parts.figure.name == "tank":
                page.show_tank(parts.figure.of)
            else:
                page.show_kinds(parts.kinds)
