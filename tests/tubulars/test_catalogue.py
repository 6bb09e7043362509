"""The catalogue of tubulars against a table worked out beside it, the three volumes kept apart, and finding by name.

Of the table: bore and tube alone are geometry, D²/1029.4 [derived]; drill pipe's adjusted weights are of API RP 7G
table 9 [from memory], heavy-weight's are nominal (Lapeyrouse, 2nd ed.) [from memory]; steel is weight / 2747.
"""

from __future__ import annotations

from math import inf, nan, pi

import pytest

from dipbook.errors import DipbookError
from dipbook.quantities import to_unit
from dipbook.quantities.factors import BARREL, FOOT, INCH, POUND
from dipbook.tubulars import (
    CATALOGUE,
    KINDS,
    STEEL_KG_M3,
    Joint,
    Tubular,
    TubularError,
    adjusted_weight,
    area,
    find,
    steel_by_weight,
    tube_only,
)

IN, LB_FT = float(INCH), float(POUND / FOOT)
HALF = 0.51e-5
"""Half of the last digit of five, with what rounding twice may add."""

# name: bore [in], bore, tube alone [bbl/ft], mean weight [lb/ft], steel, closed [bbl/ft].
DRILL_PIPE = {
    "3 1/2 13.30 NC38": (2.764, 0.00742, 0.00448, 13.93, 0.00507, 0.01249),
    "3 1/2 15.50 NC38": (2.602, 0.00658, 0.00532, 16.54, 0.00602, 0.01260),
    "4 14.00 NC40": (3.340, 0.01084, 0.00471, 15.04, 0.00548, 0.01631),
    "4 14.00 NC46": (3.340, 0.01084, 0.00471, 15.85, 0.00577, 0.01661),
    "4 1/2 16.60 NC46": (3.826, 0.01422, 0.00545, 18.37, 0.00669, 0.02091),
    "4 1/2 20.00 NC46": (3.640, 0.01287, 0.00680, 22.09, 0.00804, 0.02091),
    "5 19.50 NC50": (4.276, 0.01776, 0.00652, 20.85, 0.00759, 0.02535),
    "5 25.60 NC50": (4.000, 0.01554, 0.00874, 26.89, 0.00979, 0.02533),
    "5 1/2 21.90 5 1/2FH": (4.778, 0.02218, 0.00721, 23.77, 0.00865, 0.03083),
    "5 1/2 24.70 5 1/2FH": (4.670, 0.02119, 0.00820, 26.33, 0.00959, 0.03077),
    "6 5/8 25.20 6 5/8FH": (5.965, 0.03456, 0.00807, 27.15, 0.00988, 0.04445),
}
HEAVY_WEIGHT = {
    "3 1/2 HW 25.3": (2.0625, 0.00413, None, 25.3, 0.00921, 0.01334),
    "4 HW 29.7": (2.5625, 0.00638, None, 29.7, 0.01081, 0.01719),
    "4 1/2 HW 41.0": (2.75, 0.00735, None, 41.0, 0.01493, 0.02227),
    "5 HW 49.3": (3.0, 0.00874, None, 49.3, 0.01795, 0.02669),
}
# Steel and closed to a digit less; weights at 490 lb/ft3.
COLLARS = {
    "collar 6 1/2 x 2 13/16": (2.8125, 0.00768, 0.03336, 91.8, 0.0334, 0.0410),
    "collar 8 x 2 13/16": (2.8125, 0.00768, 0.05449, 149.9, 0.0545, 0.0622),
    "collar 9 1/2 x 3": (3.0, 0.00874, 0.07893, 217.1, 0.0789, 0.0877),
}
OF_KIND = {kind: [t for t in CATALOGUE.values() if t.kind == kind] for kind in KINDS}


def bbl_ft(m2: float) -> float:
    return to_unit(m2, "bbl/ft")


def lb_ft(kg_m: float) -> float:
    return kg_m / LB_FT


