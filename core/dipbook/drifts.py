"""The drift of the log: the sums over the active system's difference, and what came back at connections beside them.

One measure for every second: while the pumps run evenly, what the difference has risen above its low at three paces
(``dipbook.drift``); while they are off or the tanks settle, those sums hold, and what came back at the connection is
held against the mean of accepted ones (``dipbook.flowback.unusual``). Nothing is put back to nothing by a pump. A zero,
which a person gives by name and with a reason, begins the sums anew and leaves the noise that was learned.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from dipbook import balance, flowback
from dipbook.books import Books
from dipbook.drift import STEADY, Followed, State, follow, restarted, retuned, settled, tuning_for
from dipbook.drift.tuning import DIPS_S, FASTEST_S, MINUTE_S
from dipbook.records import SAMPLES
from dipbook.terms.system import ACTIVE_SYSTEM

PACES_S = (FASTEST_S, MINUTE_S, 60.0, 900.0)
"""Readings are taken to be so far apart, whichever of these fits: one of them is a stretch's tuning [s]."""
LATELY = 5
"""The last readings, by whose gaps and kind the pace is told."""
BACK_SHARE = 1.3
"""What came back at a connection counts against so many times the limit (docs/performance.md)."""
BLOCK = 20_000
"""A state is kept each so many readings, so that a later look goes on from there."""
LOOK_BACK_MS = 600_000
"""Before the first row that is asked for, pumps are looked at from so long before [ms]."""


@dataclass(frozen=True)
class Side:
    """Rising, or falling, one row a reading. worst_m3: what is held against a limit, NaN before the first [m3]. of_m3:
    the volume that leads, less what is let pass [m3], against ``share`` times the limit. rise_m3: all of the rise, or
    fall, since then [m3]. since_ms: the time of the low, or high, it counts
    from; of a connection when the pumps stopped, or started. rate_m3_s: about how fast since, NaN unknown. back: it is
    what came back at a connection that leads; off: the pumps are off there.
    """

    worst_m3: Any
    of_m3: Any
    rise_m3: Any
    share: Any
    since_ms: Any
    rate_m3_s: Any
    back: Any
    off: Any

    def rows(self, cut: slice) -> Side:
        """Some of the rows. cut: which."""
        return Side(self.worst_m3[cut], self.of_m3[cut], self.rise_m3[cut], self.share[cut], self.since_ms[cut],
                    self.rate_m3_s[cut], self.back[cut], self.off[cut])


@dataclass(frozen=True)
class Drifts:
    """One row a reading. t_ms [UTC ms]. gain, loss. known: the row tells something; on others the sums hold.
    partial: a tank wasn't gauged. scale_m3: noise, NaN while it is learned, or for dips [m3]. learned_s: of how much
    circulation [s]. moved_ms: when the sums last moved, −1 never. why: why they hold, "" where they don't. pace_s:
    readings are taken to be so far apart [s].
    """

    t_ms: Any
    gain: Side
    loss: Side
    known: Any
    partial: Any
    scale_m3: Any
    learned_s: Any
    moved_ms: Any
    why: tuple[str, ...]
    pace_s: Any


@dataclass(frozen=True)
class _Mark:
    """What is known after so many readings. row: the next one; state; pace_s; zero_ms: of the last."""

    row: int
    t_ms: int
    state: State
    pace_s: float
    zero_ms: int


@dataclass
class Kept:
    """States to go on from, by row. marks: each BLOCK readings, and the two newest: what is shown of the last reading,
    and what the watch is given of it, both go on from the one before."""

    marks: list[_Mark] = field(default_factory=list)

    def before(self, t_ms: int) -> Kept:
        """Those that nothing from ``t_ms`` on has touched [UTC ms]."""
        return Kept([m for m in self.marks if m.t_ms < t_ms])

    def at_most(self, row: int) -> _Mark | None:
        """The last one at or before a row. row: number of a reading."""
        return max((m for m in self.marks if m.row <= row), key=lambda m: m.row, default=None)

    def put(self, mark: _Mark) -> None:
        """Keep one; of those that are no whole block's only this and the newest before it. mark: what is known."""
        others = [m for m in self.marks if m.row != mark.row]
        newest = max((m.row for m in others if m.row % BLOCK and m.row < mark.row), default=None)
        self.marks = [m for m in others if m.row % BLOCK == 0 or m.row == newest] + [mark]


KEPT = "drift"
"""Name under which books hand on what was kept."""


