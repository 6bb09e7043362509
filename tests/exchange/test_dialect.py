"""Separator and decimal sign: told by the rows, or asked."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import two_box_rig
from dipbook.exchange import any_file, dialect
from dipbook.exchange.mapping import Mapping

RIG = two_box_rig()
ROWS = [("2026-03-01 02:00", "60.25", "61"), ("2026-03-01 02:30", "60.5", "61.75"), ("2026-03-01 03:00", "", "62")]


def text(separator: str, decimal: str, rows: list[tuple[str, ...]] = ROWS) -> bytes:
    quote = '"' if separator == decimal else ""
    lines = [("time", "Suction [in]", "Settling [in]"), *rows]
    return "".join(separator.join(f"{quote}{c.replace('.', decimal)}{quote}" for c in line) + "\r\n"
                   for line in lines).encode()


@pytest.mark.parametrize(("separator", "decimal"), list(itertools.product(dialect.SEPARATORS, dialect.DECIMALS)))
def test_every_separator_and_decimal_sign_gives_the_same(separator: str, decimal: str) -> None:
    plain = any_file.take(text(",", "."), "r.csv", RIG).file
    other = any_file.take(text(separator, decimal), "r.csv", RIG).file
    assert other.ok, other.findings
    assert other.content == plain.content


@pytest.mark.parametrize(("written", "expected"), [
    ("Zeit;Saug\n2026-03-01 02:00;1,5\n2026-03-01 02:10;1,6\n", (";",)),
    ("Zeit;Saug;Was\n02:00;1,5;drilling\n02:10;1,6;drilling\n", (";",)),
    ("Zeit\tSaug\n02:00\t1,5\n02:10\t1,6\n", ("\t",)),
    ("a note; of two\nTime,Pit\n1,2\n3,4\n", (",",)),
    ("Pit, cm;Trap, cm\n1,5;2,5\n1,6;2,6\n", (",", ";")),
    ("a,b\n1,2\n1,2,3\n", ()),
    ("one column\n1\n2\n", ()),
])
def test_a_separator_is_taken_only_if_it_is_the_one_that_fits(written: str, expected: tuple[str, ...]) -> None:
    assert dialect.separators(written) == expected


def test_an_ambiguous_separator_is_asked_and_read_once_it_is_said() -> None:
    data = b"Pit, cm;Trap, cm\n1,5;2,5\n1,6;2,6\n"
    other = any_file.take(data, "r.csv", RIG).other
    assert other is not None
    assert [p.part for p in other.problems] == ["separator"]
    assert "comma or semicolon" in other.problems[0].what
    said = any_file.take(data, "r.csv", RIG, Mapping((), separator=";")).other
    assert said is not None
    assert said.headings == ("Pit, cm", "Trap, cm")
    assert said.mapping.decimal == ","


@pytest.mark.parametrize(("cells", "expected"), [
    (["60.25", "61"], (".",)), (["60,25"], (",",)), (["60", "61"], ()),
    (["1,500"], (".", ",")), (["1.500", "2.250"], (".", ",")), (["60,5", "60.5"], (".", ",")),
    (["1,500", "60,5"], (",",)), (["0.125"], (".",)), (["12:30", "x,y"], ()),
])
def test_a_decimal_sign_is_taken_only_if_the_numbers_show_it(cells: list[str], expected: tuple[str, ...]) -> None:
    assert dialect.decimals(cells) == expected


def test_a_decimal_sign_that_could_be_either_is_asked() -> None:
    data = b"time;Suction [in];note\n2026-03-01 02:00;1,500;x\n"
    other = any_file.take(data, "r.csv", RIG).other
    assert other is not None
    assert "decimal" in [p.part for p in other.problems]


def test_one_number_with_the_other_sign_in_a_file_of_our_form_is_an_error_at_its_line() -> None:
    taken = any_file.take(b'time,Suction [in]\n2026-03-01 02:00,60.5\n2026-03-01 02:10,"60,5"\n', "r.csv", RIG)
    assert taken.other is None
    assert [(f.line, f.code) for f in taken.file.findings] == [(3, "unreadable")]


@given(st.text(max_size=300))
def test_any_text_is_cut_or_refused(written: str) -> None:
    for separator in {*dialect.separators(written), ","}:
        rows, lines, _ = dialect.split(written, separator, "x")
        assert len(rows) == len(lines)
        dialect.heading_place(rows)
