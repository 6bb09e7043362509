"""Where a pill is: by hand, and against the volumes of the string and the annulus."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import BBL, FT, IN
from dipbook.pumps import strokes_for
from dipbook.well import Hole, Part, Section, String, annulus, bottoms_up, place, surface_to_bit

PIPE = String((Part("collars", "collar", 0.05 * BBL / FT, 0.0087 * BBL / FT, 600 * FT),
               Part("pipe", "drill pipe", 0.0076 * BBL / FT, 0.01776 * BBL / FT)))
HOLE = Hole((Section("casing", "casing", 0.0, 5000 * FT, 12.415 * IN), Section("open", "open hole", 5000 * FT, 10_000 * FT, 12.25 * IN)))
BIT = 10_000 * FT


def test_surface_to_bit_of_a_published_string() -> None:
    """9,400 ft at 0.01776 and 600 ft at 0.0087 bbl/ft: 166.94 + 5.22 = 172.16 bbl, 1,266 strokes of 0.136 bbl (a worked
    example of the field, from memory; it prints 172.18)."""
    assert surface_to_bit(PIPE, BIT) / BBL == pytest.approx(172.164, abs=1e-3)
    assert strokes_for(surface_to_bit(PIPE, BIT), 0.136 * BBL) == pytest.approx(1266, abs=0.5)


@pytest.mark.parametrize(("bbl", "where", "feet"), [
    (0.0, "string", 0.0), (88.8, "string", 5000.0), (166.944, "string", 9400.0), (169.554, "string", 9700.0)])
def test_on_its_way_down_by_hand(bbl: float, where: str, feet: float) -> None:
    """88.8/0.01776 = 5,000 ft; the pipe holds 166.944; 2.61 more are 300 ft of the collars' bore."""
    found = place(bbl * BBL, HOLE, PIPE, BIT)
    assert (found.where, found.depth_m / FT) == (where, pytest.approx(feet, abs=1e-6))
    assert found.to_bit_m3 / BBL == pytest.approx(172.164 - bbl, abs=1e-3)


def test_up_the_annulus_by_hand() -> None:
    """Beside 600 ft of collars 12.25²/1029.414 − 0.0587 = 0.08707 bbl/ft: 26.12 bbl past the bit are 300 ft up."""
    beside = (12.25**2 / 1029.4142 - 0.0587) * 300
    found = place((172.164 + beside) * BBL, HOLE, PIPE, BIT)
    assert (found.where, found.depth_m / FT, found.to_bit_m3) == ("annulus", pytest.approx(9700, abs=0.01), 0.0)
    whole = surface_to_bit(PIPE, BIT) + bottoms_up(HOLE, PIPE, BIT)
    assert place(whole * 1.001, HOLE, PIPE, BIT).where == "surface"
    assert found.to_surface_m3 == pytest.approx(whole - (172.164 + beside) * BBL, abs=1e-3)


def test_bottoms_up_is_the_annulus() -> None:
    assert bottoms_up(HOLE, PIPE, BIT) == pytest.approx(sum(v for _, v in annulus(HOLE, PIPE, BIT)))


@settings(max_examples=80, deadline=None)
@given(st.floats(10, 10_000), st.floats(0, 2))
def test_what_is_pumped_and_what_is_left_are_the_whole_way(feet: float, share: float) -> None:
    bit = feet * FT
    whole = surface_to_bit(PIPE, bit) + bottoms_up(HOLE, PIPE, bit)
    found = place(share * whole, HOLE, PIPE, bit)
    assert share * whole + found.to_surface_m3 == pytest.approx(max(share, 1.0) * whole, rel=1e-9)
    assert 0.0 <= found.depth_m <= bit + 1e-6
    if found.where == "string":
        assert PIPE.bore(bit, bit - found.depth_m) == pytest.approx(share * whole, rel=1e-6, abs=1e-9)


def test_nothing_is_told_where_it_is_not_known() -> None:
    short = String((Part("pipe", "drill pipe", 1e-3, 3e-3, 100.0),))
    for found in (place(1.0, HOLE, short, BIT), place(1.0, HOLE, PIPE, 11_000 * FT), place(math.nan, HOLE, PIPE, BIT),
                  place(1.0, Hole((Section("slim", "open hole", 0.0, BIT, 2 * IN),)), PIPE, BIT)):
        assert found.where == "unknown"
        assert math.isnan(found.to_surface_m3)
    assert math.isnan(bottoms_up(HOLE, short, BIT))
