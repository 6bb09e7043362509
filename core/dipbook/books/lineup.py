"""Which tanks are lined up when, and what each is worth at the moment it joins or leaves.

A tank is valued from its isolated side, at the change: joining, the dip then, else its last dip plus what was logged
since; leaving, the dip then, else the first dip after less what was logged between, provisional till then. That value
is put among the tank's readings at the change (``real`` False), so that the difference doesn't step there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from dipbook.books.curve import Curve, from_ramps
from dipbook.books.movements import Movement, tank_ramps
from dipbook.books.samples import Samples
from dipbook.entries.kinds import ACTIVE, FLOW_LINE
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.rig.model import Rig

ALWAYS, NEVER_ENDS = -(2**62), 2**62


@dataclass(frozen=True, slots=True)
class Change:
    """One tank joins (joins True) or leaves the active system at t_ms. volume_m3: its worth then (NaN unknown)."""

    t_ms: int
    tank: str
    joins: bool
    volume_m3: float
    provisional: bool


@dataclass(frozen=True, slots=True)
class Route:
    """Where the flow line goes from t_ms on: "active", a tank, or "none"."""

    t_ms: int
    to: str


@dataclass(frozen=True)
class LineUp:
    """spans: tank -> its (from, to) in the active system [UTC ms], to excluded. changes, routes: by time."""

    spans: Mapping[str, tuple[tuple[int, int], ...]]
    changes: tuple[Change, ...]
    routes: tuple[Route, ...]

    def active_at(self, t_ms: int) -> frozenset[str]:
        """Names of the tanks lined up at ``t_ms`` [UTC ms]."""
        return frozenset(n for n, spans in self.spans.items() if any(a <= t_ms < b for a, b in spans))

    def route_at(self, t_ms: int) -> Route:
        """Where the returns go at ``t_ms`` [UTC ms]."""
        found = Route(ALWAYS, ACTIVE)
        for route in self.routes:
            if route.t_ms <= t_ms:
                found = route
        return found

    def route_spans(self) -> list[tuple[int, int, str]]:
        """(from, to, where) of the flow line over all time [UTC ms]."""
        marks = [Route(ALWAYS, ACTIVE), *self.routes]
        return [(r.t_ms, marks[i + 1].t_ms if i + 1 < len(marks) else NEVER_ENDS, r.to) for i, r in enumerate(marks)]


def line_up(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]], samples: Mapping[str, Samples],
            moves: Sequence[Movement]) -> tuple[LineUp, dict[str, Samples], tuple[Finding, ...]]:
    """The line-up over time, and the samples with the values put in at its changes.

    records: effective, by time; rigs: (from [UTC ms], rig), by time.
    """
    first = rigs[0][1]
    lined_up = {t.name: t.active for t in first.tanks}
    begun = {name: ALWAYS for name, on in lined_up.items() if on}
    spans: dict[str, list[tuple[int, int]]] = {name: [] for name in lined_up}
    wanted: list[tuple[int, str, bool]] = []
    routes: list[Route] = []
    for t_ms, tank, joins in _asked(records, rigs, routes):
        if lined_up.get(tank, False) == joins:
            continue
        lined_up[tank] = joins
        spans.setdefault(tank, [])
        if joins:
            begun[tank] = t_ms
        else:
            spans[tank].append((begun.pop(tank), t_ms))
        wanted.append((t_ms, tank, joins))
    for tank, since in begun.items():
        spans[tank].append((since, NEVER_ENDS))
    changes: list[Change] = []
    findings: list[Finding] = []
    full = dict(samples)
    for tank in {w[1] for w in wanted}:
        mine = [(t, joins) for t, name, joins in wanted if name == tank]
        made, found, with_values = _valued(tank, mine, samples.get(tank), from_ramps(tank_ramps(moves, tank)))
        changes.extend(made)
        findings.extend(found)
        if with_values is not None:
            full[tank] = with_values
    line = LineUp({n: tuple(s) for n, s in spans.items()}, tuple(sorted(changes, key=lambda c: (c.t_ms, c.tank))),
                  tuple(routes))
    return line, full, tuple(findings)


def _asked(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]], routes: list[Route],
           ) -> list[tuple[int, str, bool]]:
    """Changes asked for by entries and by changes of the rig: (time, tank, joins), by time."""
    asked: list[tuple[int, str, bool]] = []
    for r in records:
        if r.kind != "line-up":
            continue
        tank = str(r.payload.get("tank", ""))
        if tank == FLOW_LINE:
            routes.append(Route(r.t_ms, str(r.payload.get("to") or ACTIVE)))
        else:
            asked.append((r.t_ms, tank, r.payload.get("state") == "in"))
    for (_, before), (start, after) in pairwise(rigs):
        old, new = {t.name for t in before.tanks}, {t.name: t.active for t in after.tanks}
        asked.extend((start, name, True) for name, on in new.items() if on and name not in old)
        asked.extend((start, name, False) for name in old - set(new))
    return sorted(asked, key=lambda a: a[0])


def _valued(tank: str, changes: Sequence[tuple[int, bool]], samples: Samples | None, logged: Curve,
            ) -> tuple[list[Change], list[Finding], Samples | None]:
    if samples is None:
        return ([Change(t, tank, joins, float("nan"), True) for t, joins in changes],
                [Finding(f"{tank} changed line-up and was never gauged: its worth isn't known.", code="lineup_unknown",
                         tank=tank, t_ms=changes[0][0])], None)
    made: list[Change] = []
    findings: list[Finding] = []
    put: list[tuple[int, float, int]] = []
    for i, (t, joins) in enumerate(changes):
        next_change = changes[i + 1][0] if i + 1 < len(changes) else NEVER_ENDS
        before = int(samples.index_at(t))
        after = before + 1 if before + 1 < len(samples) and samples.t_ms[before + 1] < next_change else -1
        exact = before >= 0 and samples.t_ms[before] == t
        if exact or (joins and before >= 0):
            base, provisional = before, False
        elif after >= 0:
            base, provisional = after, False
        elif before >= 0:
            base, provisional = before, True
        else:
            made.append(Change(t, tank, joins, float("nan"), True))
            findings.append(Finding(f"{tank} changed line-up before it was gauged: its worth isn't known.",
                                    code="lineup_unknown", tank=tank, t_ms=t))
            continue
        moved = float(logged.at(t)) - float(logged.at(samples.t_ms[base]))
        worth = float(samples.volume_m3[base]) + moved
        made.append(Change(t, tank, joins, worth, provisional))
        if not exact:
            put.append((t, worth, base))
        if provisional:
            findings.append(Finding(
                f"{tank} left the active system and hasn't been gauged since: its worth then is provisional, from the "
                "dip before. Gauge it.", code="lineup_provisional", severity="note", tank=tank, t_ms=t))
    return made, findings, _with(samples, put)


def _with(s: Samples, put: Sequence[tuple[int, float, int]]) -> Samples:
    """Samples with values put in: (time, volume [m3], index of the dip it rests on)."""
    if not put:
        return s
    t = np.concatenate([s.t_ms, [p[0] for p in put]])
    order = np.argsort(t, kind="stable")
    where = np.empty(len(t), dtype=np.int64)
    where[order] = np.arange(len(t))

    def joined(a: Any, extra: Sequence[Any]) -> Any:
        return np.concatenate([a, np.asarray(extra, dtype=a.dtype)])[order]

    bases = [p[2] for p in put]
    base = where[np.concatenate([s.base, np.asarray(bases, dtype=np.int64)])][order]
    flag = None if s.flag is None else tuple((*s.flag, *("" for _ in put))[i] for i in order)
    return Samples(t[order], joined(s.level_m, [np.nan] * len(put)), joined(s.volume_m3, [p[1] for p in put]),
                   joined(s.u_m3, [s.u_m3[b] for b in bases]), flag, joined(s.seq, [s.seq[b] for b in bases]),
                   joined(s.real, [False] * len(put)), base)

