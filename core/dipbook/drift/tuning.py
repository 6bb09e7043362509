"""The constants of the sums: how fast each clock smooths, what it allows for, and its share of the one limit.

They are the program's own, found by simulation, and shown. None of them is a limit: a limit is somebody's.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.quantities import from_unit

_BBL = from_unit(1.0, "bbl")
_BBL_H = from_unit(1.0, "bbl/h")

MOST_M3 = 1e6
"""What is further from zero is no difference of mud tanks, but unknown [m3]: a thousand times what any rig holds."""

FASTEST_S, MINUTE_S, DIPS_S = 5.0, 15.0, 150.0
"""Readings at FASTEST_S or faster have the spike rule; up to MINUTE_S the clocks of a sensor; up to DIPS_S those of a
reading a minute; slower ones are dips by hand [s]."""


@dataclass(frozen=True, slots=True)
class Clock:
    """One pace at which the difference is smoothed and summed.

    name: what it is called. tau_s: time constant of the smoothing, 0 for none [s]. gain_allowance_m3_s,
    loss_allowance_m3_s: change that is let pass [m3/s]. share: its limit is so many times H [-].
    """

    name: str
    tau_s: float
    gain_allowance_m3_s: float
    loss_allowance_m3_s: float
    share: float


@dataclass(frozen=True, slots=True)
class Learning:
    """How the noise is measured: the steady clock's level against its own a while before.

    step_s: one look in so long, in circulation only [s]. lag_s: against the level so long before [s]. keep, need: the
    most looks that count, and the fewest that tell anything. behind: the newest looks that don't count yet, so that a
    gain can't teach that it is noise. every: looks between one estimate and the next. floor_m3: the least that is
    believed [m3].
    """

    step_s: float
    lag_s: float
    keep: int
    need: int
    behind: int
    every: int
    floor_m3: float = 0.05 * _BBL

    @property
    def lag(self) -> int:
        """The lag in looks."""
        return round(self.lag_s / self.step_s)

    @property
    def stored(self) -> int:
        """Looks to be kept for that."""
        return self.keep + self.behind


@dataclass(frozen=True, slots=True)
class Tuning:
    """What ``follow`` and ``step`` go by.

    interval_s: between readings [s]. clocks: quickest first. judged_by: which clock's noise is learned, and whose share
    is 1 (index). gap_s: readings further apart are bridged by means [s]. bridge_s: the mean they are bridged by is over
    so long; 0 for single readings [s]. static_after_s: pumps off for longer are watched on their own level [s].
    settling_s, rate_change: see ``settled`` [s], [-]. spike_m3, spike_sd: a lone reading further off than both is a
    spike; spike_m3 infinite for no such rule [m3], [-]. learning: None where noise isn't learned.
    """

    interval_s: float
    clocks: tuple[Clock, ...]
    judged_by: int
    gap_s: float
    bridge_s: float
    static_after_s: float = 600.0
    settling_s: float = 300.0
    rate_change: float = 0.10
    spike_m3: float = float("inf")
    spike_sd: float = 8.0
    learning: Learning | None = None


def _clock(name: str, tau_s: float, gain: float, loss: float, share: float) -> Clock:
    return Clock(name, tau_s, gain * _BBL_H, loss * _BBL_H, share)


def tuning_for(interval_s: float) -> Tuning:
    """The constants for readings so far apart.

    interval_s: between readings [s]. Source: our own simulation of tanks, gauges and connections (tests/bench), where
    three clocks came to 1.2 times the volume that the best possible detector needs. The lag of the noise's measure is
    ten time constants of the steady clock: with four, noise that wanders with a minute is seen nine tenths only.
    Raises ValueError for an interval that isn't positive.
    """
    if not interval_s > 0.0:
        raise ValueError("readings are a positive time apart")
    if interval_s <= MINUTE_S:
        return Tuning(
            interval_s, (_clock("quick", 5.0, 30.0, 30.0, 1.6), _clock("steady", 30.0, 3.0, 5.0, 1.0),
                         _clock("slow", 120.0, 3.0, 5.0, 0.5)), 1,
            gap_s=max(3.0 * interval_s, 30.0), bridge_s=60.0,
            spike_m3=4.0 * _BBL if interval_s <= FASTEST_S else float("inf"),
            learning=Learning(step_s=15.0, lag_s=300.0, keep=480, need=240, behind=80, every=20))
    if interval_s <= DIPS_S:
        return Tuning(
            interval_s, (_clock("quick", 0.0, 30.0, 30.0, 1.8), _clock("steady", 60.0, 3.0, 5.0, 1.0),
                         _clock("slow", 180.0, 3.0, 5.0, 0.5)), 1,
            gap_s=max(3.0 * interval_s, 30.0), bridge_s=60.0,
            learning=Learning(step_s=60.0 * max(1, round(interval_s / 60.0)), lag_s=600.0, keep=120, need=60, behind=20,
                              every=5))
    return Tuning(interval_s, (_clock("dips", 0.0, 3.0, 5.0, 1.0),), 0, gap_s=float("inf"), bridge_s=0.0)