def drifts(books: Books, first: int = 0, last: int | None = None) -> Drifts:
    """The drift at readings ``first`` … ``last``−1 (row numbers in ``books.readings``, all by default).

    books: of the log.
    """
    end = len(books.readings) if last is None else last
    kept: Kept = books.kept.setdefault(KEPT, Kept())
    mark = kept.at_most(first)
    begin = 0 if mark is None else mark.row
    parts: list[_Part] = []
    for a, b in _blocks(begin, end):
        part, mark = _followed(books, a, b, mark)
        if mark is not None:
            kept.put(mark)
        parts.append(part)
    whole = _joined(parts)
    gain, loss, known = _told(books, whole)
    cut = slice(first - begin, None)
    return Drifts(whole.t_ms[cut], gain.rows(cut), loss.rows(cut), known[cut], whole.partial[cut], whole.scale_m3[cut],
                  whole.learned_s[cut], whole.moved_ms[cut], whole.why[cut], whole.pace_s[cut])


def drifts_with(books: Books, first: int, last: int, added_m3: Any) -> Drifts:
    """The drift at readings ``first`` … ``last``−1 as it would be had the well given so much more; begun anew there.

    books: of the log; nothing is kept in them. first, last: row numbers [-]. added_m3: put on top of the difference, a
    value a row [m3]. What came back at connections is taken as it was.
    """
    part, _ = _followed(books, first, last, None, added_m3)
    gain, loss, known = _told(books, part)
    return Drifts(part.t_ms, gain, loss, known, part.partial, part.scale_m3, part.learned_s, part.moved_ms, part.why,
                  part.pace_s)


