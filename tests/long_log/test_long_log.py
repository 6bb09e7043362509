"""Books that hold some of a log's samples say of the span that was asked for what the books of the whole log say.

Invented; no source. The peer is the same log built whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance, long_log, observations
from dipbook.books import Books, build, learn
from dipbook.kept_balance import COLUMNS
from dipbook.records import SAMPLES, Block, Draft, Record, numbered
from dipbook.some_samples import only, pieces, places
from ledgers import IN, MIN, RIG, dips, entry, rig_draft
from sampled_histories import AT, END, TANKS, histories

SYSTEMS = ("active", "all surface", "Trip", "Reserve")


def stored(records: Sequence[Record]) -> tuple[list[Record], long_log.Fill]:
    """The records without samples, and what puts some of them in again, as a store does."""
    return [replace(r, blocks=()) for r in records], lambda bare, spans: [only(r, spans) for r in records]


def assert_same(part: Books, whole: Books, t: Any) -> None:
    for name in SYSTEMS:
        one, other = balance.at(part, t, name), balance.at(whole, t, name)
        for column in COLUMNS:
            np.testing.assert_array_equal(getattr(one, column), getattr(other, column), f"{name}: {column}")
        for term in balance.TERMS:
            np.testing.assert_array_equal(one.terms[term], other.terms[term], f"{name}: {term}")


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Margins that leave something out of a history of four hours."""
    monkeypatch.setattr(long_log, "HOUR_MS", 3 * MIN)


