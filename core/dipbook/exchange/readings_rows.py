"""The rows of a readings file, column by column, to what it holds: readings of the tanks, entries for what else is
there."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import quantities
from dipbook.entries.fields import match, suggestion
from dipbook.entries.plausible import BEYOND
from dipbook.errors import QuantityError
from dipbook.exchange import tables, times
from dipbook.exchange.cells import plain_numbers
from dipbook.exchange.headings import Column
from dipbook.exchange.states import KEYS, entries_of
from dipbook.findings import Finding
from dipbook.limits import ACTIVITIES
from dipbook.records import Draft
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank

TOLERANCE = 1e-9
"""Share of a tank's height or volume by which rounding may put a reading outside [-]."""

NUMBERS = {"bit depth": "length", "hole depth": "length", "pump": "frequency", "flow in": "rate"}
"""Columns of numbers that are no tank -> what they measure."""


@dataclass(frozen=True, slots=True)
class TankSeries:
    """Readings of one tank. tank: name; what: "level" [m, in the tank's own datum] or "volume" [m3].

    t_ms: int64, rising, each once [UTC ms]; v: float64, same length.
    """

    tank: str
    what: str
    t_ms: Any
    v: Any


@dataclass(frozen=True, slots=True)
class ReadingsFile:
    """What a readings file holds.

    name; digest: SHA-256 of its bytes, hex; content: SHA-256 of what it says, the same for any order of its rows.
    rows: data rows; series: the tanks' readings, by tank; entries: depth, pumps and activity where they change
    (drafts learned at their own time). row_end_ms, row_start_ms: int64, spans of the rows, or None where every dip
    has its row's time. zone: the rig's. findings: by line; ok: False if one is an error, and then nothing else holds.
    bad: (line, what is wrong) of each row that can't be read, where it is the rows only that refuse the file.
    same: lines of the rows that say "same" of a tank.
    """

    name: str
    digest: str
    content: str
    rows: int
    series: tuple[TankSeries, ...]
    entries: tuple[Draft, ...]
    row_end_ms: Any
    row_start_ms: Any
    zone: str
    findings: tuple[Finding, ...]
    bad: tuple[tuple[int, str], ...] = ()
    same: tuple[int, ...] = ()

    @property
    def ok(self) -> bool:
        """True if nothing in it is an error."""
        return not any(f.severity == "error" for f in self.findings)

    def row_times(self) -> Any:
        """Times at which a row of readings was complete, int64, rising [UTC ms]."""
        if self.row_end_ms is not None:
            return np.unique(self.row_end_ms)
        return np.unique(np.concatenate([s.t_ms for s in self.series])) if self.series else np.array([], np.int64)


