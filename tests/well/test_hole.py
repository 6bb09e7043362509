"""The hole in sections, worked by hand: D²/1029.414 in bbl/ft (9702 in3 a barrel, π/4, 12 in a foot)."""

from __future__ import annotations

from itertools import pairwise
from math import inf, isnan, nan, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.quantities import to_unit
from dipbook.quantities.factors import FOOT, INCH
from dipbook.well import Hole, Section

IN, FT = float(INCH), float(FOOT)

CASING = Section("9 5/8 casing", "casing", 0.0, 8000 * FT, 8.681 * IN)
LINER = Section("7 liner", "liner", 8000 * FT, 10_000 * FT, 6.184 * IN)
OPEN = Section("6 in hole", "open hole", 10_000 * FT, 10_500 * FT, 6.0 * IN)
HOLE = Hole((CASING, LINER, OPEN))
# bbl: 8.681²/1029.414 × 8000 = 0.0732065 × 8000 = 585.652
#      6.184²/1029.414 × 2000 = 0.0371490 × 2000 = 74.298
#      6²/1029.414 × 500 = 0.0349714 × 500 = 17.486
PARTS = (585.652, 74.298, 17.486)


def bbl(m3: float) -> float:
    return to_unit(m3, "bbl")


def test_a_section_holds_its_circle() -> None:
    # A metre of 0.2 m: π/4 × 0.04 = 0.0314159 m3.
    assert Section("s", "casing", 0.0, 1.0, 0.2).capacity_m2 == pytest.approx(0.01 * pi, rel=1e-12)


def test_a_tenth_of_washout_on_the_diameter_is_21_percent_of_volume() -> None:
    gauge = Section("s", "open hole", 0.0, 100.0, 12.25 * IN)
    washed = Section("s", "open hole", 0.0, 100.0, 12.25 * IN, washout=0.10)
    assert washed.capacity_m2 / gauge.capacity_m2 == pytest.approx(1.21, rel=1e-12)
    # 12.25²/1029.414 = 0.145775 bbl/ft; washed 0.176387.
    assert to_unit(washed.capacity_m2, "bbl/ft") == pytest.approx(0.176387, abs=1e-6)
    assert Hole((washed,)).volume(0.0, 100.0) == pytest.approx(1.21 * Hole((gauge,)).volume(0.0, 100.0), rel=1e-12)


def test_the_hole_is_the_sum_of_its_sections() -> None:
    assert bbl(HOLE.volume(0.0, HOLE.bottom_m)) == pytest.approx(sum(PARTS), abs=0.002)
    for section, by_hand in zip(HOLE.sections, PARTS, strict=True):
        assert bbl(HOLE.volume(section.top_m, section.bottom_m)) == pytest.approx(by_hand, abs=0.001)
    assert HOLE.bottom_m == 10_500 * FT


def test_between_two_depths_each_section_counts_for_what_lies_there() -> None:
    # 7500 to 10 200 ft: 500 ft of casing 36.603, all of the liner 74.298, 200 ft of hole 6.994 bbl.
    assert bbl(HOLE.volume(7500 * FT, 10_200 * FT)) == pytest.approx(36.603 + 74.298 + 6.994, abs=0.002)
    found = [(s.name, (b - a) / FT) for s, a, b in HOLE.between(7500 * FT, 10_200 * FT)]
    assert [name for name, _ in found] == ["9 5/8 casing", "7 liner", "6 in hole"]
    assert [length for _, length in found] == pytest.approx([500, 2000, 200])


def test_between_a_sections_ends_there_is_that_section_alone() -> None:
    assert [s for s, _, _ in HOLE.between(8000 * FT, 10_000 * FT)] == [LINER]
    assert list(HOLE.between(500.0, 500.0)) == []
    assert HOLE.volume(500.0, 500.0) == 0.0


def test_below_the_bottom_and_above_the_rotary_the_volume_is_unknown() -> None:
    assert isnan(HOLE.volume(0.0, 10_501 * FT))
    assert isnan(HOLE.volume(-1.0, 100.0))
    assert not isnan(HOLE.volume(0.0, 10_500 * FT + 1e-9)), "a rounding isn't deeper"


