"""The pipe on the way through a trip's rows: where the bit is, and what each move asks of the hole."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from math import copysign, isfinite, nan

from dipbook.findings import Finding
from dipbook.mud.hanging import Hanging
from dipbook.trips.rows import PIPE_FILLED, STAND, Row, finding
from dipbook.trips.ways import CLOSED, DRY, OPEN, SELF_FILLING, Expected, Way, expected
from dipbook.well import String


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


@dataclass(slots=True)
class Pipe:
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
    pipe, found = Pipe(upward=upward), list[Step]()
    for row in rows:
        way, dry = row.way or way, pipe.dry_m3
        move(pipe, row, string, way, stand_m, [], tanks)
        known = isfinite(pipe.waiting.mean_m3)
        own = pipe.waiting if known else Expected(0.0, 0.0)
        pumped = row.strokes * stroke_m3 if row.strokes else 0.0
        pipe.waiting = Expected(0.0, 0.0)
        other = row.kind == PIPE_FILLED and bool(row.source) and row.source not in tanks and dry != pipe.dry_m3
        found.append(Step(row, nan if pipe.adrift else pipe.bit_m, own, sum(dry) / 2.0 if other else 0.0,
                          sum(pipe.dry_m3) / 2.0, pumped if isfinite(pumped) else 0.0, known,
                          pipe.empty_m3 if isfinite(pipe.empty_m3) else None))
    return tuple(found)


def move(pipe: Pipe, row: Row, string: String, way: Way, stand_m: float, findings: list[Finding],
          tanks: Collection[str]) -> None:
    """Where the bit is after a row, and what the hole should take for the move. Counted by stands where no depth is
    given, the way that their numbers went before; upward where that isn't known. Nothing else is taken for granted."""
    pipe.hangs(row.slug, string)
    at, since = row.bit_m, pipe.bit_m
    if not isfinite(at):
        at = pipe.counted(row, stand_m)
        if isfinite(at) and at != pipe.bit_m:
            where = "downward" if at > pipe.bit_m else "upward"
            findings.append(finding(row, f"No bit depth: counted by stands of the rig's length, {where}.",
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
