"""The trip sheet: stand by stand what the hole should take and what it took, each, over the last few, and in all.

A row is a stand, a fill, a refill, or pipe that was filled. The hole takes what the trip tanks lose while no refill
runs; a refill is told from the levels on both its sides, with no pipe moving between them. Pipe moved over rows without
a level waits for the next level. Signs as in the books: a difference above 0 is more mud on surface than expected, so
the hole took less (or gave back more).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from math import copysign, hypot, isfinite, isnan, nan, sqrt

from dipbook.findings import Finding
from dipbook.mud.hanging import Hanging
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import tank_uncertainty
from dipbook.trips.ways import CLOSED, DRY, OPEN, SELF_FILLING, Expected, Way, expected
from dipbook.well import String

STAND, FILL, REFILL, PIPE_FILLED, FLOW_CHECK = "stand", "fill", "refill", "pipe filled", "flow check"
KINDS = (STAND, FILL, REFILL, PIPE_FILLED, FLOW_CHECK)
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


@dataclass(frozen=True, slots=True)
class Row:
    """One row as it was logged. t_ms: when [UTC ms]. kind: of KINDS. stand: its number, None if not given. bit_m: bit
    depth after it [m], NaN not given. levels_m: trip tank -> level above its bottom [m]. strokes: pumped into the hole
    since the row before, 0 pumped nothing and None not told. source: the tank that pipe was filled from, "" a trip
    tank. remark; line: in its file. way: how pipe is moved from this row on, None as before. volumes: trip tank ->
    (volume [m3], its variance [m6]) as a log has worked them out, None: by the levels. logged: trip tank -> all that
    was logged into it by then, cumulative [m3]: the hole didn't take that. slug: that hung in the pipe before its move,
    None where the log tells of none."""

    t_ms: int
    kind: str
    stand: int | None = None
    bit_m: float = nan
    levels_m: Mapping[str, float] = field(default_factory=dict)
    strokes: float | None = None
    source: str = ""
    remark: str = ""
    line: int | None = None
    way: Way | None = None
    volumes: Mapping[str, tuple[float, float]] | None = None
    logged: Mapping[str, float] = field(default_factory=dict)
    slug: Hanging | None = None


Level = tuple[int, float, float, float]
"""A trip tank's level as it counts: when read [UTC ms], volume [m3], its variance [m6], logged into it by then [m3]."""