@settings(max_examples=300, deadline=None)
@given(histories(), AT, AT)
def test_of_the_span_that_was_asked_for_the_books_say_what_those_of_the_whole_log_say(records: tuple[Record, ...], a: int, b: int) -> None:
    begin, end = min(a, b) * MIN, max(a, b) * MIN
    whole, part = build(records), long_log.over(*stored(records), begin, end)
    ends = whole.readings.end_ms
    t = np.unique(np.concatenate((np.arange(begin, end + 1, MIN // 2), ends[(ends >= begin) & (ends <= end)])))
    assert_same(part, whole, t)
    mine = part.readings.end_ms
    np.testing.assert_array_equal(mine[(mine >= begin) & (mine <= end)], ends[(ends >= begin) & (ends <= end)])
    np.testing.assert_allclose(known_zeros(part, end), known_zeros(whole, end), rtol=0.0, atol=1e-9)


def known_zeros(books: Books, until: int) -> list[Any]:
    """(when, on what, what it wrote off) of the zeros known by then."""
    return [(z.t_ms, z.base_ms, lost) for z, lost in balance.written_off(books) if z.t_ms is not None and z.t_ms <= until]


def minutely(*tanks: str, end: int = END, seed: int = 3) -> Draft:
    """Each tank sensed each minute, wandering."""
    chance = np.random.default_rng(seed)
    t = MIN * np.arange(end, dtype=np.int64)
    return Draft(SAMPLES, 0, 0, payload={"digest": str(seed)}, blocks=tuple(
        Block(f"tank:{tank}:level", t, (60.0 + chance.normal(0.0, 1.0, end).cumsum() * 0.3) * IN) for tank in tanks))


ZERO = entry("zero", 10, length=0, reason="x")
BETWEEN = {
    "a tank joins": [ZERO, entry("line-up", 60, tank="Reserve", state="in")],
    "a tank leaves": [ZERO, entry("line-up", 60, tank="Settling", state="out")],
    "a tank joins whose samples are struck out there": [
        ZERO, entry("line-up", 60, tank="Reserve", state="in"),
        Draft("void", 55 * MIN, 300 * MIN, author="A", reason="stuck", payload={"tank": "Reserve", "end_ms": 80 * MIN})],
    "the flow line is turned": [ZERO, entry("line-up", 60, tank="flow line", state="Trip")],
    "the rig changes": [ZERO, Draft("rig", 60 * MIN, 60 * MIN, author="A", payload={
        "text": RIG.replace('length = "30 ft"', 'length = "31 ft"', 1), "effective": "change"})],
    "two zeros": [ZERO, entry("zero", 90, length=0, reason="y")],
    "no zero": [],
    "a zero that a later one replaced": [replace(ZERO, uid="z"), replace(entry("zero", 50, length=0, reason="y"), supersedes="z", reason="late")],
}


@pytest.mark.parametrize("what", BETWEEN)
def test_what_happened_between_the_zero_and_the_span_counts(what: str) -> None:
    records = numbered([rig_draft(RIG, -90), minutely(*TANKS), *BETWEEN[what]])
    whole, part = build(records), long_log.over(*stored(records), 200 * MIN, 220 * MIN)
    assert_same(part, whole, MIN * np.arange(200, 221))
    assert np.isfinite(balance.at(part, 210 * MIN).difference_m3[0]), "and it is known"
    assert len(part.samples["Suction"].t_ms) < 80, "of four hours"
    at = balance.at(part, MIN * np.array([100, 130, 150]))
    assert np.isnan([at.actual_m3, at.difference_m3]).all(), "what wasn't read isn't known"
    assert [x for _, x in balance.written_off(part)] == pytest.approx([x for _, x in balance.written_off(whole)], abs=1e-9)
    row = int(whole.readings.index_at(200 * MIN - 1)) + 1
    mine = int(part.readings.index_at(200 * MIN - 1)) + 1
    one, other = observations.observe(part, mine, mine + 20), observations.observe(whole, row, row + 20)
    np.testing.assert_array_equal(one.t_ms, other.t_ms)
    for name in ("difference", "u", "partial", "level", "volume"):
        for key, column in getattr(one, name).items():
            np.testing.assert_array_equal(column, getattr(other, name)[key], f"{name} of {key}")
    np.testing.assert_array_equal(one.complete, other.complete)


def test_a_watch_has_a_day_and_all_since_its_zero_and_goes_on_as_if_it_had_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(long_log, "DAY_MS", 30 * MIN)
    records = numbered([rig_draft(RIG, -90), minutely(*TANKS), ZERO, entry("zero", 200, length=0, reason="y")])
    part, whole = long_log.watched(*stored(records), (END - 1) * MIN), build(records)
    since = 200 * MIN - long_log.LEARNING_MS
    assert part.whole is not None
    assert part.whole[-1] == (long_log.since(whole, (END - 1) * MIN), long_log.LAST)
    assert part.whole[-1][0] == since, "six times its hour before the zero"
    more = [replace(r, seq=r.seq + len(records), uid=f"n{r.seq}") for r in numbered(
        [dips(END + 5, Settling=61, Suction=70, Reserve=60, Trip=50), entry("addition", END + 1, END + 3, to="Suction", volume=4)])]
    (part, touched), (whole, _) = learn(part, more), learn(whole, more)
    assert bool(part.has_all(touched))
    assert_same(part, whole, MIN * np.arange(since // MIN, END + 10))


def test_a_zero_long_ago_keeps_all_since(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(long_log, "DAY_MS", 30 * MIN)
    monkeypatch.setattr(long_log, "LEARNING_MS", 5 * MIN)
    records = numbered([rig_draft(RIG, -90), minutely(*TANKS), entry("zero", 60, length=0, reason="y")])
    assert long_log.since(build(records), (END - 1) * MIN) == 55 * MIN
    assert long_log.since(build(records[:-1]), (END - 1) * MIN) < 0, "nobody zeroed it: the first reading counts"


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(1, 30), min_size=1, max_size=60), st.lists(st.integers(1, 6), min_size=1, max_size=9),
       st.lists(st.tuples(st.integers(-20, 900), st.integers(0, 200)), max_size=4))
def test_the_pieces_that_are_read_hold_what_is_chosen_in_the_whole(steps: list[int], lengths: list[int], asked: list[tuple[int, int]]) -> None:
    t = np.cumsum(steps)
    cuts = [0]
    for n in lengths * len(t):
        if cuts[-1] < len(t):
            cuts.append(min(len(t), cuts[-1] + n))
    spans = [(a, a + n) for a, n in asked]
    ends = np.array(cuts[1:])
    read = pieces(t[cuts[:-1]], t[ends - 1], np.diff(cuts), spans)
    inside = np.repeat(read, np.diff(cuts))
    wanted = places(t, spans)
    assert not (wanted & ~inside).any()
    np.testing.assert_array_equal(t[inside][places(t[inside], spans)], t[wanted])
