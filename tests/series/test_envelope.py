"""The plot's envelope hides no extreme, no end and no gap. Own definitions; no outside source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.series import Thinned, envelope

DAY_MS = 86_400_000


def test_a_short_series_comes_back_whole():
    t, v = envelope([0, 1, 2], [5.0, np.nan, 7.0], 2)
    assert t.tolist() == [0, 1, 2]
    np.testing.assert_array_equal(v, [5.0, np.nan, 7.0])


def test_a_jump_in_the_last_three_samples_of_1009_is_kept():
    v = np.zeros(1009)
    v[-3:] = 50.0
    t, kept = envelope(np.arange(1009) * 1000, v, 100)
    assert kept[-1] == 50.0
    assert t[-1] == 1_008_000
    assert len(t) <= 2 * 100 + 2


def test_a_spike_of_one_sample_survives():
    v = np.sin(np.arange(43_200) / 500.0)
    v[12_345] = -9.0
    v[31_000] = 8.0
    _, kept = envelope(np.arange(43_200) * 1000, v, 800)
    assert kept.min() == -9.0
    assert kept.max() == 8.0


def test_the_last_known_sample_is_kept_when_the_series_ends_unknown():
    v = np.linspace(10.0, 0.0, 1000)
    v[500] = 5.003
    v[501:] = np.nan
    t, kept = envelope(np.arange(1000), v, 7)
    assert 500 in t.tolist()
    assert np.isnan(kept[-1])


def test_a_gap_of_one_sample_stays_a_gap():
    v = np.zeros(10_000)
    v[5_001] = np.nan
    t, kept = envelope(np.arange(10_000), v, 50)
    where = np.flatnonzero(np.isnan(kept))
    assert t[where].tolist() == [5_001]


def test_uneven_times_keep_a_lonely_sample_in_its_own_span():
    t = np.concatenate((np.arange(1000), [DAY_MS // 2], DAY_MS + np.arange(1000)))
    v = np.concatenate((np.zeros(1000), [3.0], np.zeros(1000)))
    kept_t, kept_v = envelope(t, v, 20)
    assert 3.0 in kept_v.tolist()
    assert DAY_MS // 2 in kept_t.tolist()


@pytest.mark.parametrize(("t", "v", "buckets", "words"), [
    ([0, 1], [1.0], 5, "same length"),
    ([1, 0], [1.0, 2.0], 5, "must not fall"),
    ([0, 1], [1.0, 2.0], 0, "at least one bucket"),
])
def test_bad_input_is_refused_in_words(t, v, buckets, words):
    with pytest.raises(ValueError, match=words):
        envelope(t, v, buckets)


@given(
    st.lists(st.one_of(st.floats(-1e6, 1e6), st.just(float("nan"))), min_size=1, max_size=300),
    st.integers(1, 40),
    st.lists(st.integers(0, 1000), min_size=300, max_size=300),
)
def test_ends_extremes_and_gaps_are_kept_and_nothing_is_invented(values, buckets, steps):
    v = np.array(values)
    t = np.cumsum(np.array(steps[: len(v)], dtype=np.int64))
    kept_t, kept_v = envelope(t, v, buckets)
    assert kept_t[0] == t[0]
    assert kept_t[-1] == t[-1]
    np.testing.assert_array_equal(kept_v[-1], v[-1])
    known = ~np.isnan(v)
    if known.any():
        assert np.nanmin(kept_v) == v[known].min()
        assert np.nanmax(kept_v) == v[known].max()
    samples = {(a, "nan" if np.isnan(b) else b) for a, b in zip(t.tolist(), v.tolist(), strict=True)}
    kept = [(a, "nan" if np.isnan(b) else b) for a, b in zip(kept_t.tolist(), kept_v.tolist(), strict=True)]
    assert set(kept) <= samples
    assert len(kept_t) <= 4 * buckets + 6


def test_every_bridge_between_kept_samples_was_unbroken():
    rng = np.random.default_rng(7)
    v = rng.normal(size=5_000)
    v[rng.random(5_000) < 0.05] = np.nan
    t = np.arange(5_000)
    kept_t, kept_v = envelope(t, v, 100)
    for a, b, va, vb in zip(kept_t[:-1], kept_t[1:], kept_v[:-1], kept_v[1:], strict=True):
        if not (np.isnan(va) or np.isnan(vb)):
            assert not np.isnan(v[a : b + 1]).any()



def test_a_long_series_thinned_beforehand_hides_no_extreme_and_no_gap():
    n, dice = 200_000, np.random.default_rng(3)
    v = dice.normal(0, 1, n)
    v[70_000:71_000] = np.nan
    t = np.arange(n) * 1000
    thinned = Thinned(t, v)
    for a, b in ((0, n), (10_000, 150_000), (69_000, 73_000), (5_000, 5_400)):
        times, kept = thinned.between(int(t[a]), int(t[b - 1]), 500)
        assert len(times) <= 2 * 500 + 6
        edge = (b - a) // 500 + 1
        inner = v[a + edge:b - edge]
        assert np.nanmin(kept) <= np.nanmin(inner)
        assert np.nanmax(kept) >= np.nanmax(inner)
        real = ~np.isnan(kept)
        np.testing.assert_array_equal(kept[real], v[times[real] // 1000])     # samples, no means
        if a <= 70_000 < 71_000 <= b:
            between = times[(times >= t[70_000]) & (times < t[71_000])]
            assert len(between)
            assert np.isnan(kept[np.isin(times, between)]).all()
