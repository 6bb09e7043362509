"""Slugs that hang in the pipe: from when one rests there until the pumps come on, or another one is pumped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, nan

from dipbook.books.state import Pumps
from dipbook.mud.hanging import Hanging
from dipbook.records import Record

FOR_GOOD = 2**62
"""Until when, where the log tells of no end [UTC ms]."""


@dataclass(frozen=True, slots=True)
class Hung:
    """A slug that hangs in the pipe. from_ms, until_ms [UTC ms]. slug: itself."""

    from_ms: int
    until_ms: int
    slug: Hanging


def hung(records: Sequence[Record], pumps: Pumps) -> tuple[Hung, ...]:
    """Slugs that hang in the pipe, by time; none where its volume, a density, or what was pumped behind it isn't known.

    records: effective, by time. pumps: over time. While they run a slug goes down the pipe: it hangs once they stop.
    """
    found: list[Hung] = []
    slugs = [r for r in records if r.kind == "slug"]
    pumped = [_end(r) for r in slugs]
    for r, t in zip(slugs, pumped, strict=True):
        rests, behind = _rests(pumps, t)
        volume, heavy, light = (r.payload.get(key) for key in ("volume_m3", "density_kg_m3", "mud_density_kg_m3"))
        if not (volume and heavy and light and heavy > light and isfinite(behind)):
            continue
        if any(other != t and other <= rests and r.t_ms < other for other in pumped):
            continue    # another one was pumped behind it
        on = [int(at) for at, runs in zip(pumps.t_ms, pumps.on, strict=True) if runs and at >= max(rests, t + 1)]
        next_one = [other.t_ms for other in slugs if other.t_ms >= rests and other is not r]
        found.append(Hung(rests, min([FOR_GOOD, *on, *next_one]),
                          Hanging(float(volume), float(heavy), float(light), behind)))
    return tuple(found)


def slug_at(found: Sequence[Hung], t_ms: int) -> Hanging | None:
    """The slug that hangs in the pipe at a time, None without one. found: as of ``hung``. t_ms [UTC ms]."""
    return next((h.slug for h in reversed(found) if h.from_ms <= t_ms < h.until_ms), None)


def _end(r: Record) -> int:
    end = r.payload.get("end_ms")
    return r.t_ms if end is None else int(end)


def _rests(pumps: Pumps, t_ms: int) -> tuple[int, float]:
    """(when the pumps stand from ``t_ms`` on [UTC ms], what they pumped until then [m3], NaN not known)."""
    on, _ = pumps.at(t_ms)
    if not on:
        return t_ms, 0.0
    behind, at, flow = 0.0, t_ms, pumps.at(t_ms)[1]
    for t, runs, rate in zip(pumps.t_ms.tolist(), pumps.on.tolist(), pumps.flow_m3_s.tolist(), strict=True):
        if t <= t_ms:
            continue
        behind += (nan if flow is None else flow) * (t - at) / 1000.0
        if not runs:
            return t, behind
        at, flow = t, rate
    return FOR_GOOD, nan
