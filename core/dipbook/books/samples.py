"""Each tank's readings by time: as typed or sensed, through the geometry that was in force."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook.books.effective import StrikeOut
from dipbook.findings import Finding
from dipbook.records import ROUND, ROWS, SAMPLES, TRIP_ROW, Dip, Record
from dipbook.rig.model import Rig
from dipbook.tanks.ends import at_ends
from dipbook.tanks.gauging import UNREAD
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import dip_uncertainty, level_spread


@dataclass(frozen=True)
class Samples:
    """One tank's readings, rising time, one a time.

    t_ms int64; level_m above the bottom; volume_m3, of a dip that couldn't be read the end's that it is past, at least
    or at most, and of one of which not even that is known the last one's (``unread``); u_m3 one standard uncertainty
    (k=1, NaN where nobody set the dip's error, and of unread dips); flag: words, "" if none; seq: of the record; real:
    False for the value put
    in at a line-up change; base: index of the dip that a value rests on (its own for a dip). row: number of the reading
    (a round, a row of an import) that each is of. source: number of the dip that its error comes from, over all tanks,
    None where no dip tells two tanks; by_gate: True where the level is another tank's, behind an open gate
    (``dipbook.books.equalised``), None where none is.
    """

    t_ms: Any
    level_m: Any
    volume_m3: Any
    u_m3: Any
    flag: tuple[str, ...] | None
    seq: Any
    real: Any
    base: Any
    row: Any
    source: Any = None
    by_gate: Any = None

    def index_at(self, t_ms: Any) -> Any:
        """Index of the last reading at or before ``t_ms`` [UTC ms], −1 where there is none."""
        return np.searchsorted(self.t_ms, t_ms, side="right") - 1

    def unread(self, index: Any = None) -> Any:
        """True where a dip couldn't be read, or is past an end of the tank's table: array of bool. index: of which
        dips, None for all."""
        if self.flag is None:
            return np.zeros(len(self) if index is None else np.shape(index), dtype=bool)
        flags = self.flag if index is None else [self.flag[i] for i in np.ravel(index).tolist()]
        found = np.fromiter((flag in UNREAD for flag in flags), dtype=bool, count=len(flags))
        return found if index is None else found.reshape(np.shape(index))

    def dips(self) -> Samples:
        """The readings alone, without the values put in at line-up changes."""
        if bool(np.all(self.real)):
            return self
        keep = np.flatnonzero(self.real)
        flag = None if self.flag is None else tuple(self.flag[i] for i in keep)
        return Samples(self.t_ms[keep], self.level_m[keep], self.volume_m3[keep], self.u_m3[keep], flag, self.seq[keep],
                       self.real[keep], np.arange(len(keep)), self.row[keep],
                       None if self.source is None else self.source[keep],
                       None if self.by_gate is None else self.by_gate[keep])

    def __len__(self) -> int:
        return len(self.t_ms)


@dataclass(frozen=True)
class Readings:
    """The readings of the log: a round, or one row of an import.

    start_ms, end_ms: int64, of the first and last dip, rising end; seq: record that brought it.
    """

    start_ms: Any
    end_ms: Any
    seq: Any

    def __len__(self) -> int:
        return len(self.end_ms)

    def index_at(self, t_ms: Any) -> Any:
        """Index of the last reading that ended at or before ``t_ms`` [UTC ms], −1 where none has."""
        return np.searchsorted(self.end_ms, t_ms, side="right") - 1


@dataclass(frozen=True)
class Raw:
    """Dips of one tank as they were given."""

    t_ms: Any
    level: Any      # in the tank's own datum [m], NaN where a volume was given
    volume: Any     # given volume [m3], NaN where a level was given
    half_ms: Any
    error: Any      # half-width [m], NaN: the tank's own
    seq: Any
    flag: dict[int, str]
    row: Any        # number of the reading that it is of


@dataclass(frozen=True)
class Gathered:
    """samples: by tank, as gauged. readings; findings. last: of each tank its newest dip as it was given. rows: how
    many numbers of readings are used up."""

    samples: Mapping[str, Samples]
    readings: Readings
    findings: tuple[Finding, ...]
    last: Mapping[str, Raw]
    rows: int


def gather(records: Sequence[Record], rigs: Sequence[tuple[int, Rig]], strikes: Sequence[StrikeOut]) -> Gathered:
    """Samples by tank and the readings, from effective records. rigs: (in force from [UTC ms], rig), by time."""
    per_tank: dict[str, list[Raw]] = {}
    starts: list[Any] = []
    ends: list[Any] = []
    seqs: list[Any] = []
    row = 0
    for r in records:
        if r.kind in (ROUND, TRIP_ROW) and r.dips:
            for d in r.dips:
                per_tank.setdefault(d.tank, []).append(raw_of_dip(r, d, row))
            row += 1
            times = [d.t_ms for d in r.dips]
            starts.append([min(times)])
            ends.append([max(times)])
            seqs.append([r.seq])
        elif r.kind == SAMPLES:
            rows = next((b for b in r.blocks if b.channel == ROWS), None)
            mine = [b for b in r.blocks if b.channel.startswith("tank:")]
            stamps = [np.asarray(b.t_ms, dtype=np.int64) for b in mine]
            if rows is not None:
                end = np.asarray(rows.t_ms, dtype=np.int64)
                start = np.asarray(rows.v, dtype=float).astype(np.int64)
            elif mine:
                end = start = _times_of_any(stamps)
            else:
                continue
            for b, t in zip(mine, stamps, strict=True):
                tank, what = b.channel[5:].rsplit(":", 1)
                per_tank.setdefault(tank, []).append(_from_block(
                    r, t, np.asarray(b.v, dtype=float), what, row + np.searchsorted(end, t, side="left")))
            row += len(end) + 1
            starts.append(start)
            ends.append(end)
            seqs.append(np.full(len(end), r.seq))
    samples: dict[str, Samples] = {}
    findings: list[Finding] = []
    newest: dict[str, Raw] = {}
    for tank, raws in per_tank.items():
        made, found, last = through_geometry(tank, raws, rigs, strikes)
        findings.extend(found)
        if made is not None and last is not None:
            samples[tank], newest[tank] = made, last
    return Gathered(samples, _readings(starts, ends, seqs, samples), tuple(findings), newest, row)


def raw_of_dip(r: Record, d: Dip, row: int) -> Raw:
    """A dip as it was given. r: its record. d: the dip. row: number of the reading that it is of [-]."""
    return Raw(np.array([d.t_ms], dtype=np.int64), np.array([_nan(d.level_m)]), np.array([_nan(d.volume_m3)]),
                np.array([float(d.t_half_ms)]), np.array([_nan(d.resolution_m)]), np.array([r.seq]),
                {0: d.flag} if d.flag else {}, np.array([row]))


def _from_block(r: Record, t: Any, v: Any, what: str, row: Any) -> Raw:
    n = len(t)
    empty = np.full(n, np.nan)
    return Raw(t, v if what == "level" else empty, v if what == "volume" else empty, np.zeros(n), empty,
                np.full(n, r.seq), {}, row)


def _nan(x: float | None) -> float:
    return np.nan if x is None else x


def through_geometry(name: str, raws: Sequence[Raw], rigs: Sequence[tuple[int, Rig]], strikes: Sequence[StrikeOut],
                     ) -> tuple[Samples | None, list[Finding], Raw | None]:
    """One tank's samples, findings on them, and its newest dip as it was given; None where there are none.

    name: of the tank. raws: its dips, any order. rigs, strikes: as of ``gather``.
    """
    t = np.concatenate([r.t_ms for r in raws])
    seq = np.concatenate([r.seq for r in raws])
    dip = np.concatenate([r.level for r in raws])
    given = np.concatenate([r.volume for r in raws])
    half = np.concatenate([r.half_ms for r in raws])
    error = np.concatenate([r.error for r in raws])
    row = np.concatenate([r.row for r in raws])
    flags: dict[int, str] = {}
    at = 0
    for r in raws:
        flags.update({at + i: f for i, f in r.flag.items()})
        at += len(r.t_ms)
    order = np.arange(len(t)) if bool((np.diff(t) > 0).all()) else np.lexsort((seq, t))
    keep = np.ones(len(t), dtype=bool)
    for s in strikes:
        if s.tank in ("", name):
            keep &= ~((t[order] >= s.from_ms) & (t[order] <= s.to_ms) & (seq[order] < s.seq))
    order = order[keep]
    if len(order) == 0:
        return None, [], None
    last = np.ones(len(order), dtype=bool)
    last[:-1] = t[order][1:] != t[order][:-1]     # two at one time: the one learned last of those that stand
    order = order[last]
    t, seq, dip, given, half, error, row = (a[order] for a in (t, seq, dip, given, half, error, row))
    words = tuple(flags.get(int(i), "") for i in order) if flags else None
    level, volume = np.full(len(t), np.nan), np.full(len(t), np.nan)
    spread = np.full(len(t), np.nan)
    past: dict[int, str] = {}
    findings: list[Finding] = []
    known = np.zeros(len(t), dtype=bool)
    measured_by: Tank | None = None
    for a, b, tank in tank_spans(name, rigs):
        here = (t >= a) & (t < b)
        if not here.any():
            continue
        known |= here
        if measured_by is not None and not _same_volumes(measured_by, tank):
            findings.append(Finding(
                f"{name}: the rig file changed what this tank holds at a level, between two readings: the difference "
                "steps there. Gauge the tanks and zero the difference.", code="geometry_changed", tank=name, t_ms=a))
        measured_by = tank
        lv = np.where(np.isnan(given[here]), tank.level_of_dip(dip[here]), np.nan)
        lv = np.where(np.isnan(given[here]), lv, tank.level(given[here]))
        held = np.where(np.isnan(given[here]), tank.volume(lv), given[here])
        unread = np.array([w in UNREAD for w in words])[here] if words else np.zeros(int(here.sum()), dtype=bool)
        if unread.any() and tank.gauge != "down":      # a stick let down from a mark ends nobody has said where
            bare = unread & np.isnan(lv) & np.isnan(held)
            lv = np.where(bare, tank.level_of_dip(0.0), lv)
            held = np.where(bare, tank.volume(lv), held)
        findings.extend(_outside(tank, t[here][~unread], lv[~unread], held[~unread]))
        held, ended = at_ends(tank, lv, held)
        rows = np.flatnonzero(here)
        past.update({int(rows[i]): word for i, word in ended.items() if not unread[i]})
        level[here], volume[here] = lv, held
        spread[here] = level_spread(tank, lv, np.where(np.isnan(error[here]), _nan(tank.dip_error_m), error[here]))
    if not known.any():
        return None, [Finding(f"There are readings of “{name}”, which the rig doesn't have: left out.",
                              code="unknown_tank", tank=name, kept=False)], None
    if past:
        words = tuple(past.get(i, "" if words is None else words[i]) for i in range(len(t)))
    u = dip_uncertainty(spread, _rate_of_change(t, volume), half / 1000.0)
    n = len(t)
    newest = Raw(t[-1:], dip[-1:], given[-1:], half[-1:], error[-1:], seq[-1:], {}, row[-1:])
    made = Samples(t, level, volume, u, words, seq, np.ones(n, dtype=bool), np.arange(n), row)
    unread = made.unread()
    if not unread.any():
        return made, findings, newest
    # At least, or at most, what it says: how far off, nobody knows.
    return replace(made, u_m3=np.where(unread, np.nan, u), volume_m3=_held_on(volume, unread)), findings, newest


def _held_on(volume: Any, unread: Any) -> Any:
    """Volumes [m3], with the last one known in place of an unread one of which not even an end is known."""
    known = np.where(np.isfinite(volume), np.arange(len(volume)), -1)
    last = np.maximum.accumulate(known)
    return np.where(unread & np.isnan(volume) & (last >= 0), volume[np.maximum(last, 0)], volume)


def _same_volumes(one: Tank, other: Tank) -> bool:
    """True if both descriptions give the same volume for the same dip."""
    def told(tank: Tank) -> tuple[object, ...]:
        return tank.shape, tank.gauge, tank.mark_m, tank.offset_m, tank.internals_m3
    return told(one) == told(other)


def _rate_of_change(t: Any, v: Any) -> Any:
    """|dV/dt| at each reading from its neighbours [m3/s], the larger side; 0 for a lone reading."""
    if len(t) < 2:
        return np.zeros(len(t))
    step = np.abs(np.diff(v)) / (np.diff(t) / 1000.0)
    step = np.where(np.isnan(step), 0.0, step)
    return np.maximum(np.concatenate(([0.0], step)), np.concatenate((step, [0.0])))


def _outside(tank: Tank, t: Any, level: Any, volume: Any) -> list[Finding]:
    """Findings on levels outside the tank; the values are kept as they are."""
    found: list[Finding] = []
    for bad, what, code in (
        (level > tank.top_m + 1e-9, "above the brim", "above_brim"),
        (level < -1e-9, "below the bottom", "below_bottom"),
        (np.isnan(volume) & (level > tank.shape.height), "above the end of the tank's shape or strapping table, and "
         "counts as what it holds there, at least", "outside_table"),
        (np.isnan(volume) & (level < tank.shape.height), "below the end of the tank's shape or strapping table, and "
         "counts as what it holds there, at most", "outside_table"),
    ):
        where = np.flatnonzero(bad)
        if len(where):
            more = f" (and {len(where) - 1} more)" if len(where) > 1 else ""
            found.append(Finding(f"{tank.name}: a reading is {what}{more}.", code=code, tank=tank.name,
                                 t_ms=int(t[where[0]])))
    return found


def tank_spans(name: str, rigs: Sequence[tuple[int, Rig]]) -> list[tuple[int, int, Tank]]:
    """When which description of a tank was in force: (from, to) [UTC ms], to excluded. The first holds from ever.

    name: the tank's. rigs: (in force from [UTC ms], rig), by time.
    """
    spans: list[tuple[int, int, Tank]] = []
    for i, (start, rig) in enumerate(rigs):
        a = -(2**62) if i == 0 else start
        b = rigs[i + 1][0] if i + 1 < len(rigs) else 2**62
        try:
            tank = rig.tank(name)
        except KeyError:
            continue
        if spans and spans[-1][1] == a and spans[-1][2] == tank:
            spans[-1] = (spans[-1][0], b, tank)
        else:
            spans.append((a, b, tank))
    return spans


def _readings(starts: list[Any], ends: list[Any], seqs: list[Any], samples: dict[str, Samples]) -> Readings:
    if not ends or not samples:
        empty = np.array([], dtype=np.int64)
        return Readings(empty, empty, empty)
    start, end, seq = (np.concatenate([np.asarray(x, dtype=np.int64) for x in xs]) for xs in (starts, ends, seqs))
    order = np.lexsort((seq, start, end))
    start, end, seq = start[order], end[order], seq[order]
    last = np.ones(len(end), dtype=bool)
    last[:-1] = end[1:] != end[:-1]
    if not last.all():                               # several records end at one time: one reading
        groups = np.concatenate(([0], np.cumsum(last)[:-1]))
        first = np.full(int(groups[-1]) + 1, 2**62, dtype=np.int64)
        np.minimum.at(first, groups, start)
        start, end, seq = first, end[last], seq[last]
    some = np.zeros(len(end), dtype=bool)                                  # drop readings struck out whole
    for s in samples.values():
        rest = np.flatnonzero(~some)
        if not len(rest):
            break
        some[rest] = (np.searchsorted(s.t_ms, end[rest], side="right")
                      > np.searchsorted(s.t_ms, start[rest], side="left"))
    return Readings(start[some], end[some], seq[some])


def _times_of_any(columns: Sequence[Any]) -> Any:
    """Every time in one of some columns of times, rising, each once [UTC ms]."""
    first = columns[0]
    if all(np.array_equal(first, other) for other in columns[1:]) and bool(np.all(first[1:] > first[:-1])):
        return first                                                       # as a sensor on each tank gives them
    return np.unique(np.concatenate(columns))
