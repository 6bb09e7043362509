"""Units against two independent tables: pint's and scipy's."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pint
import pytest
import scipy.constants

from dipbook.errors import QuantityError
from dipbook.quantities import DIMENSIONS, UNITS, canonical, dimension_of, from_unit, to_unit, unit
from dipbook.quantities.aliases import CASELESS, EXACT
from dipbook.quantities.writing import DIGITS

REGISTRY = pint.UnitRegistry()

PINT = {
    "in": "inch", "ft": "foot", "m": "meter", "cm": "centimeter", "mm": "millimeter", "km": "kilometer",
    "m3": "meter**3", "L": "liter", "dm3": "decimeter**3", "cm3": "centimeter**3", "bbl": "oil_barrel",
    "gal[US]": "US_liquid_gallon", "gal[UK]": "imperial_gallon", "ft3": "foot**3", "in3": "inch**3",
    "kg": "kilogram", "g": "gram", "t": "metric_ton", "lbm": "pound", "ton[US]": "short_ton", "ton[UK]": "long_ton",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "d": "day",
    "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal", "mPa": "millipascal", "bar": "bar",
    "psi": "pound_force_per_square_inch", "1": "dimensionless",
}
"""Symbol to pint's own name; compound symbols are built from these."""


def pint_factor(symbol: str, into: str) -> float:
    """Factor of a symbol by pint, part by part about the slash."""
    top, _, bottom = symbol.partition("/")
    expression = f"({PINT[top]})" + (f"/({PINT[bottom]})" if bottom else "")
    return float(REGISTRY.Quantity(1.0, expression).to(into).magnitude)


INTO = {"length": "m", "volume": "m**3", "rate": "m**3/s", "mass": "kg", "density": "kg/m**3", "frequency": "1/minute",
        "duration": "s", "capacity": "m**2", "pressure": "Pa", "speed": "m/s"}


@pytest.mark.parametrize("symbol", [s for s, u in UNITS.items() if u.dimension != "temperature"])
def test_every_unit_has_the_factor_that_pint_has(symbol: str) -> None:
    u = UNITS[symbol]
    assert float(u.factor) == pytest.approx(pint_factor(symbol, INTO[u.dimension]), rel=1e-12)


@pytest.mark.parametrize(("symbol", "constant"), [
    ("in", "inch"), ("ft", "foot"), ("lbm", "pound"), ("bbl", "barrel"), ("gal[US]", "gallon"), ("gal[UK]", "gallon_imp"),
    ("psi", "psi"), ("L", "liter"), ("min", "minute"), ("h", "hour"), ("d", "day"), ("bar", "bar"),
    ("ton[US]", "short_ton"), ("ton[UK]", "long_ton"), ("t", "metric_ton"),
])
def test_the_units_that_scipy_lists_agree_with_it(symbol: str, constant: str) -> None:
    assert float(UNITS[symbol].factor) == pytest.approx(getattr(scipy.constants, constant), rel=1e-14)


@pytest.mark.parametrize(("symbol", "pint_name"), [("degC", "degC"), ("degF", "degF"), ("K", "kelvin")])
@pytest.mark.parametrize("value", [-40.0, 0.0, 15.0, 250.0])
def test_temperatures_agree_with_pint_and_scipy(symbol: str, pint_name: str, value: float) -> None:
    ours = from_unit(value, symbol)
    assert ours == pytest.approx(REGISTRY.Quantity(value, pint_name).to("kelvin").magnitude, abs=1e-9)
    if symbol != "K":
        name = {"degC": "Celsius", "degF": "Fahrenheit"}[symbol]
        assert ours == pytest.approx(scipy.constants.convert_temperature(value, name, "Kelvin"), abs=1e-9)
    assert to_unit(ours, symbol) == pytest.approx(value, abs=1e-9)


def test_the_factors_are_exact_by_definition() -> None:
    assert UNITS["bbl"].factor == Fraction(158_987_294_928, 10**12)
    assert UNITS["gal[US]"].factor == Fraction(3_785_411_784, 10**12)
    assert UNITS["bbl"].factor == 42 * UNITS["gal[US]"].factor == 9702 * UNITS["in3"].factor
    assert UNITS["lbm/gal[US]"].factor / UNITS["lbm/ft3"].factor == Fraction(1728, 231)


