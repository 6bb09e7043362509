"""A line of words about something typed: quiet, a doubt, or an error, never told by colour alone."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from dipbook_app.display import shown_words
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle

SIGNS = {"quiet": "", "doubt": "? ", "error": "✕ ", "done": "✓ "}
"""The mark before the words of each tone."""
ROOM_AT_THE_SIDES, ROOM_ABOVE_AND_BELOW = 16, 8
"""Room that the theme's edge of an error takes [px]."""
PARTS = {"quiet": "small", "doubt": "strong", "error": "bad", "done": "strong"}
"""How the theme draws each tone."""


class WordsLabel(QLabel):
    """Words with a tone, in room that is kept when there are none, so that nothing jumps.

    lines: how many lines of room to keep. whole: False cuts what doesn't fit on the lines, with dots; the words
    are whole in ``said`` and in the tool tip.
    """

    def __init__(self, lines: int = 1, *, whole: bool = True, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.said = ""
        self._whole = whole
        self.setObjectName("words")
        self.setProperty("part", "small")
        self.setWordWrap(whole or lines > 1)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding if whole else QSizePolicy.Policy.Ignored,
                           QSizePolicy.Policy.Minimum)
        self._lines = lines
        self._keep_room()
        self.tone = "quiet"

    def say(self, words: str, tone: str = "quiet") -> None:
        """Show ``words``, with units as the crew reads them; tone is a key of SIGNS."""
        words = shown_words(words)
        if words == self.said and tone == self.tone:
            return
        self.said, self.tone = words, tone
        self.setToolTip(words)
        self.setProperty("part", PARTS[tone] if words else "small")
        restyle(self)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cut the words anew for the new width."""
        super().resizeEvent(event)
        if not self._whole:
            self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Keep room for the text's new size."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_lines"):
            self._keep_room()

    def heightForWidth(self, width: int) -> int:
        """Lines for the words inside an error's edge, which the label itself forgets when it wraps."""
        room = QRect(0, 0, max(1, width - ROOM_AT_THE_SIDES), 10_000)
        text = self.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, self.text())
        return max(self.minimumHeight(), text.height() + ROOM_ABOVE_AND_BELOW)

    def set_lines(self, lines: int) -> None:
        """lines: of room to keep from now on."""
        if lines != self._lines:
            self._lines = lines
            self.setWordWrap(self._whole or lines > 1)
            self._keep_room()
            self._fit()

    def _keep_room(self) -> None:
        self.setMinimumHeight(self._lines * self.fontMetrics().lineSpacing() + 2)

    def _fit(self) -> None:
        shown = SIGNS[self.tone] + self.said if self.said else ""
        if not self._whole:
            shown = self._cut(shown, max(0, self.width() - ROOM_AT_THE_SIDES))
        self.setText(shown)

    def _cut(self, words: str, room: int) -> str:
        """What of ``words`` fits on the lines, with dots where it doesn't."""
        metrics = self.fontMetrics()
        if self._lines == 1:
            return metrics.elidedText(words, Qt.TextElideMode.ElideRight, room)
        area, wrap = QRect(0, 0, max(1, room), 10_000), Qt.TextFlag.TextWordWrap
        tall = self._lines * (metrics.lineSpacing() + 1)  # lines are laid out in parts of a pixel

        def fits(text: str) -> bool:
            return metrics.boundingRect(area, wrap, text).height() <= tall

        if fits(words):
            return words
        parts = words.split(" ")
        while len(parts) > 1 and not fits(" ".join(parts) + " …"):
            parts.pop()
        return " ".join(parts) + " …"
