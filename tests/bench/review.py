"""Frames of the Review page's trend over 60 days at 1 Hz, while it is moved and zoomed.

    python tests/bench/review.py

A frame is from the call until the event loop has nothing left to paint; a frame that wasn't painted ends the run. Beside
it, in the same run, a bare pyqtgraph plot of the same size with one curve of two points a pixel, moved as far: what any
plot by this library costs. The data are invented, from a seed; one in 200 is a spike and one hour in a day has a gap.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import cycle
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import pyqtgraph as pg
from headless import spent
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication

from dipbook import reports, store
from dipbook.books import build
from dipbook.reports.report import Trend
from dipbook.series import Thinned
from dipbook_app import demo
from dipbook_app.display import DisplayUnits
from dipbook_app.reviewer import Reviewed
from dipbook_app.running import application
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look
from dipbook_app.widgets.review_plot import ReviewPlot

DAYS, DAY_S = 60, 86_400
FRAMES = 400
SIZE = (880, 420)
"""Of the plot in the window at 1280×800 [px]."""
START_MS = 1_767_225_600_000


class Painted(QObject):
    """Counts what a widget paints."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() == QEvent.Type.Paint
        return False


def columns() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(times [ms], actual [m3], expected [m3]) of 60 days at 1 Hz."""
    n, dice = DAYS * DAY_S, np.random.default_rng(60)
    t = START_MS + 1000 * np.arange(1, n + 1, dtype=np.int64)
    expected = 90 + 12 * np.sin(np.arange(n) / 9_000) + np.cumsum(dice.normal(0, 0.001, n))
    actual = expected + dice.normal(0, 0.08, n)
    spikes = dice.random(n) < 1 / 200
    actual[spikes] += dice.normal(0, 1.5, int(spikes.sum()))
    actual[(np.arange(n) // 3600) % 24 == 3] = np.nan
    return t, actual, expected


def reviewed(folder: Path) -> tuple[Reviewed, float]:
    """A report whose trend is those columns, and what it took to make its envelopes [ms]."""
    t, actual, expected = columns()
    with store.open(demo.make_log(START_MS + DAY_S * 1000, folder), write=False, create=False) as log:
        books = build(log.records())
    made = reports.report(books, reports.between(START_MS, int(t[-1])))
    day = [(START_MS + d * DAY_S * 1000, START_MS + (d + 1) * DAY_S * 1000, ("drilling", "circulating")[d % 2])
           for d in range(DAYS)]
    trend = Trend(t, actual, expected, actual - expected, np.full(len(t), 0.1), np.zeros(len(t), dtype=bool),
                  tuple((int(x), "transfer") for x in t[::7200]), tuple(int(x) for x in t[::400_000]), tuple(day))
    series: list[Thinned] = []
    took = spent(lambda: series.extend(Thinned(t, v) for v in (actual, expected, actual - expected)))
    return Reviewed(replace(made, trend=trend), (), *series), took


def moves(low: int, high: int) -> Iterator[tuple[str, int, int]]:
    """(which, from, to [ms]) of one frame after the other: along all, a tenth, an hour, and from all to a minute."""
    whole = high - low
    along = [(f"along, {words} in view", wide) for words, wide in
             (("60 days", whole * 9 // 10), ("6 days", whole // 10), ("an hour", 3_600_000))]
    for name, wide in along:
        for k in range(FRAMES // 4):
            a = low + (whole - wide) * k // (FRAMES // 4)
            yield name, a, a + wide
    shares = np.geomspace(1.0, 60_000 / whole, FRAMES // 4)
    for share in cycle((shares,)).__next__():
        half = int(whole * share / 2)
        middle = (low + high) // 2 + 1_234_567
        yield "zoom from 60 days to a minute", middle - half, middle + half


def told(name: str, times: list[float], beside: list[float] | None) -> None:
    """A line of the table."""
    middle, high = statistics.median(times), float(np.percentile(times, 99))
    ratio = f"{middle / statistics.median(beside):.2f} ×" if beside else ""
    sys.stdout.write(f"| {name} | {middle:.2f} ms | {high:.2f} ms | {ratio} |\n")


def measure(app: QApplication, folder: Path) -> None:
    """Print the table."""
    of, took = reviewed(folder)
    look = Look()
    plot = ReviewPlot(look)
    plot.setStyleSheet(stylesheet(look))
    plot.resize(*SIZE)
    plot.show()
    first = spent(lambda: (plot.show_span(of, DisplayUnits(of.report.rig)), app.processEvents()))
    bare = pg.PlotWidget()
    bare.resize(*SIZE)
    points = 2 * SIZE[0]
    curve = pg.PlotCurveItem()
    bare.addItem(curve)
    bare.show()
    noise = np.random.default_rng(7).normal(0, 1, points)
    app.processEvents()
    span = of.report.span

    def frame(view: object, work: Callable[[], object]) -> float:
        seen = Painted()
        view.viewport().installEventFilter(seen)        # type: ignore[attr-defined]
        began = time.perf_counter()
        work()
        app.processEvents()
        taken = (time.perf_counter() - began) * 1000
        view.viewport().removeEventFilter(seen)         # type: ignore[attr-defined]
        if not seen.count:
            raise SystemExit("a frame was not painted")
        return taken

    ours: dict[str, list[float]] = {}
    theirs: dict[str, list[float]] = {}
    for name, a, b in moves(span.from_ms, span.to_ms):
        ours.setdefault(name, []).append(frame(plot._view, lambda a=a, b=b: plot.set_view(a, b)))

        def move(a: int = a, b: int = b) -> None:
            x = np.linspace(a, b, points) / 1000 - span.from_ms / 1000
            curve.setData(x, noise)
            bare.setRange(xRange=(float(x[0]), float(x[-1])), padding=0)

        theirs.setdefault(name, []).append(frame(bare, move))
    sys.stdout.write("| | median | p99 | ratio to a bare curve |\n|---|---|---|---|\n")
    for name, times in ours.items():
        told(name, times, theirs[name])
    told("all of them", [x for times in ours.values() for x in times], [x for times in theirs.values() for x in times])
    told("    a bare curve of two points a pixel", [x for times in theirs.values() for x in times], None)
    steps = [frame(plot._view, lambda: plot.step(-1, 24)) for _ in range(FRAMES // 4)]
    told("cursor, 24 pixels further", steps, theirs[name])
    sys.stdout.write(f"\n{len(of.difference):,} readings; {plot._view.width()} × {plot._view.height()} px; envelopes of "
                     f"three curves {took:.0f} ms on the report's thread; first frame {first:.0f} ms.\n")
    plot.close()
    bare.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        measure(application(), Path(temporary))
