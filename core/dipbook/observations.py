"""What the watch is given: the balance and the dips at the log's readings, from the books."""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE
from dipbook.watch import Evidence

WATCHED = "watched"
"""The system that the flow line goes to, whichever it is at the time."""


def observe(books: Books, first: int = 0, last: int | None = None) -> Evidence:
    """Evidence at readings ``first`` … ``last``−1 of the books (row numbers in ``books.readings``, all by default)."""
    rows = np.arange(len(books.readings))[first:last]
    t = books.readings.end_ms[rows]
    names, _ = balance.followed(books, t)
    balances = {name: balance.at(books, t, name) for name in
                (ACTIVE_SYSTEM, ALL_SURFACE, *sorted(set(names) - {ACTIVE_SYSTEM, balance.NOT_WATCHED}))}
    on = np.array([n != balance.NOT_WATCHED for n in names], dtype=bool)
    difference = {n: balances[n].difference_m3 for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    u = {n: balances[n].u_m3 for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    partial = {n: balances[n].partial for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    for column, attribute in ((difference, "difference_m3"), (u, "u_m3"), (partial, "partial")):
        column[WATCHED] = _chosen(names, {n: getattr(b, attribute) for n, b in balances.items()})
    level: dict[str, Any] = {}
    volume: dict[str, Any] = {}
    for tank, s in books.samples.items():
        gauged = books.gauged_in(tank, rows)
        real = np.flatnonzero(s.real)
        at = np.maximum(np.searchsorted(s.t_ms[real], t, side="right") - 1, 0)
        level[tank] = np.where(gauged, s.level_m[real[at]], np.nan)
        volume[tank] = np.where(gauged, s.volume_m3[real[at]], np.nan)
    return Evidence(t, difference=difference, u=u, partial=partial,
                    watched=dict.fromkeys((ACTIVE_SYSTEM, ALL_SURFACE, WATCHED), on), level=level, volume=volume,
                    complete=~balances[ACTIVE_SYSTEM].partial, activity=_activities(books, t))


def _chosen(names: tuple[str, ...], columns: dict[str, Any]) -> Any:
    """The column of the system named at each row; the active system's where none is watched."""
    out = np.array(columns[ACTIVE_SYSTEM])
    for name, column in columns.items():
        if name not in (ACTIVE_SYSTEM, ALL_SURFACE):
            here = np.array([n == name for n in names], dtype=bool)
            out[here] = column[here]
    return out


def _activities(books: Books, t: Any) -> tuple[str, ...]:
    index = np.searchsorted(books.activities.t_ms, t, side="right").tolist()
    words = ("unknown", *books.activities.names)
    return tuple(words[i] for i in index)
