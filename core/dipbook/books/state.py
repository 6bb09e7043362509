"""What follows from the entries as states over time: pumps, depths, activity, the watch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from dipbook.entries.kinds import TRIP, TRIP_END
from dipbook.findings import Finding
from dipbook.records import TRIP_ROW, UNWATCHED, Record
from dipbook.rig.model import Rig


@dataclass(frozen=True)
class Pumps:
    """Pumps over time. t_ms: changes, rising; on: bool; flow_m3_s: NaN where on at an unknown flow."""

    t_ms: Any
    on: Any
    flow_m3_s: Any

    def at(self, t_ms: int) -> tuple[bool | None, float | None]:
        """(on, flow [m3/s]) at ``t_ms`` [UTC ms]; None where it isn't known."""
        i = int(np.searchsorted(self.t_ms, t_ms, side="right")) - 1
        if i < 0:
            return None, None
        flow = float(self.flow_m3_s[i])
        return bool(self.on[i]), None if np.isnan(flow) else flow


@dataclass(frozen=True)
class Depths:
    """Measured depths over time, each holding until the next. t_ms rising; hole_m, bit_m (NaN before known); told: the
    entry gave the hole's depth; aside: a trip moved the bit there, and its own term books it, or one began there far
    from where the log had it, and nobody logged the move.
    """

    t_ms: Any
    hole_m: Any
    bit_m: Any
    told: Any
    aside: Any


@dataclass(frozen=True)
class Activities:
    """t_ms: changes, rising; names: what the rig does from then on. Before the first: "unknown"."""

    t_ms: Any
    names: tuple[str, ...]

    def at(self, t_ms: int) -> tuple[str, int | None]:
        """(activity, since [UTC ms]) at ``t_ms`` [UTC ms]."""
        i = int(np.searchsorted(self.t_ms, t_ms, side="right")) - 1
        return ("unknown", None) if i < 0 else (self.names[i], int(self.t_ms[i]))


def pumps(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]]) -> tuple[Pumps, tuple[Finding, ...]]:
    """Pumps over time, from effective records by time.

    An entry without a pump's name tells of all pumps together: off stops them all, on gives the flow of all. One with
    a name tells of that pump. So the flow is the one of all pumps, or the sum of the pumps by name, never both.
    records: effective, by time. rigs: (in force from [UTC ms], rig), by time.
    """
    run = _Run()
    t: list[int] = []
    on: list[bool] = []
    flow: list[float] = []
    findings: list[Finding] = []
    for r in _in_turn([r for r in records if r.kind == "pumps"]):
        rig = _rig_at(rigs, r.t_ms)
        name = str(r.payload.get("pump") or "")
        run.take(name, r.payload.get("state") != "off", _flow(r, rig, name), frozenset(p.name for p in rig.pumps))
        t.append(r.t_ms)
        on.append(run.on)
        flow.append(run.flow)
        if np.isnan(run.flow):
            findings.append(Finding("Pumps are on and their flow isn't known: log the flow of all pumps, or each pump "
                                    "with its strokes a minute.", code="flow_unknown", t_ms=r.t_ms))
    return Pumps(np.array(t, dtype=np.int64), np.array(on, dtype=bool), np.array(flow)), tuple(findings)


def _in_turn(records: Sequence[Record]) -> list[Record]:
    """Pumps entries by time, and at one time as they were logged, but that one which gives the flow of all counts after
    those by name that stand beside it: up to the next that stops them all."""
    keyed: list[tuple[int, int, bool, int, Record]] = []
    t_ms, part = 0, 0
    for place, r in enumerate(records):
        stops = not r.payload.get("pump") and r.payload.get("state") == "off"
        t_ms, part = r.t_ms, (part if r.t_ms == t_ms else 0) + stops
        keyed.append((t_ms, part, _gives_all(r), place, r))
    return [r for *_, r in sorted(keyed, key=lambda k: k[:4])]


def _gives_all(r: Record) -> bool:
    """True for an entry that gives the flow of all pumps."""
    return not r.payload.get("pump") and r.payload.get("state") != "off" and r.payload.get("flow_m3_s") is not None


AGREES = 0.1
"""Pumps by name and the flow of all pumps are the same pumps when they differ by less than this share (no source)."""


@dataclass(slots=True)
class _Run:
    """Pumps on the way through the entries.

    each: flow by name of those on. told: names whose state is known. total: flow of all pumps [m3/s] while an entry
    told of them together, NaN unknown, else None. Pumps by name that don't add up to the flow of all are no longer
    followed.
    """

    each: dict[str, float] = field(default_factory=dict)
    told: set[str] = field(default_factory=set)
    total: float | None = None

    def take(self, name: str, on: bool, flow: float, names: frozenset[str]) -> None:
        """One entry. names: all pumps of the rig."""
        if not name:
            if not on:
                self.each.clear()
                self.told = set(names)
                self.total = None
                return
            if not np.isclose(sum(self.each.values()), flow, rtol=AGREES, atol=0.0):
                self.each.clear()
                self.told.clear()
            self.total = flow
            return
        followed = name in self.told
        self.told.add(name)
        if on:
            self.each[name] = flow
        else:
            self.each.pop(name, None)
        if self.total is not None:      # of all pumps, and one of them has changed since
            self.total = None if followed or (names and self.told >= names) else float("nan")

    @property
    def on(self) -> bool:
        """True if one is on."""
        return self.total is not None or bool(self.each)

    @property
    def flow(self) -> float:
        """Of all that are on [m3/s]."""
        return self.total if self.total is not None else float(sum(self.each.values()))


