"""The figures of a span: number, unit, formula, and the published target with what is known of its source."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from dipbook.figures.counts import DAY, HOUR, TEN_MINUTES, TOP, Counts

SOURCES: Mapping[str, str] = MappingProxyType({
    "": "no target", "S": "read in a public source", "M": "from memory", "C": "from the hourly one", "I": "ours"})
"""What is known of where a target comes from. The clause and tables are those of ANSI/ISA-18.2-2016 as restated in
public; the standard itself wasn't read."""

SAYS = ("Numbers without grades. The targets are those of ANSI/ISA-18.2-2016, clause 16.4, and IEC 62682, as restated "
        "in public; the standards themselves weren't read.")
"""What stands with the figures wherever they do."""

TOUR_H = 12.0
"""Hours of a tour where nobody says otherwise."""
ENOUGH = 0.5
"""A rate per time is told where at least so much of that time was watched [-]; of less it would be made up of a few
minutes. A choice, no source."""
RANKS = ((1, "most urgent", "~5 %"), (2, "abnormal", "~15 %"), (3, "due", "~80 %"))


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure. key: fixed, for other programs. label: for people. value: None where it isn't known. unit: "" for a
    count. formula: in words. target: as published, "" for none. source: a key of SOURCES, of the target. note: what the
    number leaves out, or which limits."""

    key: str
    label: str
    value: float | None
    unit: str
    formula: str
    target: str = ""
    source: str = ""
    note: str = ""


def figures(c: Counts, tour_h: float = TOUR_H) -> tuple[Figure, ...]:
    """The figures of what was counted. c: the counts. tour_h: how long a tour is [h]."""
    return (*_rates(c, tour_h), *_bursts(c), *_limits(c), *_answers(c), *_changes(c))


def _rates(c: Counts, tour_h: float) -> list[Figure]:
    def per(ms: float) -> float | None:
        return c.raised * ms / c.watched_ms if c.watched_ms and c.watched_ms >= ENOUGH * ms else None

    def little(ms: float) -> str:
        return "" if per(ms) is not None else \
            f"too little was watched for a rate: {_time(c.watched_ms)}, and {_time(ENOUGH * ms)} are needed"

    whole = c.to_ms - c.from_ms
    aside = whole - c.watched_ms
    return [
        Figure("span", "Span", whole / DAY, "days", "to − from", "at least 30 days", "S",
               f"nobody watched for {aside / HOUR:.1f} h of it" if aside else ""),
        Figure("raised", "Warnings raised", c.raised, "", "n: how often a condition came true and sounded"),
        Figure("rate_10min", "In 10 min", per(TEN_MINUTES), "", "n ÷ time watched × 10 min",
               "~1 very likely acceptable, ~2 the most that can be managed", "S", little(TEN_MINUTES)),
        Figure("rate_hour", "In an hour", per(HOUR), "", "n ÷ time watched × 1 h",
               "~6 very likely acceptable, ~12 the most that can be managed", "S", little(HOUR)),
        Figure("rate_tour", f"In {tour_h:g} h (a tour)", per(tour_h * HOUR), "", f"n ÷ time watched × {tour_h:g} h",
               f"~{6 * tour_h:g} very likely acceptable, ~{12 * tour_h:g} the most that can be managed", "C",
               little(tour_h * HOUR)),
    ]


def _time(ms: float) -> str:
    """A length of time, in the unit that suits it."""
    size, unit = next(((size, unit) for size, unit in ((HOUR, "h"), (60_000, "min")) if ms >= size), (1000, "s"))
    return f"{ms / size:.1f}".removesuffix(".0") + f" {unit}"


def _bursts(c: Counts) -> list[Figure]:
    floods = "; ".join(f"{f.raised} in {(f.ended_ms - f.begun_ms) / 60_000:.0f} min, at most {f.peak} in 10 min"
                       for f in c.floods)
    return [
        Figure("periods_over_10", "10-min periods with more than 10", _share(c.periods_over, c.periods), "%",
               f"{c.periods_over} of {c.periods} whole 10 min by the clock that were watched", "below ~1 %", "S"),
        Figure("hours_over_30", "Hours with more than 30", _share(c.hours_over, c.hours), "%",
               f"{c.hours_over} of {c.hours} whole hours by the clock that were watched", "below ~1 %", "M"),
        Figure("largest_10min", "Most in any 10 min", c.largest, "",
               "the most raisings within 10 min, wherever they begin", "at most 10", "S"),
        Figure("floods", "Floods", len(c.floods), "", "begins with more than 10 in 10 min, ends with fewer than 5", "",
               "", floods),
        Figure("flood_time", "Time in a flood", _share(c.flood_ms, c.watched_ms), "%", "time in floods ÷ time watched",
               "below ~1 %", "S"),
    ]


def _limits(c: Counts) -> list[Figure]:
    top = sum(list(c.by_limit.values())[:TOP])
    few = f"only {len(c.by_limit)} raised any, so that it is all of them" if 0 < len(c.by_limit) <= TOP else ""
    most = ", ".join(f"{name}: {n}" for name, n in list(c.by_limit.items())[:TOP])
    split = [Figure(f"rank_{rank}", f"Of urgency {rank} ({words})", _share(c.by_rank.get(rank, 0), c.raised), "%",
                    f"{c.by_rank.get(rank, 0)} of n, by the kind of limit", target, "S")
             for rank, words, target in RANKS]
    return [
        Figure("top_ten", "The ten limits that raise most", _share(top, c.raised), "%", "their raisings ÷ n",
               "~1 to 5 %, with a plan of action", "S", "; ".join(x for x in (most, few) if x)),
        Figure("chattering", "Limits that chatter", len(c.chattering), "",
               "a limit raised 3 times or more within 1 min; the rule from memory", "0", "S",
               ", ".join(f"{name}: {n}" for name, n in c.chattering.items())),
        Figure("fleeting", "Fleeting", c.fleeting, "",
               "over in less than 10 s, and not raised again within 60 s; the rule of one published site", "0", "S"),
        Figure("standing", "Standing for more than 24 h", c.standing, "",
               "open for more than 24 h, the most on any day from the span's begin",
               "fewer than 5 on any day, each with a plan", "S"),
        *split,
    ]


def _answers(c: Counts) -> list[Figure]:
    never = sum(math.isinf(answer) for answer in c.answers_s)
    note = f"{never} not acknowledged, counted as the longest" if never else ""
    return [
        Figure("answer_median", "Raised to acknowledged, median", _known(_median(c.answers_s)), "s",
               "the middle one, or the mean of the two", "", "", note),
        Figure("answer_p90", "Raised to acknowledged, 90 of 100", _known(_ranked(c.answers_s, 0.9)), "s",
               "the shortest time within which at least 90 % were acknowledged", "", "", note),
        Figure("unanswered", "Not acknowledged within 10 min", c.unanswered, "", "of n"),
        Figure("resounded", "Sounded again while open", c.resounded, "", "grown further, or its limit taken up again"),
    ]


def _changes(c: Counts) -> list[Figure]:
    aside = [figure for how, key in (("shelved", "shelved"), ("out of service", "out_of_service"))
             for figure in _aside(c, how, key)]
    return [Figure("limits_changed", "Limits set, changed or withdrawn", c.changes, "", "changes in the log"),
            Figure("unnamed", "Of them without who or why", c.unnamed, "",
                   "changes whose record and limit name nobody, or no reason; there is no other way to change one", "0",
                   "S"), *aside]


def _aside(c: Counts, how: str, key: str) -> tuple[Figure, Figure]:
    often, long_ms = c.set_aside.get(how, (0, 0))
    return (Figure(key, f"Limits {how}", often, "", "how often, begun in the span; each by a person, with a reason"),
            Figure(f"{key}_time", f"Time {how}", long_ms / HOUR, "h", "of all limits together, within the span"))


def _share(part: float, whole: float) -> float | None:
    return 100.0 * part / whole if whole else None


def _median(values: Sequence[float]) -> float:
    n = len(values)
    return (values[(n - 1) // 2] + values[n // 2]) / 2 if n else math.nan


def _ranked(values: Sequence[float], share: float) -> float:
    """The smallest value that at least this share of them doesn't pass."""
    return values[math.ceil(share * len(values)) - 1] if values else math.nan


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
