"""Long files are read as the careful reader reads them, to the last bit, or left to it. Invented; no source."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook.exchange import long_files, readings
from dipbook.exchange.readings import ReadingsFile
from dipbook.rig import document
from ledgers import RIG

RIG_OF = document.parse(RIG, "rig").rig
DENVER = document.parse(RIG.replace('zone = "Etc/GMT+6"', 'zone = "America/Denver"'), "rig").rig
HEAD = "time,Settling [in],Suction [bbl]\n"


def careful(data: bytes, monkeypatch: pytest.MonkeyPatch, rig: object = RIG_OF) -> ReadingsFile:
    with monkeypatch.context() as patch:
        patch.setattr(readings, "parse_long", lambda *_: None)
        return readings.parse(data, "a.csv", rig)  # type: ignore[arg-type]


def assert_same(made: ReadingsFile, by_hand: ReadingsFile) -> None:
    for field in fields(ReadingsFile):
        if field.name != "series":
            assert getattr(made, field.name) == getattr(by_hand, field.name), field.name
    assert len(made.series) == len(by_hand.series)
    for one, other in zip(made.series, by_hand.series, strict=True):
        assert (one.tank, one.what) == (other.tank, other.what)
        np.testing.assert_array_equal(one.t_ms, other.t_ms)
        np.testing.assert_array_equal(one.v, other.v)


@pytest.fixture
def any_length(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(long_files, "LEAST_BYTES", 0)
    return monkeypatch


PLAIN = {
    "with an offset": HEAD + "2026-01-05T18:00:00-06:00,60,200\n2026-01-05T18:00:01-06:00,60.25,200.5\n",
    "in the rig's zone": HEAD + "2026-01-05 18:00,60,200\n2026-01-05 18:01,60,201\n",
    "with milliseconds, in UTC": HEAD + "2026-01-05T18:00:00.250Z,60,200\n2026-01-05T18:00:00.500Z,60,200\n",
    "blank cells and a zero in front": HEAD + "2026-01-05T18:00:00Z,,200\n2026-01-05T18:00:01Z,060.125,\n",
    "rows of two lines' ends": HEAD.replace("\n", "\r\n") + "2026-01-05T18:00:00Z,60,200\r\n2026-01-05T18:01:00Z,61,200\r\n",
    "semicolons, and a note above": "# invented\n" + (HEAD + "2026-01-05T18:00:00Z,60,200\n").replace(",", ";"),
    "any order of rows": HEAD + "2026-01-05T18:00:05Z,60,200\n2026-01-05T18:00:01Z,61,200\n",
    "no point before its digits": HEAD + "2026-01-05T18:00:00Z,60.5,.5\n",
}
LEFT = {
    "a negative level": HEAD + "2026-01-05T18:00:00Z,-1,200\n",
    "a plus": HEAD + "2026-01-05T18:00:00Z,+1,200\n",
    "a number in powers of ten": HEAD + "2026-01-05T18:00:00Z,6e1,200\n",
    "not a number": HEAD + "2026-01-05T18:00:00Z,nan,200\n",
    "a unit in a cell": HEAD + "2026-01-05T18:00:00Z,5 ft,200\n",
    "a word": HEAD + "2026-01-05T18:00:00Z,same,200\n",
    "a point at the end": HEAD + "2026-01-05T18:00:00Z,60.,200\n",
    "too few cells": HEAD + "2026-01-05T18:00:00Z,60\n2026-01-05T18:00:01Z,60,200\n",
    "too many cells": HEAD + "2026-01-05T18:00:00Z,60,200,7\n",
    "a blank row": HEAD + "2026-01-05T18:00:00Z,60,200\n\n2026-01-05T18:00:01Z,60,200\n",
    "a row of commas": HEAD + "2026-01-05T18:00:00Z,60,200\n,,\n",
    "quotes": HEAD + '2026-01-05T18:00:00Z,"60",200\n',
    "times written in two ways": HEAD + "2026-01-05T18:00:00Z,60,200\n2026-01-05T12:00:01-06:00,60,200\n",
    "a month that never was": HEAD + "2026-13-05T18:00:00Z,60,200\n",
    "a leap second": HEAD + "2026-06-30T23:59:60Z,60,200\n",
    "a year that can't be right": HEAD + "0026-06-30T23:59:00Z,60,200\n",
    "one time twice": HEAD + "2026-01-05T18:00:00Z,60,200\n2026-01-05T18:00:00Z,61,200\n",
    "more than the tank holds": HEAD + "2026-01-05T18:00:00Z,600,200\n",
    "no line end": HEAD + "2026-01-05T18:00:00Z,60,200",
    "nothing but headings": HEAD,
    "no tank gauged": HEAD + "2026-01-05T18:00:00Z,,\n",
    "a heading twice": HEAD.replace("Suction [bbl]", "Settling [in]") + "2026-01-05T18:00:00Z,60,200\n",
    "an unknown heading": HEAD.replace("Suction", "Sucton") + "2026-01-05T18:00:00Z,60,200\n",
    "a zero byte": HEAD + "2026-01-05T18:00:00Z,60,2\0\n",
    "a comma for a point": HEAD.replace(",", ";") + "2026-01-05T18:00:00Z;60,5;200\n",
}


@pytest.mark.parametrize("what", PLAIN)
def test_what_is_plain_is_read_quickly_and_alike(what: str, any_length: pytest.MonkeyPatch) -> None:
    data = PLAIN[what].encode()
    quick = long_files.parse_long(data, "a.csv", RIG_OF)
    assert quick is not None
    assert quick.ok
    assert_same(quick, careful(data, any_length))


@pytest.mark.parametrize("what", LEFT)
def test_what_is_not_plain_is_left_to_the_careful_reader(what: str, any_length: pytest.MonkeyPatch) -> None:
    data = LEFT[what].encode()
    assert long_files.parse_long(data, "a.csv", RIG_OF) is None
    assert_same(readings.parse(data, "a.csv", RIG_OF), careful(data, any_length))


@pytest.mark.parametrize(("wall", "plain"), [("2026-03-07 12:00", True), ("2026-03-08 02:30", False), ("2026-11-01 01:30", False)])
def test_a_wall_time_near_a_change_of_the_clocks_is_looked_at_by_itself(
        wall: str, plain: bool, any_length: pytest.MonkeyPatch) -> None:
    data = f"{HEAD}{wall},60,200\n".encode()
    assert (long_files.parse_long(data, "a.csv", DENVER) is not None) is plain
    assert_same(readings.parse(data, "a.csv", DENVER), careful(data, any_length, DENVER))


def test_a_short_file_and_a_decimal_comma_are_left_to_the_careful_reader() -> None:
    data = PLAIN["with an offset"].encode()
    assert long_files.parse_long(data, "a.csv", RIG_OF) is None


CELL = st.one_of(st.decimals(0, 90, places=3).map(str), st.integers(0, 95).map(str),
                 st.sampled_from(["", "60", " 60 ", "60.0000000000000001", "same", "-0", "1e1", "60%", "inf", "5 ft 2 in", "٣"]))
CLOCK = st.builds("2026-01-05{}18:{:02d}:{:02d}{}".format, st.sampled_from("T "), st.integers(0, 60), st.integers(0, 60),
                  st.sampled_from(["Z", "", "-06:00", "+05:30"]))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(CLOCK, CELL, CELL), min_size=1, max_size=6), st.sampled_from(["\n", "\r\n"]), st.booleans())
def test_whatever_the_cells_both_readers_say_the_same(rows: list[tuple[str, str, str]], end: str, alike: bool) -> None:
    if alike:
        rows = [(f"2026-01-05T18:00:{n:02d}Z", *cells) for n, (_, *cells) in enumerate(rows)]
    data = (HEAD.strip() + end + "".join(",".join(row) + end for row in rows)).encode()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(long_files, "LEAST_BYTES", 0)
        made = readings.parse(data, "a.csv", RIG_OF)
        assert_same(made, careful(data, patch))


def test_a_cell_of_very_many_digits_is_left_to_the_careful_reader_at_once(any_length: pytest.MonkeyPatch) -> None:
    """The file was looked through once a digit, at about 1 ms each in 4 MB. Counted here, not timed."""
    looked: list[int] = []
    search = long_files.re.search
    any_length.setattr(long_files.re, "search", lambda *a: looked.append(1) or search(*a))
    data = f"{HEAD}2026-01-05T18:00:00Z,60.{'1' * 3_000},200\n".encode()
    assert long_files.parse_long(data, "a.csv", RIG_OF) is None
    assert len(looked) < 30


@pytest.mark.parametrize("digits", [14, 15, 16, 17])
def test_the_longest_numbers_that_are_plain_come_out_alike(digits: int, any_length: pytest.MonkeyPatch) -> None:
    data = f"{HEAD}2026-01-05T18:00:00Z,0.{'1' * digits},0.5\n".encode()
    assert_same(readings.parse(data, "a.csv", RIG_OF), careful(data, any_length))
