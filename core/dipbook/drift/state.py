"""What the sums remember from one reading to the next, and its form on disk."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

HELD, CIRCULATING, STATIC = 0, 1, 2
"""What a reading is to the sums: they hold; they run on the level with pumps on; on the level with pumps long off."""


@dataclass(frozen=True, slots=True)
class Sums:
    """One clock. level_m3: smoothed difference [m3]. gain_m3, loss_m3: its sums [m3]. low_ms, high_ms: the times they
    count from. low_m3, high_m3: smoothed difference at those [m3].
    """

    level_m3: float
    gain_m3: float
    loss_m3: float
    low_ms: int
    high_ms: int
    low_m3: float
    high_m3: float


@dataclass(frozen=True, slots=True)
class Waiting:
    """A row that waits for the next: a reading that may be a spike, or an unknown one after it.

    t_ms: its time. u_m3: the difference [m3], NaN unknown. mode: HELD, CIRCULATING or STATIC.
    """

    t_ms: int
    u_m3: float
    mode: int


@dataclass(frozen=True, slots=True)
class State:
    """Everything: as flat after thirty days as after an hour.

    t_ms: of the last row, None before the first. off_since_ms: pumps off since. mode: of the last row that counted.
    basis: whose level the sums stand on. sums: by clock, empty before the first. sums_ms: when they last moved.
    parked, parked_ms: the sums on the circulating level while they run on the static one. live: seeded since the last
    hold or gap. last_ms: last known reading since then. bridge_ms, bridge_n, bridge_m3: the mean under way: since when,
    readings, their sum. recent: readings for the spike rule [m3]. known_ms: the last one's time, with those that wait.
    waiting: possible spikes. spikes: left out so far. stretch_ms: since when the noise is looked at without a break.
    looks: (look, steady level, quick level) of the last lag. differences: (steady, quick) [m3]. seen: differences ever.
    scale_m3, quick_scale_m3: noise [m3], NaN while learning.
    """

    t_ms: int | None = None
    off_since_ms: int | None = None
    mode: int = HELD
    basis: int = HELD
    sums: tuple[Sums, ...] = ()
    sums_ms: int = 0
    parked: tuple[Sums, ...] = ()
    parked_ms: int = 0
    live: bool = False
    last_ms: int = 0
    bridge_ms: int = 0
    bridge_n: int = 0
    bridge_m3: float = 0.0
    recent: tuple[float, ...] = ()
    known_ms: int = 0
    waiting: tuple[Waiting, ...] = ()
    spikes: int = 0
    stretch_ms: int = 0
    looks: tuple[tuple[int, float, float], ...] = ()
    differences: tuple[tuple[float, float], ...] = ()
    seen: int = 0
    scale_m3: float = math.nan
    quick_scale_m3: float = math.nan

    def fits(self, clocks: int) -> None:
        """Raise ValueError if the state is of another number of clocks. clocks: of the constants to go on with."""
        if self.sums and len(self.sums) != clocks:
            raise ValueError(f"the state is of {len(self.sums)} clocks, the constants of {clocks}: see retuned()")

    def as_dict(self) -> dict[str, Any]:
        """The state in numbers, lists and None only, for JSON: ``from_dict`` gives the same state, bit for bit."""
        made: dict[str, Any] = {name: getattr(self, name) for name in _PLAIN}
        for name in _SUMS:
            made[name] = [[getattr(s, f) for f in Sums.__slots__] for s in getattr(self, name)]
        made["recent"] = list(self.recent)
        made["waiting"] = [[w.t_ms, None if math.isnan(w.u_m3) else w.u_m3, w.mode] for w in self.waiting]
        made["looks"] = [list(look) for look in self.looks]
        made["differences"] = [list(d) for d in self.differences]
        for name in _SCALES:
            value = getattr(self, name)
            made[name] = None if math.isnan(value) else value
        return made


def restarted(state: State) -> State:
    """A state from which the sums begin anew, for a zero that somebody set: what was learned of the noise is kept.

    state: right before it. Nothing else ever sets a sum back: neither a hold nor a gap, nor pumps off, nor a warning.
    """
    return State(t_ms=state.t_ms, off_since_ms=state.off_since_ms, spikes=state.spikes, differences=state.differences,
                 seen=state.seen, scale_m3=state.scale_m3, quick_scale_m3=state.quick_scale_m3)


_SUMS = ("sums", "parked")
_SCALES = ("scale_m3", "quick_scale_m3")
_PLAIN = tuple(name for name in State.__slots__
               if name not in (*_SUMS, *_SCALES, "recent", "waiting", "looks", "differences"))


def from_dict(kept: Mapping[str, Any]) -> State:
    """A state that was kept. kept: what ``State.as_dict`` gave, as it comes back from JSON.

    Raises KeyError for a part that isn't there, ValueError or TypeError for one that is no state's.
    """
    return State(
        **{name: kept[name] for name in _PLAIN},
        sums=tuple(Sums(*s) for s in kept["sums"]), parked=tuple(Sums(*s) for s in kept["parked"]),
        recent=tuple(float(u) for u in kept["recent"]),
        waiting=tuple(Waiting(t, math.nan if u is None else u, mode) for t, u, mode in kept["waiting"]),
        looks=tuple((int(n), float(a), float(b)) for n, a, b in kept["looks"]),
        differences=tuple((float(a), float(b)) for a, b in kept["differences"]),
        scale_m3=math.nan if kept["scale_m3"] is None else kept["scale_m3"],
        quick_scale_m3=math.nan if kept["quick_scale_m3"] is None else kept["quick_scale_m3"])
