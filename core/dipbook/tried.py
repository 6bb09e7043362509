"""A limit tried on the log's own quiet hours: how often it would have warned falsely, how early it would tell a gain.

It shows; it proposes nothing and sets nothing. Quiet is what nobody had reason to doubt: hours in which the difference
is known and watched, without those from half an hour before a warning that is a sign of the well, a well that was shut
in, or a flow check that wasn't static, until the next zero (our choice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook import balance, watch
from dipbook.alarms.step import TOLERANCE, due
from dipbook.books import Books
from dipbook.drift import automatic, follow, tuning_for
from dipbook.drifts import ground
from dipbook.entries.kinds import SHUT_IN
from dipbook.limits import FALLING, LOUD_KINDS, TOOK_MORE, Limit, sides
from dipbook.observations import observe, of_drift
from dipbook.records import WARNING
from dipbook.watch import Evidence, drift_of

BEFORE_MS = 30 * 60_000
"""A warning's cause begins earlier than the warning: so long before it isn't quiet [ms]."""
MOST_ROWS = 200_000
"""The newest readings that are looked at: 55 h of one a second, years of rounds."""
LEAST_HOURS = 6.0
"""Fewer quiet hours tell nothing worth showing [h]."""
TRIES = 20
"""Moments at which a gain is put on top."""
GIVEN_UP = 6.0
"""A try counts as missed once the well has made so many times the limit."""
LEARN_MS = 150 * 60_000
"""Sums on drift are begun so long before a try, so that its noise is learned as far as it can be [ms]."""
ON_DIFFERENCE = ("gain", "loss", "drift")
"""Kinds for which a gain can be put on top."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of it. quiet_h: quiet hours looked at; from_ms, to_ms: the first and last of them [UTC ms]. warned:
    how often it would have warned. least, most: of a count of 12 h that would give as many, 95 % [-]. rate_m3_s: of the
    gain, or loss, that was put on top. told: tries in which it was told; tries. mean_m3, most_m3: what the well had
    made then, NaN for none. smallest_m3: two standard uncertainties of a change between two readings, NaN unknown.
    """

    quiet_h: float
    from_ms: int | None
    to_ms: int | None
    warned: int = 0
    least: float = math.nan
    most: float = math.nan
    rate_m3_s: float = math.nan
    told: int = 0
    tries: int = 0
    mean_m3: float = math.nan
    most_m3: float = math.nan
    smallest_m3: float = math.nan

    @property
    def enough(self) -> bool:
        """True where there are enough quiet hours to say anything."""
        return self.quiet_h >= LEAST_HOURS

    @property
    def a_tour(self) -> float:
        """False warnings in 12 h."""
        return 12.0 * self.warned / self.quiet_h if self.quiet_h else math.nan


def tried(books: Books, limit: Limit, rate_m3_s: float) -> Tried:
    """``steps`` to their end. books, limit, rate_m3_s: as there."""
    return list(steps(books, limit, rate_m3_s))[-1]


def steps(books: Books, limit: Limit, rate_m3_s: float) -> Iterator[Tried]:
    """Try a limit, a piece of the work at a time: what is known so far, the last time all of it.

    books: of the log. limit: as it would be set; it needn't be in force. rate_m3_s: of the gain, or for a loss limit of
    the loss, that is put on top of quiet readings [m3/s].
    """
    first = max(0, len(books.readings) - MOST_ROWS)
    evidence = observe(books, first)
    quiet = quiet_rows(books, evidence)
    hours, span = _hours(evidence.t_ms, quiet)
    made = Tried(hours, *span)
    yield made
    if not made.enough:
        return
    count = _warned(books, limit, evidence, quiet, first)
    low, high = poisson_95(count)
    made = replace(made, warned=count, least=12.0 * low / hours, most=12.0 * high / hours,
                   smallest_m3=smallest(books, evidence.t_ms[quiet]))
    yield made
    if limit.kind not in ON_DIFFERENCE:
        return
    volumes: list[float] = []
    for tries, begin_ms in enumerate(_moments(evidence.t_ms, quiet), 1):
        volume = _told_at(books, limit, begin_ms, rate_m3_s)
        volumes += [volume] if math.isfinite(volume) else []
        made = replace(made, rate_m3_s=rate_m3_s, tries=tries, told=len(volumes),
                       mean_m3=float(np.mean(volumes)) if volumes else math.nan,
                       most_m3=max(volumes, default=math.nan))
        yield made


def quiet_rows(books: Books, evidence: Evidence) -> Any:
    """bool per row: the difference is known and watched, whole, and nobody had reason to doubt it.

    books: of the log. evidence: at readings.
    """
    t = evidence.t_ms
    known = np.isfinite(evidence.difference["active"]) & evidence.watched["active"] & ~evidence.partial["active"]
    zeros = sorted(z.t_ms for z in books.zeros if z.t_ms is not None)
    for begin in _doubted(books):
        end = next((z for z in zeros if z > begin), None)
        known &= (t < begin - BEFORE_MS) | (np.zeros(len(t), dtype=bool) if end is None else t >= end)
    return known


def _doubted(books: Books) -> list[int]:
    """When something was, or may have been, of the well [UTC ms]."""
    loud = [int(r.payload.get("time") or r.t_ms) for r in books.records if r.kind == WARNING
            and r.payload.get("state") == "raised" and r.payload.get("kind") in LOUD_KINDS]
    logged = [r.t_ms for r in books.eff.records
              if (r.kind == "shut-in" and r.payload.get("state") == SHUT_IN)
              or (r.kind == "flow check" and r.payload.get("result") not in ("static", None))]
    return [*loud, *logged]


def _hours(t: Any, quiet: Any) -> tuple[float, tuple[int | None, int | None]]:
    """(quiet hours: between readings that are both quiet, first and last time)."""
    rows = np.flatnonzero(quiet)
    if not len(rows):
        return 0.0, (None, None)
    both = quiet[1:] & quiet[:-1]
    return float(np.diff(t)[both].sum()) / 3_600_000.0, (int(t[rows[0]]), int(t[rows[-1]]))


def _warned(books: Books, limit: Limit, evidence: Evidence, quiet: Any, first: int) -> int:
    """How often a limit alone would have raised a warning at quiet rows."""
    drift = {}
    if limit.kind == "drift":
        # Rows of evidence are readings here and nothing else: marks of trips aren't quiet, and carry no drift.
        made = of_drift(books, {drift_of(x): x for x in sides((limit,))}, first)
        place = np.searchsorted(evidence.t_ms, books.readings.end_ms[first:])
        for name, one in made.items():
            known = np.zeros(len(evidence), dtype=bool)
            known[place] = one.known
            wide = {key: _put(getattr(one, key), place, len(evidence), nothing) for key, nothing in (
                ("value", np.nan), ("of_m3", np.nan), ("part", 1.0), ("share", 1.0), ("rate_m3_s", np.nan),
                ("since_ms", 0), ("partial", True), ("back", False), ("off", False))}
            drift[name] = replace(one, known=known & quiet, **wide)
    masked = replace(
        evidence, drift=drift, watched={k: v & quiet for k, v in evidence.watched.items()},
        level={k: np.where(quiet, v, np.nan) for k, v in evidence.level.items()},
        volume={k: np.where(quiet, v, np.nan) for k, v in evidence.volume.items()},
        trip={k: np.where(quiet, v, np.nan) for k, v in evidence.trip.items()},
        flow_back=None if evidence.flow_back is None else replace(
            evidence.flow_back, above=np.where(quiet, evidence.flow_back.above, np.nan)))
    _, out = watch.run((limit,), masked)
    return sum(w.state == "raised" and w.event == "ACT" for w in out)


def _put(column: Any, place: Any, n: int, nothing: Any) -> Any:
    wide = np.full(n, nothing, dtype=np.asarray(column).dtype)
    wide[place] = column
    return wide


def _moments(t: Any, quiet: Any) -> list[int]:
    """TRIES at even steps through the quiet hours [UTC ms], wherever between two readings they fall."""
    both = np.flatnonzero(quiet[1:] & quiet[:-1])
    passed = np.concatenate(([0], np.cumsum(np.diff(t)[both])))
    wanted = passed[-1] * (np.arange(TRIES) + 0.5) / TRIES
    k = np.searchsorted(passed, wanted, side="right") - 1
    return [round(x) for x in (t[both[k]] + wanted - passed[k]).tolist()]


def _told_at(books: Books, limit: Limit, begin_ms: int, rate_m3_s: float) -> float:
    """What the well has made when a limit tells an even gain from a moment on [m3]; NaN where it doesn't by GIVEN_UP
    times the limit, or before the readings end."""
    end_ms = begin_ms + round(1000.0 * GIVEN_UP * limit.value / rate_m3_s)
    of = books.readings
    early = begin_ms - (LEARN_MS if limit.kind == "drift" else 0)
    a, b = int(np.searchsorted(of.end_ms, early)), int(np.searchsorted(of.end_ms, end_ms, side="right"))
    losing = limit.kind == "loss" or limit.on in (FALLING, TOOK_MORE)
    row = ground(books, a, b)
    more = np.maximum(row.t_ms - begin_ms, 0) / 1000.0 * rate_m3_s * (-1.0 if losing else 1.0)
    measure, known = _measure(limit, row, row.u_m3 + more, losing)
    run, since = 0, 0
    for i in np.flatnonzero(known & (row.t_ms > begin_ms)).tolist():
        t = int(row.t_ms[i])
        if measure[i] < 1.0 - TOLERANCE:
            run = 0
            continue
        run, since = run + 1, since if run else t
        if due(limit, run, since, t):
            return (t - begin_ms) / 1000.0 * rate_m3_s
    return math.nan


def _measure(limit: Limit, row: Any, u: Any, losing: bool) -> tuple[Any, Any]:
    """(how much of a limit each row is, whether the row tells)."""
    if limit.kind != "drift":
        return (-u if losing else u) / limit.value, np.isfinite(u)
    # One stretch: since the last zero or change of pace, which begin the sums anew.
    turns = np.flatnonzero((np.diff(row.zero_ms) != 0) | (np.diff(row.pace_s) != 0)) + 1
    begin = int(turns[-1]) if len(turns) else 0
    made = follow(row.t_ms[begin:], u[begin:], row.steady[begin:], tuning_for(float(row.pace_s[-1])),
                  off=~row.on[begin:])
    worst = made.worst_loss_m3 if losing else made.worst_gain_m3
    held = np.array([automatic(limit.times_noise, s, limit.value) for s in made.scale_m3.tolist()]) \
        if limit.times_noise is not None else limit.value
    measure, known = np.full(len(row.t_ms), np.nan), np.zeros(len(row.t_ms), dtype=bool)
    measure[begin:] = worst / held
    known[begin:] = made.watching & np.isfinite(worst)
    return measure, known


def smallest(books: Books, t_ms: Any) -> float:
    """Two standard uncertainties of a change of the active system between two readings, by their gauging [m3]: the
    smallest gain that the gauges can show; NaN for fewer than two. books: of the log. t_ms: of readings, rising."""
    if len(t_ms) < 2:
        return math.nan
    return 2.0 * float(balance.u_of_change(books, int(t_ms[-2]), int(t_ms[-1])))


def poisson_95(count: int) -> tuple[float, float]:
    """The exact 95 % interval of a mean of which ``count`` were seen (Garwood, Biometrika 28 (1936), from memory).

    count: 0 or more [-].
    """
    def at_most(mean: float, k: int) -> float:
        terms = (math.exp(i * math.log(mean) - mean - math.lgamma(i + 1)) for i in range(k + 1))
        return math.fsum(terms) if mean else 1.0

    def solved(k: int, wanted: float) -> float:
        low, high = 0.0, 4.0 * k + 20.0
        for _ in range(80):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if at_most(middle, k) > wanted else (low, middle)
        return high

    return (0.0 if count == 0 else solved(count - 1, 0.975)), solved(count, 0.025)