class RowsReader:
    """Reads the rows of one table, column by column."""

    def __init__(self, table: tables.Table, columns: Sequence[Column], rig: Rig, findings: list[Finding],
                 no_times: Mapping[int, str]) -> None:
        self.table = table
        self.columns = columns
        self.rig = rig
        self.findings = findings
        self.no_times = no_times
        self.lines = table.lines
        self.t_ms: Any = None
        self.bad: dict[int, str] = dict(table.torn_off)
        self.same: set[int] = set()
        self.cells: Mapping[int, Sequence[str]] = self._cells()

    def _cells(self) -> Mapping[int, Sequence[str]]:
        """The texts of each column, without blanks around them."""
        cells = list(zip(*self.table.rows, strict=True))
        return {c.index: [cell.strip() for cell in cells[c.index]] for c in self.columns}

    def read(self) -> ReadingsFile:
        """The whole file."""
        clock = next(c for c in self.columns if c.what == "time")
        t_ms, wrong = self.times(clock)
        self.t_ms = t_ms
        for i, what in wrong:
            self._error(i, clock, self.no_times.get(i, what), "time")
        series: list[TankSeries] = []
        states: dict[Column, tuple[Any, Any]] = {}
        spans: list[tuple[Any, Any]] = []
        own_times = {c.name: c for c in self.columns if c.what == "tank time"}
        for c in self.columns:
            if c.what in ("level", "volume", "percent"):
                level, volume, same = self._dips(c)
                given = ~np.isnan(level) | ~np.isnan(volume) | same
                own = own_times.get(c.name)
                at = t_ms if own is None else self._own_times(own, t_ms, given)
                spans.append((at, given))
                series.extend(self._series(c, at, level, volume, same, given))
            elif c.what in NUMBERS:
                states[c] = self._once(c, t_ms, self._numbers(c, NUMBERS[c.what]))
            elif c.what == "activity":
                states[c] = self._once(c, t_ms, self._activities(c))
            elif c.what == "flow out":
                self.findings.append(Finding(
                    "flow out is not used: this log keeps no books of it", code="flow_out", severity="note",
                    file=self.table.name, line=self.table.heading_line, column=c.heading, kept=False))
        entries = () if self._refused() else entries_of(states, self.rig)
        series.sort(key=lambda s: (s.tank, s.what))
        end = start = None
        if own_times:
            end, start = _spans(spans)
        if not series and not self._refused():
            self.findings.append(Finding("no tank is gauged in any row", code="no_rows", severity="error",
                                         file=self.table.name, kept=False))
        return ReadingsFile(
            self.table.name, self.table.digest, _content(series, entries), len(self.lines),
            tuple(series), entries, end, start, self.rig.zone,
            tables.told_once(sorted(self.findings, key=lambda f: (f.line or 0, f.column))),
            tuple(sorted(self.bad.items())), tuple(sorted(self.same)))

    def times(self, clock: Column) -> tuple[Any, list[tuple[int, str]]]:
        """The rows' times [UTC ms], and (row, what is wrong) of those that can't be read."""
        return times.parse_all(self.cells[clock.index], self.rig.zone)

    def plain(self, c: Column) -> tuple[Any, list[int]]:
        """The plain numbers of a column in SI, NaN elsewhere; the rows whose cells are neither blank nor plain."""
        return plain_numbers(self.cells[c.index], self.rig.decimal, quantities.UNITS[c.unit].factor)

    def _dips(self, c: Column) -> tuple[Any, Any, Any]:
        """Level in the tank's datum [m], volume [m3] (NaN where not given) and "gauged, unchanged" of each row."""
        nothing = np.full(len(self.lines), np.nan)
        level, volume = nothing.copy(), nothing.copy()
        same = np.zeros(len(self.lines), dtype=bool)
        tank = self.rig.tank(c.name)
        if c.unit in quantities.UNITS:
            values, odd = self.plain(c)
            target = level if c.what == "level" else volume
            target[:] = values
        else:
            odd = [i for i, cell in enumerate(self.cells[c.index]) if cell]
        for i in odd:
            cell = self.cells[c.index][i]
            text = f"{cell} %" if c.what == "percent" and cell[-1].isdigit() else cell
            try:
                dip = quantities.read_dip(
                    text, decimal=self.rig.decimal, level_unit=c.unit if c.what == "level" else "",
                    volume_unit=c.unit if c.what == "volume" else self.rig.units["volume"],
                    percent_of=tank.percent_of)
            except QuantityError as error:
                self._error(i, c, str(error), "unreadable", c.name)
                continue
            if dip.kind == "level":
                level[i] = dip.value
            elif dip.kind == "volume":
                volume[i] = dip.value
            elif dip.kind == "percent" and tank.percent_of == "volume":
                volume[i] = dip.value / 100.0 * tank.capacity_m3
            elif dip.kind == "percent":
                level[i] = tank.dip_of_level(dip.value / 100.0 * tank.top_m)
            elif dip.kind == "unchanged":
                same[i] = True
                self.same.add(self.lines[i])
        self._impossible(c, tank, level, volume)
        return level, volume, same

    def _impossible(self, c: Column, tank: Tank, level: Any, volume: Any) -> None:
        """Findings on readings that this tank can't give; what is above its brim is kept with a warning."""
        slack = TOLERANCE * tank.shape.height
        above = tank.level_of_dip(level)
        held = np.where(np.isnan(volume), tank.volume(above), volume)
        full = float(tank.volume(tank.shape.height)) * (1 + TOLERANCE)
        by_level, by_volume = ~np.isnan(level), ~np.isnan(volume)
        with np.errstate(invalid="ignore"):
            below = by_level & (above < -slack)
            over = (by_level & (above > tank.shape.height + slack)) | (by_volume & (volume > full))
            outside = by_level & np.isnan(held)
            if by_volume.any():
                outside |= by_volume & np.isnan(tank.level(volume))
            brim = (by_level & (above > tank.top_m + slack)) | (by_volume & (
                volume > tank.capacity_m3 * (1 + TOLERANCE)))
        said: list[tuple[Any, str, str]] = [
            (below, "this is below the tank's bottom: check the tank, the unit and the mark", "below_bottom"),
            (over & ~below, "this is more than the tank can hold: check the tank and the unit", "above_top"),
            (outside & ~below & ~over, "this is outside the tank's shape or strapping table", "outside_table")]
        for where, what, code in said:
            for i in np.flatnonzero(where).tolist():
                self._error(i, c, f"{self.cells[c.index][i]!r}: {what}", code, c.name)
        for i in np.flatnonzero(brim & ~over & ~outside)[:tables.MOST_FINDINGS + 1].tolist():
            self.findings.append(Finding(
                f"{self.cells[c.index][i]!r} is above the brim: kept", code="above_brim", file=self.table.name,
                line=self.lines[i], column=c.heading, tank=c.name, t_ms=int(self.t_ms[i])))

    def _own_times(self, c: Column, t_ms: Any, given: Any) -> Any:
        """Each dip's own time, the row's where it has none."""
        own = t_ms.copy()
        half_day = times.DAY_MS // 2
        for i, text in enumerate(self.cells[c.index]):
            if text and given[i]:
                try:
                    own[i] = times.at_clock(text, int(t_ms[i]), self.rig.zone, ahead_ms=half_day)
                except QuantityError as error:
                    self._error(i, c, str(error), "time", c.name)
        return own

    def _numbers(self, c: Column, dimension: str) -> Any:
        """SI values of a column that is no tank, NaN where blank."""
        cells = self.cells[c.index]
        if c.unit in quantities.UNITS:
            values, odd = self.plain(c)
        else:
            values, odd = np.full(len(cells), np.nan), [i for i, cell in enumerate(cells) if cell]
        for i in odd:
            try:
                values[i] = quantities.read(cells[i], dimension, decimal=self.rig.decimal, bare=c.unit).value
            except QuantityError as error:
                self._error(i, c, str(error), "unreadable")
        most = BEYOND[KEYS[c.what]][1]
        for i in np.flatnonzero(np.nan_to_num(values) > most).tolist():
            self._error(i, c, f"{cells[i]!r} can't be right: check the unit", "absurd")
        return values

    def _activities(self, c: Column) -> Any:
        """The activity of each row, "" where blank."""
        known = {word: match(word, ACTIVITIES) if word else "" for word in self.cells[c.index]}
        words = [known[word] for word in self.cells[c.index]]
        for i, word in enumerate(words):
            if word is None:
                cell = self.cells[c.index][i]
                self._error(i, c, f"there is no activity {cell!r}{suggestion(cell, ACTIVITIES)}", "unknown_activity")
        return np.array([word or "" for word in words], dtype=object)

    def _refused(self) -> bool:
        return any(f.severity == "error" for f in self.findings)

    def _series(self, c: Column, t_ms: Any, level: Any, volume: Any, same: Any, given: Any) -> list[TankSeries]:
        """The readings of a tank in time order, each time once."""
        rows = np.flatnonzero(given)
        if not bool((np.diff(t_ms[rows]) > 0).all()):
            rows = rows[np.argsort(t_ms[rows], kind="stable")]
            rows = self._each_once(c, t_ms, rows, [level, volume, same.astype(float)], c.name)
        level, volume, same, at = level[rows], volume[rows], same[rows], t_ms[rows]
        if same.any():
            last = np.maximum.accumulate(np.where(same, -1, np.arange(len(rows))))
            for i in np.flatnonzero(last < 0).tolist():
                self._error(int(rows[i]), c, "there is no reading before this one that it could be the same as",
                            "same_as_nothing", c.name)
            level, volume = level[last], volume[last]
        series = []
        for what, v in (("level", level), ("volume", volume)):
            there = ~np.isnan(v)
            if there.any():
                series.append(TankSeries(c.name, what, at[there], v[there]))
        return series

    def _once(self, c: Column, t_ms: Any, values: Any) -> tuple[Any, Any]:
        """(times, values) of a column in time order, each time once, blanks left out."""
        blank = values == "" if values.dtype == object else np.isnan(values)
        rows = np.flatnonzero(~blank)
        rows = rows[np.argsort(t_ms[rows], kind="stable")]
        rows = self._each_once(c, t_ms, rows, [values], "")
        return t_ms[rows], values[rows]

    def _each_once(self, c: Column, t_ms: Any, rows: Any, values: Sequence[Any], tank: str) -> Any:
        """``rows`` (by time) without repeats of one time; a repeat that says something else is an error."""
        repeats = np.flatnonzero(t_ms[rows][1:] == t_ms[rows][:-1]) + 1
        if not len(repeats):
            return rows
        drop = []
        for i in repeats.tolist():
            a, b = int(rows[i - 1]), int(rows[i])
            if all(v[a] == v[b] or (v[a] != v[a] and v[b] != v[b]) for v in values):
                drop.append(i)
            else:
                first, second = sorted((a, b))
                self._error(second, c, f"line {self.lines[first]} has another reading for the same time: "
                                       "correct one of the times, or delete one", "two_at_one_time", tank)
                self.bad.setdefault(self.lines[first], f"line {self.lines[second]} has another reading for the same "
                                                       "time")
        if drop:
            self.findings.append(Finding(
                f"{len(drop)} {'reading' if len(drop) == 1 else 'readings'} given twice, alike: kept once",
                code="repeated", severity="note", file=self.table.name, column=c.heading, tank=tank))
        return np.delete(rows, drop)

    def _error(self, row: int, c: Column, what: str, code: str, tank: str = "") -> None:
        self.bad.setdefault(self.lines[row], what)
        self.findings.append(Finding(what, code=code, severity="error", file=self.table.name,
                                     line=self.lines[row], column=c.heading, tank=tank, kept=False))


def _spans(spans: Sequence[tuple[Any, Any]]) -> tuple[Any, Any]:
    """(end, start) of each row that has a reading, by end [UTC ms]."""
    big = np.iinfo(np.int64).max
    starts = np.min([np.where(given, at, big) for at, given in spans], axis=0)
    ends = np.max([np.where(given, at, -big) for at, given in spans], axis=0)
    there = np.any([given for _, given in spans], axis=0)
    order = np.lexsort((starts[there], ends[there]))
    return ends[there][order], starts[there][order]


def _content(series: Sequence[TankSeries], entries: Sequence[Draft]) -> str:
    """Digest of what a file says."""
    digest = hashlib.sha256()
    for s in series:
        digest.update(f"{s.tank}\0{s.what}\0{len(s.t_ms)}\0".encode())
        digest.update(np.asarray(s.t_ms, dtype="<i8").tobytes())
        digest.update(np.asarray(s.v, dtype="<f8").tobytes())
    for e in entries:
        digest.update(e.uid.encode())
    return digest.hexdigest()
