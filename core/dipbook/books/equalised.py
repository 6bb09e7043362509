"""Compartments that stand at one level: a tank that a reading left out takes the level of the one behind an open gate.

Two tanks whose gate is open, and of which the rig file says that it equalises, have one surface. A reading that gauges
one and not the other tells both: the other's level is that level less the height of its own bottom over the gauged
one's, through its own geometry, at the time of the dip. It goes on from gate to gate; the nearest gauged tank counts,
and of two gauged ones each keeps its own. It is not told where

- the gate was closed at the time of the dip, or was opened or closed at that very time;
- the gate was opened by an entry, and no reading since gauged both tanks at one level: levels take minutes to meet;
- the mud on the way stands below a gate's foot (a gate reaches down to the higher of its two bottoms);
- the dip couldn't be read (over the brim, below the stick), or the shape doesn't say what that level holds.

The two volumes come from one dip, so that their errors add: Σ A·a/√3 and not its square root of squares. ``source`` of
the samples says which dip an error comes from, and ``variance`` adds the errors of one dip before it squares them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from dipbook.books.samples import Samples, tank_spans
from dipbook.books.valves import EVER, ValveStates
from dipbook.findings import Finding
from dipbook.rig.model import Rig, Valve
from dipbook.tanks.gauging import ROUNDING_M, UNREAD
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import level_spread

_TANK_BITS = 40
"""Dips of one tank that can be told apart: 2 to this power."""


@dataclass(frozen=True, slots=True)
class _Way:
    """From a gauged tank through open gates to another. tanks: from the gauged one to the other, both included.
    heights: of each one's bottom over the first one's [m]."""

    tanks: tuple[str, ...]
    heights: tuple[float, ...]


def equalise(samples: Mapping[str, Samples], rigs: Sequence[tuple[int, Rig]], valves: ValveStates,
             ) -> tuple[dict[str, Samples], tuple[Finding, ...]]:
    """The samples with what readings tell of tanks behind open gates, and findings where they tell nothing.

    samples: by tank, as gauged. rigs: (in force from [UTC ms], rig), by time. valves: over time.
    """
    made = dict(samples)
    taken: dict[str, list[Samples]] = {}
    findings: list[Finding] = []
    told: set[str] = set()
    number = {name: n << _TANK_BITS for n, name in enumerate(sorted({t.name for _, rig in rigs for t in rig.tanks}))}
    tells: dict[str, list[tuple[int, int]]] = {}
    for gate in {v.name: v for _, rig in rigs for v in rig.valves if v.equalises}.values():
        tells[gate.name], found = _told_through(gate, samples, rigs, valves)
        findings.extend(found)
    for a, b, gates in _stretches(rigs, tells):
        for name in dict.fromkeys(name for gate in gates for name in (gate.tank, gate.to)):
            ways = [way for way in _ways(name, gates) if way.tanks[0] in samples]
            tank = next((t for x, y, t in tank_spans(name, rigs) if x <= a < y), None)
            if tank is None or not ways:
                continue
            parts = _told(tank, ways, samples, rigs, (a, b), number, findings)
            taken.setdefault(name, []).extend(parts)
            told.update(way.tanks[0] for way in ways)
    if not any(taken.values()):
        return made, tuple(findings)
    for name in sorted(told | set(taken)):
        own = samples.get(name)
        parts = ([] if own is None else [_numbered(own, number[name])]) + taken.get(name, [])
        if parts:
            made[name] = _merged(parts)
    return made, tuple(findings)


def level_with(rig: Rig, valves: ValveStates, tank: str, t_ms: int) -> tuple[tuple[str, float], ...]:
    """Tanks that stand at one level with a tank at a time, nearest first: (tank, height of its bottom over that one's
    [m]).

    rig: in force then. valves: over time. tank: its name. t_ms: when [UTC ms].
    """
    gates = [v for v in rig.valves if v.equalises and valves.at(v.name, t_ms)[0]]
    return tuple((way.tanks[0], -way.heights[-1]) for way in _ways(tank, gates))


def told_anew(before: Mapping[str, Samples], after: Mapping[str, Samples]) -> list[int]:
    """For each tank the first time [UTC ms] at which a level behind an open gate is told otherwise, or no longer.

    before, after: samples by tank, of two states of the books.
    """
    found: list[int] = []
    for tank in {n for samples in (before, after) for n, s in samples.items() if s.by_gate is not None}:
        old, new = (_by_gate(samples.get(tank)) for samples in (before, after))
        n = min(len(old[0]), len(new[0]))
        differs = np.flatnonzero((old[0][:n] != new[0][:n]) | (old[1][:n] != new[1][:n]))
        k = int(differs[0]) if len(differs) else n
        found += [int(times[k]) for times, _ in (old, new) if k < len(times)]
    return found


def _by_gate(s: Samples | None) -> tuple[Any, Any]:
    """(times, volumes) of the levels of a tank that another's dip told."""
    if s is None or s.by_gate is None:
        return np.array([], dtype=np.int64), np.array([])
    return s.t_ms[s.by_gate], s.volume_m3[s.by_gate]


