"""The trip sheet: stand by stand what the hole should take and what it took, each, over the last few, and in all.

A row is a stand, a fill, a refill, or pipe that was filled. The hole takes what the trip tanks lose while no refill
runs; a refill is told from the levels on both its sides, with no pipe moving between them. Pipe moved over rows without
a level waits for the next level. Signs as in the books: a difference above 0 is more mud on surface than expected, so
the hole took less (or gave back more).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot, isfinite, isnan, nan, sqrt

from dipbook.findings import Finding
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import tank_uncertainty
from dipbook.trips.pipe import Move, Pipe, move
from dipbook.trips.rows import FLOW_CHECK, REFILL, Row, finding
from dipbook.trips.ways import Expected, Way
from dipbook.well import String

REFILL_MOVED = ("Pipe moved between the two levels of a refill: what the hole took then isn't known. Log the level "
                "before and after it, with no pipe moving.")
ROW_UNKNOWN = ("What the hole should take, or took, isn't known for this row: it is left out of the sums. Give bit "
               "depths within the string's length, the pump's output where it was filled by strokes, and a level of "
               "each tank after a refill that pipe moved over.")
DEPTH_UNKNOWN = ("A stand without bit depth, or a number to count by: what the hole should take isn't known for this "
                 "row. It counts with the next row that gives a bit depth.")
NO_LEVEL_AFTER = ("Pipe moved after the last row that could be told: what the hole took for it isn't known. Log a "
                  "level, and the bit depth.")
LAST_N = 5
"""Rows of stands whose differences are summed beside the total: five, the number of stands of 30 CFR 250.456(c)."""


Level = tuple[int, float, float, float]
"""A trip tank's level as it counts: when read [UTC ms], volume [m3], its variance [m6], logged into it by then [m3]."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sheet. Volumes [m3], fill positive into the hole, NaN unknown; differences and u as in the books,
    u one standard uncertainty (k = 1). least_m3, most_m3: bounds of the expected fill. cumulative_m3, cumulative_u_m3:
    since the trip's first level; its uncertainty adds up the bounds of a self-filling float, which lets in the same on
    every stand. Levels alone count in both: of strokes nobody says how far they can be trusted, and where there are no
    trip tanks u is NaN. state: how the pipe was moved. row: as logged.

    What it rests on: moves since the line before; before, after: trip tank -> its level; pumped_m3: into the hole by
    strokes; last_lines: how many lines ``last_n_m3`` sums, this one with them."""

    row: Row
    stand: int | None
    bit_m: float
    expected_m3: float
    least_m3: float
    most_m3: float
    actual_m3: float
    difference_m3: float
    u_m3: float
    last_n_m3: float
    cumulative_m3: float
    cumulative_u_m3: float
    state: str
    moves: tuple[Move, ...] = ()
    before: Mapping[str, Level] = field(default_factory=dict)
    after: Mapping[str, Level] = field(default_factory=dict)
    pumped_m3: float = 0.0
    last_lines: int = 0


@dataclass(slots=True)
class _Tanks:
    """What the trip tanks hold on the way through the rows. A tank that a row gives no level of stands as it stood:
    another one is in use.

    held: tank -> (volume [m3], its variance [m6], what had been logged into it [m3]) at its last level, read_ms:
    when that was [UTC ms]. start: tank -> variance of the level that it is counted from, the trip's first or the
    last refill's [m6]; closed: of both ends of what was counted before a refill. refilled: one was filled up, and
    no level read since. in_use: read last while nothing was refilled. lost: tanks whose last level lies before a
    span that isn't known: what they lost since can't be set against what was expected after it. """

    tanks: Mapping[str, Tank]
    held: dict[str, tuple[float, float, float]] = field(default_factory=dict)
    read_ms: dict[str, int] = field(default_factory=dict)
    start: dict[str, float] = field(default_factory=dict)
    read_since: set[str] = field(default_factory=set)
    lost: set[str] = field(default_factory=set)
    refilled: bool = False
    closed: float = 0.0
    in_use: str = ""

    def read(self, row: Row, findings: list[Finding]) -> set[str]:
        """Take a row's levels. The tanks read; one outside its table is left out, with a finding."""
        read: set[str] = set()
        for name, (volume, variance) in (row.volumes or {}).items():
            self.held[name] = volume, variance, row.logged.get(name, 0.0)
            read.add(name)
        for name, level in row.levels_m.items() if row.volumes is None else ():
            if not isfinite(level):
                continue
            if name not in self.tanks:
                findings.append(finding(row, f"{name} is no trip tank of this trip: its level isn't counted here.",
                                         "no_trip_tank"))
                continue
            volume = float(self.tanks[name].volume(level))
            if isnan(volume):
                findings.append(finding(row, f"{name}: this level is outside its shape or table; the row is taken as "
                                              "without it.", "outside_table"))
                continue
            self.held[name] = volume, float(tank_uncertainty(self.tanks[name], level)) ** 2, row.logged.get(name, 0.0)
            read.add(name)
        return read

    def gave(self, names: set[str], before: Mapping[str, tuple[float, float, float]]) -> float:
        """What tanks gave since they were read before, less what was logged out of them, plus what was logged in [m3].
        """
        return sum(before[n][0] - self.held[n][0] + self.held[n][2] - before[n][2] for n in names)

    def begin(self, names: set[str], before: Mapping[str, tuple[float, float, float]]) -> None:
        """Count anew from their levels: the first, or those after what isn't known. before: what was held until then.
        """
        self.lost -= names
        for name in names:
            if name in self.read_since:
                self.closed += self.start[name] + before[name][1]
            self.read_since.discard(name)
            self.start[name] = self.held[name][1]

    def variance(self) -> float:
        """Of what all of them gave since the trip began [m6]: a level that ends one row and begins the next cancels."""
        return self.closed + sum(self.start[n] + self.held[n][1] for n in self.read_since)


