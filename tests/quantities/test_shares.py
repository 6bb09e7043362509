"""Percentages, and lists of readings minute by minute."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.errors import QuantityError
from dipbook.quantities import read, read_factor, read_list, read_parts, read_percent

BBL = 0.158987294928


@pytest.mark.parametrize(("text", "decimal", "value", "step"), [
    ("48 %", ".", 48.0, 1.0), ("48%", ".", 48.0, 1.0), ("48", ".", 48.0, 1.0), ("2,5 %", ",", 2.5, 0.1), ("0", ".", 0.0, 1.0),
    ("100 %", ".", 100.0, 1.0), ("1/2 %", ".", 0.5, 0.5), ("-0", ".", 0.0, 1.0)])
def test_a_percentage_is_read(text: str, decimal: str, value: float, step: float) -> None:
    assert read_percent(text, decimal=decimal) == (value, step)


@pytest.mark.parametrize(("text", "why"), [
    ("101 %", "outside 0 to 100"), ("-3 %", "outside 0 to 100"), ("48 % x", "not one percentage"), ("", "Nothing"),
    ("2,5", "decimal point"), ("full", "begin with a number"), ("48 ppm", "not one percentage"), ("nan", "not a number")])
def test_what_is_no_percentage_is_refused(text: str, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        read_percent(text)


@pytest.mark.parametrize(("text", "decimal", "bare", "barrels"), [
    ("0.4; 0.2; 0.1 bbl", ".", None, (0.4, 0.2, 0.1)), ("0.4, 0.2, 0.1 bbl", ".", None, (0.4, 0.2, 0.1)),
    ("0.4,0.2,0.1", ".", "bbl", (0.4, 0.2, 0.1)), ("0.4 0.2 0.1", ".", "bbl", (0.4, 0.2, 0.1)),
    ("0.4 bbl 0.2 bbl", ".", None, (0.4, 0.2)), ("0.4 bbl; 0.2; 0", ".", None, (0.4, 0.2, 0.0)),
    ("-0.2; −0.1; 0", ".", "bbl", (-0.2, -0.1, 0.0)), ("0,4; 0,2; 0,1", ",", "bbl", (0.4, 0.2, 0.1)),
    ("0,4 0,2", ",", "bbl", (0.4, 0.2)), ("0.4;", ".", "bbl", (0.4,)), ("0.5", ".", "bbl", (0.5,)),
    ("1/2; 1 1/4 bbl", ".", None, (0.5, 1.25)), ("0.4\n0.2", ".", "bbl", (0.4, 0.2)), ("1, 2, 3", ".", "bbl", (1, 2, 3)),
    ("0.4; -; 0.1 bbl", ".", None, (0.4, None, 0.1)), ("0.4, -, 0.1", ".", "bbl", (0.4, None, 0.1)),
    ("21 gal; 0.5 bbl", ".", None, (0.5, 0.5))])
def test_a_list_is_read(text: str, decimal: str, bare: str | None, barrels: tuple[float | None, ...]) -> None:
    found = read_list(text, "volume", decimal=decimal, bare=bare)
    assert [v is None for v in found.values] == [b is None for b in barrels]
    assert [v for v in found.values if v is not None] == pytest.approx([b * BBL for b in barrels if b is not None], rel=1e-12)


def test_a_list_says_how_finely_it_was_read_and_whether_a_unit_was_written() -> None:
    assert read_list("0.40; 0.2", "volume", bare="bbl").step == pytest.approx(0.01 * BBL)
    assert not read_list("0.40; 0.2", "volume", bare="bbl").written
    assert read_list("0.40; 0.2 bbl", "volume").written


@pytest.mark.parametrize(("text", "decimal", "bare", "why"), [
    ("1,250", ".", "bbl", "could be a decimal comma"), ("0,4, 0,2", ".", "bbl", "could be a decimal comma"),
    ("0,4, 0,2, 0,1", ",", "bbl", "decimal comma, so a comma can't set readings apart"), ("0.4; 0.2", ",", "bbl", "decimal comma"),
    ("0.4 - 0.2", ".", "bbl", "could be a minus"), ("-; -", ".", "bbl", "holds no reading"),
    ("0.4;;0.2", ".", "bbl", "nothing between"), ("0.4, , 0.2", ".", "bbl", "nothing between"), (";", ".", "bbl", "Nothing is written"),
    ("1 1/2 0.4", ".", "bbl", "semicolons"), ("0.4 bbl; 0.2 m3; 0.1", ".", None, "two kinds"), ("0.4; 0.2", ".", None, "no unit"),
    ("0.4 ft; 0.2", ".", "bbl", "is a length"), ("0.4; lots", ".", "bbl", "begin with a number"), ("bbl", ".", "bbl", "begin with a number"),
    ("1 " * 601, ".", "bbl", "more than 600"), ("1" * 5000, ".", "bbl", "characters long")])
def test_what_could_mean_two_things_is_refused(text: str, decimal: str, bare: str | None, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        read_list(text, "volume", decimal=decimal, bare=bare)


@given(st.text(alphabet="0123456789.,;-−/ %bblm3\n'\"", max_size=60), st.sampled_from(".,"), st.sampled_from(["bbl", None]))
def test_no_text_whatever_raises_anything_else(text: str, decimal: str, bare: str | None) -> None:
    for reader in (lambda: read_list(text, "volume", decimal=decimal, bare=bare), lambda: read_percent(text, decimal=decimal)):
        with suppress(QuantityError):
            reader()


@given(st.lists(st.integers(-999, 999), min_size=1, max_size=20), st.sampled_from(["; ", " ", ";"]))
def test_a_list_of_tenths_reads_as_its_parts(tenths: list[int], mark: str) -> None:
    texts = [f"{n / 10:.1f}" for n in tenths]
    assert read_list(mark.join(texts), "volume", bare="bbl").values == tuple(
        read(text, "volume", bare="bbl", negative=True).value for text in texts)


@pytest.mark.parametrize(("text", "bare", "m_per_h"), [
    ("60 ft/h", None, 18.288), ("60", "ft/h", 18.288), ("18 m/hr", None, 18.0), ("1 ft/min", None, 18.288), ("0.3 m/min", None, 18.0),
    ("90 FT/HR", None, 27.432), ("60 feet/hour", None, 18.288)])
def test_a_speed_is_read(text: str, bare: str | None, m_per_h: float) -> None:
    # 1 ft = 0.3048 m exactly (NIST SP 811, Appendix B).
    assert read(text, "speed", bare=bare).value * 3600 == pytest.approx(m_per_h, rel=1e-12)


@pytest.mark.parametrize(("text", "why"), [("60", "no unit"), ("2 min/ft", "time per length"), ("20 mph", "miles"), ("60 ft", "is a length"),
                                           ("-3 ft/h", "below zero")])
def test_what_is_no_speed_is_refused(text: str, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        read(text, "speed")


@pytest.mark.parametrize(("text", "decimal", "value"), [("80/20", ".", 0.8), (" 80 / 20 ", ".", 0.8), ("80", ".", 0.8),
                                                        ("80 %", ".", 0.8), ("87.5/12.5", ".", 0.875), ("87,5/12,5", ",", 0.875),
                                                        ("100/0", ".", 1.0)])
def test_two_parts_of_a_hundred_are_read_as_the_first(text: str, decimal: str, value: float) -> None:
    assert read_parts(text, decimal=decimal) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "words"), [("80/30", "make 100 together"), ("80/", "make 100 together"), ("/20", "make 100 together"),
                                             ("1/2", "make 100 together"), ("½", "make 100 together"), ("120/-20", "outside 0 to 100"),
                                             ("150", "outside 0 to 100"), ("80/20 bbl", "not one percentage"), ("", "Nothing is written"),
                                             ("87,5/12,5", "decimal point")])
def test_two_parts_that_arent_are_refused(text: str, words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        read_parts(text)


def test_a_number_without_a_unit() -> None:
    assert read_factor("0.95") == 0.95
    assert read_factor("1") == 1.0
    assert read_factor("0,95", decimal=",") == 0.95
    for text, words in (("-0.5", "below zero"), ("0.95 psi", "without a unit"), ("0,95", "decimal point"), ("z", "does not begin")):
        with pytest.raises(QuantityError, match=words):
            read_factor(text)
