"""The string from the bit up and the annulus round it, worked by hand, and what holds of any string in any hole."""

from __future__ import annotations

from math import inf, isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.factors import FOOT, INCH
from dipbook.tubulars import area, find, tube_only
from dipbook.well import Hole, Part, Section, String, annulus, of

IN, FT = float(INCH), float(FOOT)


def bbl(m3: float) -> float:
    return to_unit(m3, "bbl")


def part(name: str, steel: float, bore: float, length: float = inf) -> Part:
    """A part by its steel and bore [bbl/ft] and its length [ft]."""
    return Part(name, "drill pipe", from_unit(steel, "bbl/ft"), from_unit(bore, "bbl/ft"), length * FT)


def plain(od_in: float, length_ft: float = inf) -> Part:
    """A pipe whose closed volume is that of its outside: half of its diameter is bore."""
    od = od_in * IN
    return Part(f"{od_in:g} in", "drill pipe", tube_only(od, od / 2), area(od / 2), length_ft * FT)


COLLARS, HEAVY, PIPE = part("collars", 0.0545, 0.0077, 600), part("heavy", 0.018, 0.0087, 900), part("pipe", 0.0076, 0.0178)
TAPERED = String((COLLARS, HEAVY, PIPE))


# --- from the bit up


def test_a_tapered_string_is_the_sum_of_its_parts() -> None:
    # Bit at 10 000 ft: 600 ft collars 32.70, 900 ft heavy-weight 16.20, 8500 ft pipe 64.60 bbl: steel 113.50.
    # Bore: 600 × 0.0077 = 4.62, 900 × 0.0087 = 7.83, 8500 × 0.0178 = 151.30: 163.75. Closed: 277.25.
    assert bbl(TAPERED.steel(10_000 * FT)) == pytest.approx(113.50, rel=1e-9)
    assert bbl(TAPERED.bore(10_000 * FT)) == pytest.approx(163.75, rel=1e-9)
    assert bbl(TAPERED.closed(10_000 * FT)) == pytest.approx(277.25, rel=1e-9)


def test_with_little_in_the_hole_it_is_the_parts_next_to_the_bit() -> None:
    # 1000 ft: all 600 ft of collars and 400 ft of heavy-weight: 32.70 + 7.20 = 39.90; 400 ft: 21.80 bbl.
    assert bbl(TAPERED.steel(1000 * FT)) == pytest.approx(39.90, rel=1e-9)
    assert bbl(TAPERED.steel(400 * FT)) == pytest.approx(21.80, rel=1e-9)
    assert TAPERED.steel(0.0) == TAPERED.bore(0.0) == TAPERED.closed(0.0) == 0.0


def test_only_above_a_distance_from_the_bit() -> None:
    # Between 500 and 2000 ft above the bit: 100 ft of collars 5.45, 900 of heavy-weight 16.20, 500 of pipe 3.80.
    assert bbl(TAPERED.steel(2000 * FT, 500 * FT)) == pytest.approx(25.45, rel=1e-9)
    assert bbl(TAPERED.bore(2000 * FT, 500 * FT)) == pytest.approx(0.77 + 7.83 + 8.90, rel=1e-9)
    assert [(p.name, round(length / FT, 6)) for p, length in TAPERED.spans(500 * FT, 2000 * FT)] == [
        ("collars", 100.0), ("heavy", 900.0), ("pipe", 500.0)]


def test_a_stand_of_pipe_pulled_takes_pipes_steel_and_not_the_strings_mean() -> None:
    # 93 ft out from 10 000 ft: at the top all of it is pipe: 93 × 0.0076 = 0.7068 bbl; closed 93 × 0.0254 = 2.3622.
    # Pulled from 550 ft it is collars: 93 × 0.0545 = 5.0685.
    assert bbl(TAPERED.steel(10_000 * FT) - TAPERED.steel(9907 * FT)) == pytest.approx(0.7068, rel=1e-6)
    assert bbl(TAPERED.closed(10_000 * FT) - TAPERED.closed(9907 * FT)) == pytest.approx(2.3622, rel=1e-6)
    assert bbl(TAPERED.steel(550 * FT) - TAPERED.steel(457 * FT)) == pytest.approx(5.0685, rel=1e-6)


def test_the_length_of_a_string_is_its_parts() -> None:
    assert String((COLLARS, HEAVY)).length_m == pytest.approx(1500 * FT)
    assert TAPERED.length_m == inf
    assert String(()).length_m == 0.0


def test_a_string_too_short_has_no_volume_at_that_depth() -> None:
    short = String((COLLARS, HEAVY))
    assert bbl(short.steel(1500 * FT)) == pytest.approx(48.90)
    for volume in (short.steel, short.bore, short.closed):
        assert not isnan(volume(1500 * FT + 1e-9)), "a rounding isn't longer"
        assert isnan(volume(1501 * FT))
        assert isnan(volume(1501 * FT, 1400 * FT))


def test_an_unknown_depth_never_gives_a_volume() -> None:
    for volume in (TAPERED.steel, TAPERED.bore, TAPERED.closed):
        assert isnan(volume(nan))
        assert isnan(volume(1000.0, nan))


