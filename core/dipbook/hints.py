"""Guesses, labelled as guesses: offered to the operator to log, never applied. A warning stays until a person acts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import balance, quantities
from dipbook.books.books import Books
from dipbook.findings import Finding

RESOLVED = 3.0
"""A change counts when it is this many of its standard uncertainties (k=1)."""
ALIKE = 0.3
"""Two opposite changes look like one transfer when what is left is less than this share of the larger."""


@dataclass(frozen=True, slots=True)
class TransferHint:
    """The active system and a tank outside it moved against each other and no transfer says so.

    source, target: tanks, one of them active: the one that moved most. fell_m3, rose_m3: unexplained changes of the
    two sides [m3, positive]. from_ms, to_ms: between which readings [UTC ms].
    """

    source: str
    target: str
    fell_m3: float
    rose_m3: float
    from_ms: int
    to_ms: int

    @property
    def fields(self) -> Mapping[str, Any]:
        """Fields that prefill a transfer's form; the volume is what the tank outside says [m3]."""
        return {"from": self.source, "to": self.target, "volume_m3": self.fell_m3}


def transfers(books: Books, first: int = 1, last: int | None = None) -> tuple[TransferHint, ...]:
    """What looks like unlogged transfers at readings ``first`` … ``last``−1 of the books (row numbers), by time.

    Compared are the change of the active difference from the reading before, which is what the books can't explain,
    and what each tank outside the active system moved beyond what is logged.
    """
    count = len(books.readings)
    rows = list(range(max(first, 1), count if last is None else min(last, count)))
    if not rows:
        return ()
    t = books.readings.end_ms[[rows[0] - 1, *rows]]
    b = balance.at(books, t)
    found: list[TransferHint] = []
    for k, r in enumerate(rows, 1):
        change = float(b.difference_m3[k] - b.difference_m3[k - 1])
        u = float(np.hypot(b.u_m3[k], b.u_m3[k - 1]))
        if np.isfinite(change) and np.isfinite(u) and abs(change) >= RESOLVED * u and change != 0.0:
            found.extend(_at(books, r, change))
    return tuple(found)


def _at(books: Books, r: int, change: float) -> list[TransferHint]:
    active = books.line.active_at(int(books.readings.end_ms[r]))
    moved = {tank: m for tank in books.samples if (m := _unlogged(books, tank, r)) is not None
             and (tank in active or not _contradicted(*m[:3]))}
    inside = [(m[0] * np.sign(change), tank) for tank, m in moved.items() if tank in active]
    if not inside:
        return []
    other = max(inside)[1]
    found: list[TransferHint] = []
    for tank, (own, _, u, a, b) in sorted(moved.items(), key=lambda item: -abs(item[1][0])):
        if tank in active or abs(own) < RESOLVED * u or own * change >= 0:
            continue
        if abs(own + change) < ALIKE * max(abs(own), abs(change)):
            source, target = (tank, other) if change > 0 else (other, tank)
            fell, rose = (abs(own), abs(change)) if change > 0 else (abs(change), abs(own))
            found.append(TransferHint(source, target, fell, rose, a, b))
            break
    return found


def not_seen(books: Books, since_ms: int | None = None) -> tuple[Finding, ...]:
    """Findings on moves that are logged on a tank and that its own dips say didn't happen, by time.

    books: all of them. since_ms: only at dips after this time [UTC ms], None for all. An inflow that is booked and
    didn't happen reads as a loss and can hide an equal gain.
    """
    rig = books.rig
    unit = rig.units.get("volume", "m3")
    found: list[Finding] = []
    for tank in sorted(books.samples):
        s = books.samples[tank]
        logged = np.diff(books.logged(tank).at(s.t_ms))
        own = np.diff(s.volume_m3) - logged
        u = np.hypot(s.u_m3[1:], s.u_m3[:-1])
        doubtful = _contradicted(own, logged, u) & s.real[1:] & s.real[:-1]
        for i in (np.flatnonzero(doubtful) + 1).tolist():
            t = int(s.t_ms[i])
            if (since_ms is not None and t <= since_ms) or tank in books.line.active_at(t):
                continue
            way = "into" if logged[i - 1] > 0 else "out of"
            amount = quantities.write(abs(float(logged[i - 1])), unit, decimal=rig.decimal)
            moved = quantities.write(float(s.volume_m3[i] - s.volume_m3[i - 1]), unit, decimal=rig.decimal, sign=True)
            found.append(Finding(
                f"{amount} are logged {way} {tank}, and its dips moved {moved}: did it happen? Until it is put right, "
                "a gain or a loss can hide behind it.", code="logged_not_seen", tank=tank, t_ms=t))
    return tuple(sorted(found, key=lambda f: (f.t_ms or 0, f.tank)))


def _contradicted(own: Any, logged: Any, u: Any) -> Any:
    """The tank didn't do what is logged on it: what is left is the log's move turned round (scalars or arrays)."""
    return (np.abs(logged) >= RESOLVED * u) & (logged != 0.0) & (np.abs(own + logged) < ALIKE * np.abs(logged))


Move = tuple[float, float, float, int, int]
"""(change beyond what is logged [m3], logged [m3], uncertainty [m3], from, to [UTC ms])."""


def _unlogged(books: Books, tank: str, r: int) -> Move | None:
    """The move of a tank gauged in reading ``r``, against its dip before; None if it can't be told."""
    s = books.samples[tank]
    i = int(s.index_at(books.readings.end_ms[r]))
    if i < 1 or not s.real[i] or s.t_ms[i] < books.readings.start_ms[r]:
        return None
    booked = books.logged(tank)
    logged = float(booked.at(s.t_ms[i]) - booked.at(s.t_ms[i - 1]))
    change = float(s.volume_m3[i] - s.volume_m3[i - 1]) - logged
    u = float(np.hypot(s.u_m3[i], s.u_m3[i - 1]))
    if not np.isfinite(change) or not np.isfinite(u):
        return None
    return change, logged, u, int(s.t_ms[i - 1]), int(s.t_ms[i])
