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
from dipbook.entries.kinds import ACTIVE, BYPASSED
from dipbook.tanks.gauging import UNREAD
from dipbook.tanks.tank import Tank
from dipbook.terms.system import system

MAKES_HOLE = ("drilling", "connection")
"""Activities in which the next stand is drilled down. What the rig does is never guessed."""


@dataclass(frozen=True, slots=True)
class Target:
    """What one stick should read. dip_m: in the tank's own datum [m]; volume_m3 [m3]; change_m3: against its last dip
    [m3]; why: what it rests on, in words."""

    tank: str
    dip_m: float
    volume_m3: float
    change_m3: float
    why: str


def suction(books: Books, t_ms: int) -> str | None:
    """The tank in which the well's changes show at ``t_ms`` [UTC ms]: the active suction tank, None where there is none
    or more than one. books: of the log."""
    active = books.line.active_at(t_ms)
    found = [t.name for t in books.rig.tanks if t.role == "suction" and t.name in active]
    return found[0] if len(found) == 1 else None


def should_read(books: Books, tank: Tank, now_ms: int) -> Target | None:
    """What a tank's stick should read now; None where that isn't known.

    books: of the log. tank: of its rig. now_ms: when [UTC ms]. None without a dip that could be read; while an open
    gate makes it stand at one level with another, or one did since the dip; where the line-up changed since the dip,
    for a tank in which the well's changes show; and outside its shape or table.
    """
    s = books.dips.get(tank.name)
    i = int(s.index_at(now_ms)) if s is not None else -1
    if s is None or i < 0 or (s.flag is not None and s.flag[i] in UNREAD):
        return None
    t = int(s.t_ms[i])
    if _levelled(books, tank.name, t, now_ms):
        return None
    logged = books.logged(tank.name)
    change = float(logged.at(now_ms)) - float(logged.at(t))
    why = "its last dip and what was booked on it since"
    if tank.name in books.line.active_at(now_ms) and tank.role == "suction":
        if suction(books, now_ms) != tank.name:
            why += "; several suction tanks are lined up, so what the well did isn't in it"
        else:
            well = _of_the_well(books, t, now_ms)
            if well is None:
                return None
            change += well
            why += ", and what the well gave or took, which shows in the suction"
    return _target(tank, float(s.volume_m3[i]), change, why)


def next_stand(books: Books, now_ms: int) -> Target | None:
    """What the suction's stick should read when the next stand is made up and drilled down, in steady drilling.

    (d − ε(1−φ)(1+r)·Ch)·Ls more than now: its steel comes in, the rock of as much hole leaves over the shaker; what it
    takes to fill it, c·Ls, comes back as it is lowered. books: of the log. now_ms: when [UTC ms]. None where the rig
    doesn't describe the hole, the pipe and the share carried off, the log doesn't say that the rig drills, the books
    don't follow the well, or ``should_read`` tells nothing.
    """
    name, hole, pipe = suction(books, now_ms), books.rig.hole, books.rig.pipe
    if name is None or pipe is None or hole is None or hole.capacity is None or hole.carried_off is None:
        return None
    if books.activities.at(now_ms)[0] not in MAKES_HOLE or balance.followed(books, now_ms)[0][0] != ACTIVE:
        return None
    tank = books.rig.tank(name)
    now = should_read(books, tank, now_ms)
    if now is None:
        return None
    bypassed = shakers_bypassed(books, now_ms)
    carried_off = 0.0 if bypassed else hole.carried_off
    share = carried_off * (1.0 - (hole.porosity or 0.0)) * (1.0 + (hole.mud_on_cuttings or 0.0))
    stand = (pipe.steel - share * hole.capacity) * pipe.stand_m
    why = ("steady drilling: the stand's steel comes in"
           + (", the shakers are bypassed and no cuttings leave" if bypassed else ", its hole's cuttings leave")
           + "; the change shows in the suction")
    return _target(tank, now.volume_m3 - now.change_m3, now.change_m3 + stand, why)


def shakers_bypassed(books: Books, now_ms: int) -> bool:
    """True while the returns pass the shakers' screens by. books: of the log. now_ms: when [UTC ms]."""
    last = next((r for r in reversed(books.eff.records) if r.kind == "shakers" and r.t_ms <= now_ms), None)
    return last is not None and last.payload.get("state") == BYPASSED


def _levelled(books: Books, tank: str, from_ms: int, to_ms: int) -> bool:
    """True where an open gate joins a tank with another at any time of a span [UTC ms]."""
    marks = [m for m in books.valves.marks() if from_ms < m <= to_ms]
    return any(level_with(books.rig_at(t), books.valves, tank, t) for t in (from_ms, *marks, to_ms))


def _of_the_well(books: Books, from_ms: int, to_ms: int) -> float | None:
    """What came into the active system and is booked on none of its tanks [m3]; None where the line-up changed."""
    if any(from_ms < c.t_ms <= to_ms for c in books.line.changes):
        return None
    made, _ = balance.curves(books, system(books))
    both = np.array([from_ms, to_ms])
    total = sum(float(np.diff(c.at(both))[0]) for key, c in made.items() if key != "lineup")
    for name in books.line.active_at(to_ms):
        total -= float(np.diff(books.logged(name).at(both))[0])
    return total if isfinite(total) else None


def _target(tank: Tank, dipped_m3: float, change_m3: float, why: str) -> Target | None:
    volume = dipped_m3 + change_m3
    if not isfinite(volume) or volume < 0.0 or volume > tank.capacity_m3:
        return None
    level = float(tank.level(volume))
    if not isfinite(level):
        return None
    return Target(tank.name, float(tank.dip_of_level(level)), volume, change_m3, why)
