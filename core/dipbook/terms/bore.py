"""The pipe's bore: Δ(c·Ldry) − Δ(c·F). Filling a stand takes mud from the tanks, lowering it full gives it back.

F is full pipe standing above the rotary, Ldry empty bore in the hole. The connection's sawtooth falls out of it:
filling takes −c·Ls, lowering full pipe while drilling changes the tanks by −(Ch−d−c) per length, mean −(Ch−d).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.findings import Finding
from dipbook.rig.model import Pipe
from dipbook.terms.system import System


@dataclass(slots=True)
class _Bore:
    """State on the way through the events. full: F [m]; dry: Ldry [m]; on: pumps on (None unknown); flow [m3/s];
    t: up to when the dry bore has been refilled [UTC ms]; ramps and findings so far."""

    full: float = 0.0
    dry: float = 0.0
    on: bool | None = None
    flow: float = float("nan")
    t: int = 0
    ramps: list[Ramp] = field(default_factory=list)
    findings: dict[str, Finding] = field(default_factory=dict)

    def refill(self, until: int | None, pipe: Pipe) -> None:
        """Let pumps that are on take back the dry bore, at their flow where it is known, up to ``until`` [UTC ms]
        (None: to the end)."""
        if self.on and self.dry > 0.0 and pipe.bore > 0.0:
            volume = pipe.bore * self.dry
            takes = 0 if np.isnan(self.flow) or self.flow <= 0 else round(volume / self.flow * 1000)
            lasts = takes if until is None else min(takes, until - self.t)
            share = 1.0 if takes == 0 else lasts / takes
            self.ramps.append(Ramp(self.t, self.t + lasts, -volume * share))
            self.dry *= 1.0 - share
        if until is not None:
            self.t = until

    def fill(self, t: int, length: float, pipe: Pipe) -> None:
        """A stand filled with a length [m] of mud: it fills dry bore below it first, then stands full."""
        dry = min(self.dry, length)
        self.dry -= dry
        self.full += length - dry
        self.ramps.append(Ramp(t, t, -pipe.bore * length))

    def move(self, t: int, lowered: float, pipe: Pipe) -> None:
        """Pipe lowered (+) or raised (−) by a length [m]."""
        if lowered < 0:
            dry = min(self.dry, -lowered)
            self.dry -= dry
            self.full += -lowered - dry
            self.ramps.append(Ramp(t, t, pipe.bore * lowered))
            return
        used = min(self.full, lowered)
        self.full -= used
        if used:
            self.ramps.append(Ramp(t, t, pipe.bore * used))
        rest = lowered - used
        if rest > 1e-9:
            self._beyond(t, rest, pipe)

    def _beyond(self, t: int, rest: float, pipe: Pipe) -> None:
        """More pipe lowered than stood full, by a length [m]."""
        if self.on is False and pipe.float_closed:
            self.dry += rest
            self.ramps.append(Ramp(t, t, pipe.bore * rest))
        elif self.on is False and pipe.float_closed is None:
            self.findings.setdefault("float_unset", Finding(
                "Pipe was lowered with the pumps off and the rig file doesn't say whether the float is closed: an open "
                "string is booked, which gives back less.", code="float_unset", t_ms=t))
        elif self.on is not False:
            self.findings.setdefault("fills_not_logged", Finding(
                "More pipe was lowered than was filled: stands filled aren't logged, and the mean over a stand is "
                "booked.", code="fills_not_logged", severity="note", t_ms=t))


def bore(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Volume that the bore gave back (+) or took (−) [m3], and findings (fills not logged, float not set).

    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    state = _Bore()
    started = False
    last: Pipe | None = None
    for t, rank, (what, flow) in _events(books):
        pipe = books.rig_at(t).pipe
        if pipe is None:
            continue
        last = pipe
        if started:
            state.refill(t, pipe)
        if rank == ZERO:
            state.full, state.dry, state.t, started = (pipe.stand_m if np.isnan(what) else what), 0.0, t, True
        elif rank == PUMPS:
            state.on, state.flow = bool(what), flow
        elif started and rank == FILL:
            state.fill(t, pipe.stand_m if np.isnan(what) else what, pipe)
        elif started:
            state.move(t, what, pipe)
    if started and last is not None:
        state.refill(None, last)
    return from_ramps(part for r in state.ramps for part in system.parts(r)), tuple(state.findings.values())


PUMPS, FILL, DEPTH, ZERO = 0, 1, 2, 3
"""Order of events at one time: a zero takes everything at its time as done."""


def _events(books: Books) -> list[tuple[int, int, tuple[float, float]]]:
    p, d = books.pumps, books.depths
    events: list[tuple[int, int, tuple[float, float]]] = [
        (int(p.t_ms[i]), PUMPS, (float(p.on[i]), float(p.flow_m3_s[i]))) for i in range(len(p.t_ms))]
    for r in books.eff.records:
        if r.kind == "stand filled":
            length = r.payload.get("length_m")
            events.append((r.t_ms, FILL, (float("nan") if length is None else float(length), 0.0)))
    for i in range(1, len(d.t_ms)):
        lowered = float(d.bit_m[i] - d.bit_m[i - 1])
        if lowered and not np.isnan(lowered):
            events.append((int(d.t_ms[i]), DEPTH, (lowered, 0.0)))
    events.extend((z.base_ms, ZERO, (float("nan") if z.stand_m is None else z.stand_m, 0.0))
                  for z in books.zeros if z.base_ms is not None)
    return sorted(events, key=lambda e: e[:2])
