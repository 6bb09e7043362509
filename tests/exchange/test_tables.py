"""Delimited text: RFC 4180, and the ways in which files are broken."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dipbook.exchange import tables, writing
from dipbook.findings import Finding


def error_of(data: bytes) -> Finding:
    table = tables.read(data, "r.csv")
    errors = [f for f in table.findings if f.severity == "error"]
    assert len(errors) == 1
    assert errors[0].file == "r.csv"
    return errors[0]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_separators_line_ends_and_the_utf8_mark_are_taken_as_they_come(separator: str, end: str, mark: str) -> None:
    text = mark + end.join(separator.join(row) for row in (["time", "Sück"], ["1", "2"], ["3", ""])) + end
    table = tables.read(text.encode("utf-8"), "r.csv")
    assert table.ok, table.findings
    assert not table.findings
    assert table.header == ("time", "Sück")
    assert [list(row) for row in table.rows] == [["1", "2"], ["3", ""]]
    assert list(table.lines) == [2, 3]
    assert table.separator == separator


def test_quoted_cells_may_hold_separators_quotes_and_line_breaks_and_lines_still_count() -> None:
    table = tables.read(b'# invented\n\ntime,remark\n1,"a, ""b""\nc"\n\n2,d\n', "r.csv")
    assert [list(row) for row in table.rows] == [["1", 'a, "b"\nc'], ["2", "d"]]
    assert list(table.lines) == [4, 7]
    assert table.heading_line == 3


def test_inch_marks_in_an_unquoted_cell_are_kept() -> None:
    assert list(tables.read(b"time,a\n1,5' 3 1/2\"\n", "r.csv").rows[0]) == ["1", "5' 3 1/2\""]


def test_rows_of_blanks_are_passed_over() -> None:
    table = tables.read(b"time,a\n,\n1,2\n , \n\n", "r.csv")
    assert table.ok
    assert list(table.lines) == [3]


@pytest.mark.parametrize("data", [b"", b"\n\n", b"# only a remark\n"])
def test_an_empty_file_is_refused(data: bytes) -> None:
    assert error_of(data).code == "empty_file"


def test_a_file_without_the_time_heading_is_refused_with_its_line() -> None:
    error = error_of(b"2026-03-01 02:15,63.5\n2026-03-01 02:30,64\n")
    assert (error.code, error.line) == ("no_heading", 1)


def test_headings_that_two_separators_could_set_apart_are_refused() -> None:
    error = error_of(b"x;time;y,time,z\n1,2,3\n")
    assert error.code == "separator"
    assert "commas or semicolons" in error.what


def test_a_heading_given_twice_is_refused() -> None:
    error = error_of(b"time,Suction,suction\n1,2,3\n")
    assert (error.code, error.column) == ("heading_twice", "suction")


def test_values_without_a_heading_are_refused_and_empty_columns_are_not() -> None:
    assert error_of(b"time,,a\n1,2,3\n").code == "no_heading"
    assert tables.read(b"time,a,\n1,2,\n", "r.csv").ok


def test_wrong_encoding_is_named_with_its_line_and_byte() -> None:
    error = error_of("time,a\n1,2\n2,63½\n".encode("latin-1"))
    assert (error.code, error.line, error.column) == ("encoding", 3, "byte 5")
    assert "UTF-8" in error.what


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le"])
def test_utf16_is_refused(codec: str) -> None:
    assert error_of("time,a\n1,2\n".encode(codec)).code in ("encoding", "nul")


def test_a_zero_byte_is_named_with_its_line() -> None:
    error = error_of(b"time,a\n1,2\n3,\x004\n")
    assert (error.code, error.line, error.column) == ("nul", 3, "byte 3")


def test_a_line_of_ten_megabytes_is_refused_with_its_line() -> None:
    error = error_of(b"time,a\n1,2\n3," + b"7" * 10_000_000 + b"\n4,5\n")
    assert (error.code, error.line) == ("long_line", 3)


def test_a_last_row_cut_short_is_refused_with_its_line() -> None:
    error = error_of(b"time,a,b\n1,2,3\n2,3")
    assert (error.code, error.line) == ("width", 3)
    assert "cut short" in error.what


def test_a_last_row_without_a_line_end_is_remarked_on() -> None:
    table = tables.read(b"time,a\n1,2\n2,3", "r.csv")
    assert table.ok
    assert [(f.code, f.severity, f.line) for f in table.findings] == [("no_line_end", "note", 3)]


def test_a_quote_never_closed_is_refused_with_the_line_where_it_opens() -> None:
    error = error_of(b'time,a\n1,2\n2,"3\n4,5\n6,7\n')
    assert (error.code, error.line) == ("torn", 3)


def test_decimal_commas_between_commas_are_refused_with_the_remedy() -> None:
    error = error_of(b"time,a\n1,63,5\n")
    assert (error.code, error.line) == ("width", 2)
    assert "semicolons" in error.what


def test_many_like_findings_are_counted_not_told_one_by_one() -> None:
    table = tables.read(b"time,a,b\n" + b"1,2\n" * 5000, "r.csv")
    assert len(table.findings) == tables.MOST_FINDINGS + 1
    assert "4980 more" in table.findings[-1].what


@given(st.binary(max_size=300))
def test_no_bytes_whatever_raise(data: bytes) -> None:
    tables.read(data, "r.csv")
    tables.read(b"time,a\n" + data, "r.csv")


CELLS = st.text(st.one_of(st.characters(blacklist_categories=("Cs", "Cc")), st.sampled_from("\t\r\n")), max_size=12)


@given(st.lists(st.tuples(CELLS, CELLS), max_size=6))
def test_what_is_written_reads_back(rows: list[tuple[str, str]]) -> None:
    data = writing.write(["time", "remark"], [("x" + a, "x" + b) for a, b in rows])
    table = tables.read(data, "r.csv")
    assert table.ok, table.findings
    assert [tuple(row) for row in table.rows] == [("x" + a, "x" + b) for a, b in rows]


@pytest.mark.parametrize("text", ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "-1.5 bbl", "+5"])
def test_text_that_a_spreadsheet_would_run_is_guarded(text: str) -> None:
    assert writing.guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "Suction", "-5", "-5.25", "5 bbl", "a=b", "−5"])
def test_other_text_and_plain_numbers_stay(text: str) -> None:
    assert writing.guarded(text) == text


def test_numbers_are_written_bare_and_unknowns_blank() -> None:
    data = writing.write(["t", "v", "n", "u", "w"], [(1, -2.5, None, float("nan"), "-2.1 bbl, so")])
    assert data == b't,v,n,u,w\r\n1,-2.5,,,"\'-2.1 bbl, so"\r\n'


def test_a_row_of_another_width_is_not_written() -> None:
    with pytest.raises(ValueError, match="2 cells"):
        writing.write(["a"], [(1, 2)])


@pytest.mark.parametrize("before", ["\u00a0", "\ufeff", "\u200b", "\x0b", " \u2003", "\u202e"])
def test_nothing_unseen_hides_a_formula_from_the_guard(before: str) -> None:
    assert writing.guarded(f"{before}=1+1") == f"'{before}=1+1"
    assert writing.guarded(f"{before}a=1") == f"{before}a=1"


@given(st.text(alphabet=st.one_of(st.sampled_from("'=+-@\t \u00a01a"), st.characters(codec="utf-8")), max_size=12))
@example("'=1")
@example("''-1")
@example("'-1")
def test_what_was_guarded_is_had_back_as_it_was(text: str) -> None:
    assert writing.unguarded(writing.guarded(text)) == text


@given(st.lists(st.text(st.characters(), max_size=9), min_size=1, max_size=5))
@example(["a\0b", "\x1b[31m", "\ud800", "\x85", "a\nb"])
def test_whatever_a_text_holds_the_file_can_be_read_and_shows_nothing_to_a_terminal(texts: list[str]) -> None:
    """st.characters() gives halves of characters too, which no file can hold."""
    data = writing.write(["time", "remark"], [("x", text) for text in texts])
    assert not any((n < 0x20 and chr(n) not in "\t\r\n") or n == 0x7F or 0x80 <= n < 0xA0 for n in map(ord, data.decode("utf-8")))
    table = tables.read(data, "back.csv")
    assert table.ok, table.findings
    assert len(table.rows) == len(texts)


def test_a_control_character_is_shown_by_its_sign_and_the_rest_stays() -> None:
    assert writing.write(["a"], [("pump\x07 off\0",)]) == "a\r\npump\u2407 off\u2400\r\n".encode()


def test_a_torn_row_among_tabs_is_told_without_a_tab_in_the_words() -> None:
    assert error_of(b'time\ta\n"x"y\t1\n').what.startswith("this row can't be read (a tab expected after")
