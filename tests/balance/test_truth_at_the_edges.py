"""A simulated truth in which everything is logged: whatever the line-up, the zeros and the rounds, nothing is left over.

Times are whole minutes in fives, so that transfers, line-up changes, zeros and rounds fall on the same minute often.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from ledgers import BBL, FT, IN, booked, dips, entry, minutes

TANKS = ("Settling", "Suction", "Reserve", "Trip")
AREA = 30 * 8 * FT * FT
fives = st.integers(1, 60).map(lambda k: 5 * k)
moves_ = st.lists(st.tuples(fives, st.sampled_from([0, 0, 5, 10, 45]), st.sampled_from(TANKS), st.sampled_from(TANKS),
                            st.integers(1, 60)), max_size=10)
changes_ = st.lists(st.tuples(fives, st.sampled_from(TANKS), st.booleans()), max_size=6)
zeros_ = st.lists(fives, max_size=4)
rounds_ = st.lists(st.tuples(fives, st.sets(st.sampled_from(TANKS), min_size=1)), max_size=6)


def level(moves: Any, tank: str, at: float) -> float:
    """True level [in] of a tank that stood at 60 in at 0; an instant at that minute is done."""
    v = 60.0 * IN * AREA
    for t, dt, a, b, bbl in moves:
        share = float(at >= t) if dt == 0 else min(max((at - t) / dt, 0.0), 1.0)
        v += bbl * BBL * share * ((b == tank) - (a == tank))
    return v / AREA / IN


def history(moves: Any, changes: Any, zeros: Any, rounds: Any) -> tuple[Any, list[int]]:
    drafts = [dips(0, **dict.fromkeys(TANKS, 60.0)), entry("zero", 0, reason="x", length=0)]
    drafts += [entry("transfer", t, t + dt if dt else None, from_=a, to=b, volume=v) for t, dt, a, b, v in moves]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]
    drafts += [entry("zero", t, reason="x", length=0) for t in zeros]
    drafts += [dips(t, **{tank: level(moves, tank, t) for tank in sorted(some)}) for t, some in rounds]
    whole = [m for m in range(30, 361, 30) if m % 60 == 0] + [355, 400]
    drafts += [dips(m, **{tank: level(moves, tank, m) for tank in TANKS}) for m in whole]
    return booked(*drafts), whole


@settings(max_examples=150, deadline=None)
@given(moves_, changes_, zeros_, rounds_)
def test_at_every_whole_round_nothing_is_left_of_any_system(moves: Any, changes: Any, zeros: Any, rounds: Any) -> None:
    moves = [m for m in moves if m[2] != m[3]]
    books, whole = history(moves, changes, zeros, rounds)
    for name in ("active", "all surface", *TANKS):
        b = balance.at(books, minutes(*whole), name)
        assert np.abs(b.difference_m3).max() == pytest.approx(0, abs=1e-9), name
    assert all(abs(v) < 1e-9 for _, v in balance.written_off(books))


@settings(max_examples=100, deadline=None)
@given(changes_)
def test_the_difference_is_the_same_just_before_and_just_after_a_change(changes: Any) -> None:
    """Each tank dipped a minute before its change and alike a minute after, at some level nobody can explain."""
    drafts = [dips(0, **dict.fromkeys(TANKS, 60.0)), entry("zero", 0, reason="x", length=0)]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]
    drafts += [dips(t + side, **{tank: 60 + t % 7}) for t, tank, _ in changes for side in (-1, 1)]
    books = booked(*drafts)
    for t, _, _ in changes:
        before, after = balance.at(books, [minutes(t)[0] - 1, minutes(t)[0]]).difference_m3
        assert after == pytest.approx(before, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(moves_, changes_, zeros_, st.lists(st.integers(-3, 3), min_size=6, max_size=6))
def test_what_is_unexplained_is_either_left_or_written_off(moves: Any, changes: Any, zeros: Any, odd: Any) -> None:
    """Suction, always in, gains some inches nobody logged before each whole round: they are in the difference or were
    written off, none lost and none twice, wherever the zeros fall."""
    moves = [m for m in moves if m[2] != m[3]]
    drafts = [dips(0, **dict.fromkeys(TANKS, 60.0)), entry("zero", 0, reason="x", length=0)]
    drafts += [entry("transfer", t, t + dt if dt else None, from_=a, to=b, volume=v) for t, dt, a, b, v in moves]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes if tank != "Suction"]
    drafts += [entry("zero", t, reason="x", length=0) for t in zeros]
    extra = 0
    for k, inches in enumerate(odd):
        extra += inches
        m = 60 * (k + 1)
        drafts.append(dips(m, **{tank: level(moves, tank, m) + (extra if tank == "Suction" else 0) for tank in TANKS}))
    books = booked(*drafts)
    left = float(balance.at(books, minutes(360)).difference_m3[0]) + sum(v for _, v in balance.written_off(books))
    assert left == pytest.approx(extra * IN * AREA, abs=1e-9)