def variance(parts: Sequence[tuple[Any, Any]], shape: tuple[int, ...]) -> Any:
    """Variance [m6] of a sum of volumes of which several may come from one dip.

    parts: (source of the error, standard uncertainty [m3] with the sign that it counts with), arrays. shape: theirs.
    Errors of one source add before they are squared, those of different sources are independent.
    """
    total = np.zeros(shape)
    for k, (source, u) in enumerate(parts):
        total = total + u**2
        for other, v in parts[:k]:
            both = (source == other) & (u != 0.0) & (v != 0.0)
            total = total + np.where(both, 2.0 * u * v, 0.0)
    return np.where(total < 0.0, 0.0, total)      # below 0 by rounding only: it is a sum of squares


def _told_through(gate: Valve, samples: Mapping[str, Samples], rigs: Sequence[tuple[int, Rig]], valves: ValveStates,
                  ) -> tuple[list[tuple[int, int]], list[Finding]]:
    """Spans in which a gate tells a level, both ends excluded [UTC ms], and findings where it stands open and doesn't.

    One that is open by the rig file tells at once; one that an entry opened from the end of the first reading on that
    gauged both tanks at one level.
    """
    spans: list[tuple[int, int]] = []
    findings: list[Finding] = []
    runs = valves.runs.get(gate.name, ())
    for k, (a, is_open, since) in enumerate(runs):
        if not is_open:
            continue
        b = runs[k + 1][0] if k + 1 < len(runs) else 2**62
        met = a if since is None else _met(gate, samples, rigs, a, b)
        if met is not None:
            spans.append((met, b))
        elif any(bool(((s.t_ms > a) & (s.t_ms < b)).any()) for name in (gate.tank, gate.to)
                 if (s := samples.get(name)) is not None):
            findings.append(Finding(
                f"{gate.name} was opened and {gate.tank} and {gate.to} weren't gauged at one level since: neither "
                "tells the other's level yet. Gauge both.", code="gate_not_level", severity="note", tank=gate.tank,
                t_ms=a))
    return spans, findings


LEVEL_M = 0.025
"""Two dips that differ by less are at one level, whatever their own errors (an inch; no source)."""


def _met(gate: Valve, samples: Mapping[str, Samples], rigs: Sequence[tuple[int, Rig]], a: int, b: int) -> int | None:
    """End of the first reading between two times [UTC ms] that gauged both tanks of a gate at one level, None if none
    did."""
    upper, lower = samples.get(gate.tank), samples.get(gate.to)
    if upper is None or lower is None:
        return None
    rows, i, k = np.intersect1d(upper.row, lower.row, return_indices=True)
    last = np.maximum(upper.t_ms[i], lower.t_ms[k])
    readable = ~upper.unread()[i] & ~lower.unread()[k]
    apart = np.abs(lower.level_m[k] - upper.level_m[i] - gate.step_m)
    errors = np.zeros(len(rows))
    for name in (gate.tank, gate.to):
        for x, y, tank in tank_spans(name, rigs):
            errors += np.where((last >= x) & (last < y), tank.dip_error_m or 0.0, 0.0)
    met = readable & (apart <= np.maximum(errors, LEVEL_M)) & (last < b)
    met &= (upper.t_ms[i] > a) & (lower.t_ms[k] > a)
    return int(last[met].min()) if met.any() else None


def _stretches(rigs: Sequence[tuple[int, Rig]], tells: Mapping[str, Sequence[tuple[int, int]]],
               ) -> Iterator[tuple[int, int, list[Valve]]]:
    """(from, to [UTC ms], to excluded, gates that tell a level) of each stretch in which there are some."""
    marks = {x for spans in tells.values() for span in spans for x in span if EVER < x < 2**62}
    starts = [EVER, *(t for t, _ in rigs[1:])]
    for a, b in pairwise(sorted({*starts, *marks, *(m + 1 for m in marks), *(t + 1 for t in starts[1:]), 2**62})):
        rig = rigs[max(n for n, start in enumerate(starts) if start <= a)][1]
        gates = [v for v in rig.valves if v.equalises
                 and any((x < a or x == a == EVER) and a < y for x, y in tells.get(v.name, ()))]
        if gates:
            yield a, b, gates


def _ways(tank: str, gates: Sequence[Valve]) -> list[_Way]:
    """The shortest way to ``tank`` from each tank that open gates join it with, the nearest first, then by the file's
    order of the gates."""
    found: dict[str, tuple[tuple[str, ...], tuple[float, ...]]] = {tank: ((tank,), (0.0,))}
    todo = [tank]
    while todo:
        here = todo.pop(0)
        for gate in gates:
            if here not in (gate.tank, gate.to):
                continue
            there, up = (gate.to, -gate.step_m) if here == gate.tank else (gate.tank, gate.step_m)
            if there not in found:
                names, heights = found[here]
                found[there] = ((there, *names), (heights[0] + up, *heights))
                todo.append(there)
    return [_Way(names, tuple(h - heights[0] for h in heights))
            for name, (names, heights) in found.items() if name != tank]


