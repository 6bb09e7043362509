"""How the sums go on after a hold, a gap, or on another level. They are never set back to zero.

Across a hold or a gap the smoothed level goes on at the mean of the first minute after it, and the step from the level
before counts, less the allowance for the time between: what came meanwhile shows. Pumps long off is another level: the
sums go on from where they are, and when circulation is back the step from the circulating level before counts, or what
was gained with pumps off if that is more.
"""

from __future__ import annotations

from dataclasses import replace

from dipbook.drift.state import CIRCULATING, HELD, STATIC, State, Sums
from dipbook.drift.tuning import Clock, Tuning


def moved(clock: Clock, sums: Sums, level_m3: float, t_ms: int, since_s: float) -> Sums:
    """The sums at a new level. clock: whose. sums: before. level_m3: smoothed [m3]. t_ms: now. since_s: since [s]."""
    change = level_m3 - sums.level_m3
    gain = sums.gain_m3 + change - clock.gain_allowance_m3_s * since_s
    loss = sums.loss_m3 - change - clock.loss_allowance_m3_s * since_s
    return Sums(
        level_m3, max(0.0, gain), max(0.0, loss),
        sums.low_ms if gain > 0.0 else t_ms, sums.high_ms if loss > 0.0 else t_ms,
        sums.low_m3 if gain > 0.0 else level_m3, sums.high_m3 if loss > 0.0 else level_m3)


def _carried(sums: Sums, level_m3: float) -> Sums:
    """The same sums on another level, with the low and the high as far from it as before."""
    by = level_m3 - sums.level_m3
    return replace(sums, level_m3=level_m3, low_m3=sums.low_m3 + by, high_m3=sums.high_m3 + by)


def _greater(bridged: Sums, held: Sums) -> Sums:
    """Of each side the greater sum, with what it counts from. Both at one level."""
    gain = bridged if bridged.gain_m3 >= held.gain_m3 else held
    loss = bridged if bridged.loss_m3 >= held.loss_m3 else held
    return Sums(bridged.level_m3, gain.gain_m3, loss.loss_m3, gain.low_ms, loss.high_ms, gain.low_m3, loss.high_m3)


def seeded(state: State, t_ms: int, level_m3: float, mode: int, tuning: Tuning) -> State:
    """The state with the sums live again. state: before. t_ms: now. level_m3: mean since the hold or gap [m3].
    mode: CIRCULATING or STATIC. tuning: clocks.
    """
    parked, parked_ms = state.parked, state.parked_ms
    if state.basis == HELD:
        sums = tuple(Sums(level_m3, 0.0, 0.0, t_ms, t_ms, level_m3, level_m3) for _ in tuning.clocks)
    elif state.basis == mode:
        since = (t_ms - state.sums_ms) / 1000.0
        sums = tuple(moved(c, s, level_m3, t_ms, since) for c, s in zip(tuning.clocks, state.sums, strict=True))
    else:
        sums = tuple(_carried(s, level_m3) for s in state.sums)
        if mode == STATIC:
            parked, parked_ms = state.sums, state.sums_ms
        elif parked:
            since = (t_ms - parked_ms) / 1000.0
            bridged = [moved(c, s, level_m3, t_ms, since) for c, s in zip(tuning.clocks, parked, strict=True)]
            sums = tuple(_greater(b, s) for b, s in zip(bridged, sums, strict=True))
        if mode == CIRCULATING:
            parked, parked_ms = (), 0
    return replace(state, basis=mode, sums=sums, sums_ms=t_ms, parked=parked, parked_ms=parked_ms, live=True,
                   last_ms=t_ms, bridge_ms=0, bridge_n=0, bridge_m3=0.0, stretch_ms=t_ms, looks=())
