"""Connections in two ways: the product's band (the most that accepted ones gave back), and the design's mean.

Whoever watches accepts each connection that didn't alarm, and adopts the band anew after each. Both answer with a
column as a share of H, so that one limit serves clocks and connections: flow-back alarms at SHARE · H. The mean is
held against for OVERLAP_S longer than the design says: the clocks need a minute after settling before they see again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.signal import lfilter

from bench.detection.world import SETTLING_S, Run
from dipbook.flowback import FEWEST, MINUTES, Connection, spread
from dipbook.flowback.above import reach_s

SHARE = 1.6
LINES = 1.15
"""What the rig file says the lines hold, of what drains in the mean: three sd above it."""
OVERLAP_S = 120.0


@dataclass(frozen=True)
class Way:
    """How connections are compared. by: "none", "mean" or "band"; share: of H; usual: the mean is silent below this share
    of what usually comes back, by c (0 for a limit given in barrels); first_s: the band is looked at from here on
    [s since off]."""

    by: str
    share: float = SHARE
    usual: Mapping[float, float] = field(default_factory=lambda: {0.0: 0.25, 6.0: 0.25, 7.5: 0.30})
    first_s: float = MINUTES[0] * 60.0


TENTH = {0.0: 0.10, 6.0: 0.10, 7.5: 0.10}
WAYS = {
    "clocks alone": Way("none"),
    "mean, as designed": Way("mean"),
    "mean, tightened": Way("mean", 1.3, TENTH),
    "the product's band": Way("band"),
    "band from the first second": Way("band", 1.3, first_s=0.0),
}


def column(run: Run, way: Way, *, c: float = 0.0, limit: Any = None) -> Any:
    """Excess over what is usual / share [bbl] at each reading, -inf where nothing is compared.

    c: 0, or of the noise's scale that the limit is. limit: H at each reading or one for all [bbl]: a connection that
    reached it isn't learned; all are learned if None.
    """
    out = np.full(len(run.t_s), -np.inf)
    if way.by == "none":
        return out
    limits = np.broadcast_to(np.inf if limit is None else np.asarray(limit, dtype=float), out.shape)
    learned: list[Any] = []
    for off in run.offs:
        if run.t_s[0] + 60.0 > off.off_s:
            continue
        rows, found, curve = (
            _band(run, off, learned, way.first_s) if way.by == "band" else _mean(run, off, learned, way.usual[c]))
        if curve is None:
            continue
        out[rows] = found / way.share
        if not (out[rows] >= limits[rows]).any():
            learned.append(curve)
    return out


def _band(run: Run, off: Any, learned: list[Any], first_s: float) -> tuple[Any, Any, Any]:
    """As ``dipbook.flowback.above``: one reading, less the last before, above the most of the accepted, capped."""
    rows = np.flatnonzero((run.t_s >= off.off_s) & (run.t_s <= off.on_s))
    first = int(np.searchsorted(run.t_s, off.off_s, side="right")) - 1
    rows = rows[rows > first]
    if len(rows) < 4:
        return rows, None, None
    since, back = run.t_s[rows] - off.off_s, run.read[rows] - run.read[first]
    cap = LINES * run.drains
    most = np.full(len(rows), cap)
    if len(learned) >= FEWEST:
        high = spread(learned, np.minimum(since, reach_s(learned)))[1]
        most = np.where((since >= first_s) & np.isfinite(high), np.fmin(high, cap), most)
    nothing = float("nan")
    curve = Connection(0, None, nothing, nothing, np.concatenate(([0.0], since)), np.concatenate(([0.0], back)),
                       np.zeros(len(rows) + 1), cap)
    return rows, back - most, curve


def _mean(run: Run, off: Any, learned: list[Any], usual: float) -> tuple[Any, Any, Any]:
    """15 s smoothed, less the mean of the minute before, above the mean of the last ten, off and settling alike."""
    dt = float(run.t_s[1] - run.t_s[0])
    base = float(run.read[(run.t_s >= off.off_s - 60.0) & (run.t_s < off.off_s)].mean())
    rows = np.flatnonzero((run.t_s >= off.off_s) & (run.t_s < off.on_s + SETTLING_S + OVERLAP_S))
    if not len(rows):
        return rows, None, None
    keep = float(np.exp(-dt / 15.0))
    back, _ = lfilter([1.0 - keep], [1.0, -keep], run.read[rows] - base, zi=[0.0])
    pumps = run.t_s[rows] < off.on_s
    parts = [(run.t_s[rows[pumps]] - off.off_s, back[pumps]), (run.t_s[rows[~pumps]] - off.on_s, back[~pumps])]
    found = np.full(len(rows), -np.inf)
    known = learned[-10:]
    if len(known) >= 3:
        most = 0.0
        for part, (here, x) in enumerate(parts):
            if not len(here):
                continue
            curves = [c[part] for c in known if len(c[part][0])]
            reach = sorted((float(c[0][-1]) for c in curves), reverse=True)
            if len(reach) < 3:
                continue
            at = np.minimum(here, reach[2])
            values = np.array([np.where(at <= c[0][-1], np.interp(at, *c), np.nan) for c in curves])
            mean = np.nanmean(values, axis=0)
            most = max(most, float(mean.max()))
            over = x - mean
            found[pumps if part == 0 else ~pumps] = np.where(over >= usual * most, over, -np.inf)
    return rows, found, parts
