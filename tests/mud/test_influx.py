"""How high a gain stands and what it weighs: by hand, against the well's own volumes, as a balance of two columns.

The published examples are in tests/published. Wells are invented.
"""

from __future__ import annotations

from math import inf, isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud.gas import GRAVITY
from dipbook.mud.influx import density, height, pieces, standing
from dipbook.mud.mixing import ImpossibleError
from dipbook.well import Hole, Part, Section, String, Survey, annulus

HOLE = Hole((Section("casing", "casing", 0.0, 1500.0, 0.32), Section("open hole", "open hole", 1500.0, 2400.0, 0.22)))
STRING = String((Part("collars", "collar", 0.016, 0.004, 150.0), Part("pipe", "drill pipe", 0.004, 0.009)))
MUDS, HEIGHTS, PRESSURES = st.floats(900.0, 2200.0), st.floats(5.0, 2000.0), st.floats(0.0, 4e7)
SIZES = st.lists(st.tuples(st.floats(1.0, 1000.0), st.floats(0.005, 0.2)), min_size=1, max_size=5)


def test_a_gain_goes_round_the_collars_first_by_hand() -> None:
    # 100 m of 0.02 hold 2 m3; the third m3 stands 20 m high in 0.05.
    annulus_ = ((100.0, 0.02), (inf, 0.05))
    assert height(1.0, annulus_) == pytest.approx(50.0, rel=1e-12)
    assert height(2.0, annulus_) == pytest.approx(100.0, rel=1e-12)
    assert height(3.0, annulus_) == pytest.approx(120.0, rel=1e-12)


@given(SIZES, st.floats(0.01, 0.99))
def test_what_a_height_holds_is_the_gain(sizes: list[tuple[float, float]], part: float) -> None:
    gain = part * sum(length * area for length, area in sizes)
    left, held = height(gain, sizes), 0.0
    for length, area in sizes:
        held += min(left, length) * area
        left -= min(left, length)
    assert held == pytest.approx(gain, rel=1e-9)
    assert left == pytest.approx(0.0, abs=1e-6)


@given(st.floats(100.0, 2400.0), st.floats(0.0, 300.0), st.floats(0.01, 0.95))
def test_the_pieces_of_a_well_hold_what_the_well_says(bit: float, off_bottom: float, part: float) -> None:
    bottom = bit + off_bottom
    found = pieces(HOLE, STRING, bit, bottom)
    hole = HOLE.reaching(bottom)
    assert sum(length for length, _ in found) == pytest.approx(bottom, rel=1e-9)
    whole = sum(mud for _, mud in annulus(hole, STRING, bit)) + hole.volume(bit, bottom)
    assert sum(length * area for length, area in found) == pytest.approx(whole, rel=1e-9)
    reached = height(part * whole, found)
    assert 0.0 < reached < bottom


def test_pieces_begin_below_the_bit_and_go_up() -> None:
    found = pieces(HOLE, STRING, 2380.0, 2400.0)
    open_hole, cased = (section.capacity_m2 for section in reversed(HOLE.sections))
    expected = ((20.0, open_hole), (150.0, open_hole - 0.020), (730.0, open_hole - 0.013), (1500.0, cased - 0.013))
    assert [piece for pair in found for piece in pair] == pytest.approx([piece for pair in expected for piece in pair])


@pytest.mark.parametrize(("bit", "bottom", "words"), [(2400.0, 2300.0, "must be in the hole"), (0.0, 2300.0, "must be in the hole"),
                                                      (nan, 2300.0, "must be in the hole"), (100.0, nan, "must be in the hole")])
def test_a_bit_that_isnt_in_the_hole_is_refused(bit: float, bottom: float, words: str) -> None:
    with pytest.raises(ImpossibleError, match=words) as caught:
        pieces(HOLE, STRING, bit, bottom)
    assert caught.value.about == "bit"


def test_a_hole_or_string_that_ends_above_is_refused_and_pipe_as_wide_as_the_hole_too() -> None:
    cased = Hole(HOLE.sections[:1])
    short = String((Part("collars", "collar", 0.016, 0.004, 150.0),))
    for hole, string in ((cased, STRING), (HOLE, short)):
        with pytest.raises(ImpossibleError, match="doesn't reach so far") as caught:
            pieces(hole, string, 2300.0, 2400.0)
        assert caught.value.about == "bit"
    with pytest.raises(ImpossibleError, match="as wide as the hole") as caught:
        height(1.0, ((10.0, 0.01), (10.0, 0.0)))
    assert caught.value.about == "annulus"


def test_a_gain_that_the_annulus_doesnt_hold_or_that_is_none_is_refused() -> None:
    with pytest.raises(ImpossibleError, match="holds less") as caught:
        height(10.1, ((100.0, 0.1),))
    assert caught.value.about == "gain"
    assert height(10.0, ((100.0, 0.1),)) == pytest.approx(100.0, rel=1e-12)
    with pytest.raises(ImpossibleError, match="more than nothing"):
        height(0.0, ((100.0, 0.1),))


# --- where it stands


