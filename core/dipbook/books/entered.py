"""What follows from the entries alone, whatever was gauged: it stays when a round is learned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.books import state
from dipbook.books.hung import hung
from dipbook.books.movements import Movement, movements
from dipbook.books.trips import Trip, circulated, depths_reached, pipe_fills, trips, unknown_moves
from dipbook.books.valves import ValveStates, valve_states
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.rig.model import Rig

Findings = tuple[Finding, ...]


@dataclass(frozen=True)
class Entered:
    """rigs: (in force from [UTC ms], rig), by time. moves: as logged, and of pipe that was filled. The rest as in
    ``Books``; findings by what they are on, ``of_trips`` last."""

    rigs: tuple[tuple[int, Rig], ...]
    moves: tuple[Movement, ...]
    valves: ValveStates
    pumps: state.Pumps
    trips: tuple[Trip, ...]
    depths: state.Depths
    activities: state.Activities
    unwatched: tuple[tuple[int, int | None, str], ...]
    of_moves: Findings
    of_valves: Findings
    of_pumps: Findings
    of_depths: Findings
    of_trips: Findings


def entered(records: Sequence[Record], rigs: tuple[tuple[int, Rig], ...]) -> Entered:
    """What the entries say. records: effective, by time. rigs: (in force from [UTC ms], rig), by time."""
    moves, of_moves = movements(records)
    valves, of_valves = valve_states(records, rigs)
    pumps, of_pumps = state.pumps(records, rigs)
    tripped, of_trips = trips(records, hung(records, pumps))
    depths, of_depths = state.depths(records, depths_reached(tripped, rigs))
    return Entered(rigs, (*moves, *pipe_fills(tripped, rigs)), valves, pumps, tripped, depths,
                   state.activities(records), state.unwatched(records), of_moves, of_valves, of_pumps, of_depths,
                   (*of_trips, *unknown_moves(tripped, rigs), *circulated(tripped, records)))