def _told(tank: Tank, ways: Sequence[_Way], samples: Mapping[str, Samples], rigs: Sequence[tuple[int, Rig]],
          span: tuple[int, int], number: Mapping[str, int], findings: list[Finding]) -> list[Samples]:
    """What the readings of a span tell of one tank that they left out, by the nearest tank that they gauged."""
    own = samples.get(tank.name)
    known = [] if own is None else [own.row]
    found: list[Samples] = []
    for way in ways:
        s = samples[way.tanks[0]]
        i = np.flatnonzero((s.t_ms >= span[0]) & (s.t_ms < span[1]))
        readable = np.isfinite(s.level_m[i])
        if s.flag is not None:
            readable &= np.array([s.flag[k] not in UNREAD for k in i.tolist()], dtype=bool)
        i = i[readable]
        for rows in (*known, *(samples[name].row for name in way.tanks[1:-1] if name in samples)):
            i = i[~np.isin(s.row[i], rows)]
        if own is not None:
            i = i[~np.isin(s.t_ms[i], own.t_ms)]
        level = s.level_m[i]
        wet = np.ones(len(i), dtype=bool)
        for n in range(1, len(way.tanks)):
            here, there = level - way.heights[n - 1], level - way.heights[n]
            last = n == len(way.tanks) - 1
            wet &= (there <= ROUNDING_M) | (here > ROUNDING_M) if last else (there > ROUNDING_M) & (here > ROUNDING_M)
        i, level = i[wet], level[wet] - way.heights[-1]
        if not len(i):
            continue
        gauged = next(t for a, b, t in tank_spans(way.tanks[0], rigs) if a <= span[0] < b)
        one = _through(tank, gauged, s, i, level, number, findings)
        if len(one):
            found.append(one)
            known.append(one.row)
    return found


def _through(tank: Tank, gauged: Tank, s: Samples, i: Any, level: Any, number: Mapping[str, int],
             findings: list[Finding]) -> Samples:
    """Samples of ``tank`` at the levels [m] that dips ``i`` of ``gauged`` give it; a level below its bottom: empty."""
    empty = level <= ROUNDING_M
    level = np.where(empty, 0.0, level)
    volume = np.where(empty, 0.0, tank.volume(level))
    outside = np.isnan(volume)
    for bad, code, what in ((outside, "outside_table", "outside its shape or table: what it holds isn't known"),
                            (level > tank.top_m + ROUNDING_M, "above_brim", "above its brim")):
        if bad.any():
            findings.append(Finding(f"{tank.name}: by the level of {gauged.name} and the open gate it stands {what}. "
                                    "Gauge it.", code=code, tank=tank.name, t_ms=int(s.t_ms[i[bad][0]])))
    i, level, volume, empty = (x[~outside] for x in (i, level, volume, empty))
    with np.errstate(divide="ignore", invalid="ignore"):
        # The volume goes with the gauged tank's as their areas do, in level and in time alike.
        a = gauged.dip_error_m or LEVEL_M
        u = np.where(empty, 0.0, s.u_m3[i] * level_spread(tank, level, a) / level_spread(gauged, s.level_m[i], a))
    words = []
    for k, dry in zip(i.tolist(), empty.tolist(), strict=True):
        flag = s.flag[k] if s.flag is not None else ""
        words.append(f"{'empty by the ' if dry else ''}level of {gauged.name}{f' ({flag})' if flag else ''}")
    n = len(i)
    return Samples(s.t_ms[i], level, volume, u, tuple(words), s.seq[i], np.ones(n, dtype=bool), np.arange(n), s.row[i],
                   number[gauged.name] + i, np.ones(n, dtype=bool))


def _numbered(s: Samples, first: int) -> Samples:
    """A tank's own dips, each the source of its own error."""
    return replace(s, source=first + np.arange(len(s)), by_gate=np.zeros(len(s), dtype=bool))


def _merged(parts: Sequence[Samples]) -> Samples:
    """Samples of one tank by time; of two at one time the first part's."""
    def joined(name: str) -> Any:
        return np.concatenate([getattr(part, name) for part in parts])

    t = joined("t_ms")
    _, order = np.unique(t, return_index=True)      # by time, the first of equal ones
    flags = [flag for part in parts for flag in (part.flag or ("",) * len(part))]
    flag = tuple(flags[k] for k in order.tolist())
    columns = {name: joined(name)[order] for name in
               ("level_m", "volume_m3", "u_m3", "seq", "real", "row", "source", "by_gate")}
    return Samples(t_ms=t[order], flag=flag if any(flag) else None, base=np.arange(len(order)), **columns)