@pytest.mark.parametrize("name", [*DRILL_PIPE, *HEAVY_WEIGHT, *COLLARS])
def test_an_entry_is_the_tables(name: str) -> None:
    bore_in, bore, tube, weight, steel, closed = (DRILL_PIPE | HEAVY_WEIGHT | COLLARS)[name]
    t = CATALOGUE[name]
    digit = 10 * HALF if name in COLLARS else HALF
    assert t.kind == ("drill pipe" if name in DRILL_PIPE else "collar" if name in COLLARS else "heavy-weight")
    assert t.id_m / IN == pytest.approx(bore_in)  # [D] for drill pipe and collars, [M] for heavy-weight
    assert lb_ft(t.weight_kg_m) == pytest.approx(weight)  # [M]; collars [D] at 490 lb/ft3
    assert bbl_ft(t.bore_m2) == pytest.approx(bore, abs=HALF)  # [D]
    assert bbl_ft(t.steel_m2) == pytest.approx(steel, abs=digit)  # weight [M] / 2747; collars [D]
    assert bbl_ft(t.closed_m2) == pytest.approx(closed, abs=digit)
    if tube is not None:
        assert bbl_ft(tube_only(t.od_m, t.id_m)) == pytest.approx(tube, abs=HALF)  # [D]


def test_every_drill_pipe_and_heavy_weight_of_the_catalogue_is_in_the_table() -> None:
    assert {t.name for t in OF_KIND["drill pipe"]} == set(DRILL_PIPE)
    assert {t.name for t in OF_KIND["heavy-weight"]} == set(HEAVY_WEIGHT)
    assert {t.name for t in OF_KIND["collar"]} == {*COLLARS, "collar 4 3/4 x 2 1/4"}
    assert sum(len(some) for some in OF_KIND.values()) == len(CATALOGUE), "and of no kind that isn't one"
    assert all(OF_KIND.values())


@pytest.mark.parametrize("t", CATALOGUE.values(), ids=lambda t: t.name)
def test_the_three_volumes_of_an_entry_are_never_one_another(t: Tubular) -> None:
    assert t.closed_m2 == t.steel_m2 + t.bore_m2
    assert t.bore_m2 == pytest.approx(pi / 4 * t.id_m**2, rel=1e-12)
    assert len({t.steel_m2, t.bore_m2, t.closed_m2}) == 3
    assert t.source
    if t.kind in ("collar", "casing", "tubing"):  # no tool joints counted: closed is what the outside takes
        assert t.closed_m2 == pytest.approx(pi / 4 * t.od_m**2, rel=1e-12)
    else:  # tool joints stand out over the tube's outside
        assert t.closed_m2 > 1.02 * pi / 4 * t.od_m**2
        assert t.steel_m2 == pytest.approx(t.weight_kg_m / STEEL_KG_M3, rel=1e-12)


@pytest.mark.parametrize("t", OF_KIND["drill pipe"], ids=lambda t: t.name)
def test_a_tube_alone_is_a_tenth_to_a_quarter_less_than_drill_pipe(t: Tubular) -> None:
    # By the table drill pipe has 12 to 23 % more than its tube, so that a tube has 11 to 19 % less.
    assert 0.10 < 1 - tube_only(t.od_m, t.id_m) / t.steel_m2 < 0.25
    assert 0.115 < t.steel_m2 / tube_only(t.od_m, t.id_m) - 1 < 0.235


@pytest.mark.parametrize("t", OF_KIND["drill pipe"], ids=lambda t: t.name)
def test_the_weight_in_a_drill_pipes_name_lies_between_its_tube_and_its_mean(t: Tubular) -> None:
    # The name's is nominal: more than the tube's plain end, less than with modern tool joints.
    (nominal,) = [float(word) for word in t.name.split() if "." in word]
    assert lb_ft(tube_only(t.od_m, t.id_m) * STEEL_KG_M3) < nominal < lb_ft(t.weight_kg_m)


@pytest.mark.parametrize("t", [*OF_KIND["casing"], *OF_KIND["tubing"]], ids=lambda t: t.name)
def test_casing_and_tubing_weigh_with_their_couplings_a_little_more_than_their_tube(t: Tubular) -> None:
    # A bore with a wrong digit falls out of this. Steel at 490 lb/ft3.
    (nominal,) = [float(t.name.split()[-1])]
    assert lb_ft(t.weight_kg_m) == pytest.approx(nominal)
    tube = lb_ft(tube_only(t.od_m, t.id_m) * 490 * float(POUND / FOOT**3))
    assert 1.0 < nominal / tube < 1.06


