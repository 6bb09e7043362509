"""The map of what is watched: each kind of limit on each thing that it can be on, and how it stands now.

Kinds come from ``dipbook.limits.KINDS``, things from the rig, and which kind can be on which from the watch itself:
what is watched one day is on the map without being named here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from dipbook import balance, watch
from dipbook.alarms.step import threshold
from dipbook.books import Books
from dipbook.books.trips import trip_at
from dipbook.composing.connection_views import not_compared
from dipbook.limits import KINDS, TOOK_LESS, TOOK_MORE, TRIP_KINDS, Limit
from dipbook.situation import Situation, TankView
from dipbook.situation_of_warnings import (
    ASIDE,
    IN_PART,
    NOBODY,
    NOT_BY_US,
    NOT_NOW,
    NOT_TOLD,
    WATCHED,
    WatchedCell,
    WatchedGroup,
    WatchedLimit,
    WatchedMap,
    WatchedRow,
)
from dipbook.terms.system import ALL_SURFACE, system
from dipbook.watch import SYSTEMS
from dipbook.watch.evidence import TRIP_OVER

ROUNDS = "overdue"
"""The one kind that waits for a round, whatever system it is written on."""
ORDER = (WATCHED, IN_PART, NOT_TOLD, ASIDE, NOT_NOW, NOT_BY_US, NOBODY)
"""Of several limits on one thing the first of these is told first."""
Found = tuple[str, str, int | None]
"""(state, why, when [UTC ms])."""


@dataclass(frozen=True)
class _At:
    """What every answer needs. books, memory: now. s: the situation of that moment."""

    books: Books
    memory: watch.Watch
    s: Situation

    def tank(self, name: str) -> TankView | None:
        return next((t for t in self.s.tanks if t.name == name), None)


def watched_map(books: Books, memory: watch.Watch, s: Situation) -> WatchedMap:
    """The map at one moment.

    books: of the log. memory: the watch's. s: the situation of that moment.
    """
    at = _At(books, memory, s)
    tanks = tuple(t.name for t in s.rig.tanks)
    missed = watch.not_watched(s.rig.limits, tanks)
    never = {limit.name for limit, _ in missed}
    known = [_of_slot(at, slot) for slot in memory.slots if slot.limit.name not in never]
    known += [WatchedLimit(limit, NOT_BY_US, why) for limit, why in missed]
    kinds = [k for k in KINDS if k not in TRIP_KINDS]
    on_systems = tuple(k for k in kinds if k != ROUNDS and any(possible(k, on, tanks) for on in SYSTEMS))
    on_tanks = tuple(k for k in kinds if any(possible(k, on, tanks) for on in tanks))

    def cell(kind: str, on: str) -> WatchedCell:
        mine = [w for w in known if w.limit.kind == kind and place(w.limit, tanks) == on]
        return WatchedCell(kind, on, possible(kind, on, tanks), _in_order(mine))

    def group(name: str, kinds: tuple[str, ...], places: Sequence[str]) -> WatchedGroup:
        return WatchedGroup(name, kinds, tuple(
            WatchedRow(on, tuple(cell(k, on) for k in kinds), s.watched if on == "watched" else "") for on in places))

    groups = [group("systems", on_systems, SYSTEMS), group("rounds", (ROUNDS,), (SYSTEMS[0],)),
              group("trips", TRIP_KINDS, (TOOK_LESS, TOOK_MORE))]
    if tanks and on_tanks:
        groups.append(group("tanks", on_tanks, tuple(t.name for t in s.tanks)))
    groups = [g for g in groups if g.kinds]
    placed = {id(w) for g in groups for row in g.rows for c in row.cells if c.possible for w in c.limits}
    return WatchedMap(tuple(groups), tuple(w for w in known if id(w) not in placed))


def possible(kind: str, on: str, tanks: tuple[str, ...]) -> bool:
    """True if the watch can watch a limit of a kind on a thing. kind: of KINDS. on: a system, a tank or a side of a
    trip. tanks: names of the rig's."""
    if kind in TRIP_KINDS or on in (TOOK_LESS, TOOK_MORE):
        return kind in TRIP_KINDS and on in (TOOK_LESS, TOOK_MORE)
    asked = Limit("", kind, on, "any", 0.0, "volume", 0.0, None, 1, 0, "", "", "")
    return not watch.not_watched((asked,), tanks)


def place(limit: Limit, tanks: tuple[str, ...]) -> str:
    """The row that a limit is told on. A round is of all active tanks, whatever system the limit names; a side that is
    neither a system nor a tank is of the active system, but for those of a trip. limit: as the watch holds it. tanks:
    names of the rig's."""
    if limit.kind in TRIP_KINDS or (limit.on in (*SYSTEMS, *tanks) and limit.kind != ROUNDS):
        return limit.on
    return limit.on if limit.on in tanks else SYSTEMS[0]


def _in_order(found: Sequence[WatchedLimit]) -> tuple[WatchedLimit, ...]:
    """The one that counts most first: by state, then the tightest."""
    return tuple(sorted(found, key=lambda w: (ORDER.index(w.state), threshold(w.limit), w.limit.name)))


def _of_slot(at: _At, slot: watch.Slot) -> WatchedLimit:
    limit, alarm = slot.limit, slot.alarm
    state, why, t_ms = _stands(at, slot)
    return WatchedLimit(limit, state, why, t_ms, alarm.shown if alarm.is_open and not alarm.set_aside else "")


