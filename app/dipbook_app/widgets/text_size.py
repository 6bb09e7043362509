"""Sizes that follow the text: what is laid out in pixels for the ordinary text grows with a larger one."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QWidget

BODY_PX = 15
"""Height of ordinary text at factor 1 [px], as in the style sheet."""
FONT_EVENTS = (QEvent.Type.FontChange, QEvent.Type.StyleChange)
"""After these a widget's text may have another size."""


def scaled(widget: QWidget, pixels: int) -> int:
    """A length for ordinary text [px] -> for the text of ``widget`` now; never smaller."""
    return round(pixels * max(1.0, widget.fontInfo().pixelSize() / BODY_PX))