def _rig_at(rigs: Sequence[tuple[int, Rig]], t_ms: int) -> Rig:
    found = rigs[0][1]
    for start, rig in rigs:
        if start <= t_ms:
            found = rig
    return found


def _flow(r: Record, rig: Rig, name: str) -> float:
    """Flow of a pumps entry [m3/s], NaN if it doesn't say."""
    given = r.payload.get("flow_m3_s")
    if given is not None:
        return float(given)
    spm = r.payload.get("spm")
    if spm is None:
        return float("nan")
    candidates = [p for p in rig.pumps if p.name == name] if name else list(rig.pumps)
    if len(candidates) != 1:
        return float("nan")
    return float(spm) * candidates[0].output_m3 / 60.0


def depths(records: Sequence[Record], reached: Mapping[str, float] | None = None) -> tuple[Depths, tuple[Finding, ...]]:
    """Depths over time. A hole that grew without a bit depth had the bit on bottom: only a bit on bottom drills."""
    t: list[int] = []
    hole: list[float] = []
    bit: list[float] = []
    told: list[bool] = []
    aside: list[bool] = []
    moved = reached or {}
    findings: list[Finding] = []
    h, b = float("nan"), float("nan")
    for r in records:
        if r.kind not in ("depth", TRIP, TRIP_ROW):
            continue
        new_h, new_b = r.payload.get("hole_depth_m"), r.payload.get("bit_depth_m")
        if new_b is None and not np.isnan(moved.get(r.uid, np.nan)):
            new_b = moved[r.uid]                # counted by stands
        if new_h is None and new_b is None:     # a row of a trip without a depth
            continue
        if new_h is not None:
            if new_h < h - 1e-6:
                findings.append(Finding(
                    "The hole depth went down: is one of the two depths mistyped? Cuttings are booked only below the "
                    "deepest since the zero; after a plug-back zero the difference.", code="hole_shallower",
                    t_ms=r.t_ms))
            if new_b is not None and new_h > h + 1e-6 and new_b < new_h - OFF_BOTTOM_M:
                findings.append(Finding(
                    "The hole grew, and the bit is logged far above its bottom: is one of the two depths mistyped? The "
                    "new hole's cuttings are booked, and steel and bore by the bit.", code="grew_off_bottom",
                    t_ms=r.t_ms))
            if new_b is None and new_h > h + 1e-9:
                new_b = new_h
                if np.isnan(b) and bit:
                    bit[-1] = h             # it drilled from there
            h = float(new_h)
        elsewhere = r.kind == TRIP and r.uid not in moved and new_b is not None and abs(float(new_b) - b) > OFF_BOTTOM_M
        aside.append(elsewhere or r.uid in moved)
        if elsewhere:
            findings.append(Finding("A trip began with the bit far from where the log had it: what was pulled or run "
                                    "until then isn't booked. Gauge the tanks and zero the difference.",
                                    code="trip_begins_elsewhere", t_ms=r.t_ms))
        if new_b is not None:
            b = float(new_b)
            if not np.isnan(h) and b > h + 1e-6:
                findings.append(Finding("The bit is logged below the bottom of the hole.", code="bit_below_bottom",
                                        t_ms=r.t_ms))
        t.append(r.t_ms)
        hole.append(h)
        bit.append(b)
        told.append(new_h is not None)
    made = Depths(np.array(t, dtype=np.int64), np.array(hole), np.array(bit), np.array(told, dtype=bool),
                  np.array(aside, dtype=bool))
    return made, tuple(findings)


OFF_BOTTOM_M = 40.0
"""A bit further above the bottom than this was pulled by more than a stand (common practice, no source)."""


def activities(records: Sequence[Record]) -> Activities:
    """Activity over time, from effective records by time. A trip that begins is tripping, or running casing; what is
    done after one that ended nobody has said yet."""
    mine = [(r, word) for r in records if (word := _activity(r)) is not None]
    return Activities(np.array([r.t_ms for r, _ in mine], dtype=np.int64), tuple(word for _, word in mine))


def _activity(r: Record) -> str | None:
    """What the rig does by a record; None where it doesn't say."""
    if r.kind == TRIP:
        return "casing" if "casing" in str(r.payload.get("pipe") or "") else "tripping"
    if r.kind == TRIP_END:
        return "unknown"
    return str(r.payload.get("activity", "unknown")) if r.kind == "activity" else None


def unwatched(records: Sequence[Record]) -> tuple[tuple[int, int | None, str], ...]:
    """Spans in which nobody watched: (from, to or None, why) [UTC ms], by time."""
    spans: list[tuple[int, int | None, str]] = []
    off: tuple[int, str] | None = None
    for r in records:
        if r.kind == UNWATCHED:
            spans.append((int(r.payload["from_ms"]), int(r.payload["to_ms"]), str(r.payload.get("cause", ""))))
        elif r.kind == "watch":
            if r.payload.get("state") == "off" and off is None:
                off = (r.t_ms, str(r.payload.get("reason") or "watch off"))
            elif r.payload.get("state") == "on" and off is not None:
                spans.append((off[0], r.t_ms, off[1]))
                off = None
    if off is not None:
        spans.append((off[0], None, off[1]))
    return tuple(sorted(spans, key=lambda s: s[0]))