def test_the_part_at_a_depth() -> None:
    # Bit at 10 000 ft: collars from 9400 ft, heavy-weight from 8500 ft, pipe above.
    found = [TAPERED.at(10_000 * FT, depth * FT) for depth in (0, 8499, 8501, 9399, 9401, 10_000, 10_001)]
    assert found == [PIPE, PIPE, HEAVY, HEAVY, COLLARS, COLLARS, None]
    assert String((COLLARS, HEAVY)).at(5000 * FT, 100.0) is None, "above the top of what there is"
    assert TAPERED.at(nan, 100.0) is None
    assert TAPERED.at(1000.0, nan) is None


def test_a_part_of_a_tubular_takes_the_data_sheets_numbers_first() -> None:
    pipe = find("5 19.50 NC50")
    assert of(pipe) == Part(pipe.name, "drill pipe", pipe.steel_m2, pipe.bore_m2, inf)
    assert of(pipe, 100.0, steel_m2=0.0045) == Part(pipe.name, "drill pipe", 0.0045, pipe.bore_m2, 100.0)
    assert of(pipe, bore_m2=0.0).bore_m2 == 0.0, "zero is a number, not a blank"
    assert of(pipe).closed_m2 == pipe.closed_m2


@pytest.mark.parametrize(("steel", "bore", "length"), [
    (0.0, 0.01, 1.0), (-0.1, 0.01, 1.0), (nan, 0.01, 1.0), (inf, 0.01, 1.0), (0.01, -0.01, 1.0), (0.01, nan, 1.0), (0.01, inf, 1.0),
    (0.01, 0.01, 0.0), (0.01, 0.01, -1.0), (0.01, 0.01, nan)])
def test_a_part_without_steel_or_length_is_refused(steel: float, bore: float, length: float) -> None:
    with pytest.raises(ValueError, match=r"^odd: steel and length must be above zero, and its bore not below it$"):
        Part("odd", "drill pipe", steel, bore, length)


def test_only_the_part_at_the_top_may_be_without_a_length() -> None:
    with pytest.raises(ValueError, match="only the part at the top"):
        String((PIPE, COLLARS))


# --- the annulus

CASED = Section("casing", "casing", 0.0, 4500 * FT, 12.615 * IN)
OPEN = Section("hole", "open hole", 4500 * FT, 10_000 * FT, 12.25 * IN)
HOLE = Hole((CASED, OPEN))
PLAIN = String((plain(8, 600), plain(5)))


def test_the_annulus_of_one_plain_pipe_by_hand() -> None:
    # (12.25² − 5²)/1029.4 = 125.0625/1029.4 = 0.12149 bbl/ft, × 1000 ft.
    hole = Hole((Section("hole", "open hole", 0.0, 1000 * FT, 12.25 * IN),))
    ((section, mud),) = annulus(hole, String((plain(5),)), 1000 * FT)
    assert section is hole.sections[0]
    assert bbl(mud) == pytest.approx(125.0625 / 1029.4 * 1000, rel=2e-5)
    assert bbl(mud) == pytest.approx(121.49, abs=0.005)


def test_the_annulus_by_section_with_a_tapered_string_by_hand() -> None:
    # On bottom, 10 000 ft: casing (12.615² − 5²)/1029.4 × 4500 = 586.38; hole round pipe (12.25² − 5²)/1029.4 × 4900 =
    # 595.30 and round collars (12.25² − 8²)/1029.4 × 600 = 50.16: 645.47 bbl.
    (cased, in_casing), (drilled, in_hole) = annulus(HOLE, PLAIN, 10_000 * FT)
    assert (cased, drilled) == (CASED, OPEN)
    assert bbl(in_casing) == pytest.approx(134.138225 / 1029.4 * 4500, rel=2e-5)
    assert bbl(in_hole) == pytest.approx(125.0625 / 1029.4 * 4900 + 86.0625 / 1029.4 * 600, rel=2e-5)


def test_collars_across_a_shoe_are_in_both_sections() -> None:
    # Bit at 4800 ft: collars from 4200 to 4800. Casing: 4200 ft round 5 in and 300 ft round 8 in; hole: 300 ft round 8 in.
    (_, in_casing), (_, in_hole) = annulus(HOLE, PLAIN, 4800 * FT)
    round_collars = (12.615**2 - 8**2) / 1029.4
    assert bbl(in_casing) == pytest.approx(134.138225 / 1029.4 * 4200 + round_collars * 300, rel=2e-5)
    assert bbl(in_hole) == pytest.approx(86.0625 / 1029.4 * 300, rel=2e-5)


def test_a_bit_in_the_casing_has_an_annulus_there_alone() -> None:
    ((section, mud),) = annulus(HOLE, PLAIN, 500 * FT)
    assert section is CASED
    assert bbl(mud) == pytest.approx((12.615**2 - 8**2) / 1029.4 * 500, rel=2e-5)
    assert annulus(HOLE, PLAIN, 0.0) == ()


