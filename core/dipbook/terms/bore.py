"""The pipe's bore: Δ(c·Ldry) − Δ(c·F). Filling a stand takes mud from the tanks, lowering it full gives it back.

F is full pipe standing above the rotary, Ldry empty bore in the hole. The connection's sawtooth falls out of it:
filling takes −c·Ls, lowering full pipe while drilling changes the tanks by −(Ch−d−c) per length, mean −(Ch−d).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.findings import Finding
from dipbook.rig.model import Pipe
from dipbook.terms.system import System


@dataclass(slots=True)
class _Bore:
    """State on the way through the events. full: F [m]; dry: Ldry [m]; on: pumps on (None unknown); flow [m3/s]."""

    full: float = 0.0
    dry: float = 0.0
    on: bool | None = None
    flow: float = float("nan")


def bore(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Volume that the bore gave back (+) or took (−) [m3], and findings (fills not logged, float not set)."""
    state = _Bore()
    ramps: list[Ramp] = []
    findings: dict[str, Finding] = {}
    started = False
    for t, rank, what in _events(books):
        pipe = books.rig_at(t).pipe
        if pipe is None:
            continue
        if rank == ZERO:
            stand = what[0]
            state.full, state.dry, started = (pipe.stand_m if np.isnan(stand) else stand), 0.0, True
        elif not started:
            if rank == PUMPS:
                state.on, state.flow = bool(what[0]), what[1]
        elif rank == PUMPS:
            state.on, state.flow = bool(what[0]), what[1]
            if state.on and state.dry > 0:
                ramps.append(_refill(t, state, pipe))
        elif rank == FILL:
            length = pipe.stand_m if np.isnan(what[0]) else what[0]
            state.full += length
            ramps.append(Ramp(t, t, -pipe.bore * length))
        else:
            ramps.extend(_moved(t, what[0], state, pipe, findings))
    return from_ramps(part for r in ramps for part in system.parts(r)), tuple(findings.values())


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
    events.extend((z.t_ms, ZERO, (float("nan") if z.stand_m is None else z.stand_m, 0.0))
                  for z in books.zeros if z.t_ms is not None)
    return sorted(events, key=lambda e: e[:2])


def _refill(t: int, state: _Bore, pipe: Pipe) -> Ramp:
    """Pumps on take back the dry bore, at the flow where it is known."""
    volume = pipe.bore * state.dry
    state.dry = 0.0
    takes = 0 if np.isnan(state.flow) or state.flow <= 0 else round(volume / state.flow * 1000)
    return Ramp(t, t + takes, -volume)


def _moved(t: int, lowered: float, state: _Bore, pipe: Pipe, findings: dict[str, Finding]) -> list[Ramp]:
    """Pipe lowered (+) or raised (−) by a length [m]."""
    if lowered < 0:
        raised = -lowered
        from_dry = min(state.dry, raised)
        state.dry -= from_dry
        state.full += raised - from_dry
        return [Ramp(t, t, -pipe.bore * raised)]
    used = min(state.full, lowered)
    state.full -= used
    ramps = [Ramp(t, t, pipe.bore * used)] if used else []
    rest = lowered - used
    if rest > 1e-9:
        if state.on is False and pipe.float_closed:
            state.dry += rest
            ramps.append(Ramp(t, t, pipe.bore * rest))
        elif state.on is False and pipe.float_closed is None:
            findings.setdefault("float_unset", Finding(
                "Pipe was lowered with the pumps off and the rig file doesn't say whether the float is closed: an open "
                "string is booked, which gives back less.", code="float_unset", t_ms=t))
        else:
            findings.setdefault("fills_not_logged", Finding(
                "More pipe was lowered than was filled: stands filled aren't logged, and the mean over a stand is "
                "booked.", code="fills_not_logged", severity="note", t_ms=t))
    return ramps
