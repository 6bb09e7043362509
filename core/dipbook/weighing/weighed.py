"""One limit weighed on the log's own quiet hours."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.drifts import drifts
from dipbook.limits import TRIP_KINDS, Limit
from dipbook.observations import observe
from dipbook.watch import SYSTEMS, Evidence
from dipbook.weighing.catching import Caught, catch
from dipbook.weighing.counting import Cost, cost
from dipbook.weighing.quiet import Quiet, quiet_rows

CATCHES = ("gain", "loss", "drift")
WEIGHED = (*CATCHES, "flow_back", "high", "low", *TRIP_KINDS)
"""Kinds that can be weighed; of those that aren't in CATCHES only the cost is told."""
MOST_ROWS = 50_000
"""A longer log is weighed on its last so many readings."""
NEEDED_H = 6.0
"""With fewer quiet hours no figure is given: a choice, half a tour [h]."""
PAIRS = 20


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a limit comes to. quiet: the hours. needed_h: fewer than so many, and there are no figures: cost None,
    caught empty. smallest_m3: the least gain the gauges can show, two standard uncertainties, NaN unknown [m3].
    from_ms: earlier readings weren't looked at, None where all were [UTC ms].
    """

    quiet: Quiet
    needed_h: float
    cost: Cost | None
    caught: tuple[Caught, ...]
    smallest_m3: float
    from_ms: int | None


def weigh(books: Books, limit: Limit, rates_m3_s: tuple[float, ...] = ()) -> Weighed:
    """Weigh one limit, in force or not. Nothing is proposed and nothing changed, the books' own notes included.

    books: of the log. limit: of a kind in WEIGHED. rates_m3_s: even influx, or loss, to try, without sign [m3/s]. What
    warnings took out of the quiet hours includes false ones of the limits that stood then: the cost may be more.
    Raises ValueError for a kind that can't be weighed.
    """
    if limit.kind not in WEIGHED:
        raise ValueError(f"a limit on {limit.kind} can't be weighed")
    own = replace(books)    # what is worked out for another thread's pages is theirs
    n = len(own.readings)
    first = max(0, n - MOST_ROWS)
    if own.whole is not None:
        first = max(first, int(own.readings.index_at(own.whole[-1][0] - 1)) + 1)
    evidence = observe(own, first, also=(replace(limit, watched=True),))
    rows, quiet = quiet_rows(own, evidence, limit.on if limit.on in SYSTEMS else "active")
    begun = int(own.readings.end_ms[first]) if first else None
    if quiet.hours < NEEDED_H:
        return Weighed(quiet, NEEDED_H, None, (), math.nan, begun)
    tried = rates_m3_s if limit.kind in CATCHES else ()
    return Weighed(quiet, NEEDED_H, cost(limit, evidence, rows, quiet.hours),
                   tuple(catch(own, limit, evidence, rows, quiet.spans, rate) for rate in tried),
                   smallest(own, evidence, rows, first), begun)


def smallest(books: Books, evidence: Evidence, quiet: Any, first: int) -> float:
    """The least change between two readings that the active tanks' gauges can show: two standard uncertainties [m3].

    books: of the log. evidence; quiet: bool per row. first: row number of its first reading [-]. Of the gauging the
    middle of some neighbouring quiet readings; of the noise that was learned, if any, √2 of it, for two ends; whichever
    is more.
    """
    t = evidence.t_ms[quiet & evidence.complete]
    spread = [float(balance.u_of_change(books, int(t[i]), int(t[i + 1])))
              for i in np.unique(np.linspace(0, len(t) - 2, PAIRS).astype(int))] if len(t) > 1 else []
    of_dips = float(np.median(spread)) if spread else math.nan
    of = drifts(books, first)
    scale = of.scale_m3[np.isin(of.t_ms, t) & np.isfinite(of.scale_m3)]
    if not len(scale):
        return 2.0 * of_dips
    return 2.0 * float(np.fmax(of_dips, math.sqrt(2.0) * scale[-1]))
