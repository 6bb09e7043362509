"""What a person writes is read, and what could mean two things is refused with the remedy."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.errors import QuantityError
from dipbook.quantities import UNITS, read, read_dip, to_unit, write_level

INCH = 0.0254

READ = [
    # text, dimension, unit of a bare number, value kept, step
    ("5' 3 1/2\"", "length", None, 63.5 * INCH, INCH / 2),
    ("5ft 3.5in", "length", None, 63.5 * INCH, INCH / 10),
    ("5 ft 3 1/2 in", "length", None, 63.5 * INCH, INCH / 2),
    ("5'-3 1/2\"", "length", None, 63.5 * INCH, INCH / 2),
    ("5′ 3½″", "length", None, 63.5 * INCH, INCH / 2),
    ("5’ 3½”", "length", None, 63.5 * INCH, INCH / 2),
    ("5' 3''", "length", None, 63 * INCH, INCH),
    ("5 FT 0 IN", "length", None, 60 * INCH, INCH),
    ("5' 11 15/16\"", "length", None, 71.9375 * INCH, INCH / 16),
    ("63 1/2", "length", "in", 63.5 * INCH, INCH / 2),
    ("63-1/2", "length", "in", 63.5 * INCH, INCH / 2),
    ("63¾", "length", "in", 63.75 * INCH, INCH / 4),
    ("½ in", "length", None, 0.5 * INCH, INCH / 2),
    ("63.5 in", "length", None, 63.5 * INCH, INCH / 10),
    ("63.50", "length", "in", 63.5 * INCH, INCH / 100),
    (".5 in", "length", None, 0.5 * INCH, INCH / 10),
    ("5'", "length", None, 60 * INCH, 12 * INCH),
    ("5.25 ft", "length", "in", 63 * INCH, 0.12 * INCH),
    ("161 cm", "length", "in", 1.61, 0.01),
    ("1.61 m", "level", None, 1.61, 0.01),
    ("212 bbl", "volume", None, 212 * 0.158987294928, 0.158987294928),
    ("212bbls", "volume", None, 212 * 0.158987294928, 0.158987294928),
    ("1/2 bbl", "volume", None, 0.5 * 0.158987294928, 0.158987294928 / 2),
    ("24", "volume", "m3", 24.0, 1.0),
    ("300 gpm", "flow", None, 300 * 0.003785411784 / 60, 0.003785411784 / 60),
    ("80 L/M", "rate", None, 0.08 / 60, 0.001 / 60),
    ("76 l/m", "capacity", None, 0.076, 0.001),
    ("0.1458 bbl/ft", "capacity", None, 0.1458 * 0.158987294928 / 0.3048, 1e-4 * 0.158987294928 / 0.3048),
    ("10.2 ppg", "density", None, 10.2 * 0.45359237 / 0.003785411784, 0.1 * 0.45359237 / 0.003785411784),
    ("1.20 sg @ 1000 kg/m3", "density", None, 1200.0, 10.0),
    ("60", "frequency", None, 60.0, 1.0),
    ("60 spm", "frequency", None, 60.0, 1.0),
    ("60 1/min", "frequency", None, 60.0, 1.0),
    ("20 min", "duration", None, 1200.0, 60.0),
    ("15 s", "duration", None, 15.0, 1.0),
    ("1 h", "duration", None, 3600.0, 3600.0),
    ("-40 degF", "temperature", None, 233.15, None),
    ("−40 °C", "temperature", None, 233.15, None),
    ("+5 in", "length", None, 5 * INCH, INCH),
    ("0", "volume", "bbl", 0.0, 0.158987294928),
    ("5\u00a0bbl", "volume", None, 5 * 0.158987294928, 0.158987294928),
]


@pytest.mark.parametrize(("text", "dimension", "bare", "value", "step"), READ, ids=[row[0] for row in READ])
def test_it_reads(text: str, dimension: str, bare: str | None, value: float, step: float | None) -> None:
    quantity = read(text, dimension, bare=bare)
    assert quantity.value == pytest.approx(value, rel=1e-14, abs=0)
    assert quantity.step == (None if step is None else pytest.approx(step, rel=1e-12))
    assert quantity.as_typed == text


def test_the_unit_read_is_the_one_written_or_implied() -> None:
    assert read("5 gal", "volume").unit == "gal[US]"
    assert read("63", "length", bare="in").unit == "in"
    assert read("5' 3\"", "length", bare="in").unit == "ft in"


def test_equal_lengths_in_different_words_are_the_same_number() -> None:
    assert len({read(t, "length", bare="in").value for t in ("5' 3 1/2\"", "63.5", "63 1/2 in", "161.29 cm", "1.6129 m")}) == 1


REFUSED = [
    # text, dimension, unit of a bare number, why
    ("5' 13\"", "length", None, r"twelve inches are a foot.*Write 6' 1\" or 73 in"),
    ("5' 13 1/2\"", "length", None, r"6' 1 1/2\" or 73 1/2 in"),
    ("5' 12.5\"", "length", None, r"6' 0\.5\" or 72\.5 in"),
    ("5' 3", "length", "in", r"no inch mark.*Write 5' 3\" for inches"),
    ("5 ft 3 1/2", "length", "in", "no inch mark"),
    ("5.5' 3\"", "length", None, "whole feet"),
    ("1/2' 3\"", "length", None, "whole feet"),
    ("5' 3\" x", "length", None, "more than feet and inches"),
    ("63", "length", None, "no unit"),
    ("63", "length", "ft in", "feet or inches"),
    ("1,234", "length", "in", r"could be 1234 or 1\.234"),
    ("1,234.5", "volume", "bbl", "nothing between thousands"),
    ("12,5", "volume", "bbl", "has a comma"),
    ("1.2.3", "volume", "bbl", "more than one decimal point"),
    ("63.", "length", "in", "digits are missing"),
    ("1 234", "volume", "bbl", "more than one number"),
    ("63 64", "length", "in", "more than one number"),
    ("60-63", "length", "in", "more than one number"),
    ("5 in 3", "length", "in", "more than one number"),
    ("5 m 3", "volume", "bbl", "more than one number"),
    ("2 h 30 min", "duration", None, "more than one number"),
    ("63 1/2 1/2", "length", "in", "more than one number"),
    ("63 5/2", "length", "in", "not a part of one"),
    ("63 4/4", "length", "in", "not a part of one"),
    ("63 1/0", "length", "in", "divides by zero"),
    ("12/31", "length", "in", "parts of 31"),
    ("-5", "length", "in", "can't be negative"),
    ("−5 bbl", "volume", None, "can't be negative"),
    ("nan", "length", "in", "not a number"),
    ("NaN bbl", "volume", None, "not a number"),
    ("inf", "length", "in", "not a number"),
    ("-inf", "length", "in", "not a number"),
    ("Infinity", "length", "in", "not a number"),
    ("#N/A", "length", "in", "not a number"),
    ("0x10", "length", "in", "digits 0 to 9"),
    ("1_000", "volume", "bbl", "digits 0 to 9"),
    ("1e3", "volume", "bbl", "powers of ten"),
    ("1E-3 m3", "volume", "bbl", "powers of ten"),
    ("٥", "length", "in", "begin with a number"),
    ("", "length", "in", "Nothing is written"),
    ("   ", "length", "in", "Nothing is written"),
    ("-", "length", "in", "begin with a number"),
    ("abc", "length", "in", "begin with a number"),
    ("in 63", "length", "in", "begin with a number"),
    ("5 bbl", "length", "in", "bbl is a volume, and a length is wanted"),
    ("76 L/m", "rate", None, "a volume per length, and a flow rate"),
    ("5 m", "duration", None, "m is a length"),
    ("1.2 sg", "density", None, "base"),
    ("1.2", "density", None, "no unit"),
    ("1.2 ppg @ 1000 kg/m3", "density", None, "only a specific gravity"),
    ("1.2 sg @ 0 kg/m3", "density", None, "above zero"),
    ("10 sacks", "mass", None, "no fixed mass"),
    ("-300 degC", "temperature", None, "absolute zero"),
    ("5" * 81, "volume", "bbl", "81 characters"),
    ("5\x00bbl", "volume", "bbl", "not a unit"),
]


@pytest.mark.parametrize(("text", "dimension", "bare", "why"), REFUSED, ids=[repr(row[0])[:24] for row in REFUSED])
def test_it_refuses_saying_why(text: str, dimension: str, bare: str | None, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        read(text, dimension, bare=bare)


@pytest.mark.parametrize(("text", "value"), [("1,61 m", 1.61), ("5ft 3,5in", 63.5 * INCH), ("161", 4.0894), ("63 1/2", 63.5 * INCH)])
def test_a_decimal_comma_is_read_where_the_rig_writes_one(text: str, value: float) -> None:
    assert read(text, "length", decimal=",", bare="in").value == pytest.approx(value)


@pytest.mark.parametrize(("text", "why"), [
    ("1.234", "could be 1234 or 1,234"), ("1.5 m", "has a point"), ("1.234,5", "has a point"), ("1,2,3", "more than one"),
    ("63,", "digits are missing"),
])
def test_a_point_is_refused_where_the_rig_writes_a_comma(text: str, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        read(text, "length", decimal=",", bare="m")


def test_a_value_below_zero_is_read_where_it_makes_sense() -> None:
    assert read("-5 bbl", "volume", negative=True).value == pytest.approx(-5 * 0.158987294928)
    assert read("-5' 3\"", "length", negative=True).value == pytest.approx(-63 * INCH)
    with pytest.raises(QuantityError, match="absolute zero"):
        read("-300 degC", "temperature", negative=True)


def test_a_very_long_cell_is_refused_quickly_and_quoted_briefly() -> None:
    for text in ("9" * 10_000_000, " " * 10_000_000 + "5", "5 1/" * 20_000):
        with pytest.raises(QuantityError) as caught:
            read(text, "volume", bare="bbl")
        assert len(str(caught.value)) < 200


def dip(text: str, **other: str) -> object:
    settings = {"decimal": ".", "level_unit": "in", "volume_unit": "bbl", "percent_of": "level"} | other
    return read_dip(text, **settings)


@pytest.mark.parametrize(("text", "kind", "value", "step"), [
    ("63 1/2", "level", 63.5 * INCH, INCH / 2), ("63", "level", 63 * INCH, INCH), ("5' 3\"", "level", 63 * INCH, INCH),
    ("161 cm", "level", 1.61, 0.01), ("212 bbl", "volume", 212 * 0.158987294928, 0.158987294928),
    ("48 %", "percent", 48.0, 1.0), ("48.5%", "percent", 48.5, 0.1), ("104 %", "percent", 104.0, 1.0),
])
def test_a_dip_is_a_level_a_volume_or_a_percentage(text: str, kind: str, value: float, step: float) -> None:
    reading = dip(text)
    assert (reading.kind, reading.as_typed) == (kind, text)
    assert reading.value == pytest.approx(value)
    assert reading.step == pytest.approx(step)


@pytest.mark.parametrize("text", ["same", "SAME", " = ", "no change"])
def test_the_same_as_before_is_gauged(text: str) -> None:
    assert dip(text).kind == "unchanged"


@pytest.mark.parametrize("text", ["", "  ", "-", "–", "—", "not gauged"])
def test_nothing_written_is_not_gauged(text: str) -> None:
    assert dip(text).kind == "not gauged"


@pytest.mark.parametrize(("text", "other", "why"), [
    ("48 %", {"percent_of": ""}, "what a percentage is of"), ("-3 %", {}, "not one percentage"), ("48 in %", {}, "not one percentage"),
    ("-3", {}, "can't be negative"), ("212 psi", {}, "psi is a pressure"), ("53 54", {}, "more than one number"),
    ("nan", {}, "not a number"), ("nan %", {}, "not a number"), ("48", {"level_unit": "ft in"}, "feet or inches"),
    ("sludge", {}, "begin with a number"), ("1,5", {}, "has a comma"), ("%", {}, "begin with a number"),
])
def test_a_dip_that_could_mean_two_things_is_refused(text: str, other: dict[str, str], why: str) -> None:
    with pytest.raises(QuantityError, match=re.compile(why)):
        dip(text, **other)


def test_a_bare_dip_is_a_volume_only_where_the_tank_has_no_unit_of_level() -> None:
    assert dip("24", level_unit="").kind == "volume"
    assert dip("24 in", level_unit="").kind == "level"


@given(st.integers(0, 20 * 12 * 16), st.sampled_from(["ft in", "in"]))
def test_a_level_written_in_fractions_reads_back_the_same(sixteenths: int, unit: str) -> None:
    level = sixteenths * INCH / 16
    assert read(write_level(level, unit, denominator=16), "length").value == pytest.approx(level, abs=1e-12)


@given(st.integers(0, 10**9), st.integers(0, 6), st.sampled_from(sorted(UNITS)), st.sampled_from([".", ","]))
def test_any_plain_number_reads_as_itself(digits: int, decimals: int, symbol: str, decimal: str) -> None:
    text = f"{digits / 10**decimals:.{decimals}f}"
    quantity = read(f"{text.replace('.', decimal)} {symbol}", UNITS[symbol].dimension, decimal=decimal)
    assert quantity.unit == symbol
    assert to_unit(quantity.value, symbol) == pytest.approx(float(text), rel=1e-12, abs=1e-9)


@given(st.text(max_size=30))
def test_whatever_is_typed_is_read_or_refused_and_never_breaks(text: str) -> None:
    try:
        reading = dip(text)
    except QuantityError:
        return
    assert reading.as_typed == text
    assert reading.kind in ("unchanged", "not gauged") or reading.value >= 0


@given(st.text(alphabet="0123456789'\"/.,-+ infteml%½", max_size=14))
def test_near_misses_are_read_or_refused_and_never_break(text: str) -> None:
    try:
        reading = dip(text)
    except QuantityError:
        return
    assert reading.kind in ("unchanged", "not gauged") or reading.value >= 0


@pytest.mark.parametrize(("text", "dimension", "said"), [
    ("12", "density", "10,2 lbm/gal[US] or 1220 kg/m3"), ("5 bbl", "density", "such as 10,2 lbm/gal[US]"),
    ("heavy", "volume", "24 bbl or 3,8 m3"), ("1,2 sgx @ 1000 kg/m3", "density", "1,20 sg @ 1000 kg/m3")])
def test_an_example_has_the_rigs_decimal_sign(text, dimension, said):
    with pytest.raises(QuantityError, match=re.escape(said)):
        read(text, dimension, decimal=",")
