"""How the plots take on the theme: their pens and their axes."""

from __future__ import annotations

from collections.abc import Iterable

import pyqtgraph as pg
from PySide6.QtGui import QPen

from dipbook_app.theme import Look


def pen(look: Look, token: str) -> QPen:
    """A solid pen of one pixel: wider or smoothed ones cost twenty times as much. token: of the theme's colours."""
    made = QPen(look.colour(token))
    made.setWidth(1)
    made.setCosmetic(True)
    return made


def dress(axes: Iterable[pg.AxisItem], look: Look) -> None:
    """Colours, letters and ticks of a plot's axes."""
    for axis in axes:
        axis.setPen(pen(look, "line"))
        axis.setTextPen(pen(look, "ink"))
        axis.setTickFont(look.font(12))
        axis.setStyle(tickTextOffset=4, tickLength=-5, maxTickLevel=0)
