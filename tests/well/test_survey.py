"""Measured to vertical depth, worked by hand: straight between stations, unknown below the last."""

from __future__ import annotations

from math import cos, isnan, nan, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.well import Survey, vertical

# Vertical to 1000 m, then 1000 m at 60° from the vertical (cos 60° = 0.5), then 500 m level.
DEVIATED = Survey((0.0, 1000.0, 2000.0, 2500.0), (0.0, 1000.0, 1500.0, 1500.0))


@pytest.mark.parametrize("depth", [0.0, 0.1, 1234.5, 3000.0])
def test_in_a_vertical_well_both_depths_are_the_same(depth: float) -> None:
    assert vertical(3000.0).tvd(depth) == pytest.approx(depth, rel=1e-12)


@pytest.mark.parametrize(("md", "tvd"), [(0, 0), (500, 500), (1000, 1000), (1200, 1100), (1500, 1250), (2000, 1500), (2250, 1500), (2500, 1500)])
def test_a_deviated_well_by_hand(md: float, tvd: float) -> None:
    # 1200 m: 1000 + 200 × 0.5 = 1100. 1500 m: 1000 + 500 × 0.5 = 1250. From 2000 m on it is level.
    assert DEVIATED.tvd(md) == pytest.approx(tvd, rel=1e-12)


def test_a_build_of_stations_by_the_cosine_of_their_inclination() -> None:
    # 30 m a station at 10, 20 and 30° from the vertical: 500 + 30 (0.984808 + 0.939693 + 0.866025) = 583.7158 m.
    tvd = [0.0, 500.0]
    for degrees in (10, 20, 30):
        tvd.append(tvd[-1] + 30 * cos(radians(degrees)))
    survey = Survey((0.0, 500.0, 530.0, 560.0, 590.0), tuple(tvd))
    assert survey.tvd(590.0) == pytest.approx(583.7158, abs=1e-4)
    assert survey.tvd(545.0) == pytest.approx(500 + 30 * 0.984808 + 15 * 0.939693, abs=1e-4)


def test_a_well_that_turns_up_comes_nearer_to_the_surface() -> None:
    assert Survey((0.0, 1000.0, 1100.0), (0.0, 1000.0, 980.0)).tvd(1050.0) == pytest.approx(990.0)


def test_below_the_last_station_and_above_the_rotary_it_is_unknown() -> None:
    assert isnan(DEVIATED.tvd(2500.01))
    assert isnan(DEVIATED.tvd(-0.01))
    assert isnan(DEVIATED.tvd(nan))
    assert DEVIATED.tvd(2500.0) == 1500.0


def test_columns_of_depths_give_columns_and_a_number_gives_a_number() -> None:
    found = DEVIATED.tvd(np.array([500.0, 1200.0, 3000.0, nan]))
    assert found[:2] == pytest.approx([500.0, 1100.0])
    assert np.isnan(found[2:]).all()
    assert isinstance(DEVIATED.tvd(500), float)


@pytest.mark.parametrize(("md", "tvd"), [
    ((0.0,), (0.0,)), ((), ()), ((0.0, 100.0), (0.0,)), ((5.0, 100.0), (0.0, 90.0)), ((0.0, 100.0), (5.0, 90.0)), ((nan, 100.0), (0.0, 90.0))])
def test_a_survey_begins_at_zero_and_has_two_stations_with_both_depths(md: tuple[float, ...], tvd: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"^a survey begins at 0 and has two stations or more, each with both depths$"):
        Survey(md, tvd)


@pytest.mark.parametrize("md", [(0.0, 100.0, 100.0), (0.0, 100.0, 90.0)])
def test_measured_depth_must_rise(md: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="measured depth must rise"):
        Survey(md, (0.0, 90.0, 95.0))


@pytest.mark.parametrize("tvd", [(0.0, 101.0), (0.0, -101.0)])
def test_no_hole_goes_further_down_or_up_than_along(tvd: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="can't change by more"):
        Survey((0.0, 100.0), tvd)


@pytest.mark.parametrize(("md", "tvd"), [((0.0, nan, 100.0), (0.0, 50.0, 90.0)), ((0.0, 50.0, 100.0), (0.0, nan, 90.0)),
                                         ((0.0, float("inf")), (0.0, 90.0))])
def test_a_station_that_isnt_known_is_refused(md: tuple[float, ...], tvd: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="must be known"):
        Survey(md, tvd)


@given(st.lists(st.tuples(st.floats(1.0, 500.0), st.floats(0.0, 90.0)), min_size=1, max_size=8), st.floats(0.0, 1.0))
def test_vertical_depth_is_never_more_than_measured_and_is_the_legs_sum(legs: list[tuple[float, float]], share: float) -> None:
    md, tvd = [0.0], [0.0]
    for length, degrees in legs:
        md.append(md[-1] + length)
        tvd.append(tvd[-1] + length * cos(radians(degrees)))
    survey = Survey(tuple(md), tuple(tvd))
    depth = share * md[-1]
    by_hand, left = 0.0, depth
    for length, degrees in legs:
        by_hand += min(left, length) * cos(radians(degrees))
        left -= min(left, length)
    assert survey.tvd(depth) == pytest.approx(by_hand, rel=1e-9, abs=1e-6)
    assert survey.tvd(depth) <= depth + 1e-6
