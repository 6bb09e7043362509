"""The figures of the Watch page that can be followed: which widget shows which."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from dipbook.parts import Figure
from dipbook.situation import Situation
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE
from dipbook_app import figures_of_pages
from dipbook_app.widgets.difference_figure import DifferenceFigure
from dipbook_app.widgets.figure_line import FigureLine
from dipbook_app.widgets.tank_field import TankField
from dipbook_app.widgets.term_list import TermList

ACTUAL, EXPECTED = Figure("actual", ACTIVE_SYSTEM), Figure("expected", ACTIVE_SYSTEM)
SURFACE = Figure("difference", ALL_SURFACE)


class FiguresOfWatch(QObject):
    """Signals: asked(Figure)."""

    asked = Signal(object)

    def __init__(self, page: QWidget, difference: DifferenceFigure, actual: FigureLine, expected: FigureLine,
                 surface: FigureLine, terms: TermList, tanks: TankField) -> None:
        super().__init__(page)
        self._situation: Situation | None = None
        difference.asked.connect(lambda: self.asked.emit(self._answer()))
        for widget, figure in ((actual, ACTUAL), (expected, EXPECTED), (surface, SURFACE)):
            widget.asked.connect(lambda asked=figure: self.asked.emit(asked))
            widget.figure_here = lambda asked=figure: asked  # type: ignore[attr-defined]
        difference.figure_here = self._answer  # type: ignore[attr-defined]
        terms.asked.connect(lambda name: self.asked.emit(_of_term(name)))
        tanks.asked.connect(lambda name: self.asked.emit(Figure("tank", name)))

    def show_situation(self, situation: Situation) -> None:
        """What the page shows now."""
        self._situation = situation

    def figures(self) -> tuple[Figure, ...]:
        """Those of the page, the answer first."""
        return () if self._situation is None else figures_of_pages.of_the_watch(self._situation)

    def _answer(self) -> Figure:
        return SURFACE if self._situation is None else figures_of_pages.answer_figure(self._situation)


def _of_term(name: str) -> Figure:
    """A term, or where it is counted among the smaller ones, all of them."""
    return Figure("term", ACTIVE_SYSTEM, name) if name else EXPECTED