# Walls [in] of API 5CT, from memory: the bore again, from the standard's other column.
WALLS = {
    "20 casing 94": 0.438, "13 3/8 casing 54.5": 0.380, "13 3/8 casing 61": 0.430, "13 3/8 casing 68": 0.480, "13 3/8 casing 72": 0.514,
    "9 5/8 casing 36": 0.352, "9 5/8 casing 40": 0.395, "9 5/8 casing 43.5": 0.435, "9 5/8 casing 47": 0.472, "9 5/8 casing 53.5": 0.545,
    "7 casing 23": 0.317, "7 casing 26": 0.362, "7 casing 29": 0.408, "7 casing 32": 0.453, "5 1/2 casing 17": 0.304,
    "5 1/2 casing 20": 0.361, "2 3/8 tubing 4.7": 0.190, "2 7/8 tubing 6.5": 0.217, "3 1/2 tubing 9.3": 0.254, "4 1/2 tubing 12.75": 0.271,
}


@pytest.mark.parametrize("t", [*OF_KIND["casing"], *OF_KIND["tubing"]], ids=lambda t: t.name)
def test_the_bore_of_casing_and_tubing_is_the_outside_less_two_walls(t: Tubular) -> None:
    assert (t.od_m - 2 * WALLS[t.name] * IN) / IN == pytest.approx(t.id_m / IN, abs=1e-6)


@pytest.mark.parametrize("t", OF_KIND["collar"], ids=lambda t: t.name)
def test_collars_weigh_their_geometry_at_490_pounds_a_cubic_foot(t: Tubular) -> None:
    # 2.6725 lb/ft an in2 of OD² − ID² (π/4 · 490/144), to the tenth of a pound.
    assert lb_ft(t.weight_kg_m) == pytest.approx(2.6725 * ((t.od_m / IN) ** 2 - (t.id_m / IN) ** 2), abs=0.06)


@pytest.mark.parametrize("t", CATALOGUE.values(), ids=lambda t: t.name)
def test_the_sizes_in_a_name_are_the_entrys(t: Tubular) -> None:
    words = t.name.removeprefix("collar ").split()
    whole, rest = float(words[0]), words[1:]
    if rest and "/" in rest[0] and rest[0].replace("/", "").isdigit():
        top, bottom = rest[0].split("/")
        whole += float(top) / float(bottom)
    assert t.od_m / IN == pytest.approx(whole)


# Tool joint outside, inside, both tong lengths, elevator upset [in], upsets of a length [lb]: API RP 7G and Spec 7, from
# memory. The other rows of the table have no such inputs at hand.
JOINTS = {
    "3 1/2 13.30 NC38": (4.75, 2.6875, 16.5, 3.875, 4.0),
    "4 14.00 NC46": (6.0, 3.25, 17.0, 4.5, 5.0),
    "4 1/2 16.60 NC46": (6.25, 3.25, 17.0, 4.6875, 8.1),
    "5 19.50 NC50": (6.375, 3.75, 17.0, 5.125, 8.6),
    "5 1/2 21.90 5 1/2FH": (7.0, 4.0, 18.0, 5.6875, 10.6),
    "6 5/8 25.20 6 5/8FH": (8.0, 5.0, 19.0, 6.906, 14.0),
}


def joint(big: float, small: float, length: float, upset: float, pounds: float) -> Joint:
    return Joint(big * IN, small * IN, length * IN, upset * IN, pounds * float(POUND))


@pytest.mark.parametrize("name", JOINTS)
def test_weight_with_tool_joints_is_the_tables_to_015_pounds_a_foot(name: str) -> None:
    t = CATALOGUE[name]
    ours = adjusted_weight(t.od_m, t.id_m, joint(*JOINTS[name]))
    assert lb_ft(ours) == pytest.approx(DRILL_PIPE[name][3], abs=0.15)
    assert bbl_ft(steel_by_weight(ours)) == pytest.approx(DRILL_PIPE[name][4], abs=0.15 / 2747 + HALF)


