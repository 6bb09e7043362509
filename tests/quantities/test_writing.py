"""How quantities look on the screen and on paper."""

from __future__ import annotations

import pytest

from dipbook.quantities import UNIT_SETS, UNITS, dimension_of, from_unit, write, write_level, write_number
from dipbook.quantities.factors import OTHER_NAMES

BBL = 0.158987294928
INCH = 0.0254


@pytest.mark.parametrize(("value", "unit", "options", "text"), [
    (512.4 * BBL, "bbl", {}, "512.4 bbl"),
    (1.3 * BBL, "bbl", {"sign": True}, "+1.3 bbl"),
    (-1.3 * BBL, "bbl", {}, "−1.3 bbl"),
    (-0.04 * BBL, "bbl", {"sign": True}, "0.0 bbl"),
    (0.04 * BBL, "bbl", {"sign": True}, "0.0 bbl"),
    (1.5, "m3", {"decimal": ","}, "1,50 m3"),
    (1.5, "m3", {"digits": 0}, "2 m3"),
    (300 * 0.003785411784 / 60, "gpm", {}, "300 gal[US]/min"),
    (233.15, "degC", {}, "−40.0 degC"),
    (12345.6, "m3", {"digits": 1}, "12345.6 m3"),
    (None, "bbl", {}, "unknown"),
    (float("nan"), "bbl", {"sign": True}, "unknown"),
    (float("inf"), "bbl", {}, "unknown"),
    (63.5 * INCH, "ft in", {}, "5' 3 1/2\""),
    (-63.5 * INCH, "ft in", {"sign": True}, "−5' 3 1/2\""),
])
def test_a_quantity_is_written(value: float | None, unit: str, options: dict[str, object], text: str) -> None:
    assert write(value, unit, **options) == text


def test_a_number_alone_has_no_unit() -> None:
    assert write_number(-1.25, "m3", digits=1, sign=True) == "−1.2"


@pytest.mark.parametrize(("inches", "unit", "text"), [
    (63.5, "ft in", "5' 3 1/2\""), (63.5, "in", "63 1/2 in"), (0, "ft in", "0' 0\""), (0, "in", "0 in"), (0.5, "in", "1/2 in"),
    (60, "ft in", "5' 0\""), (71.99, "ft in", "6' 0\""), (63.3, "in", "63 1/4 in"), (63.375, "in", "63 3/8 in"),
    (-0.01, "in", "0 in"), (-63.5, "in", "−63 1/2 in"), (-2, "ft in", "−0' 2\""),
])
def test_a_level_is_written_to_the_nearest_eighth(inches: float, unit: str, text: str) -> None:
    assert write_level(inches * INCH, unit) == text


def test_a_level_in_other_units_has_decimals() -> None:
    assert write_level(1.6129, "cm", ",") == "161,3 cm"
    assert write_level(1.6129, "m", digits=3) == "1.613 m"
    assert write_level(1.6129, "in", digits=1) == "63.5 in"
    assert write_level(63.3 * INCH, "in", denominator=2) == "63 1/2 in"
    assert write_level(None, "in") == write_level(float("nan"), "ft in") == "unknown"


def test_the_sets_of_units_name_the_same_quantities_in_units_that_fit() -> None:
    assert set(UNIT_SETS) == {"oilfield", "metric", "mixed"}
    assert len({frozenset(units) for units in UNIT_SETS.values()}) == 1
    for units in UNIT_SETS.values():
        for quantity, (symbol, digits) in units.items():
            assert dimension_of(symbol) == OTHER_NAMES.get(quantity, quantity)
            assert symbol in UNITS
            assert write(from_unit(1.0, symbol), symbol, digits=digits).startswith("1")