def test_every_unit_has_its_dimension_its_digits_and_one_kept_unit() -> None:
    assert {u.dimension for u in UNITS.values()} == set(DIMENSIONS)
    for dimension, symbol in DIMENSIONS.items():
        assert UNITS[symbol].dimension == dimension
        assert UNITS[symbol].factor == 1
        assert UNITS[symbol].offset == 0
    assert set(DIGITS) == set(UNITS)


def test_every_alias_leads_to_a_unit() -> None:
    assert {*CASELESS.values(), *EXACT.values()} <= {*UNITS, "ft in"}


@pytest.mark.parametrize(("typed", "symbol"), [
    ("gpm", "gal[US]/min"), ("GPM", "gal[US]/min"), ("bpm", "bbl/min"), ("ppg", "lbm/gal[US]"), ("bbls", "bbl"),
    ("BBL", "bbl"), ("cuft", "ft3"), ("cu ft", "ft3"), ("M3", "m3"), ("m³", "m3"), ("gal", "gal[US]"), ("US gal", "gal[US]"),
    ("gal (US)", "gal[US]"), ("imp gal", "gal[UK]"), ("lb/gal", "lbm/gal[US]"), ("galUS/min", "gal[US]/min"),
    ("m3Pm", "m3/m"), ("bblPft", "bbl/ft"), ("bbl/hr", "bbl/h"), ("bbl / min", "bbl/min"), ("Feet", "ft"), ("in.", "in"),
    ("spm", "1/min"), ("mins", "min"), ("°F", "degF"), ("KPA", "kPa"), ("ft in", "ft in"), ("litres/min", "L/min"),
])
def test_what_people_type_is_understood(typed: str, symbol: str) -> None:
    assert canonical(typed) == symbol


def test_litres_per_m_is_decided_by_the_place_or_refused() -> None:
    assert canonical("L/M", "rate") == canonical("l/m", "flow") == "L/min"
    assert canonical("L/M", "capacity") == canonical("l/m", "capacity") == "L/m"
    assert canonical("L/m") == "L/m"
    with pytest.raises(QuantityError, match="litres a minute or litres per metre"):
        canonical("L/M")


@pytest.mark.parametrize(("typed", "why"), [
    ("sg", "base"), ("SG", "base"), ("s.g.", "base"), ("sacks", "no fixed mass"), ("sx", "no fixed mass"),
    ("ton", "1000 kg, 2000 lbm or 2240 lbm"), ("mpa", "in this case exactly"), ("MPA", "in this case exactly"),
    ("M", "thousand, million"), ("MM", "thousand, million"), ("Mbbl", "thousand, million"),
    ("mph", "miles an hour"), ("min/ft", "time per length"), ("min/m", "time per length"),
    ("furlong", "not a unit"), ("m 3", "not a unit"), ("in 3", "not a unit"), ("", "not a unit"), ("k", "not a unit"),
    ("x" * 500, "not a unit"),
])
def test_what_could_mean_two_things_is_refused_saying_why(typed: str, why: str) -> None:
    with pytest.raises(QuantityError, match=why) as caught:
        canonical(typed)
    assert len(str(caught.value)) < 300


def test_case_is_kept_where_it_matters() -> None:
    assert unit("mPa").factor == Fraction(1, 1000)
    assert unit("MPa").factor == 10**6


def test_feet_and_inches_have_a_dimension_but_no_factor() -> None:
    assert dimension_of("ft in") == "length"
    assert dimension_of("gpm") == "rate"
    with pytest.raises(QuantityError, match="not one unit"):
        to_unit(1.0, "ft in")


def test_conversion_works_on_arrays_and_back() -> None:
    volumes = np.array([0.0, 1.5, np.nan, 80.0])
    np.testing.assert_allclose(from_unit(to_unit(volumes, "bbl"), "bbl"), volumes, rtol=1e-15)
    np.testing.assert_allclose(to_unit(np.array([273.15]), "degF"), [32.0], rtol=1e-12)


def test_a_value_in_a_unit_that_isn_t_one_is_refused_both_ways() -> None:
    for turn in (from_unit, to_unit):
        with pytest.raises(QuantityError, match="not a unit"):
            turn(1.0, "furlong")
