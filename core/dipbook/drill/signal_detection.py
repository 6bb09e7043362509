"""Hits and false alarms of a watch, and d′ where there are enough of both to say anything.

H = (hits + ½)/(signals + 1), F = (false alarms + ½)/(quiet windows + 1), d′ = z(H) − z(F), c = −½ (z(H) + z(F)): the
log-linear correction in all cells, so that neither is 0 or 1 (Stanislaw & Todorov 1999, Behavior Research Methods,
Instruments & Computers 31(1):137-149; the correction: Hautus 1995, the same journal 27:46-51, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

FEWEST = 10
"""Below so many signals, or quiet windows, no d′ is given (our choice: few trials mean wide intervals)."""


@dataclass(frozen=True, slots=True)
class Rates:
    """hits, misses, false_alarms, quiet: counts. quiet: windows without a signal in which nothing was called. hit_rate,
    false_rate: corrected, None without a trial of that sort. d_prime, bias: d′ and c, None below FEWEST of either sort
    and where nothing was ever called; c above 0 calls seldom."""

    hits: int
    misses: int
    false_alarms: int
    quiet: int
    hit_rate: float | None
    false_rate: float | None
    d_prime: float | None
    bias: float | None


def rates(hits: int, misses: int, false_alarms: int, quiet: int) -> Rates:
    """What counts come to. hits, misses: of signals. false_alarms, quiet: of windows without one. Raises ValueError for
    a count below 0."""
    if min(hits, misses, false_alarms, quiet) < 0:
        raise ValueError("a count can't be below nothing")
    signals, windows = hits + misses, false_alarms + quiet
    hit = (hits + 0.5) / (signals + 1) if signals else None
    false = (false_alarms + 0.5) / (windows + 1) if windows else None
    silent = not hits and not false_alarms      # the correction alone would part the two: many windows, fewer signals
    if hit is None or false is None or silent or min(signals, windows) < FEWEST:
        return Rates(hits, misses, false_alarms, quiet, hit, false, None, None)
    z = NormalDist().inv_cdf
    return Rates(hits, misses, false_alarms, quiet, hit, false, z(hit) - z(false), -0.5 * (z(hit) + z(false)))


def together(each: list[Rates]) -> Rates:
    """Counts of several drills as one. each: of them."""
    return rates(sum(r.hits for r in each), sum(r.misses for r in each), sum(r.false_alarms for r in each),
                 sum(r.quiet for r in each))
