"""What the Rig page shows while a tank, a pump and the well are described, against sums done by hand."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from builders import BBL, BBL_FT, FT, IN
from dipbook.composing.rig_views import pump_sketch, tank_sketch, well_view
from dipbook.pumps import triplex_output
from dipbook.rig.parsing import check
from dipbook.rig.proposal import Proposal

DEMO = Path(__file__).parents[2] / "demo_data"
TEXT = (DEMO / "rig-larkspur.toml").read_text(encoding="utf-8")
TRIPS = (DEMO / "rig-larkspur-trips.toml").read_text(encoding="utf-8")
SUCTION, SETTLING, TRIP = 4, 1, 8


def looked(text: str, **typed: str):
    """typed: tank_4_brim="8 ft"."""
    made = Proposal(text)
    for place, value in typed.items():
        made = made.with_value(tuple(place.replace("__", " ").split("_")), value)
    return check(made.text)


def test_a_box_holds_its_area_at_every_level() -> None:
    found = tank_sketch(looked(TEXT), 0)
    assert found is not None
    assert found.even
    assert [line.area_m2 for line in found.lines] == pytest.approx([80 * FT**2] * 4)
    assert found.lines[0].area_m2 * IN / BBL == pytest.approx(1.1874, abs=1e-4), "80 sq ft × 1/12 ft / 5.6146 cu ft/bbl"
    assert found.full_m3 == pytest.approx(80 * 8.5 * FT**3)
    assert found.usable_m3 == pytest.approx(80 * 7.5 * FT**3), "12 in of heel"
    assert found.has_brim
    assert found.has_heel


def test_internals_take_their_share() -> None:
    found = tank_sketch(looked(TEXT), SUCTION)
    assert found is not None
    net = 1.0 - 1.5 * BBL / (20 * 8 * 9 * FT**3)
    assert found.full_m3 == pytest.approx(20 * 8 * 8.5 * FT**3 * net)
    wrong = tank_sketch(looked(TEXT, tank_4_internals="many"), SUCTION)
    assert wrong is not None
    assert (wrong.full_m3, wrong.usable_m3) == (None, None), "what it holds isn't known while they don't read"


def test_a_strapped_tank_says_each_level() -> None:
    found = tank_sketch(looked(TEXT), SETTLING)
    assert found is not None
    assert not found.even
    assert found.lines[0].area_m2 * IN / BBL == pytest.approx((42.75 - 25.65) / 12)
    assert found.lines[3].volume_m3 / BBL == pytest.approx(111.14 + 17.1 * 1.5)


def test_a_sharp_floor_is_not_even_however_upright_it_is_above() -> None:
    text = TEXT.replace('kind = "box"\nlength = "10 ft"\nwidth = "8 ft"\nheight = "9 ft"',
                        'kind = "v bottom"\nlength = "10 ft"\nwidth = "8 ft"\nfloor_width = "0 ft"\n'
                        'slope_height = "1 ft"\nheight = "9 ft"')
    found = tank_sketch(check(text), 0)
    assert found is not None
    assert found.lines[0].area_m2 == pytest.approx(found.lines[3].area_m2)
    assert not found.even


@pytest.mark.parametrize(("place", "value"), [("tank_0_shape_width", ""), ("tank_0_shape_width", "0 ft"),
                                              ("tank_0_shape_height", "wide")])
def test_a_shape_that_does_not_read_has_no_picture(place: str, value: str) -> None:
    assert tank_sketch(looked(TEXT, **{place: value}), 0) is None


def test_a_brim_above_the_top_is_left_out_of_the_picture() -> None:
    found = tank_sketch(looked(TEXT, tank_0_brim="12 ft"), 0)
    assert found is not None
    assert not found.has_brim
    assert found.full_m3 == pytest.approx(80 * 9 * FT**3), "to the top of the shape"


def test_a_row_that_is_not_there_has_no_picture() -> None:
    assert tank_sketch(looked(TEXT), 99) is None
    assert pump_sketch(looked(TEXT), 99).counts_m3 is None


def test_a_pump_by_its_measures_and_by_what_was_typed() -> None:
    assert pump_sketch(looked(TEXT), 0).counts_m3 == pytest.approx(0.1018 * BBL)
    measured = triplex_output(6 * IN, 12 * IN, 0.97)
    assert pump_sketch(looked(TEXT), 1).counts_m3 == pytest.approx(measured)
    both = pump_sketch(looked(TEXT, pump_1_output="0.1 bbl"), 1)
    assert (both.typed_m3, both.measured_m3) == (pytest.approx(0.1 * BBL), pytest.approx(measured))
    assert both.counts_m3 == both.typed_m3
    assert pump_sketch(looked(TEXT, pump_1_liner="6"), 1).counts_m3 is None


def circle(diameter_in: float) -> float:
    return pi / 4 * (diameter_in * IN) ** 2


def test_the_well_by_hand() -> None:
    """Bit at 9,000 ft: 600 ft of collars, 900 ft of heavy-weight, 7,500 ft of drill pipe; shoe at 4,980 ft."""
    view = well_view(check(TRIPS), 9000 * FT)
    casing, hole = circle(12.415), circle(12.25 * 1.03)
    bores = circle(2.8125) * 600 * FT, circle(3.0) * 900 * FT, circle(4.276) * 7500 * FT
    steels = 0.0545 * BBL_FT * 600 * FT, 0.01795 * BBL_FT * 900 * FT, 0.00759 * BBL_FT * 7500 * FT
    assert view.steel_m3 == pytest.approx(sum(steels))
    assert view.to_bit_m3 == pytest.approx(sum(bores))
    assert view.bore_m3 == view.to_bit_m3
    whole = casing * 4980 * FT + hole * 4020 * FT - sum(steels) - sum(bores)
    assert view.annulus_m3 == pytest.approx(whole)
    assert view.bottoms_up_m3 == pytest.approx(whole)
    assert view.below_bit_m3 == pytest.approx(hole * 766 * FT)
    assert view.hole_m3 == pytest.approx(casing * 4980 * FT + hole * 4786 * FT)
    drill_pipe = 0.00759 * BBL_FT + circle(4.276)
    assert view.sections[0].annulus_m3 == pytest.approx((casing - drill_pipe) * 4980 * FT)
    assert [(s.section.name, s.end) for s in view.sections] == [("13 3/8 casing", "shoe"), ("12 1/4 hole", "bottom")]
    assert [(round(p.top_m / FT), round(p.bottom_m / FT)) for p in view.parts] == [
        (8400, 9000), (7500, 8400), (0, 7500)]
    (strokes,) = view.strokes
    assert strokes.down == pytest.approx(sum(bores) / (0.102 * BBL))
    assert strokes.up == pytest.approx(whole / (0.102 * BBL))
    assert view.remarks == ()


def test_parts_that_are_still_above_the_rotary_are_not_in_the_hole() -> None:
    view = well_view(check(TRIPS), 1000 * FT)
    assert [p.top_m is None for p in view.parts] == [False, False, True]
    assert view.sections[1].annulus_m3 is None, "the bit is above it"
    assert view.parts[1].top_m == 0.0


def test_what_keeps_something_unknown_is_said() -> None:
    nowhere = well_view(check(TRIPS), None)
    assert nowhere.remarks == ("The log has no bit depth: type one to see the string in the hole.",)
    assert (nowhere.annulus_m3, nowhere.bottoms_up_m3, nowhere.to_bit_m3) == (None, None, None)
    assert nowhere.hole_m3 is not None
    deep = well_view(check(TRIPS), 9800 * FT)
    assert "deeper than the sections" in deep.remarks[0]
    assert (deep.annulus_m3, deep.bottoms_up_m3, deep.below_bit_m3) == (None, None, None)
    assert deep.to_bit_m3 is not None, "the string is long enough"
    short = well_view(looked(TRIPS, string_2_length="100 ft"), 9000 * FT)
    assert any("deeper than the string" in said for said in short.remarks)
    assert (short.steel_m3, short.bottoms_up_m3) == (None, None)
    bare = well_view(check(TEXT[:TEXT.index("[[string]]")] + TEXT[TEXT.index("[drain_back]"):]), 1000 * FT)
    assert bare.remarks == ("The rig's description has no sections of the hole yet.",
                            "The rig's description has no string yet.")
    broken = well_view(looked(TRIPS, section_0_bottom="deep"), 9000 * FT)
    assert broken.remarks[0] == "The hole is drawn once all its rows can be read."
    wide = well_view(looked(TRIPS, section_1_diameter="7 in"), 9000 * FT)
    assert any("wider than the hole" in said for said in wide.remarks)
    assert (wide.annulus_m3, wide.bottoms_up_m3) == (None, None)
    assert [s.annulus_m3 for s in wide.sections] == [None, None]


def test_where_steel_and_bore_are_from_is_said() -> None:
    origins = [p.origin for p in well_view(check(TRIPS), None).parts]
    assert origins[0] == ("collar 8 x 2 13/16: steel by its data sheet (as the catalogue), bore by the catalogue"), (
        "0.0545 bbl/ft is its tube, rounded")
    more = well_view(looked(TRIPS, string_0_steel="0.06 bbl/ft"), None).parts[0].origin
    assert "steel by its data sheet (10 % more than the catalogue)" in more
    own = looked(TRIPS.replace('pipe = "5 19.50 NC50"\nsteel = "0.00759 bbl/ft"',
                               'steel = "0.00759 bbl/ft"\nbore = "0.0178 bbl/ft"'))
    assert well_view(own, None).parts[2].origin == "steel and bore by its data sheet"
    listed = looked(TRIPS, string_2_steel="")
    assert well_view(listed, None).parts[2].origin == "by the catalogue: 5 19.50 NC50"


def test_a_liner_hangs_in_the_casing_above_and_has_the_shoe() -> None:
    made, sign = Proposal(TRIPS).with_row("section", "0")
    for key, value in (("name", "9 5/8 liner"), ("kind", "liner"), ("bottom", "8000 ft"), ("diameter", "8.681 in")):
        made = made.with_value(("section", sign, key), value)
    view = well_view(check(made.text), None)
    assert [s.end for s in view.sections] == ["liner top", "shoe", "bottom"]
