"""The daily inventory: what the tanks held by role, and the materials that were added.

30 CFR 250.458(b) has the quantities of drilling fluid and of its materials recorded daily (read in a public copy of the
rule). This log knows the fluid in the tanks, and what was added by its entries; it doesn't know what stands in the
store.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.exchange.times import zone_info
from dipbook.records import Record
from dipbook.reports.spans import Span
from dipbook.rig.model import ROLES

ADDS = ("addition", "salt", "boat")
NOT_NAMED = "not named"


@dataclass(frozen=True, slots=True)
class Held:
    """What the tanks of one role held at a time. t_ms [UTC ms]. role. tanks: how many were gauged by then. volume_m3:
    by each one's last dip with what was logged on it in that round [m3], None where none was. oldest_ms: the oldest of
    those dips [UTC ms]. unknown: tanks never gauged by then, which it lacks."""

    t_ms: int
    role: str
    tanks: int
    volume_m3: float | None
    oldest_ms: int | None
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Material:
    """One material that entries added. what: as they name it, or the salt, or their remark where they name none; "not
    named" where nobody said. how: the kind of entry. mass_kg, volume_m3: sums, None where no entry gave one. entries:
    their uids."""

    what: str
    how: str
    mass_kg: float | None
    volume_m3: float | None
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Inventory:
    """Of a span. days: (when [UTC ms], by role), at each midnight of the rig in it and at its end. materials: added by
    the entries that begin in it, each whole."""

    days: tuple[tuple[int, tuple[Held, ...]], ...]
    materials: tuple[Material, ...]


def inventory(books: Books, span: Span) -> Inventory:
    """The inventory of a span. books: of the log. span."""
    marks = [*midnights(span, books.rig.zone), span.to_ms]
    rig = books.rig_at(span.to_ms)
    roles = [role for role in ROLES if any(t.role == role for t in rig.tanks)]
    volumes: dict[str, tuple[np.ndarray, np.ndarray]] = {}
    for tank in rig.tanks:
        dips = books.dips.get(tank.name)
        at = np.full(len(marks), -1) if dips is None else dips.index_at(np.array(marks))
        last = np.full(len(marks), -1) if dips is None or not len(dips) else np.where(
            at >= 0, dips.t_ms[np.maximum(at, 0)], -1)
        volumes[tank.name] = balance.at(books, marks, tank.name).actual_m3, last
    days = []
    for n, t in enumerate(marks):
        held = []
        for role in roles:
            names = [tank.name for tank in rig.tanks if tank.role == role]
            known = [name for name in names if np.isfinite(volumes[name][0][n]) and volumes[name][1][n] >= 0]
            held.append(Held(t, role, len(known),
                             float(sum(volumes[name][0][n] for name in known)) if known else None,
                             min((int(volumes[name][1][n]) for name in known), default=None),
                             tuple(name for name in names if name not in known)))
        days.append((t, tuple(held)))
    return Inventory(tuple(days), _materials(books, span))


def midnights(span: Span, zone: str) -> list[int]:
    """The rig's midnights within a span, not its end [UTC ms]. span. zone: IANA name."""
    where = zone_info(zone)
    day = datetime.fromtimestamp(span.from_ms / 1000, where).date()
    found: list[int] = []
    while True:
        day += timedelta(days=1)
        t = round(datetime(day.year, day.month, day.day, tzinfo=where).timestamp() * 1000)
        if t >= span.to_ms:
            return found
        if t > span.from_ms:
            found.append(t)


def _materials(books: Books, span: Span) -> tuple[Material, ...]:
    groups: dict[tuple[str, str], list[Record]] = {}
    for r in books.eff.records:
        if r.kind in ADDS and span.holds(r.t_ms) and (r.kind != "boat" or r.payload.get("to")):
            groups.setdefault((r.kind, " ".join(_named(r).casefold().split())), []).append(r)
    found = []
    for (kind, _), records in groups.items():
        masses = [float(r.payload["mass_kg"]) for r in records if r.payload.get("mass_kg") is not None]
        uids = {r.uid for r in records}
        volumes = [m.ramp.volume for m in books.moves if m.uid in uids]
        found.append(Material(_named(records[0]), kind, sum(masses) if masses else None,
                              sum(volumes) if volumes else None, tuple(r.uid for r in records)))
    return tuple(found)


def _named(r: Record) -> str:
    """What an entry added."""
    return str(next((x for key in ("salt", "material", "remark") if (x := r.payload.get(key))), NOT_NAMED))
