"""The sum of what the tanks held: each at its last reading at or before a time, never interpolated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from dipbook.books.samples import Readings, Samples

SOON = 64
"""Readings that are looked at first: nearly always it is one of them."""
Spans = Mapping[str, tuple[tuple[int, int], ...]]
"""Tank -> its (from, to) in a system [UTC ms], to excluded."""


def inside(spans: tuple[tuple[int, int], ...], t_ms: Any) -> Any:
    """True where a time lies in one of the spans.

    spans: (from, to) [UTC ms], to excluded. t_ms: int64 array [UTC ms].
    """
    found = np.zeros(np.shape(t_ms), dtype=bool)
    for a, b in spans:
        found |= (t_ms >= a) & (t_ms < b)
    return found


def actual(samples: Mapping[str, Samples], spans: Spans, t_ms: Any, at: Mapping[str, Any] | None = None) -> Any:
    """Volume in a system [m3]; NaN where a tank of it isn't known yet, 0 where no tank is in it.

    samples: by tank. spans: of the system. t_ms: int64 array [UTC ms]. at: by tank the index of its reading at each of
    the times, where it is known already.
    """
    total, unknown = known_part(samples, spans, t_ms, at)
    for rows in unknown.values():
        total = np.where(rows, np.nan, total)
    return total


def known_part(samples: Mapping[str, Samples], spans: Spans, t_ms: Any, at: Mapping[str, Any] | None = None,
               ) -> tuple[Any, dict[str, Any]]:
    """Volume of the tanks of a system that are known [m3], and by tank where it is in the system and isn't known.

    samples, spans, t_ms, at: as of ``actual``.
    """
    total = np.zeros(np.shape(t_ms))
    unknown: dict[str, Any] = {}
    for tank, mine in spans.items():
        here = inside(mine, t_ms)
        if not here.any():
            continue
        s = samples.get(tank)
        if s is None:
            unknown[tank] = here
            continue
        i = s.index_at(t_ms) if at is None else at[tank]
        volume = np.where(i >= 0, s.volume_m3[np.maximum(i, 0)], np.nan)
        known = np.isfinite(volume)
        total = total + np.where(here & known, volume, 0.0)
        if bool((here & ~known).any()):
            unknown[tank] = here & ~known
    return total, unknown


def some_tank(spans: Spans, t_ms: Any) -> Any:
    """True where a system has a tank at all.

    spans: of the system. t_ms: int64 array [UTC ms].
    """
    found = np.zeros(np.shape(t_ms), dtype=bool)
    for mine in spans.values():
        found |= inside(mine, t_ms)
    return found


def first_known(samples: Mapping[str, Samples], spans: Spans, readings: Readings, t_ms: int) -> int | None:
    """The first time from ``t_ms`` on [UTC ms] at which the volume of a system is known: then or at the end of a
    reading. None if never.

    samples: by tank, ``readable`` ones, so that only dips count that could be read. spans: of the system. readings: of
    the log.
    """
    later = readings.end_ms[np.searchsorted(readings.end_ms, t_ms, side="left"):]
    for times in (np.array([t_ms]), later[:SOON], later[SOON:]):
        known = np.flatnonzero(np.isfinite(actual(samples, spans, times)) & some_tank(spans, times))
        if len(known):
            return int(times[known[0]])
    return None


def readable(samples: Mapping[str, Samples]) -> dict[str, Samples]:
    """Samples whose volume is known only where the dip could be read. samples: by tank."""
    return {tank: _readable(s) for tank, s in samples.items()}


def _readable(s: Samples) -> Samples:
    """Samples whose volume is known only where the dip could be read."""
    unread = s.unread()
    return replace(s, volume_m3=np.where(unread, np.nan, s.volume_m3)) if unread.any() else s