def sheet(rows: Sequence[Row], string: String, way: Way, tanks: Mapping[str, Tank], *, stand_m: float,
          stroke_m3: float = nan, last_n: int = LAST_N, upward: bool | None = None,
          ) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The lines of a trip, one a row that has a level, or strokes where no tanks are given, and findings.

    rows: by time; the first holds the levels and the bit depth that it starts from. string: in the hole. way: how pipe
    is moved. tanks: the trip tanks by name, none where the hole is filled by strokes alone. stand_m: length of a stand,
    where no bit depth is given [m]. stroke_m3: output of the pump that fills by strokes [m3], NaN unknown. last_n:
    stands summed in ``last_n_m3``: what a row without a move shows counts with the stand before it. upward: the way the
    trip goes, for stands counted by number, None not said. What isn't known of a row is left out of the sums, with a
    finding, so that the other rows still count; a stand whose depth alone isn't known waits for the next depth.
    """
    lines: list[Line] = []
    findings: list[Finding] = []
    pipe, level = Pipe(upward=upward), _Tanks(tanks)
    total, band, recent = 0.0, 0.0, list[tuple[int, float, int]]()
    for i, row in enumerate(rows):
        way = row.way or way
        move(pipe, row, string, way, stand_m, findings, tanks)
        if row.strokes is not None:
            pipe.pumped += row.strokes * stroke_m3 if row.strokes else 0.0
        before, before_ms = dict(level.held), dict(level.read_ms)
        read = level.read(row, findings)
        level.read_ms |= dict.fromkeys(read, row.t_ms)
        level.refilled |= row.kind == REFILL and bool(tanks)
        if not (read if tanks else row.strokes is not None or i == 0):
            continue
        new, again = read - before.keys(), read & level.lost
        started = bool(before) if tanks else i > 0
        if not started or level.refilled:
            level.begin(read, before)
            level.refilled = False
            others = before.keys() - read - level.lost
            if started and pipe.moved and not (others and level.in_use in others):
                findings.append(finding(row, REFILL_MOVED, "refill_moved"))
                level.lost |= before.keys() - read
                pipe.settle()
            elif not started:
                pipe.settle()
            # Else nothing was expected, and what was pumped still counts; or the tank in use is read later.
            continue
        if new:
            names = ", ".join(sorted(new))
            findings.append(finding(row, f"{names}: the first level. It counts from here, and what it gave before "
                                          "isn't known.", "tank_first_level"))
            level.begin(new, before)
        known, now = read - new, dict(level.held)
        level.in_use = next(iter(sorted(read)), level.in_use)
        actual = nan if again else level.gave(known, before) + pipe.pumped
        due = Expected(nan, nan) if pipe.adrift else pipe.waiting
        u = hypot(sqrt(sum(before[n][1] + level.held[n][1] for n in known)) if tanks else nan, _spread(due.width_m3))
        difference = due.mean_m3 - actual
        if isfinite(difference):
            level.read_since |= known
            total += difference
            band += due.width_m3
            recent = _lately(recent, pipe.stands if pipe.moved else 0, difference, last_n)
        elif pipe.adrift and isfinite(actual):
            findings.append(finding(row, DEPTH_UNKNOWN, "depth_unknown"))
            level.held |= before  # it waits for the next depth
            level.read_ms |= before_ms
        else:
            findings.append(finding(row, ROW_UNKNOWN, "row_unknown"))
            level.begin(known, before)
            level.lost |= set() if again else before.keys() - read
        state = FLOW_CHECK if row.kind == FLOW_CHECK and not pipe.moved else pipe.state if pipe.moved else row.kind
        bit = nan if pipe.adrift else pipe.bit_m
        lines.append(Line(row, pipe.stand, bit, due.mean_m3, min(due.least_m3, due.most_m3),
                          max(due.least_m3, due.most_m3), actual, difference, u,
                          sum(d for _, d, _ in recent), total,
                          hypot(sqrt(level.variance()) if tanks else nan, _spread(band)), state, tuple(pipe.moves),
                          {n: (before_ms[n], *before[n]) for n in sorted(known)},
                          {n: (row.t_ms, *now[n]) for n in sorted(known)},
                          pipe.pumped, sum(count for _, _, count in recent)))
        if not (pipe.adrift and isfinite(actual)):
            pipe.settle()
    if rows and pipe.moved:
        findings.append(finding(rows[-1], NO_LEVEL_AFTER, "no_level_after"))
    return tuple(lines), tuple(findings)


def _lately(recent: list[tuple[int, float, int]], stands: int, difference: float, last_n: int,
            ) -> list[tuple[int, float, int]]:
    """(stands, their difference [m3], lines) of the last rows, no more of them than it takes for so many stands. A row
    in which no pipe moved adds to the one before."""
    if not stands and recent:
        count, before, lines = recent[-1]
        return [*recent[:-1], (count, before + difference, lines + 1)]
    found = [*recent, (max(stands, 1), difference, 1)]
    while sum(count for count, _, _ in found[1:]) >= last_n:
        found = found[1:]
    return found


def _spread(width_m3: float) -> float:
    """Standard uncertainty of what lies anywhere within bounds [m3]: half their distance over √3, as of a dip."""
    return abs(width_m3) / 2.0 / sqrt(3.0)
