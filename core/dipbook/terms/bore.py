"""The pipe's bore: Δ(c·Ldry) − Δ(c·F). Filling a stand takes mud from the tanks, lowering it full gives it back.

F is full pipe standing above the rotary, Ldry empty bore in the hole. The connection's sawtooth falls out of it:
filling takes −c·Ls, lowering full pipe while drilling changes the tanks by −(Ch−d−c) per length, mean −(Ch−d).

A slug that falls empties the bore above it: Ldry grows while the pumps are off. Pumps on take that back, and so do a
stand filled over it and pipe raised. Pumps that come on while it falls end its fall: were they to stop again with the
slug still in the pipe, it would fall again, and that isn't booked (it reads as a gain).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.findings import Finding
from dipbook.rig.model import Pipe
from dipbook.terms.slug import Fall, slugs
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System
from dipbook.trips import Step
from dipbook.well import String


@dataclass(slots=True)
class _Bore:
    """State on the way through the events. full: F [m]; dry: Ldry [m]; on: pumps on (None unknown); flow [m3/s];
    t: up to when slugs have fallen and the dry bore has been refilled [UTC ms]; waiting, falling: slugs that the pumps
    hold up, and those on their way; ramps and findings so far; drawn: by the pumps from the active system, wherever the
    returns go. slug_dry: of dry, what slugs emptied before a trip [m]; pumped_m3: what the pumps filled of the pipe
    that the trip under way ran. started: a zero has been seen; before it nobody knows what stands full, and nothing is
    found fault with. marks: (when [UTC ms], what, how many ramps and how many drawn there were after it)."""

    full: float = 0.0
    dry: float = 0.0
    on: bool | None = None
    flow: float = float("nan")
    t: int = 0
    started: bool = False
    waiting: list[Fall] = field(default_factory=list)
    falling: list[Fall] = field(default_factory=list)
    ramps: list[Ramp] = field(default_factory=list)
    drawn: list[Ramp] = field(default_factory=list)
    slug_dry: float = 0.0
    pumped_m3: float = 0.0
    findings: dict[str, Finding] = field(default_factory=dict)
    marks: list[tuple[int, int, int, int]] = field(default_factory=list)

    def mark(self, t: int, what: int) -> None:
        """What was added since the last mark came of this: when [UTC ms], what."""
        self.marks.append((t, what, len(self.ramps), len(self.drawn)))

    def run(self, until: int | None, pipe: Pipe) -> None:
        """Let slugs fall, or pumps that are on take back the dry bore, up to ``until`` [UTC ms] (None: to the end)."""
        for fall in self.falling:
            lasts = fall.ends_ms - self.t if until is None else min(fall.ends_ms, until) - self.t
            part = fall.left_m3 * lasts / max(fall.ends_ms - self.t, 1)
            self.ramps.append(Ramp(self.t, self.t + lasts, part))
            fall.left_m3 -= part
            self.dry += part / pipe.bore
        self.falling = [f for f in self.falling if until is not None and f.ends_ms > until]
        if self.on and until is not None:
            for fall in self.waiting:
                fall.chased_m3 += self.flow * (until - self.t) / 1000.0
        self._refill(until, pipe)
        if until is not None:
            self.t = until

    def _refill(self, until: int | None, pipe: Pipe) -> None:
        """Pumps that are on take back the dry bore, at their flow where it is known."""
        if self.on and self.dry > 0.0 and pipe.bore > 0.0:
            volume = pipe.bore * self.dry
            takes = 0 if np.isnan(self.flow) or self.flow <= 0 else round(volume / self.flow * 1000)
            lasts = takes if until is None else min(takes, until - self.t)
            share = 1.0 if takes == 0 else lasts / takes
            self.drawn.append(Ramp(self.t, self.t + lasts, -volume * share))
            self.pumped_m3 += max(volume * share - pipe.bore * self.slug_dry, 0.0)
            self.slug_dry = max(self.slug_dry - self.dry * share, 0.0)
            self.dry *= 1.0 - share

    def pumps(self, on: bool, flow: float, bit: float, pipe: Pipe, string: String | None) -> None:
        """Pumps on or off at a flow [m3/s]. bit: how deep it is [m]. string: in the hole, None not described."""
        self.on, self.flow = on, flow
        if on and self.falling:
            self.falling.clear()
            self._find("slug_pumped_on", "The pumps came on before the slug had fallen: the rest of its fall isn't "
                       "booked. If they stop while it is still in the pipe it falls, and that reads as a gain.")
        if not on:
            held, self.waiting = self.waiting, []
            for fall in held:
                self.slug(fall, bit, pipe, string)

    def slug(self, fall: Fall, bit: float, pipe: Pipe, string: String | None) -> None:
        """A slug is in the pipe, or the pumps that held it up have stopped. bit: how deep it is [m]. string: in the
        hole, None not described."""
        if self.on:
            self.waiting.append(fall)
            return
        fall.through(string, bit)
        if not fall.whole(bit, pipe.bore):
            self._find("slug_out", "The pumps stopped after a slug, and by the log it isn't all in the pipe any more, "
                       "or that can't be told: its fall isn't booked and reads as a gain. Log the bit depth and the "
                       "pumps' flow, and the slug's end when the pumps stop behind it.")
        elif fall.lasts_ms == 0:
            self.ramps.append(Ramp(self.t, self.t, fall.left_m3))
            self.dry += fall.left_m3 / pipe.bore
        else:
            fall.ends_ms = self.t + fall.lasts_ms
            self.falling.append(fall)

    def slug_without_pipe(self, fall: Fall) -> None:
        """A slug where the rig describes no pipe: what it lifts out can't be taken back."""
        self.ramps.append(Ramp(fall.t_ms, fall.t_ms + fall.lasts_ms, fall.left_m3))
        self.findings[f"slug_no_pipe {fall.t_ms}"] = Finding(
            "A slug was pumped and the rig file doesn't describe the pipe: what it lifts out is booked, and what the "
            "pumps take back later isn't. That reads as a loss and can hide a gain.", code="slug_no_pipe",
            t_ms=fall.t_ms)

    def zero(self, t: int, full: float) -> None:
        """The books start anew with so much full pipe above the rotary [m] and, but for what a slug still empties, a
        full bore below it."""
        if self.dry > 1e-6:
            self._find("zero_dry_bore", "The difference was zeroed while part of the bore stood empty by the log: it "
                       "counts as full from there, and what the pumps take to fill it reads as a loss and can hide a "
                       "gain.")
        self.full, self.dry, self.t, self.started = full, 0.0, t, True
        self.slug_dry = self.pumped_m3 = 0.0

    def _find(self, code: str, words: str) -> None:
        self.findings[f"{code} {self.t}"] = Finding(words, code=code, t_ms=self.t)

    def fill(self, t: int, length: float, pipe: Pipe) -> None:
        """A stand filled with a length [m] of mud: it fills dry bore below it first, then stands full."""
        dry = min(self.dry, length)
        self.dry -= dry
        self.full += length - dry
        self.ramps.append(Ramp(t, t, -pipe.bore * length))

    def tripped(self, step: Step, pipe: Pipe) -> None:
        """A trip went on: its own term has booked it. step: of its rows, which know no pumps. What the pumps had filled
        already wasn't taken twice. What stands empty over a slug that the trip follows goes with the pipe."""
        dry_m3, filled_m3 = step.dry_m3, step.filled_m3
        if step.empty_m3 is not None:
            self.slug_dry = step.empty_m3 / pipe.bore
        if filled_m3:
            twice = min(self.pumped_m3, filled_m3)
            self.drawn.append(Ramp(self.t, self.t, twice))
        if dry_m3 <= 0.0:
            self.pumped_m3 = 0.0
        self.full, self.dry = 0.0, max(dry_m3 - self.pumped_m3, 0.0) / pipe.bore + self.slug_dry

    def trip_begins(self) -> None:
        """What slugs emptied stays empty through the trip, and nothing of its own pipe is run yet."""
        self.slug_dry, self.pumped_m3 = self.dry, 0.0

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
        elif not self.started:
            return
        elif self.on is False and pipe.float_closed is None:
            self.findings.setdefault("float_unset", Finding(
                "Pipe was lowered with the pumps off and the rig file doesn't say whether the float is closed: an open "
                "string is booked, which gives back less.", code="float_unset", t_ms=t))
        elif self.on is not False:
            self.findings.setdefault("fills_not_logged", Finding(
                "More pipe was lowered than was filled: stands filled aren't logged, and the mean over a stand is "
                "booked.", code="fills_not_logged", severity="note", t_ms=t))


