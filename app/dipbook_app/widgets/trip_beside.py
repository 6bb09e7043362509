"""What stands below a trip's plot: remarks on the sheet, what is posted for filling, and the sheet's head."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QWidget

from dipbook.situation import TripView
from dipbook_app import trip_words
from dipbook_app.figure_links import figure_of, inked, link
from dipbook_app.stock_words import Section


class TripBeside(QScrollArea):
    """Shows a TripView in words; it scrolls where there is no room. Signals: figure_asked(Figure)."""

    figure_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.label = QLabel()
        self.label.setTextFormat(Qt.TextFormat.RichText)
        self.label.setWordWrap(True)
        self.label.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.label.setAccessibleName("Posted, and the head of the sheet")
        self.label.linkActivated.connect(lambda href: self.figure_asked.emit(figure_of(href)))
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWidget(self.label)

    def show_trip(self, trip: TripView, row: Section | None) -> None:
        """trip: its posted lines, head and findings. row: one that is being read stands before them."""
        text = "".join(_html(section) for section in (*([row] if row else []), *trip_words.sections(trip)))
        text = inked(text, self.palette().windowText().color().name())
        if text != self.label.text():
            self.label.setText(text)
            self.verticalScrollBar().setValue(0)

    def text(self) -> str:
        """What it says, with its markup."""
        return self.label.text()


def _html(section: Section) -> str:
    table = "".join(f"<tr><td style='padding: 1px 10px 1px 0'>{escape(name)}</td>"
                    f"<td style='padding: 1px 0'><b>{escape(value)}</b></td></tr>" for name, value in section.rows)
    said = "".join(f"<p style='margin: 2px 0'>{link(line, section.figures.get(line))}</p>" for line in section.notes)
    return f"<h3 style='margin: 8px 0 2px 0'>{escape(section.title)}</h3>{said}<table>{table}</table>"
