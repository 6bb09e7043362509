"""The binding must not lose references to None: PySide6 6.12.0 on Python 3.11 did, and aborted within minutes.

Measured: each void Qt call dropped one reference; Python ends with "none_dealloc" when none are left.
"""

from __future__ import annotations

import sys

import numpy as np
import pyqtgraph as pg
from PySide6.QtWidgets import QApplication, QLabel

CALLS = 1000


def test_void_qt_calls_do_not_lose_references_to_none(qtbot):
    label = QLabel()
    qtbot.addWidget(label)
    label.setText("a")
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        label.setText("a")
    # None is immortal from 3.12 and its count doesn't move at all.
    assert abs(sys.getrefcount(None) - before) < CALLS // 10


def test_a_plain_plot_survives_400_repaints(qtbot):
    plot = pg.PlotWidget()
    qtbot.addWidget(plot)
    plot.resize(400, 200)
    curve = plot.plot()
    plot.show()
    x = np.arange(50.0)
    for n in range(400):
        curve.setData(x, np.sin(x + n))
        QApplication.processEvents()
    shown = curve.getData()[1]
    np.testing.assert_allclose(shown, np.sin(x + 399))
