"""Bytes to text: what shows itself is taken, the rest is asked, and nothing is replaced."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import box_tank, two_box_rig
from dipbook.exchange import any_file, encodings
from dipbook.exchange.mapping import Mapping
from dipbook.exchange.tables import LONGEST_LINE

RIG = two_box_rig(tanks=(box_tank("Süd", "suction", active=True, order=1), box_tank("Nord", "settling", active=True, order=2)))
TEXT = "time,Süd [in],Nord [in]\n2026-03-01 02:00,60,61\n2026-03-01 02:30,60.5,61\n"
LEVELS = [60 * 0.0254, 60.5 * 0.0254]


def series(data: bytes, said: Mapping = any_file.NOTHING_SAID) -> list[float]:
    taken = any_file.take(data, "r.csv", RIG, said)
    assert taken.file.ok, taken.file.findings
    return next(s for s in taken.file.series if s.tank == "Süd").v.tolist()


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16"])
def test_an_encoding_that_the_bytes_show_is_taken(codec: str) -> None:
    assert encodings.look(TEXT.encode(codec)).certain
    assert series(TEXT.encode(codec)) == pytest.approx(LEVELS)


@pytest.mark.parametrize("codec", ["windows-1252", "iso-8859-1", "cp850", "utf-16-le", "utf-16-be"])
def test_any_other_is_asked_with_a_guess_and_read_once_it_is_said(codec: str) -> None:
    data = TEXT.encode(codec)
    taken = any_file.take(data, "r.csv", RIG)
    assert not taken.file.ok
    assert taken.other is not None
    assert [p.part for p in taken.other.problems] == ["encoding"]
    assert taken.other.encoding is not None
    assert not taken.other.encoding.certain
    assert "not UTF-8" in taken.file.findings[0].what
    assert series(data, Mapping((), encoding=codec)) == pytest.approx(LEVELS)


def test_the_guess_is_named_and_shown_on_the_lines_in_which_it_matters() -> None:
    taken = any_file.take(TEXT.encode("windows-1252"), "r.csv", RIG)
    assert taken.other is not None
    assert taken.other.encoding is not None
    assert taken.other.encoding.guess in taken.file.findings[0].what
    assert taken.other.odd_lines[0][0] == 1
    assert encodings.samples(TEXT.encode("windows-1252"), "windows-1252") == ((1, "time,Süd [in],Nord [in]"),)


def test_a_wrong_choice_is_said_with_its_line_and_can_be_chosen_anew() -> None:
    other = any_file.take(TEXT.encode("windows-1252"), "r.csv", RIG, Mapping((), encoding="utf-8")).other
    assert other is not None
    assert other.refused is None
    assert "line 1: byte 0xFC is no character in UTF-8" in other.problems[0].what


@pytest.mark.parametrize(("text", "words", "line"), [
    ("a,b\n1,\x07\n", "control character (U+0007)", 2),
    ("a,b\n1,\x85\n", "try windows-1252", 2),
    ("a,b\n1,2\n" + "x" * (LONGEST_LINE + 1), "characters, more than", 3),
])
def test_what_is_no_text_is_refused_with_its_line(text: str, words: str, line: int) -> None:
    _, wrong = encodings.decode(text.encode("utf-8"), "utf-8", "r.csv")
    assert wrong is not None
    assert words in wrong.what
    assert wrong.line == line


def test_names_that_people_use_are_known_and_others_are_not() -> None:
    assert encodings.named("cp1252") == "windows-1252"
    assert encodings.named(" Latin-1 ") == "iso-8859-1"
    assert encodings.named("rot13") is None
    assert encodings.named("idna") is None
    assert encodings.named("\0") is None


@given(st.binary(max_size=400))
def test_any_bytes_are_text_or_a_finding(data: bytes) -> None:
    found = encodings.look(data)
    for name in filter(None, (found.name, found.guess)):
        text, wrong = encodings.decode(data, name, "x")
        assert text == "" or wrong is None
        encodings.samples(data, name)
