"""Valves and gates over time: as the rig file has them at the start, then as each entry says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dipbook.entries.kinds import CLOSED, OPEN
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.rig.model import Rig, Valve

EVER = -(2**62)
BEFORE_ENTRIES = -1
"""Order of what a rig file says among the entries of the same time."""


@dataclass(frozen=True, slots=True)
class ValveChange:
    """What one entry says: a valve (by the rig file's name) is open or closed from then on. uid, seq: of the entry."""

    t_ms: int
    valve: str
    open: bool
    uid: str
    seq: int


@dataclass(frozen=True, slots=True)
class Isolation:
    """``tank`` joins (joins True) or leaves the active system at t_ms because the gate that isolates it was opened or
    closed. place: of the entry among the effective ones; BEFORE_ENTRIES where the rig file says so."""

    t_ms: int
    place: int
    tank: str
    joins: bool


@dataclass(frozen=True)
class ValveStates:
    """changes: all entries on valves that the rig has, by time, those that repeat a state too. runs: valve -> its
    (from [UTC ms], open or None while the rig doesn't have it, put so at [UTC ms] or None for as the rig file says), by
    time. isolations: what they make of the line-up, by (time, place)."""

    changes: tuple[ValveChange, ...]
    runs: Mapping[str, tuple[tuple[int, bool | None, int | None], ...]]
    isolations: tuple[Isolation, ...]

    def at(self, name: str, t_ms: int) -> tuple[bool | None, int | None]:
        """(open, put so at [UTC ms]) of a valve at a time.

        name: as in the rig file. t_ms: when [UTC ms]. The state is None for a valve that the rig doesn't have then,
        the time None where no entry changed what the rig file says.
        """
        found: tuple[bool | None, int | None] = (None, None)
        for start, is_open, since in self.runs.get(name, ()):
            if start > t_ms:
                break
            found = (is_open, since)
        return found

    def marks(self) -> tuple[int, ...]:
        """Every time at which a valve's state changes [UTC ms], rising."""
        return tuple(sorted({start for runs in self.runs.values() for start, _, _ in runs}))


def valve_states(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]],
                 ) -> tuple[ValveStates, tuple[Finding, ...]]:
    """Valves over time, and findings on entries that name one that the rig doesn't have.

    records: effective, by time. rigs: (in force from [UTC ms], rig), by time; the first holds from ever. A valve that a
    later rig file brings begins as that file says; one that both have keeps its state, as the tanks keep theirs.
    """
    runs: dict[str, list[tuple[int, bool | None, int | None]]] = {}
    changes: list[ValveChange] = []
    isolations: list[Isolation] = []
    findings: list[Finding] = []
    described: dict[str, Valve] = {}
    state: dict[str, bool] = {}
    todo = [(r.t_ms, place, r) for place, r in enumerate(records) if r.kind == "valve"]
    for n, (start, rig) in enumerate(rigs):
        until = rigs[n + 1][0] if n + 1 < len(rigs) else 2**62
        begins = EVER if n == 0 else start
        _described_anew(begins, described, rig, state, runs, isolations)
        described = {valve.name: valve for valve in rig.valves}
        folded = {name.casefold(): name for name in described}
        while todo and todo[0][0] < until:
            t, place, r = todo.pop(0)
            said = " ".join(str(r.payload.get("valve") or "").split())
            name = folded.get(said.casefold())
            is_open = {OPEN: True, CLOSED: False}.get(str(r.payload.get("state")))
            if name is None or is_open is None:
                findings.append(Finding(
                    f"The rig has no valve called “{said}”: the entry changes nothing. Correct its name, or describe "
                    "the valve in the rig file." if name is None else
                    f"The entry on {name} says neither open nor closed: it changes nothing.",
                    code="unknown_valve" if name is None else "valve_state", t_ms=t))
                continue
            changes.append(ValveChange(t, name, is_open, r.uid, r.seq))
            if state[name] != is_open:
                state[name] = is_open
                runs[name].append((t, is_open, t))
            if described[name].isolates:
                isolations.append(Isolation(t, place, described[name].isolates, is_open))
    return ValveStates(tuple(changes), {n: tuple(r) for n, r in runs.items()}, tuple(isolations)), tuple(findings)


def _described_anew(begins: int, before: Mapping[str, Valve], rig: Rig, state: dict[str, bool],
                    runs: dict[str, list[tuple[int, bool | None, int | None]]], isolations: list[Isolation]) -> None:
    """Take over a rig file's valves: new ones, gone ones, and a closed gate that isolates a tank from then on."""
    for name in set(before) - {valve.name for valve in rig.valves}:
        del state[name]
        runs[name].append((begins, None, None))
    for valve in rig.valves:
        if valve.name not in before:
            state[valve.name] = valve.open
            runs.setdefault(valve.name, []).append((begins, valve.open, None))
        newly = valve.isolates and (valve.name not in before or before[valve.name].isolates != valve.isolates)
        if newly and begins != EVER and not state[valve.name]:
            isolations.append(Isolation(begins, BEFORE_ENTRIES, valve.isolates, False))