@pytest.mark.parametrize(("top", "bottom"), [(nan, 100.0), (0.0, nan), (nan, nan), (0.0, inf), (200.0, 100.0), (4000.0, HOLE.bottom_m)])
def test_an_unknown_depth_or_one_past_the_other_never_gives_a_volume(top: float, bottom: float) -> None:
    # A bit deeper than the hole: what is below it isn't nothing, it is unknown. HOLE's bottom is at 3200.4 m.
    assert isnan(HOLE.volume(top, bottom))


def test_the_section_at_a_depth() -> None:
    assert HOLE.at(0.0) is CASING
    assert HOLE.at(8000 * FT - 0.01) is CASING
    assert HOLE.at(8000 * FT) is LINER, "where two meet, the lower one"
    assert HOLE.at(HOLE.bottom_m) is OPEN, "a bit on bottom is in the hole"
    assert HOLE.at(HOLE.bottom_m + 0.01) is None
    assert HOLE.at(-0.01) is None
    assert HOLE.at(nan) is None
    assert Hole(()).at(0.0) is None


def test_a_gap_between_sections_is_refused_with_its_depths() -> None:
    with pytest.raises(ValueError, match=r"^shoe begins at 1010 m, and the section above it ends at 1000 m$"):
        Hole((Section("casing", "casing", 0.0, 1000.0, 0.3), Section("shoe", "open hole", 1010.0, 1500.0, 0.2)))


def test_sections_that_overlap_are_refused() -> None:
    # A liner begins at its hanger, and the casing's section ends there.
    with pytest.raises(ValueError, match=r"^liner begins at 900 m, and the section above it ends at 1000 m$"):
        Hole((Section("casing", "casing", 0.0, 1000.0, 0.3), Section("liner", "liner", 900.0, 1500.0, 0.2)))


def test_a_hole_that_doesnt_begin_at_the_rotary_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^casing begins at 20 m"):
        Hole((Section("casing", "casing", 20.0, 1000.0, 0.3),))


def test_sections_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="begins at"):
        Hole((Section("b", "open hole", 1000.0, 1500.0, 0.2), Section("a", "casing", 0.0, 1000.0, 0.3)))


@pytest.mark.parametrize(("top", "bottom"), [(100.0, 100.0), (100.0, 50.0), (-1.0, 50.0), (nan, 50.0), (0.0, nan), (0.0, inf)])
def test_a_section_without_a_length_is_refused(top: float, bottom: float) -> None:
    with pytest.raises(ValueError, match=r"^s: its bottom must be below its top$"):
        Section("s", "casing", top, bottom, 0.2)


@pytest.mark.parametrize(("diameter", "washout"), [(0.0, 0.0), (-0.2, 0.0), (nan, 0.0), (inf, 0.0), (0.2, -1.0), (0.2, nan), (0.2, inf)])
def test_a_section_without_a_width_is_refused(diameter: float, washout: float) -> None:
    with pytest.raises(ValueError, match=r"^s: its diameter must be above zero$"):
        Section("s", "open hole", 0.0, 10.0, diameter, washout)


def test_no_sections_hold_nothing_and_are_known_to_no_depth() -> None:
    assert Hole(()).bottom_m == 0.0
    assert isnan(Hole(()).volume(0.0, 1.0))


@given(st.lists(st.tuples(st.floats(1.0, 2000.0), st.floats(0.05, 1.0), st.floats(-0.05, 0.5)), min_size=1, max_size=6),
       st.lists(st.floats(0.0, 1.0), min_size=2, max_size=6))
def test_volumes_add_up_over_any_cuts(lengths: list[tuple[float, float, float]], cuts: list[float]) -> None:
    depth, sections = 0.0, []
    for n, (length, diameter, washout) in enumerate(lengths):
        sections.append(Section(str(n), "open hole", depth, depth + length, diameter, washout))
        depth += length
    hole = Hole(tuple(sections))
    ends = sorted({0.0, hole.bottom_m, *(cut * hole.bottom_m for cut in cuts)})
    whole = sum(pi / 4 * (d * (1 + w)) ** 2 * length for length, d, w in lengths)
    assert sum(hole.volume(a, b) for a, b in pairwise(ends)) == pytest.approx(whole, rel=1e-9)
    assert hole.volume(0.0, hole.bottom_m) == pytest.approx(whole, rel=1e-9)