@dataclass(frozen=True, slots=True)
class Move:
    """One row's part of what a line expects. row: as logged. from_m, to_m: bit depths [m]; way: how it was moved.
    expected: for the move; filled: by the run pipe's bore, nothing where none was filled."""

    row: Row
    from_m: float
    to_m: float
    way: Way
    expected: Expected
    filled: Expected


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
                findings.append(_finding(row, f"{name} is no trip tank of this trip: its level isn't counted here.",
                                         "no_trip_tank"))
                continue
            volume = float(self.tanks[name].volume(level))
            if isnan(volume):
                findings.append(_finding(row, f"{name}: this level is outside its shape or table; the row is taken as "
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


@dataclass(slots=True)
class _Pipe:
    """The pipe on the way through the rows. bit_m: the last depth known [m]; stand_there: its stand; adrift: it was
    moved since, nobody said where to; stand: of the last row. per_stand: +1 where stands' numbers rise as it is run, −1
    as it is pulled, None not known yet: then a stand goes the way of the trip, upward or not, and upward by a higher
    number where that isn't said. stands: moved since the last level. waiting: expected since then; pumped: into the
    hole by strokes [m3]; moved: it moved; state: how. dry_m3: bounds of the run pipe's bore that nobody filled, the
    most first where the string took the least in [m3]. slug: that hangs in it, and empty_m3: the bore over it that
    stands empty, NaN while the bit depth isn't known [m3]. moves: since the last level."""

    bit_m: float = nan
    stand_there: int | None = None
    adrift: bool = False
    stand: int | None = None
    per_stand: float | None = None
    upward: bool | None = None
    stands: int = 0
    waiting: Expected = field(default_factory=lambda: Expected(0.0, 0.0))
    pumped: float = 0.0
    moved: bool = False
    state: str = ""
    dry_m3: tuple[float, float] = (0.0, 0.0)
    slug: Hanging | None = None
    empty_m3: float = nan
    moves: list[Move] = field(default_factory=list)

    def hangs(self, slug: Hanging | None, string: String) -> None:
        """A slug, or none any more, hangs in the pipe where it stands now."""
        if slug != self.slug:
            self.slug, self.empty_m3 = slug, nan
        if slug is not None and not isfinite(self.empty_m3):
            self.empty_m3 = slug.empty_m3(string, self.bit_m)

    def went(self, string: String, way: Way, to_m: float) -> Expected:
        """The bit went to a depth [m], from one that is known: what the hole should take for it."""
        bore = string.bore(to_m) - string.bore(self.bit_m)
        due = expected(string, self.bit_m, to_m, way)
        if bore > 0.0:
            closed, open_ = {CLOSED: (bore, bore), SELF_FILLING: (bore, 0.0)}.get(way.running, (0.0, 0.0))
            self.dry_m3 = self.dry_m3[0] + closed, self.dry_m3[1] + open_
        elif bore < 0.0:
            # What was run empty and never filled goes out empty: the hole takes its bore as it gave it.
            least, most = (min(dry, -bore) for dry in self.dry_m3)
            due = due + Expected((1.0 - way.lost) * least, (1.0 - way.lost) * most)
            self.dry_m3 = self.dry_m3[0] - least, self.dry_m3[1] - most
        return due + self._sank(string, way, to_m)

    def _sank(self, string: String, way: Way, to_m: float) -> Expected:
        """What the hole takes besides, as less of the bore stands empty over a slug than before the move."""
        settles = way.out == DRY if to_m <= self.bit_m else way.running == OPEN
        if self.slug is None or not settles or any(self.dry_m3):
            return Expected(0.0, 0.0)
        before, after = self.empty_m3, self.slug.empty_m3(string, to_m)
        if not (isfinite(before) and isfinite(after)):
            return Expected(0.0, 0.0)
        self.empty_m3 = after
        return Expected(before - after, before - after)

    def filled(self) -> Expected:
        """The run pipe was filled: what that took. The bounds answer those of the run: a float that let in the most
        left the least to fill, so that of both together the steel alone is left."""
        most, least = self.dry_m3
        self.dry_m3 = 0.0, 0.0
        return Expected(most, least)

    def settle(self) -> None:
        """A level was read: what was expected until then is done with. Adrift, the next depth is one to begin from."""
        self.waiting, self.pumped, self.moved, self.stands = Expected(0.0, 0.0), 0.0, False, 0
        self.moves = []
        if self.adrift:
            self.bit_m, self.stand_there, self.adrift = nan, None, False

    def counted(self, row: Row, stand_m: float) -> float:
        """Bit depth after a row that gives none [m], NaN unknown: as it was where no pipe moved, else by stands."""
        if row.stand is not None and self.stand_there is not None:
            apart = row.stand - self.stand_there
            way = {True: -abs(apart), False: abs(apart), None: -apart}[self.upward]
            step = stand_m * (way if self.per_stand is None else apart * self.per_stand)
            return nan if step < 0.0 and self.bit_m <= 0.0 else self.bit_m + step
        return nan if row.kind == STAND or self.adrift else self.bit_m


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
    pipe, level = _Pipe(upward=upward), _Tanks(tanks)
    total, band, recent = 0.0, 0.0, list[tuple[int, float, int]]()
    for i, row in enumerate(rows):
        way = row.way or way
        _move(pipe, row, string, way, stand_m, findings, tanks)
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
                findings.append(_finding(row, REFILL_MOVED, "refill_moved"))
                level.lost |= before.keys() - read
                pipe.settle()
            elif not started:
                pipe.settle()
            # Else nothing was expected, and what was pumped still counts; or the tank in use is read later.
            continue
        if new:
            names = ", ".join(sorted(new))
            findings.append(_finding(row, f"{names}: the first level. It counts from here, and what it gave before "
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
            findings.append(_finding(row, DEPTH_UNKNOWN, "depth_unknown"))
            level.held |= before  # it waits for the next depth
            level.read_ms |= before_ms
        else:
            findings.append(_finding(row, ROW_UNKNOWN, "row_unknown"))
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
        findings.append(_finding(rows[-1], NO_LEVEL_AFTER, "no_level_after"))
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


@dataclass(frozen=True, slots=True)
class Step:
    """What one row's move asks of the hole. row: as logged. bit_m: after it [m], NaN unknown. expected: the move's own
    [m3], nothing where no pipe moved or it isn't known. filled_m3: into the run pipe from a tank that is no trip tank.
    dry_m3: bore of the run pipe that stands unfilled after it [m3], between its bounds. pumped_m3: into the hole by
    strokes. known: False where the move's own part couldn't be told, and counts as nothing. empty_m3: bore that stands
    empty over a slug after it [m3], None where no slug hangs in the pipe or that isn't known."""

    row: Row
    bit_m: float
    expected: Expected
    filled_m3: float
    dry_m3: float
    pumped_m3: float = 0.0
    known: bool = True
    empty_m3: float | None = None


def steps(rows: Sequence[Row], string: String, way: Way, tanks: Collection[str], *, stand_m: float,
          stroke_m3: float = nan, upward: bool | None = None) -> tuple[Step, ...]:
    """What each row's move asks of the hole, whether or not a level was read. rows, string, way, stand_m, stroke_m3,
    upward: as of ``sheet``. tanks: the trip tanks' names. Their sum up to a level is what the sheet expects by then.
    """
    pipe, found = _Pipe(upward=upward), list[Step]()
    for row in rows:
        way, dry = row.way or way, pipe.dry_m3
        _move(pipe, row, string, way, stand_m, [], tanks)
        known = isfinite(pipe.waiting.mean_m3)
        own = pipe.waiting if known else Expected(0.0, 0.0)
        pumped = row.strokes * stroke_m3 if row.strokes else 0.0
        pipe.waiting = Expected(0.0, 0.0)
        other = row.kind == PIPE_FILLED and bool(row.source) and row.source not in tanks and dry != pipe.dry_m3
        found.append(Step(row, nan if pipe.adrift else pipe.bit_m, own, sum(dry) / 2.0 if other else 0.0,
                          sum(pipe.dry_m3) / 2.0, pumped if isfinite(pumped) else 0.0, known,
                          pipe.empty_m3 if isfinite(pipe.empty_m3) else None))
    return tuple(found)


def _move(pipe: _Pipe, row: Row, string: String, way: Way, stand_m: float, findings: list[Finding],
          tanks: Collection[str]) -> None:
    """Where the bit is after a row, and what the hole should take for the move. Counted by stands where no depth is
    given, the way that their numbers went before; upward where that isn't known. Nothing else is taken for granted."""
    pipe.hangs(row.slug, string)
    at, since = row.bit_m, pipe.bit_m
    if not isfinite(at):
        at = pipe.counted(row, stand_m)
        if isfinite(at) and at != pipe.bit_m:
            where = "downward" if at > pipe.bit_m else "upward"
            findings.append(_finding(row, f"No bit depth: counted by stands of the rig's length, {where}.",
                                     "counted_by_stands", severity="note"))
    elif row.stand is not None and pipe.stand_there is not None and row.stand != pipe.stand_there and at != pipe.bit_m:
        pipe.per_stand = copysign(1.0, (at - pipe.bit_m) * (row.stand - pipe.stand_there))
    pipe.stand = row.stand if row.stand is not None else pipe.stand
    pipe.stands += row.kind == STAND
    if not isfinite(at):
        if row.kind == STAND:
            pipe.adrift = pipe.moved = True
            pipe.state = STAND
        return
    went = took = Expected(0.0, 0.0)
    if isfinite(pipe.bit_m):
        if at != pipe.bit_m:
            pipe.moved, pipe.state = True, way.name(pipe.bit_m, at)
            went = pipe.went(string, way, at)
            pipe.waiting = pipe.waiting + went
    elif row.kind == STAND or pipe.adrift:
        pipe.moved, pipe.state, pipe.waiting = True, STAND, Expected(nan, nan)
    if row.stand is not None or at != pipe.bit_m:
        pipe.stand_there = row.stand
    pipe.bit_m, pipe.adrift = at, False
    if row.kind == PIPE_FILLED:
        filled = pipe.filled()
        if not row.source or row.source in tanks:
            took = filled
            pipe.waiting = pipe.waiting + took
    if isfinite(since) and (since != at or row.kind == PIPE_FILLED):
        pipe.moves.append(Move(row, since, at, way, went, took))


def _spread(width_m3: float) -> float:
    """Standard uncertainty of what lies anywhere within bounds [m3]: half their distance over √3, as of a dip."""
    return abs(width_m3) / 2.0 / sqrt(3.0)


def _finding(row: Row, what: str, code: str, *, severity: str = "warning") -> Finding:
    return Finding(what, code=code, severity=severity, line=row.line, t_ms=row.t_ms)