def test_a_weight_with_tool_joints_worked_by_hand() -> None:
    # 5 in 19.50 NC50. Tube: 10.68 × 0.362 × 4.638 = 17.9313; upsets 8.6 / 29.4 = 0.2925; Wdp = 18.2238 lb/ft.
    # Wtj = 0.222 × 17 (40.6406 − 14.0625) + 0.167 (259.084 − 134.611) − 0.501 × 14.0625 × 1.25
    #     = 100.3058 + 20.7870 − 8.8066 = 112.2862 lb; Ltj = (17 + 2.253 × 1.25) / 12 = 1.65135 ft.
    # (29.4 × 18.2238 + 112.2862) / 31.05135 = 648.066 / 31.05135 = 20.8708 lb/ft.
    assert lb_ft(adjusted_weight(5 * IN, 4.276 * IN, joint(*JOINTS["5 19.50 NC50"]))) == pytest.approx(20.8708, abs=0.0005)


def test_a_larger_joint_weighs_more_and_a_wider_bore_of_it_less() -> None:
    def weight(*sizes: float) -> float:
        return adjusted_weight(5 * IN, 4.276 * IN, joint(*sizes))

    usual = weight(6.375, 3.75, 17.0, 5.125, 8.6)
    assert weight(6.625, 3.75, 17.0, 5.125, 8.6) > usual
    assert weight(6.375, 3.25, 17.0, 5.125, 8.6) > usual
    assert weight(6.375, 3.75, 19.0, 5.125, 8.6) > usual
    assert weight(6.375, 3.75, 17.0, 5.125, 9.6) > usual


def test_steel_is_2747_pounds_a_barrel() -> None:
    assert STEEL_KG_M3 * float(BARREL / POUND) == pytest.approx(2747.0, rel=1e-12)
    assert pytest.approx(7837.2, abs=0.1) == STEEL_KG_M3
    assert bbl_ft(steel_by_weight(2747.0 * LB_FT)) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("typed", ["5 19.50 NC50", "5 19.50 nc50", "  5  19.50\tNC50 ", "5 19.50 Nc50"])
def test_a_pipe_is_found_whatever_the_case_and_blanks(typed: str) -> None:
    assert find(typed) is CATALOGUE["5 19.50 NC50"]


@pytest.mark.parametrize("name", CATALOGUE)
def test_every_entry_is_found_by_its_name_in_capitals(name: str) -> None:
    assert find(name.upper()) is CATALOGUE[name]


def test_a_name_that_isnt_there_says_what_is_alike() -> None:
    with pytest.raises(TubularError) as caught:
        find("5 19.50 NC38")
    text = str(caught.value)
    assert "“5 19.50 NC38”" in text
    assert "5 19.50 NC50, 5 25.60 NC50" in text
    assert "4 1/2" not in text
    assert "data sheet" in text
    assert isinstance(caught.value, DipbookError)


def test_a_collar_that_isnt_there_says_which_collars_are() -> None:
    with pytest.raises(TubularError, match=r"collar 4 3/4 x 2 1/4, collar 6 1/2 x 2 13/16"):
        find("Collar 7 x 2 1/4")


@pytest.mark.parametrize("typed", ["", "   ", "drill pipe"])
def test_a_name_like_none_gets_no_list_and_still_says_what_to_do(typed: str) -> None:
    with pytest.raises(TubularError, match=r"in the catalogue\. Give its steel and bore from its data sheet\.$"):
        find(typed)


@pytest.mark.parametrize(("od", "bore"), [(0.1, 0.1), (0.1, 0.2), (0.1, 0.0), (0.1, -0.05), (nan, 0.05), (0.1, nan), (inf, 0.05)])
def test_an_inside_that_doesnt_fit_its_outside_is_refused(od: float, bore: float) -> None:
    with pytest.raises(ValueError, match=r"^odd: the inside must be above zero and less than the outside$"):
        Tubular("odd", "drill pipe", od, bore, 30.0, 0.004, 0.009)


@pytest.mark.parametrize(("steel", "bore"), [(0.0, 0.009), (-0.004, 0.009), (nan, 0.009), (inf, 0.009), (0.004, 0.0), (0.004, nan)])
def test_steel_and_bore_must_be_known_and_above_zero(steel: float, bore: float) -> None:
    with pytest.raises(ValueError, match=r"^odd: steel and bore must be above zero$"):
        Tubular("odd", "drill pipe", 0.127, 0.1086, 30.0, steel, bore)


def test_a_weight_may_be_unknown() -> None:
    t = Tubular("own", "casing", 0.2445, 0.2244, nan, tube_only(0.2445, 0.2244), area(0.2244))
    assert t.closed_m2 == pytest.approx(area(0.2445))