def bore(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Volume that the bore gave back (+) or took (−) [m3], and findings (fills not logged, float not set, slugs).

    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    state, found = _to_the_end(books)
    drawn = state.drawn if _whole(system) else []
    curve = from_ramps((*(part for r in state.ramps for part in system.parts(r)), *drawn))
    return curve, (*found, *state.findings.values())


def bore_by(books: Books, system: System) -> list[tuple[int, int, Ramp]]:
    """(when [UTC ms], which of the events below, what it gave the system or took from it) each; RAN for what slugs and
    the pumps did between two events. books: of the log. system: as of ``bore``."""
    state, _ = _to_the_end(books)
    found: list[tuple[int, int, Ramp]] = []
    a = b = 0
    for t, what, ramps, drawn in state.marks:
        found += [(t, what, part) for r in state.ramps[a:ramps] for part in system.parts(r)]
        found += [(t, what, r) for r in state.drawn[b:drawn]] if _whole(system) else []
        a, b = ramps, drawn
    return found


def _whole(system: System) -> bool:
    """True for the systems that the pumps draw from: the active tanks."""
    return system.name in (ACTIVE_SYSTEM, ALL_SURFACE)


def _to_the_end(books: Books) -> tuple[_Bore, tuple[Finding, ...]]:
    state, last, found = _after_all(books)
    if last is not None:
        t = state.t
        state.run(None, last)
        state.mark(t, RAN)
    return state, found


def _after_all(books: Books) -> tuple[_Bore, Pipe | None, tuple[Finding, ...]]:
    """As ``_followed`` gives it for any time after the last event; to be run on by who asks, so a copy."""
    key = ("bore", "")
    if key not in books.worked_out:
        books.worked_out[key] = _followed(books, None)
    state, last, found = books.worked_out[key]
    copy = replace(state, waiting=[replace(f) for f in state.waiting], falling=[replace(f) for f in state.falling],
                   ramps=[*state.ramps], drawn=[*state.drawn], marks=[*state.marks], findings={**state.findings})
    return copy, last, found


def standing(books: Books, t_ms: int) -> tuple[float, float]:
    """(full pipe above the rotary, empty bore in the hole) [m]; NaN for the first where nobody gave it at the zero in
    force, for both before any.

    books: of the log. t_ms: when [UTC ms].
    """
    state, last, _ = _after_all(books)
    if t_ms < state.t:
        state, last, _ = _followed(books, t_ms)
    if not state.started or last is None:
        return float("nan"), float("nan")
    state.run(t_ms, last)
    zeros = [z for z in books.zeros if z.base_ms is not None and z.asked_ms <= t_ms]
    given = bool(zeros) and max(zeros, key=lambda z: z.asked_ms).stand_m is not None
    return (state.full if given else float("nan")), state.dry


def _followed(books: Books, until: int | None) -> tuple[_Bore, Pipe | None, tuple[Finding, ...]]:
    """The bore after the events up to ``until`` [UTC ms], None for all, and the pipe that was in force last."""
    state = _Bore()
    last: Pipe | None = None
    falls, found = slugs(books.eff.records)
    moved = [step for each in books.trips for step in each.steps(books.rig_at(each.begun_ms))[1:]]
    for t, rank, (what, flow) in _events(books, falls, moved):
        if until is not None and t > until:
            break
        pipe = books.rig_at(t).pipe
        if pipe is None or pipe.bore <= 0.0:
            if rank == SLUG:
                state.slug_without_pipe(falls[int(what)])
            state.mark(t, rank)
            continue
        last = pipe
        since = state.t
        state.run(t, pipe)
        state.mark(since, RAN)
        if rank == ZERO:
            state.zero(t, pipe.stand_m if np.isnan(what) else what)
        elif rank in (PUMPS, OFF):
            state.pumps(bool(what), flow, _bit(books, t), pipe, books.rig_at(t).whole_string)
        elif rank == SLUG:
            state.slug(falls[int(what)], _bit(books, t), pipe, books.rig_at(t).whole_string)
        elif rank == TRIPPED and np.isnan(what):
            state.trip_begins()
        elif rank == TRIPPED:
            state.tripped(moved[int(what)], pipe)
        elif rank == FILL:
            state.fill(t, pipe.stand_m if np.isnan(what) else what, pipe)
        else:
            state.move(t, what, pipe)
        state.mark(t, rank)
    return state, last, tuple(found)


RAN, PUMPS, SLUG, FILL, DEPTH, TRIPPED, OFF, ZERO = -1, 0, 1, 2, 3, 4, 5, 6
"""Order of events at one time: what was drilled by then was drilled before the pumps stopped, and a zero takes
everything at its time as done."""


def _bit(books: Books, t: int) -> float:
    """How deep the bit is at ``t`` [m], NaN where it isn't known."""
    i = int(np.searchsorted(books.depths.t_ms, t, side="right")) - 1
    return float(books.depths.bit_m[i]) if i >= 0 else float("nan")


def _events(books: Books, falls: list[Fall], moved: list[Step]) -> list[tuple[int, int, tuple[float, float]]]:
    p, d = books.pumps, books.depths
    events: list[tuple[int, int, tuple[float, float]]] = [
        (int(p.t_ms[i]), PUMPS if p.on[i] else OFF, (float(p.on[i]), float(p.flow_m3_s[i])))
        for i in range(len(p.t_ms))]
    events.extend((fall.t_ms, SLUG, (float(i), 0.0)) for i, fall in enumerate(falls))
    for r in books.eff.records:
        if r.kind == "stand filled":
            length = r.payload.get("length_m")
            events.append((r.t_ms, FILL, (float("nan") if length is None else float(length), 0.0)))
    for i in range(1, len(d.t_ms)):
        lowered = float(d.bit_m[i] - d.bit_m[i - 1])
        if lowered and not np.isnan(lowered) and not d.aside[i]:
            events.append((int(d.t_ms[i]), DEPTH, (lowered, 0.0)))
    events.extend((each.begun_ms, TRIPPED, (float("nan"), 0.0)) for each in books.trips)
    events.extend((step.row.t_ms, TRIPPED, (float(i), 0.0)) for i, step in enumerate(moved))
    events.extend((z.asked_ms, ZERO, (float("nan") if z.stand_m is None else z.stand_m, 0.0))
                  for z in books.zeros if z.base_ms is not None)   # who zeroed it said what stood full then
    return sorted(events, key=lambda e: e[:2])
