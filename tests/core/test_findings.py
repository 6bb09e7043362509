"""Where a finding is, in words that may be shown anywhere."""

from __future__ import annotations

from dipbook.findings import Finding


def test_a_place_is_file_line_column_and_the_tank_unless_the_words_begin_with_it() -> None:
    assert Finding("bad", file="r.csv", line=3, column="Pit 1", tank="Pit").where == "r.csv, line 3, column Pit 1, Pit"
    assert Finding("Pit is bad", tank="Pit").where == ""


def test_words_that_quote_a_file_tell_a_terminal_nothing_and_keep_their_lines() -> None:
    assert Finding("known are \x1b[31m,\u00a0t1\nand \ud800").what == "known are �[31m,\u00a0t1\nand �"


def test_a_name_out_of_a_file_tells_a_terminal_nothing() -> None:
    assert Finding("bad", file="a\x1b[2J.csv", line=1, column="\x07\u202eq\nz").where == "a�[2J.csv, line 1, column ��q�z"