def test_of_what_stands_below_the_bit_the_pressures_tell_nothing() -> None:
    # 20 m below the bit hold 0.76 m3: of 1 m3 0.24 m3 is above it.
    found = pieces(HOLE, STRING, 2380.0, 2400.0)
    below = 20.0 * HOLE.sections[1].capacity_m2
    where = standing(1.0, found, 2380.0, 2400.0)
    assert where.above_bit_m == pytest.approx((1.0 - below) / (HOLE.sections[1].capacity_m2 - 0.020), rel=1e-9)
    assert where.length_m == pytest.approx(20.0 + where.above_bit_m, rel=1e-12)
    assert where.top_m == pytest.approx(2400.0 - where.length_m, rel=1e-12)
    assert standing(0.5, found, 2380.0, 2400.0).above_bit_m == 0.0, "all of it is below the bit"


def test_in_a_well_that_goes_sideways_it_stands_less_high_than_it_is_long() -> None:
    # From 1000 m on the well falls half as fast as it goes on: 200 m of gain from 2000 m up are 100 m high.
    survey = Survey((0.0, 1000.0, 3000.0), (0.0, 1000.0, 2000.0))
    where = standing(4.0, ((inf, 0.02),), 2000.0, 2000.0, survey)
    assert (where.length_m, where.top_m, where.above_bit_m) == pytest.approx((200.0, 1800.0, 100.0))
    off_bottom = standing(4.0, ((inf, 0.02),), 1900.0, 2000.0, survey)
    assert off_bottom.above_bit_m == pytest.approx(50.0)
    assert standing(1.0, ((inf, 0.02),), 1900.0, 2000.0, survey).above_bit_m == 0.0
    assert isnan(standing(4.0, ((inf, 0.02),), 3500.0, 3500.0, survey).above_bit_m), "below the survey nobody knows"


def test_without_a_depth_it_stands_on_bottom_and_its_top_isnt_known() -> None:
    where = standing(4.0, ((inf, 0.02),))
    assert (where.length_m, where.above_bit_m) == pytest.approx((200.0, 200.0))
    assert isnan(where.top_m)
    through = standing(4.0, ((inf, 0.02),), survey=Survey((0.0, 1000.0), (0.0, 1000.0)))
    assert through.length_m == pytest.approx(200.0)
    assert isnan(through.above_bit_m)


@given(st.floats(300.0, 2300.0), st.floats(0.1, 5.0))
def test_a_survey_of_a_vertical_well_changes_nothing(bit: float, gain: float) -> None:
    found = pieces(HOLE, STRING, bit, bit + 50.0)
    plain = standing(gain, found, bit, bit + 50.0)
    surveyed = standing(gain, found, bit, bit + 50.0, Survey((0.0, 5000.0), (0.0, 5000.0)))
    assert plain.above_bit_m == pytest.approx(surveyed.above_bit_m, abs=1e-6)
    assert plain.top_m == pytest.approx(surveyed.top_m, rel=1e-12)


# --- what it weighs


def test_weight_by_hand() -> None:
    # 1500 kg/m3, 100 m high, 0.8 MPa between the pressures: 1500 − 800 000/980.665 = 684.2 kg/m3.
    assert density(1500.0, 2e6, 2.8e6, 100.0) == pytest.approx(684.23, abs=0.01)
    assert density(1500.0, 2e6, 2e6, 100.0) == 1500.0
    assert density(1500.0, 2e6, 1.9e6, 100.0) > 1500.0, "the casing's is the lower one: what came in is heavier"


@given(MUDS, MUDS, HEIGHTS, PRESSURES, st.floats(0.0, 3000.0))
def test_both_columns_press_alike_on_the_bit(mud: float, came_in: float, high: float, pipe: float, above: float) -> None:
    inside = pipe + mud * GRAVITY * (high + above)
    casing = inside - mud * GRAVITY * above - came_in * GRAVITY * high
    if casing < 0.0:
        return
    assert density(mud, pipe, casing, high) == pytest.approx(came_in, rel=1e-6)


@pytest.mark.parametrize(("about", "words", "arguments"), [
    ("casing", "less than nothing", (1500.0, 0.0, 1.5e6, 100.0)), ("pipe", "below nothing", (1500.0, -1.0, 1e6, 100.0)),
    ("casing", "below nothing", (1500.0, 0.0, -1.0, 100.0)), ("mud", "more than nothing", (0.0, 0.0, 1e5, 100.0)),
    ("height", "more than nothing", (1500.0, 0.0, 1e5, 0.0))])
def test_a_weight_that_cant_be_is_refused_at_its_argument(about: str, words: str, arguments: tuple[float, ...]) -> None:
    with pytest.raises(ImpossibleError, match=words) as caught:
        density(*arguments)
    assert caught.value.about == about


def test_what_isnt_known_stays_unknown() -> None:
    for place in range(4):
        arguments = [1500.0, 2e6, 2.5e6, 100.0]
        arguments[place] = nan
        assert isnan(density(*arguments))
    assert isnan(height(nan, ((inf, 0.02),)))
    assert isnan(height(1.0, ((inf, nan),)))
    assert isnan(height(1.0, ((nan, 0.02), (inf, 0.02))))
    assert isnan(standing(nan, ((inf, 0.02),), 100.0, 100.0).above_bit_m)
    assert isnan(standing(nan, ((inf, 0.02),), 100.0, 100.0, Survey((0.0, 1000.0), (0.0, 1000.0))).above_bit_m)
