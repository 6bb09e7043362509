"""Where mud is that went down: a pill, a slug, and the bottoms since the pumps came on; by what was pumped since.

A front is the leading edge. The hole is taken as full, and what is pumped as coming back: with losses it is less far.
The pipe is taken as full too: a slug that has fallen stands lower than this says, by its dry length.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan

import numpy as np

from dipbook.books import Books
from dipbook.rig.model import Rig
from dipbook.well import Place, bottoms_up, place
from dipbook.well.travel import ANNULUS, SURFACE

LOOKS_BACK_MS = 24 * 3_600_000
"""Fronts older than this are no longer followed (our choice)."""
BOTTOMS_UP = "bottoms-up"


@dataclass(frozen=True, slots=True)
class Front:
    """Where a front is. what: "slug", "pill", "sweep", …, or BOTTOMS_UP. since_ms: when it began [UTC ms]. where,
    depth_m, to_bit_m3, to_surface_m3: as of ``well.Place``. per_stroke_m3: of the rig's pumps where they all give the
    same, NaN else. flow_m3_s: now, NaN unknown, 0 while the pumps are off.
    """

    what: str
    since_ms: int
    where: str
    depth_m: float
    to_bit_m3: float
    to_surface_m3: float
    per_stroke_m3: float
    flow_m3_s: float


def fronts(books: Books, now_ms: int) -> tuple[Front, ...]:
    """The fronts that haven't come to surface, oldest first; () where the rig file describes no hole or no string.

    books: of the log. now_ms: when [UTC ms].
    """
    rig = books.rig_at(now_ms)
    hole, string, bit = rig.sections, rig.whole_string, _bit(books, now_ms)
    if hole is None or string is None:
        return ()
    hole = hole.reaching(_deepest(books, now_ms))
    on, flow = books.pumps.at(now_ms)
    rate = 0.0 if on is False else nan if flow is None else flow
    found: list[Front] = []
    for r in books.eff.records:
        if r.kind in ("slug", "pill") and now_ms - LOOKS_BACK_MS <= r.t_ms <= now_ms:
            at = place(pumped(books, r.t_ms, now_ms), hole, string, bit)
            if at.where != SURFACE:
                found.append(_front(str(r.payload.get("what") or r.kind), r.t_ms, at, rig, rate))
    since = _pumps_on_since(books, now_ms)
    whole = bottoms_up(hole, string, bit)
    if since is not None and isfinite(whole):
        left = whole - pumped(books, since, now_ms)
        if not left <= 0.0:      # unknown is told as unknown
            found.append(_front(BOTTOMS_UP, since, Place(ANNULUS, nan, 0.0, left), rig, rate))
    return tuple(sorted(found, key=lambda f: f.since_ms))


def pumped(books: Books, from_ms: int, to_ms: int) -> float:
    """What the pumps gave between two times [m3], NaN where a flow isn't known. books: of the log. from_ms, to_ms
    [UTC ms]."""
    p = books.pumps
    marks = np.array([from_ms, *p.t_ms[(p.t_ms > from_ms) & (p.t_ms < to_ms)].tolist(), to_ms], dtype=np.int64)
    index = np.searchsorted(p.t_ms, marks[:-1], side="right") - 1
    if len(index) and index[0] < 0:
        return nan
    flow = np.where(p.on[index], p.flow_m3_s[index], 0.0)
    return float(np.sum(flow * np.diff(marks)) / 1000.0)


def _front(what: str, since_ms: int, at: Place, rig: Rig, rate: float) -> Front:
    outputs = {round(p.output_m3, 12) for p in rig.pumps}
    return Front(what, since_ms, at.where, at.depth_m, at.to_bit_m3, at.to_surface_m3,
                 outputs.pop() if len(outputs) == 1 else nan, rate)


def _bit(books: Books, now_ms: int) -> float:
    i = int(np.searchsorted(books.depths.t_ms, now_ms, side="right")) - 1
    return float(books.depths.bit_m[i]) if i >= 0 else nan


def _deepest(books: Books, now_ms: int) -> float:
    holes = books.depths.hole_m[books.depths.t_ms <= now_ms]
    known = holes[np.isfinite(holes)]
    return float(known.max()) if len(known) else nan


def _pumps_on_since(books: Books, now_ms: int) -> int | None:
    """When the pumps came on that run now, or ran last [UTC ms]; None where they never were off before."""
    p = books.pumps
    on = [int(p.t_ms[i]) for i in range(1, len(p.t_ms)) if p.on[i] and not p.on[i - 1] and p.t_ms[i] <= now_ms]
    return on[-1] if on else None
