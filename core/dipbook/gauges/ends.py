"""A gauge at the end of what it can tell: what is beyond that end isn't seen."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, open_end, share_of
from dipbook.gauges.noise import runs

AT_TOP, AT_BOTTOM = "at its top", "at its bottom"


def clipped(gauges: Sequence[Gauge], *, readings: int = 3, near_m3: float = 1e-3) -> tuple[Doubt, ...]:
    """Sensors at or past the end of their range, and dips past the end of the tank.

    gauges: of all tanks. readings: values running, of a sensor; of rounds one is enough. near_m3: how near the end
    counts as at it [m3]. An empty tank that isn't lined up is no doubt. Our choice, no source.
    """
    found: list[Doubt] = []
    for g in gauges:
        if not len(g.t_ms):
            continue
        least = readings if g.sensed else 1
        lined_up = g.active(g.t_ms)
        for past, said in ((g.volume_m3 >= g.top_m3 - near_m3, AT_TOP),
                           ((g.volume_m3 <= g.bottom_m3 + near_m3) & lined_up, AT_BOTTOM)):
            if not past.any():
                continue
            for a, b in runs(past):
                if b - a + 1 >= least:
                    end = int(g.t_ms[b])
                    found.append(Doubt("clipped", g.tank, int(g.t_ms[a]), int(g.t_ms[a + least - 1]), open_end(end, g),
                                       count=b - a + 1, share=share_of(g, gauges, end), said=said))
    return tuple(sorted(found, key=lambda d: d.from_ms))


