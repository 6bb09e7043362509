"""Counting over a span, from its begin up to and without its end, so that adjoining spans add up."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from dipbook.figures.raisings import Occurrence, Raised, SetAside
from dipbook.limit_record import Change
from dipbook.time_spans import merged

SECOND = 1000
MINUTE = 60 * SECOND
TEN_MINUTES = 10 * MINUTE
HOUR = 60 * MINUTE
DAY = 24 * HOUR

MANY_IN_TEN, MANY_IN_HOUR = 10, 30
FLOOD_ENDS_BELOW = 5
CHATTER, CHATTER_MS = 3, MINUTE
"""Raisings of one limit within a minute that count as chattering: the usual rule, from memory."""
FLEETING_MS, REPEAT_MS = 10 * SECOND, MINUTE
"""Over within 10 s and not raised again within 60 s: the figures of one published site."""
UNANSWERED_MS = 10 * MINUTE
TOP = 10


@dataclass(frozen=True, slots=True)
class Flood:
    """More than ten raisings within ten minutes, until fewer than five are. begun_ms, ended_ms [UTC ms]. raised: how
    many in it, those that began it included. peak: the most within ten minutes."""

    begun_ms: int
    ended_ms: int
    raised: int
    peak: int


@dataclass(frozen=True, slots=True)
class Counts:
    """What was counted from from_ms up to and without to_ms [UTC ms].

    watched_ms: of it, less the time in which nobody watched. raised: how often a warning was raised. resounded: how
    often one that was open sounded again. periods, periods_over: whole ten minutes by the clock that were watched at
    least in part, and those with more than ten raisings; hours, hours_over: whole hours, and those with more than
    thirty. largest: the most raisings within any ten minutes that end in the span. floods: those that began in it.
    flood_ms: time in a flood. by_limit: limit -> raisings, the most first. chattering: limit -> raisings that were the
    third or more of theirs within a minute. fleeting: raisings that were over at once and not repeated. standing: the
    most warnings that had stood for more than 24 h on any day, days counted from from_ms. by_rank: rank -> raisings, 1
    the most urgent. answers_s: seconds from each raising to its acknowledgement, in order, infinite where there is
    none. unanswered: of them, longer than ten minutes. changes: of limits; unnamed: of them, without who or why.
    set_aside: how a limit was set aside -> (how often that began in the span, time of all of them within it [ms]).
    """

    from_ms: int
    to_ms: int
    watched_ms: int
    raised: int
    resounded: int
    periods: int
    periods_over: int
    hours: int
    hours_over: int
    largest: int
    floods: tuple[Flood, ...]
    flood_ms: int
    by_limit: Mapping[str, int]
    chattering: Mapping[str, int]
    fleeting: int
    standing: int
    by_rank: Mapping[int, int]
    answers_s: tuple[float, ...]
    unanswered: int
    changes: int
    unnamed: int
    set_aside: Mapping[str, tuple[int, int]]


def count(from_ms: int, to_ms: int, raised: Sequence[Raised], *, resounded: Sequence[int] = (),
          occurrences: Iterable[Occurrence] = (), changes: Iterable[Change] = (),
          unwatched: Iterable[tuple[int, int | None]] = (), set_aside: Iterable[SetAside] = (),
          ranks: Mapping[str, int] | None = None) -> Counts:
    """Count over a span. What lies outside it is given too: it decides what was a flood, or chattering, at its ends.

    from_ms, to_ms: the span [UTC ms]. raised: all raisings by time. resounded: when open warnings sounded again [UTC
    ms]. occurrences: all warnings. changes: of limits. unwatched: (from, to) in which nobody watched, to None for still
    [UTC ms]. set_aside: all times in which a limit was. ranks: kind of limit -> how urgent, 1 the most; a kind that
    isn't in it counts as 1 [-].
    Raises ValueError for a span that ends before it begins.
    """
    if to_ms < from_ms:
        raise ValueError("a span ends after it begins")
    times = [each.at_ms for each in raised]
    here = [each for each in raised if from_ms <= each.at_ms < to_ms]
    gaps = _covered(from_ms, to_ms, unwatched)
    floods = _floods(times)
    periods, periods_over = _periods(times, from_ms, to_ms, TEN_MINUTES, MANY_IN_TEN, gaps)
    hours, hours_over = _periods(times, from_ms, to_ms, HOUR, MANY_IN_HOUR, gaps)
    answers = sorted(math.inf if each.acknowledged_ms is None else (each.acknowledged_ms - each.at_ms) / SECOND
                     for each in here)
    changed = [each for each in changes if from_ms <= each.at_ms < to_ms]
    return Counts(
        from_ms=from_ms, to_ms=to_ms, watched_ms=to_ms - from_ms - sum(b - a for a, b in gaps), raised=len(here),
        resounded=sum(from_ms <= at < to_ms for at in resounded), periods=periods, periods_over=periods_over,
        hours=hours, hours_over=hours_over,
        largest=max((bisect_right(times, each.at_ms) - bisect_right(times, each.at_ms - TEN_MINUTES) for each in here),
                    default=0),
        floods=tuple(flood for flood in floods if from_ms <= flood.begun_ms < to_ms),
        flood_ms=sum(max(0, min(flood.ended_ms, to_ms) - max(flood.begun_ms, from_ms)) for flood in floods),
        by_limit=dict(Counter(each.limit for each in here).most_common()),
        chattering=_chattering(raised, from_ms, to_ms),
        fleeting=_fleeting(raised, from_ms, to_ms), standing=_standing(occurrences, from_ms, to_ms),
        by_rank=dict(sorted(Counter((ranks or {}).get(each.kind, 1) for each in here).items())),
        answers_s=tuple(answers), unanswered=sum(answer > UNANSWERED_MS / SECOND for answer in answers),
        changes=len(changed), unnamed=sum(not (each.by.strip() and each.reason.strip()) for each in changed),
        set_aside=_aside(set_aside, from_ms, to_ms))


def _covered(from_ms: int, to_ms: int, spans: Iterable[tuple[int, int | None]]) -> list[tuple[int, int]]:
    """The parts of a span that others cover, none of them twice."""
    inside = ((max(a, from_ms), to_ms if b is None else min(b, to_ms)) for a, b in spans)
    return merged((a, b) for a, b in inside if b > a)


def _periods(times: Sequence[int], from_ms: int, to_ms: int, length: int, many: int,
             gaps: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Whole periods by the clock within the span that were watched at least in part, and those with more than many."""
    counted = over = 0
    for begin in range(-(-from_ms // length) * length, to_ms - length + 1, length):
        if any(a <= begin and begin + length <= b for a, b in gaps):
            continue
        counted += 1
        over += bisect_left(times, begin + length) - bisect_left(times, begin) > many
    return counted, over


def _floods(times: Sequence[int]) -> list[Flood]:
    """Every flood: begun at the raising that makes more than ten within ten minutes, ended when fewer than five are."""
    found: list[Flood] = []
    begun = peak = within = 0
    flooding = False
    for at, step in sorted([(t, 1) for t in times] + [(t + TEN_MINUTES, -1) for t in times]):
        within += step
        if step > 0 and not flooding and within > MANY_IN_TEN:
            flooding, begun, peak = True, at, within
        elif flooding and within < FLOOD_ENDS_BELOW:
            flooding = False
            raised = bisect_right(times, at) - bisect_right(times, begun - TEN_MINUTES)
            found.append(Flood(begun, at, raised, peak))
        peak = max(peak, within) if flooding else peak
    return found


def _chattering(raised: Sequence[Raised], from_ms: int, to_ms: int) -> dict[str, int]:
    """Limit -> raisings in the span that were the third or more of theirs within a minute."""
    before: dict[str, list[int]] = {}
    found: Counter[str] = Counter()
    for each in raised:
        mine = before.setdefault(each.limit, [])
        mine.append(each.at_ms)
        if from_ms <= each.at_ms < to_ms and len(mine) >= CHATTER and each.at_ms - mine[-CHATTER] <= CHATTER_MS:
            found[each.limit] += 1
    return dict(found.most_common())


def _fleeting(raised: Sequence[Raised], from_ms: int, to_ms: int) -> int:
    """Raisings in the span that were over within 10 s, and whose limit wasn't raised again within 60 s of that."""
    found = 0
    after: dict[str, int] = {}
    for each in reversed(raised):
        lasted, following = each.lasted_ms, after.get(each.limit)
        if from_ms <= each.at_ms < to_ms and lasted is not None and lasted < FLEETING_MS and each.over_ms is not None:
            found += following is None or following - each.over_ms > REPEAT_MS
        after[each.limit] = each.at_ms
    return found


def _standing(occurrences: Iterable[Occurrence], from_ms: int, to_ms: int) -> int:
    """The most warnings that had been open for more than 24 h on any day of the span."""
    stale = [(each.begun_ms + DAY, math.inf if each.closed_ms is None else each.closed_ms) for each in occurrences]
    return max((sum(a < min(begin + DAY, to_ms) and b > max(a, begin) for a, b in stale)
                for begin in range(from_ms, to_ms, DAY)), default=0)


def _aside(spans: Iterable[SetAside], from_ms: int, to_ms: int) -> dict[str, tuple[int, int]]:
    """How -> how often it began within the span, and the time of all within it [ms]."""
    found: dict[str, tuple[int, int]] = {}
    for each in spans:
        begun, long_ms = found.get(each.how, (0, 0))
        ended = to_ms if each.ended_ms is None else each.ended_ms
        found[each.how] = (begun + (from_ms <= each.begun_ms < to_ms),
                           long_ms + max(0, min(ended, to_ms) - max(each.begun_ms, from_ms)))
    return found
