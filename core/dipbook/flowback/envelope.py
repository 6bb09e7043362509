"""The band of earlier connections that a person accepted, and how far the one now lies outside it.

A learned curve can learn the kick: only accepted connections count, of about the same flow, and what the band explains
is capped at what the lines hold. The rest stays unexplained. Which section they are of is the caller's to choose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.flowback.curves import Connection

MINUTES = (1.0, 2.0, 3.0, 5.0, 7.0, 10.0)
"""Minutes after the pumps stopped at which connections are compared (our choice, no source)."""
ALIKE = 0.1
"""Flows are about equal that differ by less than this share (our choice, no source)."""
OVER_S = 60.0
"""The rate at which mud comes back is told over so long, so that a surface that isn't still doesn't hide its end (our
choice, no source) [s]."""
FEWEST = 3
"""Accepted connections below which there is no band (our choice, no source)."""


@dataclass(frozen=True)
class Envelope:
    """What earlier connections gave back. minutes: at which. least_m3, most_m3: of them then [m3], NaN where fewer than
    FEWEST reach so far. count: how many there are. capped: the lines hold less than some of them gave back.
    """

    minutes: tuple[float, ...]
    least_m3: Any
    most_m3: Any
    count: int
    capped: bool


@dataclass(frozen=True, slots=True)
class Excess:
    """How far a connection lies above the band: at minute [min], by above_m3, below 0 within it; u_m3 of it (k = 1)."""

    minute: float
    above_m3: float
    u_m3: float


def alike(one_m3_s: float, other_m3_s: float) -> bool:
    """True for two flows that are about equal; False where one isn't known. one_m3_s, other_m3_s: [m3/s]."""
    return abs(one_m3_s - other_m3_s) <= ALIKE * other_m3_s


def envelope(accepted: Sequence[Connection], now: Connection, minutes: Sequence[float] = MINUTES) -> Envelope:
    """The band for one connection.

    accepted: earlier ones that a person accepted; those after ``now``, of another flow or of none are left out. now:
    the one that is compared. minutes: at which.
    """
    like = [c for c in accepted if c.off_ms < now.off_ms and alike(c.flow_m3_s, now.flow_m3_s)]
    least, most = spread(like, np.asarray(minutes, dtype=float) * 60.0)
    cap = now.lines_m3
    capped = bool(np.isfinite(cap) and (most > cap).any())
    return Envelope(tuple(minutes), least, np.minimum(most, cap) if np.isfinite(cap) else most, len(like), capped)


def spread(connections: Sequence[Connection], seconds: Any) -> tuple[Any, Any]:
    """(least, most) that connections had given back [m3] at times since off, NaN where fewer than FEWEST reach so far.

    connections: any. seconds: array [s].
    """
    least, most = np.full(len(seconds), np.nan), np.full(len(seconds), np.nan)
    if len(connections) >= FEWEST:
        rows = np.array([c.at(seconds) for c in connections])
        known = np.isfinite(rows)
        enough = known.sum(axis=0) >= FEWEST
        least[enough] = np.where(known, rows, np.inf)[:, enough].min(axis=0)
        most[enough] = np.where(known, rows, -np.inf)[:, enough].max(axis=0)
    return least, most


def excess(now: Connection, band: Envelope) -> tuple[Excess, ...]:
    """How far a connection lies above the band, at each of its minutes that it has reached and the band tells of.

    now: the connection. band: of the earlier ones.
    """
    found: list[Excess] = []
    for minute, most in zip(band.minutes, band.most_m3.tolist(), strict=True):
        back = now.at(minute * 60.0)
        if np.isfinite(back) and np.isfinite(most):
            u = float(np.interp(minute * 60.0, now.s, now.u_m3))
            found.append(Excess(minute, back - most, u))
    return tuple(found)


def stopped_s(now: Connection, rate_m3_s: float) -> float:
    """When the flow had died away [s since off]: the first reading from which on it never again came back faster than
    a rate, over the minute after each reading; NaN where it hasn't yet.

    now: the connection. rate_m3_s: what counts as stopped, the operator's [m3/s].
    """
    after = np.searchsorted(now.s, now.s + OVER_S - 1e-6)
    whole = np.flatnonzero(after < len(now.s))
    rate = (now.back_m3[after[whole]] - now.back_m3[whole]) / np.maximum(now.s[after[whole]] - now.s[whole], 1e-9)
    fast = np.flatnonzero(rate > rate_m3_s)
    first = 0 if not len(fast) else int(fast[-1]) + 1
    return float(now.s[first]) if first < len(rate) else float("nan")
