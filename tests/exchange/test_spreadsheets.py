"""Workbooks: the same as the same cells in a text; what would burst memory is refused first."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import two_box_rig
from dipbook.exchange import any_file, sheets
from dipbook.exchange.mapping import ColumnMeaning, Mapping

RIG = two_box_rig()


def workbook(*tables: list[list[Any]], names: tuple[str, ...] = ("One", "Two", "Three")) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in zip(names, tables, strict=False):
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


ROWS = [["time", "Suction [in]", "Settling [in]"],
        [dt.datetime(2026, 3, 1, 2, 0), 60.25, 61], [dt.datetime(2026, 3, 1, 2, 15), "60 1/2", None],
        [dt.datetime(2026, 3, 2), 60.1, 61.125]]
TEXT = b"time,Suction [in],Settling [in]\n2026-03-01 02:00,60.25,61\n2026-03-01 02:15,60 1/2,\n2026-03-02 00:00,60.1,61.125\n"


def test_a_sheet_holds_what_the_same_text_holds() -> None:
    taken = any_file.take(workbook(ROWS), "r.xlsx", RIG)
    assert taken.file.ok, taken.file.findings
    assert taken.file.content == any_file.take(TEXT, "r.csv", RIG).file.content


@given(st.lists(st.tuples(st.integers(0, 86_399), st.integers(0, 10**9).map(lambda n: n / 10**7)), min_size=1, max_size=20, unique_by=lambda r: r[0]))
@settings(deadline=None, max_examples=25)
def test_numbers_and_times_to_the_second_come_through_exactly(rows: list[tuple[int, float]]) -> None:
    start = dt.datetime(2026, 3, 1)
    table = [["time", "Suction [in]"], *[[start + dt.timedelta(seconds=s), v] for s, v in rows]]
    found, refused = sheets.load(workbook(table), "r.xlsx")
    assert refused is None
    assert [float(row[1]) for row in found[0].rows[1:]] == [v for _, v in rows]
    assert [row[0] for row in found[0].rows[1:]] == [f"{start + dt.timedelta(seconds=s):%Y-%m-%d %H:%M:%S}" for s, _ in rows]


def test_which_sheet_is_asked_where_several_have_data() -> None:
    data = workbook(ROWS, [], [["a", "b"], [1, 2]])
    other = any_file.take(data, "r.xlsx", RIG).other
    assert other is not None
    assert [p.part for p in other.problems] == ["sheet"]
    assert other.sheets == ("One", "Three")
    assert any_file.take(data, "r.xlsx", RIG, Mapping((), sheet="One")).file.ok
    wrong = any_file.take(data, "r.xlsx", RIG, Mapping((), sheet="None"))
    assert "there is no sheet 'None'" in wrong.file.findings[0].what


def test_lines_above_the_headings_are_passed_over_and_findings_name_the_row() -> None:
    rows = [["A report"], [], *ROWS[:3], [dt.datetime(2026, 3, 1, 3), "6O", 61]]
    taken = any_file.take(workbook(rows), "r.xlsx", RIG)
    assert taken.other is not None
    assert taken.other.heading_line == 3
    assert [(f.line, f.column) for f in taken.file.findings] == [(6, "Suction [in]")]
    assert taken.could_leave_out == 1


def test_date_and_time_of_day_in_cells_of_their_own() -> None:
    rows = [["Date", "Time", "Pit"], [dt.date(2026, 3, 1), dt.time(2, 0), 60.25], [dt.date(2026, 3, 1), dt.time(0, 0), 60.5]]
    said = Mapping((ColumnMeaning("Date", "date"), ColumnMeaning("Time", "time of day"), ColumnMeaning("Pit", "level", "Suction", "in")), zone="rig")
    taken = any_file.take(workbook(rows), "r.xlsx", RIG, said)
    assert taken.file.ok, taken.file.findings
    same = any_file.take(b"time,Suction [in]\n2026-03-01 02:00,60.25\n2026-03-01 00:00,60.5\n", "r.csv", RIG)
    assert taken.file.content == same.file.content


def refusal(data: bytes) -> str:
    taken = any_file.take(data, "r.xlsx", RIG)
    assert not taken.file.ok
    return taken.file.findings[0].what


def test_a_formula_that_was_never_worked_out_is_refused_rather_than_read_as_blank() -> None:
    assert "never worked out" in refusal(workbook([["time", "Suction [in]"], [dt.datetime(2026, 3, 1), "=1+1"]]))


def test_cells_far_apart_are_refused_before_room_is_made_for_them() -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "time"
    book.active["XFD1048576"] = 1
    out = io.BytesIO()
    book.save(out)
    assert "span more than" in refusal(out.getvalue())


def test_a_workbook_that_unpacks_to_very_much_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "MOST_BYTES", 3_000_000)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 5_000_000)
    assert len(out.getvalue()) < 10_000
    assert "unpacks to more than" in refusal(out.getvalue())


def test_a_cell_that_repeats_itself_far_too_often_is_refused() -> None:
    xml = (b'<table:table-row table:number-rows-repeated="1000000"><table:table-cell office:value-type="float" '
           b'office:value="1" table:number-columns-repeated="16000"/></table:table-row>')
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", xml)
    assert "repeated far too often" in refusal(out.getvalue())


def test_an_empty_workbook_is_refused() -> None:
    assert refusal(workbook([])) == "the workbook is empty"


@given(st.binary(max_size=200), st.sampled_from([b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"]))
@settings(deadline=None)
def test_any_bytes_that_begin_like_a_workbook_are_refused_with_words(rest: bytes, start: bytes) -> None:
    _, refused = sheets.load(start + rest, "x")
    assert refused is not None


@given(st.integers(0, 4000), st.integers(0, 255))
@settings(deadline=None, max_examples=60)
def test_a_spoilt_workbook_is_read_or_refused(place: int, byte: int) -> None:
    data = bytearray(workbook(ROWS))
    data[place % len(data)] = byte
    taken = any_file.take(bytes(data), "x.xlsx", RIG)
    assert taken.file.ok or taken.file.findings
