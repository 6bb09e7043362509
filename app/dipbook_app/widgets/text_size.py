"""Sizes and styles that follow the theme: what is laid out in pixels for the ordinary text grows with a larger one."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QWidget

BODY_PX = 15
"""Height of ordinary text at factor 1 [px], as in the style sheet."""
FONT_EVENTS = (QEvent.Type.FontChange, QEvent.Type.StyleChange)
"""After these a widget's text may have another size."""


def scaled(widget: QWidget, pixels: int) -> int:
    """A length for ordinary text [px] -> for the text of ``widget`` now; never smaller."""
    return round(pixels * max(1.0, widget.fontInfo().pixelSize() / BODY_PX))


def restyle(widget: QWidget) -> None:
    """Let the theme see a changed property: colours, edges and the room that they take."""
    widget.style().unpolish(widget)
    widget.style().polish(widget)
    QCoreApplication.sendEvent(widget, QEvent(QEvent.Type.StyleChange))
