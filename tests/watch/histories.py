"""Readings written as a text table, limits in bbl, and what comes of them."""

from __future__ import annotations

import math

from dipbook import watch
from dipbook.limits import Limit

BBL = 0.158987294928
"""A barrel [m3]."""
MIN = 60_000
T0 = 1_767_225_600_000
"""2026-01-01T00:00:00Z [UTC ms]."""


def bbl(x: float) -> float:
    """Barrels in m3."""
    return x * BBL


def at(text: str) -> int:
    """``02:30`` or ``02:30:15`` on the first day, in UTC ms."""
    h, m, s = ([int(p) for p in text.split(":")] + [0])[:3]
    return T0 + ((h * 60 + m) * 60 + s) * 1000


def gain(value: float = 5.0, **kw: object) -> Limit:
    """A gain limit on the active system; value, deadband, growth in bbl."""
    return _volume("gain", value, **kw)


def loss(value: float = 5.0, **kw: object) -> Limit:
    """A loss limit on the active system; value, deadband, growth in bbl."""
    return _volume("loss", value, **kw)


def high(tank: str, value_m: float, deadband_m: float = 0.05, **kw: object) -> Limit:
    """A high level [m]."""
    return _limit("high", value=value_m, deadband=deadband_m, on=tank, value_is="level", **{"name": f"{tank} high", **kw})


def low(tank: str, value_m: float, deadband_m: float = 0.05, **kw: object) -> Limit:
    """A low level [m]."""
    return _limit("low", value=value_m, deadband=deadband_m, on=tank, value_is="level", **{"name": f"{tank} low", **kw})


def overdue(minutes: float = 30, **kw: object) -> Limit:
    """A round is overdue."""
    return _limit("overdue", value=minutes * 60, deadband=0.0, value_is="duration", **kw)


def _volume(kind: str, value: float, deadband: float = 2.0, growth: float | None = 2.0, **kw: object) -> Limit:
    return _limit(kind, value=bbl(value), deadband=bbl(deadband), growth=None if growth is None else bbl(growth),
                  value_is="volume", **kw)


def _limit(kind: str, **kw: object) -> Limit:
    fields: dict[str, object] = {
        "name": kind, "kind": kind, "on": "active", "activity": "any", "growth": None, "after_readings": 1,
        "after_ms": 0, "set_by": "R. Vance", "reason": "test", "since": "2026-01-01"}
    fields.update(kw)
    return Limit(**fields)  # type: ignore[arg-type]


def table(text: str) -> list[dict[str, str]]:
    """Rows of a table with a heading line, columns divided by | or two blanks."""
    lines = [line for line in text.strip().splitlines() if line.strip() and not line.strip().startswith("#")]
    cells = [[c.strip() for c in line.split("|")] for line in lines]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[1:]]


def evidence(rows: list[dict[str, str]], activity: str = "drilling") -> watch.Evidence:
    """Rows with ``time`` and any of ``diff`` (bbl, ? unknown, ~ in front partial, x not watched), ``NAME`` (level in m)
    or ``round`` (yes or no) and ``activity``."""
    t = [at(r["time"]) for r in rows]
    extra: dict[str, object] = {}
    if rows and "diff" in rows[0]:
        diff = [r["diff"] for r in rows]
        value = [math.nan if d in ("?", "x") else bbl(float(d.lstrip("~"))) for d in diff]
        extra = {"difference": {"active": value}, "u": {"active": [0.08] * len(t)},
                 "partial": {"active": [d.startswith("~") for d in diff]},
                 "watched": {"active": [d != "x" for d in diff]}}
    tanks = [k for k in (rows[0] if rows else {}) if k not in ("time", "diff", "round", "activity", "state", "does")]
    if tanks:
        extra["level"] = {k: [math.nan if r[k] == "?" else float(r[k]) for r in rows] for k in tanks}
    done = [r.get("round", "yes") == "yes" for r in rows]
    return watch.Evidence(t, complete=done, activity=tuple(r.get("activity", activity) for r in rows),
                          **extra)  # type: ignore[arg-type]


def live(w: watch.Watch, time: str, learned: str | None = None, *, cause: str = "", struck: str | None = None,
         **row: str) -> tuple[watch.Watch, tuple[watch.Transition, ...]]:
    """One reading, learned at once or at ``learned``."""
    ev = evidence([{"time": time, **row}])
    return watch.step(w, watch.Learned(0, at(learned or time), ev, cause=cause,
                                       struck_from_ms=None if struck is None else at(struck)))


def many(w: watch.Watch, learned: str, text: str, *, batch: bool = False, cause: str = "",
         ) -> tuple[watch.Watch, tuple[watch.Transition, ...]]:
    """A table of readings, all learned at one time."""
    return watch.step(w, watch.Learned(0, at(learned), evidence(table(text)), batch=batch, cause=cause))


def act(w: watch.Watch, action: str, time: str, note: str = "", which: int = 0,
        ) -> tuple[watch.Watch, tuple[watch.Transition, ...]]:
    """A person acts on the open warning number ``which``."""
    slots = w.open_slots()
    occurrence = slots[which].alarm.occurrence if slots else "none"
    return watch.step(w, watch.Act(action, occurrence, "J. Ortiz", note, at(time)))


def shown(w: watch.Watch, name: str = "gain") -> str:
    """The state of a limit's warning."""
    return next((s.alarm.shown for s in w.slots if s.limit.name == name), "closed")


def brief(out: tuple[watch.Transition, ...]) -> list[str]:
    """``gain raised`` … in order."""
    return [f"{tr.name} {tr.state}" for tr in out]
