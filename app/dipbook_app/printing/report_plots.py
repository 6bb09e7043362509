"""The two drawings of a report, as lines and letters: the bridge from opening to closing, and the trend."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from math import ceil, floor, isfinite, log10
from typing import Any

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor

from dipbook.exchange.times import zone_info
from dipbook.reports import Report, Writing
from dipbook.reports.reconciliation import Reconciliation
from dipbook.series import envelope
from dipbook_app.display import DisplayUnits
from dipbook_app.printing.paper import CENTRE, RIGHT, STRONG, Line, Mark, Words, wide
from dipbook_app.printing.pdf import SMALL, THICK, THIN

BUCKETS = 700
"""Of a trend: more than a printer tells apart in its width, and true lows and highs in each."""
STEPS_H = (1, 2, 3, 6, 12, 24, 48, 120, 240, 480)
DASH, DOT = Qt.PenStyle.DashLine, Qt.PenStyle.DotLine
HOUR_MS = 3_600_000
BLACK = QColor(0, 0, 0)
Across = Callable[[float], float]
"""Where a time [UTC ms] lies across the page [0.1 mm]."""


def bridge(of: Reconciliation, units: DisplayUnits, area: QRectF) -> Iterator[Mark]:
    """From the opening volume, each term's step, to the closing volume. of: the system's books. area [0.1 mm]."""
    if of.opening_m3 is None or of.closing_m3 is None or of.unexplained_m3 is None:
        return
    steps = [(t.label, t.volume_m3) for t in of.terms] + [("Not explained", of.unexplained_m3)]
    at, marks = of.opening_m3, [of.opening_m3]
    for _, volume in steps:
        at += volume
        marks.append(at)
    low, high = (units.in_volume_unit(x) for x in (min(marks), max(marks)))
    low, high, _ = _scale(low, high, 4)
    labels = max(wide(label, SMALL) for label, _ in (*steps, ("Opening", 0.0))) + 16
    numbers = wide("−0000.00", SMALL) + 16
    left, right = area.left() + labels, area.right() - numbers
    row = min(62.0, area.height() / (len(steps) + 2))

    def x(value_m3: float) -> float:
        return left + (units.in_volume_unit(value_m3) - low) / (high - low) * (right - left)

    rows: list[tuple[str, float | None, float, float]] = [("Opening", None, of.opening_m3, of.opening_m3), *(
        (label, step, marks[n], marks[n + 1]) for n, (label, step) in enumerate(steps)),
        ("Closing", None, of.closing_m3, of.closing_m3)]
    y = area.top()
    for n, (label, change, a, b) in enumerate(rows):
        middle = y + row / 2
        bold = change is None or label == "Not explained"
        yield Words(area.left(), middle - SMALL * 0.66, label, SMALL, bold)
        said = units.volume_number(b) if change is None else units.volume_number(change, sign=True)
        yield Words(area.right(), middle - SMALL * 0.66, said, SMALL, bold, RIGHT)
        top, bottom = y + row * 0.2, y + row * 0.8
        if change is None:
            yield Line(((x(b), y), (x(b), y + row)), THICK)
        else:
            x0, x1 = sorted((x(a), x(b)))
            x1 = max(x1, x0 + 2)
            corners = ((x0, top), (x1, top), (x1, bottom), (x0, bottom), (x0, top))
            if label == "Not explained":
                yield Line(corners, THIN, ground=STRONG)
            yield Line(corners, THICK if label == "Not explained" else THIN)
        if n + 1 < len(rows):
            yield Line(((x(b), bottom), (x(b), y + row * 1.2)), THIN, DOT)
        y += row


def trend(report: Report, by: Writing, units: DisplayUnits, area: QRectF) -> Iterator[Mark]:
    """Actual and expected above, the difference with its ± below, on one axis of time with entries and warnings on it.

    report: of it. by: how times are written. units: the crew's. area [0.1 mm].
    """
    t = report.trend
    left, right = area.left() + wide("−0000.0", SMALL) + 24, area.right() - wide("00 Mar", SMALL) / 2
    top, foot = area.top() + 40, area.bottom() - 84
    middle = top + (foot - top) * 0.55
    a, b = report.span.from_ms, report.span.to_ms

    def x(t_ms: float) -> float:
        return left + (t_ms - a) / (b - a) * (right - left)

    yield Words(left, area.top(), f"Active system, {units.volume_word}: actual (line), expected (dashes)", SMALL, True)
    upper = [(t.actual_m3, Qt.PenStyle.SolidLine, THICK), (t.expected_m3, DASH, 2.5)]
    yield from _panel(upper, t.t_ms, units, x, (left, top, right, middle - 60))
    yield Words(left, middle - 40, f"Difference, {units.volume_word}, with ± 2u (dots)", SMALL, True)
    u = 2 * np.asarray(t.u_m3, dtype=float)
    lower = [(t.difference_m3 - u, DOT, 2.0), (t.difference_m3 + u, DOT, 2.0), (t.difference_m3, Qt.PenStyle.SolidLine,
                                                                                THICK)]
    yield from _panel(lower, t.t_ms, units, x, (left, middle, right, foot), zero=True)
    yield from _clock(report, by, x, foot, top)
    for t_ms in sorted({t_ms for t_ms, _ in t.marks}):
        yield Line(((x(t_ms), foot), (x(t_ms), foot + 14)), THIN)
    for t_ms in t.raised:
        at = x(t_ms)
        yield Line(((at, foot + 2), (at - 9, foot + 20), (at + 9, foot + 20)), ground=BLACK)
        yield Line(((at, top), (at, foot)), THIN, Qt.PenStyle.DashDotLine)
    yield Words(left, area.bottom() - 34, "Ticks: entries. Triangles: warnings.", SMALL)


def _panel(lines: Sequence[tuple[Any, Qt.PenStyle, float]], t_ms: Any, units: DisplayUnits, x: Across,
           box: tuple[float, float, float, float], *, zero: bool = False) -> Iterator[Mark]:
    """One frame with its scale and its lines."""
    left, top, right, bottom = box
    shown = [units.in_volume_units(v) for v, _, _ in lines]
    known = [float(v) for line in shown for v in line if isfinite(v)] + ([0.0] if zero else [])
    yield Line(((left, top), (right, top), (right, bottom), (left, bottom), (left, top)), THIN)
    if not known:
        yield Words((left + right) / 2, (top + bottom) / 2, "nothing is known", SMALL, side=CENTRE)
        return
    low, high, step = _scale(min(known), max(known), 5)

    def y(value: float) -> float:
        return bottom - (value - low) / (high - low) * (bottom - top)

    digits = max(0, -floor(log10(step)))
    for n in range(round((high - low) / step) + 1):
        value = low + n * step
        line = zero and abs(value) < step / 1000
        yield Line(((left, y(value)), (right, y(value))), 2.5 if line else 0.6)
        said = f"{abs(value):.{digits}f}".replace(".", units.decimal)
        yield Words(left - 10, y(value) - SMALL * 0.66, f"−{said}" if value < -step / 1000 else said, SMALL, side=RIGHT)
    for (_, style, width), values in zip(lines, shown, strict=True):
        times, kept = envelope(t_ms, values, BUCKETS)
        for run in _runs(times, kept):
            points = tuple((x(t), y(v)) for t, v in run)
            if len(points) == 1:
                points = ((points[0][0] - 4, points[0][1]), (points[0][0] + 4, points[0][1]))
            yield Line(points, width, style)


def _clock(report: Report, by: Writing, x: Across, foot: float, top: float) -> Iterator[Mark]:
    """Hours, or days, of the rig's clock below the axis; where the clocks are changed both offsets show."""
    a, b = report.span.from_ms, report.span.to_ms
    hours = (b - a) / HOUR_MS
    step = next((s for s in STEPS_H if hours / s <= 13), STEPS_H[-1])
    zone = zone_info(by.zone)
    local = datetime.fromtimestamp(a / 1000, UTC).astimezone(zone)
    day = local.replace(hour=0, minute=0, second=0, microsecond=0, tzinfo=None)
    n = 0
    while True:
        wall = day + timedelta(hours=n * step)
        t = wall.replace(tzinfo=zone).timestamp() * 1000
        n += 1
        if t > b:
            return
        if t < a:
            continue
        at = x(t)
        yield Line(((at, top), (at, foot)), 0.4)
        said = f"{wall:%H:%M}" if step < 24 else f"{wall.day} {wall:%b}"
        yield Words(at, foot + 22, said, SMALL, side=CENTRE)


def _runs(times: Any, values: Any) -> Iterator[list[tuple[float, float]]]:
    """Stretches without a gap."""
    run: list[tuple[float, float]] = []
    for t, v in zip(times, values, strict=True):
        if isfinite(v):
            run.append((float(t), float(v)))
        elif run:
            yield run
            run = []
    if run:
        yield run


def _scale(low: float, high: float, lines: int) -> tuple[float, float, float]:
    """(from, to, step) of an axis in round numbers that holds both."""
    span = max(high - low, 1e-6, abs(high) * 1e-3)
    raw = span / lines
    power = 10.0 ** floor(log10(raw))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw)
    first, last = floor(low / step), ceil(high / step)
    return first * step, (last if last > first else first + 1) * step, step
