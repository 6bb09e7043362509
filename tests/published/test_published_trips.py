"""Published trips: level and pressure lost unfilled, lengths that may be pulled, fills and their strokes.

Grade C: the source's own constant, 0.052 psi/ft per lb/gal, gives the printed value, and exact geometry (0.0519481, 12/231)
agrees within what that constant and the printed digits are off.
"""

from __future__ import annotations

from math import inf

import pytest

from dipbook.pumps import strokes_for
from dipbook.quantities import from_unit, read, to_unit
from dipbook.quantities.factors import FOOT, PSI
from dipbook.trips import Way, allowed, drop, expected, length_for, pressure
from dipbook.well import Part, String
from published.rows import ROWS, Row, rows

FT, POUND_PER_SQUARE_INCH = float(FOOT), float(PSI)
SOURCE_K = 0.052
"""psi/ft per lb/gal, as the sources round it: 0.1 % above 12/231."""


def number(row: Row, key: str) -> float:
    """An input as printed, in the source's own unit: some have none written."""
    return float(str(row.inputs[key]).split()[0])


def per_length(row: Row, *keys: str) -> float:
    """The sum of volumes per length [m3/m]."""
    return from_unit(sum(number(row, key) for key in keys), "bbl/ft")


def density(row: Row) -> float:
    return read(row.inputs["mw"], "density").value


def psi(pascal: float) -> float:
    return pascal / POUND_PER_SQUARE_INCH


def pipe(row: Row) -> String:
    """Pipe of a row's steel and bore [bbl/ft], as much as is needed; the bore of one that gives none is unknown and unused."""
    bore = per_length(row, "cap") if "cap" in row.inputs else 0.0
    return String((Part("pipe", "drill pipe", per_length(row, "disp"), bore, inf),))


def taken(row: Row, length_m: float, way: Way) -> float:
    """What the hole takes for a length pulled [bbl], by the trip's own formula: 9000 ft of pipe to begin with."""
    found = expected(pipe(row), 9000 * FT, 9000 * FT - length_m, way)
    assert found.least_m3 == found.most_m3
    return to_unit(found.mean_m3, "bbl")


# --- what the hole takes


@rows({"T03": "dry", "T05": "wet"})
def test_five_stands_take_the_published_volume(row: Row, case: str) -> None:
    # T03: 5 × 92 × 0.0075 = 3.45; T05: 5 × 92 × (0.0075 + 0.01776) = 11.6196 bbl.
    length = number(row, "stands") * number(row, "stand") * FT
    assert row.agrees(taken(row, length, Way(case)))


def test_two_stands_of_collars_take_the_published_volume() -> None:
    # T10: 2 × 93 × 0.0538 = 10.0068 bbl, printed 10.
    row = ROWS["T10"]
    stands, length = (float(x) for x in row.inputs["length"].split(" ft")[0].split(" x "))
    found = taken(row, stands * length * FT, Way("dry"))
    assert row.agrees(found)
    assert found == pytest.approx(10.0068, rel=1e-9)


def test_strokes_for_the_fill_of_five_stands() -> None:
    # T11, derived: T03's 3.45 bbl at 0.105 bbl a stroke: 32.857, posted as 33.
    row = ROWS["T11"]
    fill = from_unit(taken(ROWS["T03"], 460 * FT, Way("dry")), "bbl")
    assert number(row, "V") == ROWS["T03"].published_value
    assert row.agrees(strokes_for(fill, from_unit(number(row, "q"), "bbl")))


# --- what an unfilled hole loses