def _stands(at: _At, slot: watch.Slot) -> Found:
    limit, aside = slot.limit, slot.alarm.aside
    if slot.alarm.set_aside and aside is not None:
        return ASIDE, slot.alarm.shown, aside.t_ms if aside.until_ms is None else aside.until_ms
    if slot.in_force is None:
        return NOT_NOW, "withdrawn; its warning stays until it is closed", None
    if not watch.in_force(at.memory, limit):
        return NOT_NOW, f"while {limit.activity}; the rig is said to be {watch.activity_now(at.memory)}", None
    if at.memory.off_from is not None or not at.s.watch_on:
        return NOT_TOLD, "nobody watches now", at.memory.off_from
    return ASK.get(limit.kind, _on_a_system)(at, limit)


# --- by kind ----------------------------------------------------------------------------------------------------


def _on_a_system(at: _At, limit: Limit) -> Found:
    """Of what is held against the balance, and of any kind that isn't named here: by what the watch was given."""
    on = place(limit, tuple(t.name for t in at.s.tanks))
    if on in SYSTEMS and at.s.watched == balance.NOT_WATCHED:
        return NOT_TOLD, at.s.watched_note or "not watched", None
    sample = at.memory.last.get(watch.channel_of(limit))
    if sample is None:
        return NOT_TOLD, "not known: nothing was read and compared yet", None
    ends = at.books.readings.end_ms
    if len(ends) and sample.t_ms < int(ends[-1]) and not (limit.kind == "drift" and at.s.drift and at.s.drift.why):
        return NOT_TOLD, "not known at the last reading; last known", sample.t_ms
    old = _stale(at, on)
    if old and old[1]:
        return NOT_TOLD, f"stale: {_names(old[0])} gauged too long ago to count", old[2]
    if sample.partial:
        return IN_PART, "partial: a tank was not gauged or not read", sample.t_ms
    if old:
        return IN_PART, f"stale: {_names(old[0])} gauged too long ago to count", old[2]
    return WATCHED, "", None


def _stale(at: _At, on: str) -> tuple[tuple[str, ...], bool, int | None] | None:
    """(tanks of a system whose dips are too old to count, whether that is all of them, the oldest dip [UTC ms])."""
    name = at.s.watched if on == "watched" else on
    if name not in (*SYSTEMS, *(t.name for t in at.s.tanks)):
        return None
    members = system(at.books, name).members_at(at.s.now_ms) if name != ALL_SURFACE else \
        frozenset(t.name for t in at.s.tanks)
    mine = [t for t in at.s.tanks if t.name in members and t.t_ms is not None]
    old = [t for t in mine if t.stale]
    if not old:
        return None
    return tuple(t.name for t in old), len(old) == len(mine), min(t.t_ms for t in old if t.t_ms is not None)


def _on_a_tank(at: _At, limit: Limit) -> Found:
    tank = at.tank(limit.on)
    if tank is None or tank.t_ms is None:
        return NOT_TOLD, "not known: never gauged", None
    sample = at.memory.last.get(watch.channel_of(limit))
    if sample is None:
        return NOT_TOLD, "not known: no dip of it could be read", tank.t_ms
    if tank.stale:
        return NOT_TOLD, "stale: its last dip is too old to count", tank.t_ms
    if sample.t_ms < tank.t_ms:
        return NOT_TOLD, "not known: its last dip couldn't be read; last known", sample.t_ms
    if sample.partial:
        return IN_PART, "partial: its dip was outside its shape or table, over the brim or below the stick", tank.t_ms
    return WATCHED, "not in the last round; by its dip of" if tank.held else "", tank.t_ms if tank.held else None


def _on_flow_back(at: _At, limit: Limit) -> Found:
    said = not_compared(at.books, at.s.band, at.s.now_ms)
    if said and at.books.rig_at(at.s.now_ms).drain_back is None:
        return NOT_TOLD, said, None
    found = _on_a_system(at, limit)
    return (IN_PART, said, None) if said and found[0] == WATCHED else found


def _on_drift(at: _At, limit: Limit) -> Found:
    """Its sums may hold, while the pumps are off or have only come on: then it tells what came back, and nothing more.
    """
    found, drift = _on_a_system(at, limit), at.s.drift
    if found[0] not in (WATCHED, IN_PART) or drift is None or not drift.why:
        return found
    return IN_PART, f"its sums hold, {drift.why.lower()}; they last moved" if drift.moved_ms is not None else \
        f"its sums hold, {drift.why.lower()}", drift.moved_ms


def _on_a_trip(at: _At, limit: Limit) -> Found:
    trip = trip_at(at.books.trips, at.s.now_ms)
    if trip is None:
        return NOT_NOW, "on every row of a trip's sheet; no trip is under way", None
    sample = at.memory.last.get(watch.channel_of(limit))
    if sample is None or sample.said == TRIP_OVER:
        return NOT_TOLD, "not known: no row of this trip could be told yet", None
    rows = [r.t_ms for r in trip.rows if r.dips]
    if rows and sample.t_ms < max(rows):
        return NOT_TOLD, "not known at the last row; last known", sample.t_ms
    return WATCHED, "", None


def _on_rounds(at: _At, limit: Limit) -> Found:
    base = watch.overdue_base(at.memory, limit)
    if base is None:
        return NOT_TOLD, "not known: the watch has only begun", None
    due = base + watch.interval_ms(limit)
    return WATCHED, "due" if due > at.s.now_ms else "was due", due


ASK: Mapping[str, Callable[[_At, Limit], Found]] = MappingProxyType({
    "high": _on_a_tank, "low": _on_a_tank, "flow_back": _on_flow_back, "drift": _on_drift, ROUNDS: _on_rounds,
    **dict.fromkeys(TRIP_KINDS, _on_a_trip)})
"""Kind -> how it is found out whether it can be told now; another kind goes by what the watch was given of it."""


def _names(tanks: Sequence[str]) -> str:
    return ", ".join(tanks[:3]) + (f" and {len(tanks) - 3} more" if len(tanks) > 3 else "")
