"""The drift at the last reading, as pages show it, and what a limit on it costs in false warnings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from dipbook.books import Books
from dipbook.drift import automatic, expected_false_per_tour, expected_said, tuning_for
from dipbook.drifts import Side, drifts
from dipbook.limits import Limit
from dipbook.situation import DriftSide, DriftView


def drift_view(books: Books) -> DriftView | None:
    """The drift at the last reading; None without a limit on it, or before any reading. books: of the log."""
    n = len(books.readings)
    if not n or not any(x.kind == "drift" and x.watched for x in books.rig.limits):
        return None
    of = drifts(books, n - 1)

    def known(column: object) -> float | None:
        value = float(np.asarray(column)[-1])
        return value if np.isfinite(value) else None

    moved = int(of.moved_ms[-1])
    def side(one: Side) -> DriftSide | None:
        if known(one.worst_m3) is None:
            return None
        return DriftSide(float(one.rise_m3[-1]), float(one.of_m3[-1]), float(one.share[-1]))

    return DriftView(int(of.t_ms[-1]), side(of.gain), side(of.loss), known(of.scale_m3),
                     float(of.learned_s[-1]), float(of.pace_s[-1]), of.why[-1], moved if moved >= 0 else None)


def with_limit(view: DriftView | None, limits: Iterable[Limit]) -> DriftView | None:
    """The same with the strictest of ``limits``, those in force on drift, and about how often noise passes each.

    view: of ``drift_view``.
    """
    if view is None:
        return None
    held = {x.name: holds_at(x, view) for x in limits}
    return replace(view, limit_m3=min(held.values(), default=None),
                   held={name: (value, expected(view, value)) for name, value in held.items()})


def holds_at(limit: Limit, view: DriftView) -> float:
    """What a limit on drift is by the noise now [m3]. limit: on drift. view: the drift now."""
    if limit.times_noise is None:
        return limit.value
    return float(automatic(limit.times_noise, np.nan if view.scale_m3 is None else view.scale_m3, limit.value))


def expected(view: DriftView, limit_m3: float) -> str:
    """About how many false warnings of gains a tour a limit costs, in words. view: the drift now. limit_m3: [m3]."""
    scale = np.nan if view.scale_m3 is None else view.scale_m3
    return expected_said(expected_false_per_tour(limit_m3, scale, tuning_for(view.pace_s)))