@pytest.mark.parametrize(("string", "bit"), [(PLAIN, 10_001 * FT), (PLAIN, nan), (PLAIN, inf), (String((plain(8, 600),)), 5000 * FT)],
                         ids=["below the hole", "unknown", "endless", "a string too short"])
def test_an_annulus_that_isnt_known_is_nan_in_every_section_and_never_a_hole_without_pipe(string: String, bit: float) -> None:
    found = annulus(HOLE, string, bit)
    assert [section for section, _ in found] == [CASED, OPEN]
    assert all(isnan(mud) for _, mud in found)


def test_pipe_wider_than_its_hole_is_not_hidden() -> None:
    # (6² − 8²)/1029.4 × 100 ft: below zero, not clamped.
    ((_, mud),) = annulus(Hole((Section("hole", "open hole", 0.0, 100 * FT, 6 * IN),)), String((plain(8),)), 100 * FT)
    assert bbl(mud) == pytest.approx(-28 / 1029.4 * 100, rel=2e-5)


# --- whatever the string and the hole

PARTS = st.tuples(st.floats(1e-4, 0.05), st.floats(0.0, 0.05), st.floats(1.0, 3000.0))


def built(parts: list[tuple[float, float, float]], *, endless: bool = False) -> String:
    made = [Part(str(n), "drill pipe", *sizes) for n, sizes in enumerate(parts)]
    if endless:
        made[-1] = Part("top", "drill pipe", *parts[-1][:2])
    return String(tuple(made))


@given(st.lists(PARTS, min_size=1, max_size=5), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_volumes_add_up_over_any_split_and_closed_is_steel_and_bore(parts: list[tuple[float, float, float]], a: float, b: float) -> None:
    string = built(parts)
    bit = a * string.length_m
    cut = b * bit
    for volume in (string.steel, string.bore, string.closed):
        assert volume(cut) + volume(bit, cut) == pytest.approx(volume(bit), rel=1e-9, abs=1e-12)
    assert string.closed(bit, cut) == string.steel(bit, cut) + string.bore(bit, cut)
    assert string.steel(string.length_m) == pytest.approx(sum(steel * length for steel, _, length in parts), rel=1e-9)


@given(st.lists(PARTS, min_size=1, max_size=5), st.integers(0, 4), st.floats(0.01, 0.99), st.floats(0.0, 20_000.0))
def test_a_part_cut_in_two_of_the_same_changes_nothing(parts: list[tuple[float, float, float]], which: int, share: float, bit: float) -> None:
    steel, bore, length = parts[which % len(parts)]
    n = which % len(parts)
    cut = [*parts[:n], (steel, bore, share * length), (steel, bore, (1 - share) * length), *parts[n + 1:]]
    whole, split = built(parts, endless=True), built(cut, endless=True)
    assert split.steel(bit) == pytest.approx(whole.steel(bit), rel=1e-9, abs=1e-9)
    assert split.closed(bit) == pytest.approx(whole.closed(bit), rel=1e-9, abs=1e-9)


@given(st.lists(PARTS, min_size=1, max_size=5), st.floats(0.0, 20_000.0), st.floats(0.0, 20_000.0))
def test_moving_from_one_depth_to_another_is_the_difference_and_what_passed_the_rotary(
        parts: list[tuple[float, float, float]], one: float, other: float) -> None:
    string = built(parts, endless=True)
    above, below = sorted((one, other))
    for volume in (string.steel, string.bore, string.closed):
        moved = volume(below) - volume(above)
        assert moved >= -1e-9, "what goes in never takes less"
        assert moved == pytest.approx(volume(below, above), rel=1e-9, abs=1e-6)
        # Worked out apart: each part's overlap with what passed.
        begin, by_hand = 0.0, 0.0
        for p in string.parts:
            per = {string.steel: p.steel_m2, string.bore: p.bore_m2, string.closed: p.steel_m2 + p.bore_m2}[volume]
            by_hand += per * max(0.0, min(below, begin + p.length_m) - max(above, begin))
            begin += p.length_m
        assert moved == pytest.approx(by_hand, rel=1e-9, abs=1e-6)


@given(st.lists(st.tuples(st.floats(1.0, 2000.0), st.floats(0.05, 0.8), st.floats(0.0, 0.3)), min_size=1, max_size=5),
       st.lists(PARTS, min_size=1, max_size=5), st.floats(0.0, 1.0))
def test_the_hole_is_its_annulus_its_steel_its_bore_and_what_is_below_the_bit(
        sizes: list[tuple[float, float, float]], parts: list[tuple[float, float, float]], share: float) -> None:
    depth, sections = 0.0, []
    for n, (length, diameter, washout) in enumerate(sizes):
        sections.append(Section(str(n), "open hole", depth, depth + length, diameter, washout))
        depth += length
    hole, string = Hole(tuple(sections)), built(parts, endless=True)
    bit = share * hole.bottom_m
    mud = sum(volume for _, volume in annulus(hole, string, bit))
    total = mud + string.steel(bit) + string.bore(bit) + hole.volume(bit, hole.bottom_m)
    scale = max(1.0, string.closed(bit))
    assert total == pytest.approx(hole.volume(0.0, hole.bottom_m), rel=1e-9, abs=1e-9 * scale)
