"""A line with a figure that can be followed to its parts: it says so by its pointer, its tip and its outline."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from dipbook_app.part_words import TIP
from dipbook_app.widgets.asking_line import AskingLine


class FigureLine(AskingLine):
    """Signals: as of AskingLine."""

    def __init__(self, part: str, parent: QWidget | None = None, *, smaller: tuple[str, ...] = ()) -> None:
        super().__init__(part, parent, smaller=smaller)
        self.setAccessibleDescription(TIP)

    def _fit(self) -> None:
        """What the line can't show stands in its tip, before what a click does."""
        super()._fit()
        self.setToolTip("\n".join(words for words in (self.toolTip(), TIP) if words))
