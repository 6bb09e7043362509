"""Which tanks are lined up when, and what each is worth at the moment it joins or leaves.

A tank is valued from its isolated side, at the change: joining, the dip then, else its last dip plus what was logged
since, never the next round; one that was never gauged before counts from its first dip, with a finding. Leaving, the
dip then, else the first dip after less what was logged between, provisional till then. That value is put among the
tank's readings at the change (``real`` False), so that the difference doesn't step there. A gate that isolates a tank
puts it in and out as an entry does.
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
from dipbook.books.trips import Trip
from dipbook.books.valves import Isolation
from dipbook.entries.kinds import ACTIVE, FLOW_LINE
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.rig.model import Rig
from dipbook.trips.rows import PIPE_FILLED, REFILL

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
            moves: Sequence[Movement], isolations: Sequence[Isolation] = (), trips: Sequence[Trip] = (),
            ) -> tuple[LineUp, dict[str, Samples], tuple[Finding, ...]]:
    """The line-up over time, and the samples with the values put in at its changes.

    records: effective, by time; rigs: (from [UTC ms], rig), by time. samples: by tank. moves: as logged. isolations:
    gates opened or closed that put a tank in or out, as an entry does; of several that tell of one tank at one time the
    one logged last counts. trips: of the log: while one goes on the returns go to its trip tank, unless an entry says
    otherwise.
    """
    first = rigs[0][1]
    lined_up = {t.name: t.active for t in first.tanks}
    begun = {name: ALWAYS for name, on in lined_up.items() if on}
    spans: dict[str, list[tuple[int, int]]] = {name: [] for name in lined_up}
    wanted: list[tuple[int, str, bool]] = []
    routes: list[Route] = []
    for t_ms, tank, joins in _asked(records, rigs, routes, isolations):
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
    for tank in sorted({w[1] for w in wanted}):
        mine = [(t, joins) for t, name, joins in wanted if name == tank]
        made, found, with_values = _valued(tank, mine, samples.get(tank), from_ramps(tank_ramps(moves, tank)))
        changes.extend(made)
        findings.extend(found)
        if with_values is not None:
            full[tank] = with_values
    line = LineUp({n: tuple(s) for n, s in spans.items()}, tuple(sorted(changes, key=lambda c: (c.t_ms, c.tank))),
                  _with_trips(routes, trips))
    return line, full, tuple(findings)


def _with_trips(routes: Sequence[Route], trips: Sequence[Trip]) -> tuple[Route, ...]:
    """Where the flow line goes, by time; of one time what an entry says counts last."""
    own: list[Route] = []
    for n, trip in enumerate(trips):
        if not trip.tank:
            continue
        own.append(Route(trip.begun_ms, trip.tank))
        for r in trip.rows:     # changed over to another trip tank
            names = {d.tank for d in r.dips} or {str(r.payload.get("tank") or own[-1].to)}
            if len(names) == 1 and own[-1].to not in names and not _refill(r):
                own.append(Route(r.t_ms, names.pop()))
        following = trips[n + 1].begun_ms if n + 1 < len(trips) else NEVER_ENDS
        own += [] if trip.end_ms is None or following <= trip.end_ms else [Route(trip.end_ms, ACTIVE)]
    return tuple(sorted((*own, *routes), key=lambda r: r.t_ms))


def _refill(r: Record) -> bool:
    """True for a row that only brings mud to or from a trip tank."""
    return r.payload.get("what") in (REFILL, PIPE_FILLED)


def _asked(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]], routes: list[Route],
           isolations: Sequence[Isolation]) -> list[tuple[int, str, bool]]:
    """Changes asked for by entries, gates and changes of the rig: (time, tank, joins), by time, one a tank and time."""
    asked = [(i.t_ms, i.place, i.tank, i.joins) for i in isolations]
    for place, r in enumerate(records):
        if r.kind != "line-up":
            continue
        tank = str(r.payload.get("tank", ""))
        if tank == FLOW_LINE:
            routes.append(Route(r.t_ms, str(r.payload.get("to") or ACTIVE)))
        else:
            asked.append((r.t_ms, place, tank, r.payload.get("state") == "in"))
    for (_, before), (start, after) in pairwise(rigs):
        old, new = {t.name for t in before.tanks}, {t.name: t.active for t in after.tanks}
        asked.extend((start, NEVER_ENDS, name, True) for name, on in new.items() if on and name not in old)
        asked.extend((start, NEVER_ENDS, name, False) for name in sorted(old - set(new)))
    last = {(t_ms, tank): joins for t_ms, _, tank, joins in sorted(asked, key=lambda one: one[:2])}
    return sorted(((t_ms, tank, joins) for (t_ms, tank), joins in last.items()), key=lambda one: one[0])


def _valued(tank: str, changes: Sequence[tuple[int, bool]], samples: Samples | None, logged: Curve,
            ) -> tuple[list[Change], list[Finding], Samples | None]:
    known = np.array([], dtype=np.int64)
    if samples is not None:  # an end that a dip is past tells less than an older dip, and more than none
        known = np.flatnonzero(np.isfinite(samples.volume_m3) & ~samples.unread())
        known = known if len(known) else np.flatnonzero(np.isfinite(samples.volume_m3))
    if samples is None or not len(known):
        return ([Change(t, tank, joins, float("nan"), True) for t, joins in changes],
                [Finding(f"{tank} changed line-up and was never gauged: its worth isn't known, and the balance leaves "
                         "it out until then. Gauge it.", code="lineup_unknown", tank=tank, t_ms=changes[0][0])],
                samples)
    made: list[Change] = []
    findings: list[Finding] = []
    put: list[tuple[int, float, int]] = []
    for i, (t, joins) in enumerate(changes):
        next_change = changes[i + 1][0] if i + 1 < len(changes) else NEVER_ENDS
        base, doubt = _rests_on(samples, known, t, joins, next_change)
        moved = float(logged.at(t)) - float(logged.at(samples.t_ms[base]))
        worth = float(samples.volume_m3[base]) + moved
        made.append(Change(t, tank, joins, worth, bool(doubt)))
        if samples.t_ms[base] != t:
            put.append((t, float("nan") if doubt == FIRST_DIP else worth, base))
        if doubt:
            code, words = _DOUBTS[doubt]
            findings.append(Finding(f"{tank} {words}", code=code, severity="note" if doubt == NOT_SINCE else "warning",
                                    tank=tank, t_ms=t))
    return made, findings, _with(samples, put)


FIRST_DIP, OLDER_DIP, NOT_SINCE = "first dip", "older dip", "not since"
_DOUBTS = {
    FIRST_DIP: ("lineup_first_dip", "joined or left before it was ever gauged: it counts from its first dip, and what "
                                    "ran into or out of it until then isn't seen."),
    OLDER_DIP: ("lineup_provisional", "changed line-up and the volume of its last reading isn't known: its worth then "
                                      "is provisional, from an older dip. Gauge it."),
    NOT_SINCE: ("lineup_provisional", "left the active system and hasn't been gauged since: its worth then is "
                                      "provisional, from the dip before. Gauge it."),
}


def _rests_on(samples: Samples, known: Any, t: int, joins: bool, next_change: int) -> tuple[int, str]:
    """(index of the dip that a tank's worth at ``t`` [UTC ms] rests on, what makes it doubtful or "").

    known: indices of the readings whose volume is known, at least one.
    """
    at = int(np.searchsorted(samples.t_ms[known], t, side="right")) - 1
    before = int(known[at]) if at >= 0 else -1
    after = int(known[at + 1]) if at + 1 < len(known) else -1
    if before < 0:
        return after, FIRST_DIP
    if samples.t_ms[before] == t:
        return before, ""
    if joins:
        return before, "" if before == int(samples.index_at(t)) else OLDER_DIP
    if after >= 0 and samples.t_ms[after] < next_change:
        return after, ""
    return before, NOT_SINCE


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
                   joined(s.real, [False] * len(put)), base, joined(s.row, [-1] * len(put)),
                   None if s.source is None else joined(s.source, [s.source[b] for b in bases]),
                   None if s.by_gate is None else joined(s.by_gate, [False] * len(put)))