@rows({"T02": ("disp",), "T04": ("disp",), "T06": ("disp", "cap")})
def test_pressure_lost_by_the_source_s_constant_and_by_exact_geometry(row: Row, case: tuple[str, ...]) -> None:
    # T02: 5.005/(0.0873 − 0.0055) = 61.186 ft × 0.052 × 12 = 38.180, printed 38.2 (rounded on: 0.15 % above exact).
    # T04: 3.45/(0.0773 − 0.0075) = 49.427 ft × 0.052 × 11.5 = 29.557. T06: 11.6196/(0.0773 − 0.02526) = 223.28 ft: 133.52.
    assert row.grade == "C"
    fell = drop(from_unit(number(row, "V"), "bbl"), per_length(row, "csg"), per_length(row, *case))
    assert row.agrees(SOURCE_K * number(row, "mw") * fell / FT)
    exact = psi(pressure(fell, density(row)))
    assert not row.agrees(exact), "0.052 isn't ours"
    assert exact == pytest.approx(row.published_value, rel=0.0016)
    assert exact == pytest.approx(12 / 231 * number(row, "mw") * fell / FT, rel=1e-12)


@rows({"T07": ("disp",), "T08": ("disp", "cap")})
def test_length_to_lose_a_pressure_by_the_source_s_constant_and_by_exact_geometry(row: Row, case: tuple[str, ...]) -> None:
    # T07: 150 (0.0773 − 0.0075)/(0.052 × 11.5 × 0.0075) = 2334.4 ft; T08: 150 (0.0773 − 0.02526)/(0.598 × 0.02526) = 516.8 ft.
    assert row.grade == "C"
    lost, inside, closed = number(row, "dP"), per_length(row, "csg"), per_length(row, *case)
    by_source = lost / (SOURCE_K * number(row, "mw")) * (inside - closed) / closed
    assert row.agrees(by_source)
    exact = length_for(lost * POUND_PER_SQUARE_INCH, density(row), inside, closed)
    assert not row.agrees(exact / FT), "0.052 isn't ours"
    assert exact / FT == pytest.approx(row.published_value, rel=0.0013)
    # From the other side: what that length takes along drops the level by what weighs the pressure.
    assert psi(pressure(drop(exact * closed, inside, closed), density(row))) == pytest.approx(lost, rel=1e-12)


def test_a_hundred_feet_of_mud_where_the_two_rules_meet() -> None:
    # T12, derived: 100 ft × 12/231 × 14.4375 = 75.0 psi; lighter mud: the 100 ft are stricter, heavier: the 75 psi are.
    row = ROWS["T12"]
    fell = number(row, "drop") * FT
    assert row.agrees(psi(pressure(fell, density(row))))
    assert psi(pressure(fell, density(row))) == pytest.approx(75.0, rel=1e-9)
    assert psi(pressure(fell, from_unit(14.0, "lbm/gal[US]"))) < 75.0 < psi(pressure(fell, from_unit(15.0, "lbm/gal[US]")))


def test_the_stands_allowed_in_the_published_well() -> None:
    # T04's five stands dry lose 29.53 psi, under 75: the five stands set it, 3.45 bbl. T06's wet lose 133.39; 75 psi are
    # 75 × 0.05204/(0.0519481 × 11.5 × 0.02526) = 258.64 ft, 2.81 stands of 92 ft: two, 184 × 0.02526 = 4.64784 bbl.
    dry, wet = ROWS["T04"], ROWS["T06"]
    five = allowed(92 * FT, per_length(dry, "disp"), per_length(dry, "csg"), density(dry))
    assert (five.stands, five.by) == (5, "the number of stands")
    assert to_unit(five.volume_m3, "bbl") == pytest.approx(number(dry, "V"), rel=1e-9)
    assert psi(five.pressure_pa) == pytest.approx(dry.published_value, rel=0.0016)
    two = allowed(92 * FT, per_length(wet, "disp", "cap"), per_length(wet, "csg"), density(wet))
    assert (two.stands, two.by) == (2, "the pressure")
    assert to_unit(two.volume_m3, "bbl") == pytest.approx(4.64784, rel=1e-9)
    assert psi(two.pressure_pa) == pytest.approx(2 / 5 * wet.published_value, rel=0.0016)


USED = ("T02", "T03", "T04", "T05", "T06", "T07", "T08", "T10", "T11", "T12")
