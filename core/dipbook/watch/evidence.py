"""What the watch is given: the balance and the dips at a row of readings, as columns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from dipbook.limits import FALLING, RISING, SUSPECT, TOOK_LESS, TOOK_MORE, TRIP_KINDS, Limit

SYSTEMS = ("active", "all surface", "watched")
"""What a limit may stand on besides a tank."""

NO_TANK = (*SYSTEMS, TOOK_LESS, TOOK_MORE, RISING, FALLING)
"""What a limit in the watch stands on that is no tank."""

TRIP_OVER = "the trip is over"
"""What is said of a sum that ended with its trip."""
FLOW_BACK = ("flow_back", "active")
SUSPECT_CHANNEL = "suspect"
Channel = tuple[str, str]
"""("difference", system), ("level", tank), ("volume", tank), ("complete", ""), ("dips", tank), FLOW_BACK, ("trip",
kind) for the sums of a trip's sheet, ("drift", drift_of(limit)), or ("suspect", system or tank)."""
Facts = Mapping[str, float]


def _span_words(seconds: int) -> str:
    """``3 min 10 s``."""
    return f"{seconds // 60} min" + (f" {seconds % 60} s" if seconds % 60 else "")


@dataclass(frozen=True)
class Column:
    """One channel of the evidence. t_ms int64; value, u float64, NaN unknown; known, partial bool; all of one length.

    known: the value is a number and its system is watched; only such rows are readings. said: of a row, what it was
    held against in words; None where that goes without saying. facts: of a row, figures that belong to it, or None.
    counts: what of the value is held against ``part`` times the limit, toward the limit; None where all of it is held
    against all of the limit. facts has both of a row.
    """

    t_ms: Any
    value: Any
    u: Any
    partial: Any
    known: Any
    said: Callable[[int], str] | None = None
    facts: Callable[[int], Facts] | None = None
    counts: Any = None
    part: Any = 1.0


