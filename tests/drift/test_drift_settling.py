"""When the pumps have run evenly for long enough."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook.drift import CHANGED, OFF, SETTLING, STEADY, settled, tuning_for

TUNING = tuning_for(60.0)
MINUTE = 60_000


def test_five_minutes_after_the_pumps_came_on_and_after_a_change_of_rate():
    t = MINUTE * np.arange(16)
    on = np.array([1, 1, 1, 1, 1, 1, 1, 0, 0, 1, 1, 1, 1, 1, 1, 1], dtype=bool)
    flow = np.where(on, 0.04, 0.0)
    steady, why = settled(t, on, flow, TUNING)
    assert why == [*[SETTLING] * 5, *[STEADY] * 2, *[OFF] * 2, *[SETTLING] * 5, *[STEADY] * 2]
    assert steady.tolist() == [w == STEADY for w in why]
    always = np.ones(16, dtype=bool)
    slower = np.where(np.arange(16) < 8, 0.040, 0.035)
    assert settled(t, always, slower, TUNING)[1] == [*[SETTLING] * 5, *[STEADY] * 3, *[CHANGED] * 5, *[STEADY] * 3]
    # A tenth is no change.
    assert CHANGED not in settled(t, always, np.where(np.arange(16) < 8, 0.040, 0.0361), TUNING)[1]


def test_a_rate_that_is_not_known_is_no_change():
    t = MINUTE * np.arange(10)
    on = np.ones(10, dtype=bool)
    assert settled(t, on, np.full(10, math.nan), TUNING)[0].tolist() == [False] * 5 + [True] * 5
    some = np.array([0.04, math.nan] * 5)
    assert settled(t, on, some, TUNING)[0].tolist() == [False] * 5 + [True] * 5


def test_what_cannot_be():
    assert settled([], [], [], TUNING)[1] == []
    with pytest.raises(ValueError, match="must not fall"):
        settled([1000, 0], [True, True], [0.0, 0.0], TUNING)
    with pytest.raises(ValueError, match="same length"):
        settled([0], [True, True], [0.0], TUNING)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 240), st.booleans(), st.sampled_from((0.03, 0.031, 0.04, math.nan))), max_size=60))
def test_as_written_out_row_by_row(rows):
    t = 1000 * np.cumsum([r[0] for r in rows], dtype=np.int64)
    on = np.array([r[1] for r in rows], dtype=bool)
    flow = np.array([r[2] for r in rows], dtype=float)
    expected = []
    for i in range(len(rows)):
        if not on[i]:
            expected.append(OFF)
            continue
        begun = i
        while begun and on[begun - 1]:
            begun -= 1
        rates = [flow[j] for j in range(begun, i + 1) if t[j] >= t[i] - 300_000 and not math.isnan(flow[j])]
        expected.append(SETTLING if t[i] - t[begun] < 300_000 else
                        CHANGED if rates and max(rates) - min(rates) > 0.1 * max(rates) else STEADY)
    assert settled(t, on, flow, TUNING)[1] == expected
