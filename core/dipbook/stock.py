"""How much room and how much usable mud the tanks have, and how fast mud is being lost."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan

import numpy as np

from dipbook import balance
from dipbook.balance import Balance
from dipbook.books import Books
from dipbook.entries.kinds import ACTIVE
from dipbook.tanks.gauging import UNREAD
from dipbook.targets import moves_unbooked, of_the_well, suction

RESERVE_ROLES = ("reserve", "premix")
"""Roles of tanks whose mud may be put into the active system as it is. A pill, a slug, chemicals and the trip tank's
mud are kept for their own use."""
LOOKS_BACK_MS = 30 * 60_000
"""A loss is told from readings at least this far apart."""


@dataclass(frozen=True, slots=True)
class Held:
    """One tank's mud by its last dip and what was booked on it since [m3], NaN where it isn't known: never gauged, over
    the brim or below the stick at its last dip, a move of unknown volume on it, or less than nothing by the books.

    tank: its name. active: lined up. reserve: not lined up, and of a reserve's role. volume_m3; room_m3: to the brim,
    below 0 above it; usable_m3: above the heel, 0 where the mud stands below it. shows_well: what the well gave or took
    since is in it; it shows in the suction (common practice, no source).
    """

    tank: str
    active: bool
    reserve: bool
    volume_m3: float
    room_m3: float
    usable_m3: float
    shows_well: bool = False


@dataclass(frozen=True, slots=True)
class Loss:
    """What the readings say is being lost. rate_m3_s: mean rate at which the difference fell, 0 where it didn't fall by
    more than the dips can tell [m3/s]. span_ms: over which [ms]; until_ms: up to when [UTC ms]."""

    rate_m3_s: float
    span_ms: int
    until_ms: int


def held(books: Books, now_ms: int) -> tuple[Held, ...]:
    """Every tank's mud at ``now_ms`` [UTC ms], in gauging order. books: of the log."""
    active = books.line.active_at(now_ms)
    shows = suction(books, now_ms)
    found: list[Held] = []
    for tank in books.rig.tanks:
        volume, well = float("nan"), None
        s = books.dips.get(tank.name)
        i = int(s.index_at(now_ms)) if s is not None else -1
        if s is not None and i >= 0 and not (s.flag is not None and s.flag[i] in UNREAD):
            t = int(s.t_ms[i])
            logged = books.logged(tank.name)
            if not moves_unbooked(books, tank.name, t, now_ms):
                volume = float(s.volume_m3[i]) + float(logged.at(now_ms)) - float(logged.at(t))
            well = of_the_well(books, t, now_ms) if tank.name == shows else None
            volume += well or 0.0
        volume = float("nan") if volume < 0.0 else volume
        usable = volume - float(tank.volume(tank.heel_m))
        on = tank.name in active
        found.append(Held(tank.name, on, not on and tank.role in RESERVE_ROLES, volume, tank.capacity_m3 - volume,
                          usable if isnan(usable) else max(usable, 0.0), well is not None))
    return tuple(found)


def loss(books: Books, over: Balance) -> Loss | None:
    """What is being lost by the last complete readings; None where they don't reach back half an hour since the zero,
    or the returns didn't come to the active system all the while.

    books: of the log. over: the active system's balance at its last readings, by time. A fall within twice the
    uncertainty of the change counts as none. What is booked isn't in the difference: see ``taken``.
    """
    known = np.flatnonzero(np.isfinite(over.difference_m3) & ~over.partial)
    if not len(known):
        return None
    last = known[-1]
    back = known[(over.zero_ms[known] == over.zero_ms[last])
                 & (over.t_ms[known] <= over.t_ms[last] - LOOKS_BACK_MS)]
    if not len(back):
        return None
    first = back[-1]
    if set(balance.followed(books, over.t_ms[first:last + 1])[0]) != {ACTIVE}:
        return None
    a, b = int(over.t_ms[first]), int(over.t_ms[last])
    fell = float(over.difference_m3[first] - over.difference_m3[last])
    u = balance.u_of_change(books, a, b)
    if isnan(u):
        return None
    return Loss(fell / ((b - a) / 1000.0) if fell > 2.0 * u else 0.0, b - a, b)


def taken(books: Books, now_ms: int) -> float:
    """Rates in force, and other moves that run at a known rate, at ``now_ms`` [UTC ms] that take mud out of the active
    system, less those that bring some in [m3/s]. books: of the log."""
    inside = {ACTIVE, *books.line.active_at(now_ms)}
    total = 0.0
    for m in books.moves:
        if m.open and m.ramp.t0 <= now_ms:
            rate = m.ramp.volume / ((m.ramp.t1 - m.ramp.t0) / 1000.0)
            total += rate * ((m.source in inside) - (m.target in inside))
    return total