@dataclass(frozen=True)
class Drift:
    """Columns of what a limit on drift is held against, one row a reading; NaN where nothing is known.

    value: all of the rise or fall that is told, + rising as the books have it [m3]. partial; known: as in Column.
    counts_m3: what of it counts, what is let pass taken off, without sign [m3]. part: it is held against so
    many times the value of the limit, share: so many times what holds by then. since_ms: what it counts from [UTC ms].
    rate_m3_s: about how fast since, NaN unknown. back: it came back at a connection; off: while the pumps were off.
    zone: of the rig, for times in words. falling: which side.
    """

    value: Any
    partial: Any
    known: Any
    counts_m3: Any
    part: Any
    share: Any
    since_ms: Any
    rate_m3_s: Any
    back: Any
    off: Any
    zone: str
    falling: bool

    def rows(self, cut: slice) -> Drift:
        """Some of the rows. cut: which."""
        return replace(self, **{name: x[cut] for name, x in vars(self).items() if name not in ("zone", "falling")})

    def said(self, row: int, t_ms: int) -> str:
        """What a row was held against, in words. row: its number [-]; t_ms: its time [UTC ms]."""
        since = int(self.since_ms[row])
        if self.back[row]:
            by = _span_words(max(0, t_ms - since) // 1000)
            return f"more than usual came back by {by} after the pumps {'stopped' if self.off[row] else 'started'}"
        local, now = (datetime.fromtimestamp(t / 1000, ZoneInfo(self.zone)) for t in (since, t_ms))
        day = "" if local.date() == now.date() else f" on {local.day} {local:%b}"
        return f"{'below the high' if self.falling else 'above the low'} at {local:%H:%M}{day}"

    def facts(self, row: int) -> Facts:
        """Figures of a row: of, the volume told; counts, that of it which is held against the limit [m3]; part, of the
        limit; share, of that which follows from the noise,
        or was set; rate [m3/s], where it is known. row: its number [-]."""
        made = {"of": abs(float(self.value[row])), "counts": float(self.counts_m3[row]), "part": float(self.part[row]),
                "share": float(self.share[row])}
        rate = float(self.rate_m3_s[row])
        return made | ({"rate": rate} if np.isfinite(rate) and rate > 0 else {})


@dataclass(frozen=True)
class FlowBack:
    """Columns of what came back at connections, one row a reading.

    above: more than is explained [m3], 0 while the pumps run, NaN where it can't be compared or isn't watched. u of it.
    partial. since_s: since the pumps stopped [s]. banded: held against accepted connections, else against all that the
    lines hold.
    """

    above: Any
    u: Any
    partial: Any
    since_s: Any
    banded: Any

    def rows(self, cut: slice) -> FlowBack:
        """Some of the rows. cut: which."""
        return FlowBack(self.above[cut], self.u[cut], self.partial[cut], self.since_s[cut], self.banded[cut])

    def said(self, row: int) -> str:
        """What a row was held against, in words. row: its number [-]."""
        if not np.isfinite(self.since_s[row]):
            return ""
        by = _span_words(round(float(self.since_s[row])))
        what = "more than the accepted connections" if self.banded[row] else "more than the lines hold,"
        return f"{what} by {by} after the pumps stopped"


@dataclass(frozen=True)
class Suspects:
    """How many gauges are in doubt: system or tank → a number, and which in words, one a reading."""

    count: Mapping[str, Any]
    said: Mapping[str, tuple[str, ...]]

    def rows(self, cut: slice) -> Suspects:
        """Some of the rows. cut: which."""
        return Suspects({k: v[cut] for k, v in self.count.items()}, {k: v[cut] for k, v in self.said.items()})


@dataclass(frozen=True)
class Evidence:
    """Columns for n readings, ``t_ms`` strictly rising.

    t_ms: int64 [UTC ms]. difference, u: system → float64 [m3], NaN unknown (holds). partial: system or tank → bool,
    True where only a part is known: such a row may raise and never clears.
    watched: system → bool, False holds: neither raises nor clears. level [m above the bottom], volume [m3]: tank →
    float64, NaN where the tank wasn't gauged at this reading. trip, trip_u: kind of limit on trips → its sum [m3] and
    that one's u, NaN where the reading is no row of a trip's sheet; trip_over: bool, a trip ended or begins there, and
    its sums are nothing. complete: bool, every active tank gauged.
    activity: what the rig was doing, one word a reading. flow_back: of connections, None where no limit asks for it.
    drift: drift_of(limit) → its columns, for each limit on drift. suspects: gauges in doubt, None where no limit asks.
    Raises ValueError where the lengths differ or the times don't rise.
    """

    t_ms: Any
    difference: Mapping[str, Any] = field(default_factory=dict)
    u: Mapping[str, Any] = field(default_factory=dict)
    partial: Mapping[str, Any] = field(default_factory=dict)
    watched: Mapping[str, Any] = field(default_factory=dict)
    level: Mapping[str, Any] = field(default_factory=dict)
    volume: Mapping[str, Any] = field(default_factory=dict)
    complete: Any = None
    activity: tuple[str, ...] = ()
    flow_back: FlowBack | None = None
    drift: Mapping[str, Drift] = field(default_factory=dict)
    trip: Mapping[str, Any] = field(default_factory=dict)
    trip_u: Mapping[str, Any] = field(default_factory=dict)
    trip_over: Any = None
    suspects: Suspects | None = None

    def __post_init__(self) -> None:
        t = np.atleast_1d(np.asarray(self.t_ms, dtype=np.int64))
        n = len(t)
        if n > 1 and not bool((np.diff(t) > 0).all()):
            raise ValueError("evidence: the times of the readings must rise")
        object.__setattr__(self, "t_ms", t)
        for name, kind in (("difference", float), ("u", float), ("partial", bool), ("watched", bool),
                           ("level", float), ("volume", float), ("trip", float), ("trip_u", float)):
            columns = {key: np.atleast_1d(np.asarray(v, dtype=kind)) for key, v in getattr(self, name).items()}
            for key, column in columns.items():
                if column.shape != (n,):
                    raise ValueError(f"evidence: {name} of {key} has {column.shape} values for {n} readings")
            object.__setattr__(self, name, columns)
        complete = np.zeros(n, dtype=bool) if self.complete is None else np.atleast_1d(np.asarray(self.complete, bool))
        activity = tuple(self.activity) or ("unknown",) * n
        if complete.shape != (n,) or len(activity) != n:
            raise ValueError(f"evidence: complete and activity need {n} values")
        over = np.zeros(n, dtype=bool) if self.trip_over is None else np.atleast_1d(np.asarray(self.trip_over, bool))
        object.__setattr__(self, "trip_over", over)
        object.__setattr__(self, "complete", complete)
        object.__setattr__(self, "activity", activity)

    def __len__(self) -> int:
        return len(self.t_ms)

    def rows(self, start: int, stop: int) -> Evidence:
        """Readings start … stop−1 as evidence of their own. start, stop: row numbers [-]."""
        cut = slice(start, stop)
        parts = {name: {k: v[cut] for k, v in getattr(self, name).items()}
                 for name in ("difference", "u", "partial", "watched", "level", "volume", "trip", "trip_u")}
        return Evidence(self.t_ms[cut], complete=self.complete[cut], activity=self.activity[cut],
                        trip_over=self.trip_over[cut],
                        flow_back=None if self.flow_back is None else self.flow_back.rows(cut),
                        drift={k: v.rows(cut) for k, v in self.drift.items()},
                        suspects=None if self.suspects is None else self.suspects.rows(cut), **parts)

    def channels(self) -> tuple[Channel, ...]:
        """All channels that have a column."""
        return (*(("difference", s) for s in self.difference), *(("level", t) for t in self.level),
                *(("volume", t) for t in self.volume), *(("trip", k) for k in self.trip),
                *((FLOW_BACK,) if self.flow_back is not None else ()), *(("drift", k) for k in self.drift),
                *((SUSPECT_CHANNEL, on) for on in (self.suspects.count if self.suspects is not None else ())))

    def column(self, channel: Channel) -> Column | None:
        """One channel, or None if the evidence doesn't have it. channel: see Channel."""
        kind, name = channel
        n = len(self)
        no = np.zeros(n, dtype=bool)
        if channel == FLOW_BACK:
            back = self.flow_back
            return None if back is None else Column(self.t_ms, back.above, back.u, back.partial,
                                                    np.isfinite(back.above), back.said)
        if kind == SUSPECT_CHANNEL:
            if self.suspects is None or name not in self.suspects.count:
                return None
            count, said = self.suspects.count[name], self.suspects.said[name]
            return Column(self.t_ms, count, np.full(n, np.nan), no, np.isfinite(count), lambda row: said[row])
        if kind == "drift":
            one = self.drift.get(name)
            return None if one is None else Column(
                self.t_ms, one.value, np.full(n, np.nan), one.partial, one.known,
                lambda row: one.said(row, int(self.t_ms[row])), one.facts, one.counts_m3, one.part)
        if kind == "difference":
            if name not in self.difference:
                return None
            value = self.difference[name]
            known = np.isfinite(value) & self.watched.get(name, ~no)
            return Column(self.t_ms, value, self.u.get(name, np.full(n, np.nan)), self.partial.get(name, no), known)
        if kind == "trip":
            if name not in self.trip:
                return None
            value = self.trip[name]
            return Column(self.t_ms, value, self.trip_u.get(name, np.full(n, np.nan)), no, np.isfinite(value),
                          lambda row: TRIP_OVER if self.trip_over[row] else "")
        source = self.level if kind == "level" else self.volume
        if kind not in ("level", "volume") or name not in source:
            return None
        value = source[name]
        return Column(self.t_ms, value, np.full(n, np.nan), self.partial.get(name, no), np.isfinite(value))

    def rounds(self, channel: Channel) -> Any:
        """bool per row: what an overdue limit waits for. channel: ("complete", "") or ("dips", tank)."""
        kind, tank = channel
        if kind == "complete":
            return self.complete
        gauged = np.zeros(len(self), dtype=bool)
        for source in (self.level, self.volume):
            if tank in source:
                gauged |= np.isfinite(source[tank])
        return gauged


def channel_of(limit: Limit) -> Channel:
    """What a limit looks at. limit: the limit."""
    if limit.kind == "overdue":
        return ("complete", "") if limit.on in SYSTEMS else ("dips", limit.on)
    if limit.kind in TRIP_KINDS:
        return ("trip", limit.kind)
    if limit.kind in ("high", "low"):
        return ("level" if limit.value_is == "level" else "volume", limit.on)
    if limit.kind == "flow_back":
        return FLOW_BACK
    if limit.kind == SUSPECT:
        return (SUSPECT_CHANNEL, limit.on)
    if limit.kind == "drift":
        return ("drift", drift_of(limit))
    return ("difference", limit.on)


def drift_of(limit: Limit) -> str:
    """Which column of drift a limit looks at: that of its side; one that follows from the noise has its own.

    limit: one side of a limit on drift.
    """
    if limit.times_noise is None:
        return limit.on
    return f"{limit.on}, {limit.times_noise!r} times the noise, at most {limit.value!r}"
