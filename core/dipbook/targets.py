"""What a tank's stick should read: now, and after the next stand.

A tank holds what its last dip said and what was booked on it since. In a system that flows through, the well's changes
(steel, bore, lines, cuttings, equipment, returns) and what is booked on the active system as a whole show in the
suction tank, the others standing at their weirs: common practice, no source. Nothing is told where a guess would be
needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.books.equalised import level_with
from dipbook.books.movements import TERM_OF_KIND
from dipbook.entries.kinds import ACTIVE, BYPASSED
from dipbook.tanks.gauging import UNREAD
from dipbook.tanks.tank import Tank
from dipbook.terms.bore import standing
from dipbook.terms.lines import held_in_lines
from dipbook.terms.system import system

MAKES_HOLE = ("drilling", "connection")
"""Activities in which the next stand is drilled down. What the rig does is never guessed."""


@dataclass(frozen=True, slots=True)
class Target:
    """What one stick should read. dip_m: in the tank's own datum [m]; volume_m3 [m3]; change_m3: against its last dip
    [m3]; why: what it rests on, in words. pieces: (words, what of the change that is [m3])."""

    tank: str
    dip_m: float
    volume_m3: float
    change_m3: float
    why: str
    pieces: tuple[tuple[str, float], ...] = ()


def suction(books: Books, t_ms: int) -> str | None:
    """The tank in which the well's changes show at ``t_ms`` [UTC ms]: the active suction tank, None where there is none
    or more than one. books: of the log."""
    active = books.line.active_at(t_ms)
    found = [t.name for t in books.rig.tanks if t.role == "suction" and t.name in active]
    return found[0] if len(found) == 1 else None


def should_read(books: Books, tank: Tank, now_ms: int) -> Target | None:
    """What a tank's stick should read now; None where that isn't known.

    books: of the log. tank: of its rig. now_ms: when [UTC ms]. None without a dip that could be read; while an open
    gate makes it stand at one level with another, or one did since the dip; while a move of unknown volume touches it;
    for an active tank in which the well's changes show, and for all where no one suction tank is lined up, where those
    aren't known (``of_the_well``); and outside its shape or table.
    """
    s = books.dips.get(tank.name)
    i = int(s.index_at(now_ms)) if s is not None else -1
    if s is None or i < 0 or (s.flag is not None and s.flag[i] in UNREAD):
        return None
    t = int(s.t_ms[i])
    if _levelled(books, tank.name, t, now_ms) or moves_unbooked(books, tank.name, t, now_ms):
        return None
    logged = books.logged(tank.name)
    change = float(logged.at(now_ms)) - float(logged.at(t))
    pieces = [("Logged on it since its dip", change)]
    why = "its last dip and what was booked on it since"
    if tank.name in books.line.active_at(now_ms):
        shows = suction(books, now_ms)
        if shows == tank.name:
            well = of_the_well(books, t, now_ms)
            if well is None:
                return None
            change += well
            pieces.append(("What the well gave or took since, by the books", well))
            why += ", and what the well gave or took, which shows in the suction"
        elif shows is None and (tank.role == "suction" or not _has_suction(books, now_ms)):
            return None
    return _target(tank, float(s.volume_m3[i]), change, why, tuple(pieces))


def next_stand(books: Books, now_ms: int) -> Target | None:
    """What the suction's stick should read when the next stand is made up and drilled down, in steady drilling.

    Pipe that stands above the rotary, F, is drilled down first, then a stand of Ls: with what the lines still take,
    G − L, and the empty bore, Ldry, that is

        (d + c − ε(1−φ)(1+r)·Ch)·F + (d − ε(1−φ)(1+r)·Ch)·Ls − c·Ldry − (G − L)

    more than now: steel comes in, the rock of as much hole leaves over the shaker. books: of the log. now_ms: when [UTC
    ms]. None where the rig doesn't describe the hole, the pipe and the share carried off, the log doesn't say that the
    rig drills with its pumps on, F wasn't given at the zero, or ``should_read`` tells nothing.
    """
    name, hole, pipe = suction(books, now_ms), books.rig.hole, books.rig.pipe
    if name is None or pipe is None or hole is None or hole.capacity is None:
        return None
    if hole.carried_off is None or hole.porosity is None or hole.mud_on_cuttings is None:
        return None
    if books.activities.at(now_ms)[0] not in MAKES_HOLE or not books.pumps.at(now_ms)[0]:
        return None
    tank = books.rig.tank(name)
    now = should_read(books, tank, now_ms)
    if now is None:
        return None
    full_m, dry_m = standing(books, now_ms)
    held, comes_to = held_in_lines(books, system(books), now_ms)
    bypassed = shakers_bypassed(books, now_ms)
    share = 0.0 if bypassed else hole.carried_off * (1.0 - hole.porosity) * (1.0 + hole.mud_on_cuttings)
    made = full_m + pipe.stand_m
    pieces = (("Steel of what is drilled down comes in", pipe.steel * made),
              ("Cuttings of its hole leave", -share * hole.capacity * made),
              ("Mud in the pipe that stands above the rotary comes in", pipe.bore * full_m),
              ("The empty bore is filled", -pipe.bore * dry_m),
              ("The lines still take", -(comes_to - held)))
    change = sum(volume for _, volume in pieces)
    rock = ", the shakers are bypassed and no cuttings leave" if bypassed else ", its hole's cuttings leave"
    why = f"steady drilling: its steel comes in{rock}; the change shows in the suction"
    return _target(tank, now.volume_m3 - now.change_m3, now.change_m3 + change, why, (*now.pieces, *pieces))


def shakers_bypassed(books: Books, now_ms: int) -> bool:
    """True while the returns pass the shakers' screens by. books: of the log. now_ms: when [UTC ms]."""
    last = next((r for r in reversed(books.eff.records) if r.kind == "shakers" and r.t_ms <= now_ms), None)
    return last is not None and last.payload.get("state") == BYPASSED


