"""A simulated rig floor, in barrels: what tanks read while nothing, or something, comes from the well.

Invented, from no rig: surfaces that wander and splash, agitator's ripple, a gauge's step, mud lost on the surface, and
connections at which the lines drain back. ``Run`` keeps the truth beside what is read. What the design left open is
chosen here: the ripple is a sine of 0.1 sd and 6 to 12 s, the loss wanders with a time constant of an hour, drain-back
differs from connection to connection by a normal factor of sd 5 %.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from bench.detection.noise import Draws

TANKS = 3
SETTLING_S = 300.0
KINDS = ("none", "drilling", "at once", "pumps-off start", "pumps-off only", "growing", "loss")


@dataclass(frozen=True)
class Floor:
    """A configuration. dt_s: between readings [s]; sd: of a tank [bbl]; share: of its variance that is AR(1); tau_s: of
    that [s]; quantum: of a gauge [bbl]; loss: lost on the surface at all; connections: pumps stop now and then;
    per_dip: noise is uniform and independent, of half-width per_dip [bbl] (dips by hand), 0 for a sensor.
    """

    dt_s: float = 5.0
    sd: float = 0.5
    share: float = 0.6
    tau_s: float = 20.0
    quantum: float = 0.1
    loss: bool = True
    connections: bool = False
    per_dip: float = 0.0

    @property
    def total_sd(self) -> float:
        """Of all tanks' sum [bbl]."""
        return self.sd * float(np.sqrt(TANKS))


@dataclass(frozen=True)
class Off:
    """Pumps off. off_s, on_s: when [s]; factor: of the usual drain-back."""

    off_s: float
    on_s: float
    factor: float


@dataclass(frozen=True)
class Run:
    """One history. t_s: readings [s]; read: the tanks' sum as read [bbl]; true: of it without noise and steps; well:
    what the well gave since it began [bbl]; lost: on the surface; drained: out of the lines; on: pumps run; steady: and
    have run for long enough; onset_s: when the well began to flow, NaN never; offs: connections; drains: what the lines
    give back in the mean [bbl]; base: what the tanks hold at the beginning [bbl].
    """

    t_s: Any
    read: Any
    true: Any
    well: Any
    lost: Any
    drained: Any
    on: Any
    steady: Any
    onset_s: float
    offs: tuple[Off, ...] = field(default=())
    drains: float = 0.0
    base: float = 0.0


def run(floor: Floor, cell: int, replicate: int, hours: float, *, kind: str = "none", q: float = 0.0,
        onset_s: float = float("nan")) -> Run:
    """Simulate. hours: how long. kind: of KINDS. q: rate [bbl/min]. onset_s: from when; pumps-off kinds begin with the
    first connection from then on, "drilling" in a world with connections when the pumps have run for long enough."""
    if kind not in KINDS:
        raise ValueError(f"no such kind: {kind}")
    d = Draws(cell, replicate)
    n = round(hours * 3600.0 / floor.dt_s) + 1
    t = np.arange(n) * floor.dt_s
    lost = _lost(floor, d, t)
    offs, drains, drained = _connections(floor, d, t) if floor.connections else ((), 0.0, np.zeros(n))
    on, steady = np.ones(n, dtype=bool), np.ones(n, dtype=bool)
    for off in offs:
        on &= ~((t >= off.off_s) & (t < off.on_s))
        steady &= ~((t >= off.off_s) & (t < off.on_s + SETTLING_S))
    onset = onset_s
    if kind.startswith("pumps-off"):
        onset = next((o.off_s for o in offs if o.off_s >= onset_s), float("nan"))
    elif kind == "drilling" and offs:
        onset = _drilling_at(offs, onset_s)
    doubling_s = 60.0 * d.between(4.0, 10.0)
    well = _well(kind, q, t, onset, offs, doubling_s)
    true = well - lost + drained
    bases = [floor.quantum * float(x) for x in d.uniforms(TANKS)]
    read = sum((_tank(floor, d, t, base + true / TANKS) for base in bases), np.zeros(n))
    return Run(t, read, true, well, lost, drained, on, steady, onset, offs, drains, sum(bases))


def _drilling_at(offs: tuple[Off, ...], wanted_s: float) -> float:
    """The first time from wanted_s on at which the pumps have run for long enough [s]."""
    return next((o.on_s + SETTLING_S for o in offs if o.off_s <= wanted_s < o.on_s + SETTLING_S), wanted_s)


def _tank(floor: Floor, d: Draws, t: Any, level: Any) -> Any:
    """What one tank reads [bbl]."""
    n = len(t)
    if floor.per_dip:
        noise = floor.per_dip * (2.0 * d.uniforms(n) - 1.0)
    else:
        noise = floor.sd * (np.sqrt(floor.share) * d.wandering(n, floor.dt_s, floor.tau_s)
                            + np.sqrt(1.0 - floor.share) * d.normals(n))
        period, phase = d.between(6.0, 12.0), d.between(0.0, 1.0)
        noise += 0.1 * floor.sd * np.sin(2.0 * np.pi * (t / period + phase))
    return np.round((level + noise) / floor.quantum) * floor.quantum if floor.quantum else level + noise


def _lost(floor: Floor, d: Draws, t: Any) -> Any:
    """Lost on the surface [bbl]: a rate of the tour from 0 to 3 bbl/h, and a wander of sd 0.5 bbl/h."""
    mean = d.between(0.0, 3.0)
    rate = mean + 0.5 * d.wandering(len(t), floor.dt_s, 3600.0)
    made = np.concatenate(([0.0], np.cumsum(rate[:-1]))) * floor.dt_s / 3600.0
    return made if floor.loss else np.zeros(len(t))


def _connections(floor: Floor, d: Draws, t: Any) -> tuple[tuple[Off, ...], float, Any]:
    """(connections, usual drain-back [bbl], what has drained out of the lines at t [bbl])."""
    drains, tau, refill = d.between(10.0, 30.0), d.between(45.0, 100.0), d.between(30.0, 50.0)
    offs: list[Off] = []
    out = np.zeros(len(t))
    at = 0.0
    while (at := at + 60.0 * d.between(20.0, 60.0)) < t[-1]:
        on = at + 60.0 * d.between(4.0, 10.0)
        factor = 1.0 + 0.05 * float(d.normals(1)[0])
        offs.append(Off(at, on, factor))
        most = drains * factor
        off = (t >= at) & (t < on)
        out[off] += most * (1.0 - np.exp(-(t[off] - at) / tau))
        back = (t >= on) & (t < on + refill)
        out[back] += most * (1.0 - np.exp(-(on - at) / tau)) * (1.0 - (t[back] - on) / refill)
        at = on
    return tuple(offs), drains, out


def _well(kind: str, q: float, t: Any, onset: float, offs: tuple[Off, ...], doubling_s: float) -> Any:
    """What the well gave [bbl]."""
    if kind == "none" or np.isnan(onset):
        return np.zeros(len(t))
    since = np.maximum(t - onset, 0.0)
    if kind == "pumps-off only":
        return sum((q / 60.0 * np.clip(t - o.off_s, 0.0, o.on_s - o.off_s) for o in offs if o.off_s >= onset),
                   np.zeros(len(t)))
    if kind == "growing":
        return q / 60.0 * doubling_s / np.log(2.0) * (2.0 ** (since / doubling_s) - 1.0)
    return (-q if kind == "loss" else q) / 60.0 * since