def _blocks(begin: int, end: int) -> Iterator[tuple[int, int]]:
    """Spans of rows, none across a whole BLOCK."""
    a = begin
    while a < end:
        b = min(end, (a // BLOCK + 1) * BLOCK)
        yield a, b
        a = b


@dataclass(frozen=True)
class _Part:
    """Columns of the sums over a run of rows; gain and loss: (worst, size, share, low or high, rate)."""

    t_ms: Any
    gain: tuple[Any, ...]
    loss: tuple[Any, ...]
    watching: Any
    partial: Any
    scale_m3: Any
    learned_s: Any
    moved_ms: Any
    why: tuple[str, ...]
    pace_s: Any


def _followed(books: Books, a: int, b: int, mark: _Mark | None, added_m3: Any = 0.0) -> tuple[_Part, _Mark | None]:
    """The sums over rows a … b−1, and what is known after them."""
    t = books.readings.end_ms[a:b]
    row = balance.at(books, t)
    names, _ = balance.followed(books, t)
    here = np.fromiter((n == ACTIVE_SYSTEM for n in names), dtype=bool, count=len(names))
    u = np.where(here, row.difference_m3 + added_m3, np.nan)
    pace = paces(books, a, b)
    on, steady, why = _pumps(books, t)
    turns = np.flatnonzero((np.diff(pace) != 0) | (np.diff(row.zero_ms) != 0)) + 1
    done: list[Followed] = []
    for i, j in zip((0, *turns.tolist()), (*turns.tolist(), len(t)), strict=True):
        state = _begun(mark, float(pace[i]), int(row.zero_ms[i]))
        made = follow(t[i:j], u[i:j], steady[i:j], tuning_for(float(pace[i])), off=~on[i:j], state=state)
        done.append(made)
        mark = _Mark(a + j, int(t[j - 1]), made.state, float(pace[j - 1]), int(row.zero_ms[j - 1]))

    def column(name: str) -> Any:
        return np.concatenate([getattr(f, name) for f in done])

    def side(worst: str, sums: str, clock: str, since: str, rate: str) -> tuple[Any, ...]:
        size = np.concatenate([_leading(getattr(f, sums), getattr(f, clock)) for f in done])
        over = column(worst)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(over > 0.0, size / over, 1.0)
        return over, size, share, column(since), column(rate)

    part = _Part(t, side("worst_gain_m3", "gain_m3", "gain_clock", "low_ms", "gain_rate_m3_s"),
                 side("worst_loss_m3", "loss_m3", "loss_clock", "high_ms", "loss_rate_m3_s"),
                 column("watching"), row.partial, column("scale_m3"), column("learned_s"), column("moved_ms"),
                 tuple(why), pace)
    return part, mark


def _leading(sums: Any, clock: Any) -> Any:
    """The sum that leads at each row; NaN before the first."""
    return np.where(clock >= 0, sums[np.maximum(clock, 0), np.arange(sums.shape[1])], np.nan)


def _begun(mark: _Mark | None, pace_s: float, zero_ms: int) -> State:
    """The state that a stretch begins with: a zero begins the sums anew, and leaves the noise that was learned."""
    if mark is None:
        return State()
    state = mark.state if mark.zero_ms == zero_ms else restarted(mark.state)
    return state if mark.pace_s == pace_s else retuned(state, tuning_for(mark.pace_s), tuning_for(pace_s))


def paces(books: Books, a: int, b: int) -> Any:
    """How far apart readings a … b−1 are taken to be [s], one of PACES_S: by the middle one of the last LATELY gaps;
    rounds by hand are the slowest, however quickly they follow each other.

    books: of the log. a, b: row numbers.
    """
    low = max(0, a - LATELY)
    t = books.readings.end_ms[low:b]
    by_gauge = np.isin(books.readings.seq[low:b], _samples_seqs(books))
    gap = np.diff(t, prepend=t[0] - round(PACES_S[-1] * 1000.0)) / 1000.0 if len(t) else np.zeros(0)
    spread = np.full((LATELY, len(t)), np.nan)
    sensed = np.zeros(len(t), dtype=bool)
    for k in range(min(LATELY, len(t))):
        spread[k, k:] = gap[:len(t) - k]
        sensed[k:] |= by_gauge[:len(t) - k]
    middle = np.nanmedian(spread, axis=0) if len(t) else gap
    limits = np.array((FASTEST_S, MINUTE_S, DIPS_S))
    found = np.array(PACES_S)[np.searchsorted(limits, middle)]
    return np.where(sensed, found, PACES_S[-1])[a - low:]


def _samples_seqs(books: Books) -> Any:
    key = ("readings of gauges", "")
    if key not in books.worked_out:
        books.worked_out[key] = np.array([r.seq for r in books.eff.records if r.kind == SAMPLES], dtype=np.int64)
    return books.worked_out[key]


def _pumps(books: Books, t: Any) -> tuple[Any, Any, list[str]]:
    """(pumps on, and evenly for long enough, why not) at rows. Where nothing is known of them nothing is held for them.
    """
    pumps, tuning = books.pumps, tuning_for(PACES_S[0])
    if not len(t):
        return np.zeros(0, dtype=bool), np.zeros(0, dtype=bool), []
    low = max(0, int(np.searchsorted(pumps.t_ms, t[0] - LOOK_BACK_MS)) - 1)
    high = int(np.searchsorted(pumps.t_ms, t[-1], side="right"))
    both = np.concatenate((pumps.t_ms[low:high], t))
    order = np.argsort(both, kind="stable")
    at = np.searchsorted(pumps.t_ms, both, side="right") - 1
    known = at >= 0
    on, flow = np.ones(len(both), dtype=bool), np.full(len(both), np.nan)
    on[known], flow[known] = pumps.on[at[known]], pumps.flow_m3_s[at[known]]
    steady, why = settled(both[order], on[order], flow[order], tuning)
    back = np.empty(len(both), dtype=np.int64)
    back[order] = np.arange(len(both))
    rows = back[high - low:]
    told = known[high - low:]
    return (on[high - low:], steady[rows] | ~told,
            [why[k] if is_told else STEADY for k, is_told in zip(rows.tolist(), told.tolist(), strict=True)])


def _joined(parts: list[_Part]) -> _Part:
    if not parts:
        none, never = np.zeros(0), np.zeros(0, dtype=np.int64)
        side = (none, none, none, never, none)
        return _Part(never, side, side, never.astype(bool), never.astype(bool), none, none, never, (), none)

    def column(name: str) -> Any:
        return np.concatenate([getattr(p, name) for p in parts])

    def sides(name: str) -> tuple[Any, ...]:
        return tuple(np.concatenate(xs) for xs in zip(*(getattr(p, name) for p in parts), strict=True))

    return _Part(column("t_ms"), sides("gain"), sides("loss"), column("watching"), column("partial"),
                 column("scale_m3"), column("learned_s"), column("moved_ms"), tuple(w for p in parts for w in p.why),
                 column("pace_s"))


def _told(books: Books, part: _Part) -> tuple[Side, Side, Any]:
    """(gain, loss, known): the sums, and what came back at connections where that is more."""
    back = flowback.unusual(books, part.t_ms)
    told = back.told
    worst, size, share, low, rate = part.gain
    over = np.where(told, back.more_m3 / BACK_SHARE, -np.inf)
    leads = told & (np.isnan(worst) | (over > worst))
    began = part.t_ms - np.nan_to_num(back.since_s * 1000.0).astype(np.int64)
    gain = Side(np.where(leads, over, worst), np.where(leads, back.more_m3, size),
                np.where(leads, back.more_m3, _risen(part, size, low, rate)), np.where(leads, BACK_SHARE, share),
                np.where(leads, began, low), np.where(leads, np.nan, rate), leads, back.off)
    no = np.zeros(len(part.t_ms), dtype=bool)
    worst, size, share, high, rate = part.loss
    fallen = _risen(part, size, high, rate)
    return gain, Side(worst, size, fallen, share, high, rate, no, no), part.watching | told


def _risen(part: _Part, size: Any, since_ms: Any, rate_m3_s: Any) -> Any:
    """All of the rise, or fall, since the low, or high, with what is let pass [m3]."""
    return np.where(np.isfinite(rate_m3_s), rate_m3_s * (part.moved_ms - since_ms) / 1000.0, size)