def _levelled(books: Books, tank: str, from_ms: int, to_ms: int) -> bool:
    """True where an open gate joins a tank with another at any time of a span [UTC ms]."""
    marks = [m for m in books.valves.marks() if from_ms < m <= to_ms]
    return any(level_with(books.rig_at(t), books.valves, tank, t) for t in (from_ms, *marks, to_ms))


NEVER_BOOKED = frozenset(("cuttings_unset", "cuttings_zero", "cuttings_held_back", "float_unset"))
"""Findings on which the books lack something of the well from then on, whatever was zeroed."""
LACKS_SINCE = frozenset((
    "flow_unknown", "slug_out", "slug_pumped_on", "slug_no_pipe", "zero_dry_bore", "unknown_equipment",
    "equipment_gone", "equipment_rest", "hole_shallower", "bit_below_bottom", "grew_off_bottom"))
"""Findings on which they lack something until the next zero."""
LINES_UNKNOWN = frozenset(("drain_back_unset", "drain_back_flow", "pumps_before"))
"""Findings on which they don't hold how the lines drain or fill."""
LINES_SETTLE_MS = 15 * 60_000
"""The lines are settled so long after the pumps changed (common practice, no source)."""


def of_the_well(books: Books, from_ms: int, to_ms: int) -> float | None:
    """What came into the active system between two times and is booked on none of its tanks [m3]; None where the
    line-up changed, the returns didn't come to it all the while, pipe moved in ways that aren't booked, or a finding
    says that something of it isn't in the books.

    books: of the log. from_ms, to_ms: the times [UTC ms].
    """
    if any(from_ms < c.t_ms <= to_ms for c in books.line.changes):
        return None
    turns = [r.t_ms for r in books.line.routes] + [int(t) for t in books.activities.t_ms]
    times = np.array([from_ms, to_ms, *(t for t in turns if from_ms < t < to_ms)], dtype=np.int64)
    if set(balance.followed(books, times)[0]) != {ACTIVE} or _lacks(books, from_ms, to_ms):
        return None
    made, _ = balance.curves(books, system(books))
    both = np.array([from_ms, to_ms])
    total = sum(float(np.diff(c.at(both))[0]) for key, c in made.items() if key != "lineup")
    for name in books.line.active_at(to_ms):
        total -= float(np.diff(books.logged(name).at(both))[0])
    return total if isfinite(total) else None


def _lacks(books: Books, from_ms: int, to_ms: int) -> bool:
    """True where a finding says that something of the well isn't in the books between two times [UTC ms]."""
    zeroed = max((z.base_ms for z in books.zeros if z.base_ms is not None and z.base_ms <= to_ms), default=-(2**62))
    pumps = books.pumps.t_ms
    turned = bool(((pumps > from_ms - LINES_SETTLE_MS) & (pumps <= to_ms)).any())
    _, found = balance.curves(books, system(books))
    for f in (*found, *books.findings):
        t = -(2**62) if f.t_ms is None else f.t_ms
        if t <= to_ms and (f.code in NEVER_BOOKED or (f.code in LACKS_SINCE and t >= zeroed)
                           or (f.code in LINES_UNKNOWN and turned)):
            return True
    return False


def moves_unbooked(books: Books, tank: str, from_ms: int, to_ms: int) -> bool:
    """True where a move of unknown volume touched a tank.

    books: of the log. tank: its name. from_ms, to_ms: between these times [UTC ms].
    """
    key = ("moves of unknown volume", "")
    if key not in books.worked_out:
        booked = {m.uid for m in books.moves}
        books.worked_out[key] = [r for r in books.eff.records if r.kind in TERM_OF_KIND and r.uid not in booked]
    for r in books.worked_out[key]:
        if tank in (r.payload.get("from"), r.payload.get("to")):
            end = r.payload.get("end_ms")
            if r.t_ms <= to_ms and (end is None or end >= from_ms):
                return True
    return False


def _has_suction(books: Books, t_ms: int) -> bool:
    active = books.line.active_at(t_ms)
    return any(t.role == "suction" and t.name in active for t in books.rig.tanks)


def _target(tank: Tank, dipped_m3: float, change_m3: float, why: str,
            pieces: tuple[tuple[str, float], ...]) -> Target | None:
    volume = dipped_m3 + change_m3
    if not isfinite(volume) or volume < 0.0 or volume > tank.capacity_m3:
        return None
    level = float(tank.level(volume))
    if not isfinite(level):
        return None
    return Target(tank.name, float(tank.dip_of_level(level)), volume, change_m3, why, pieces)
