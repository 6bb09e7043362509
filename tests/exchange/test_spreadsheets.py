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


SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"
NAMESPACES = " ".join(f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"' for short in ("office", "table", "text"))
REST = ('<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="1024"/>'
        "</table:table-row>")
"""The empty rest of a sheet, as spreadsheet programs write it."""


def cell(kind: str, value: str = "", shown: str = "", more: str = "") -> str:
    """A cell of OpenDocument: its value stands in an attribute that goes by its kind (from memory)."""
    attribute = {"string": "", "float": f'office:value="{value}"', "percentage": f'office:value="{value}"',
                 "date": f'office:date-value="{value}"', "time": f'office:time-value="{value}"'}[kind]
    return f'<table:table-cell office:value-type="{kind}" {attribute} {more}><text:p>{shown}</text:p></table:table-cell>'


def ods(between: str = "", **tables: list[list[str]]) -> bytes:
    """A workbook of OpenDocument, written by hand: its text, its manifest and its kind, first and unpacked.

    between: blanks between the tags of tables, rows and cells.
    """
    body = ""
    for name, rows in tables.items():
        lines = [between.join(["<table:table-row>", *row, "</table:table-row>"]) for row in rows]
        body += between.join([f'<table:table table:name="{name}">', "<table:table-column/>", *lines, REST, "</table:table>"])
    body = body.replace("<text:p>", f"{between}<text:p>").replace("</text:p>", f"</text:p>{between}")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", SPREADSHEET, zipfile.ZIP_STORED)
        packed.writestr("content.xml", '<?xml version="1.0" encoding="UTF-8"?>\n'
                        f'<office:document-content {NAMESPACES} office:version="1.3"><office:body><office:spreadsheet>{body}'
                        "</office:spreadsheet></office:body></office:document-content>")
        packed.writestr("META-INF/manifest.xml", '<?xml version="1.0"?><manifest:manifest manifest:version="1.3" '
                        'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry '
                        f'manifest:full-path="/" manifest:media-type="{SPREADSHEET}"/><manifest:file-entry '
                        'manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>')
    return out.getvalue()


@pytest.mark.parametrize("between", ["", "\n    ", "\r\n\t"], ids=["tight", "indented", "indented on another system"])
def test_an_opendocument_sheet_holds_what_the_same_text_holds(between: str) -> None:
    empty = "<table:table-cell/>"
    data = ods(between, Pits=[
        [cell("string", shown="time"), cell("string", shown="Suction [in]"), cell("string", shown="Settling [in]"),
         '<table:table-cell table:number-columns-repeated="1021"/>'],
        [cell("date", "2026-03-01T02:00:00", "01.03.26"), cell("float", "60.25", "60,3"), cell("float", "61", "61")],
        [cell("date", "2026-03-01T02:15:00", "01.03.26"), cell("string", shown="60 1/2"), empty],
        [cell("date", "2026-03-02", "02.03.26"), cell("float", "60.1", "60,1"), cell("float", "61.125", "61,1")]], Notes=[])
    taken = any_file.take(data, "r.ods", RIG)
    assert taken.file.ok, taken.file.findings
    assert taken.file.content == any_file.take(TEXT, "r.csv", RIG).file.content


def test_an_opendocument_sheet_of_another_form_is_read_as_said() -> None:
    data = ods(Pits=[
        [cell("string", shown="A report &amp; its headings")], [],
        [cell("string", shown="Tag"), cell("string", shown="Uhr"), cell("string", shown="Saugtank (cm)")],
        [cell("date", "2026-03-01", "1.3."), cell("time", "PT02H00M00S", "02:00"),
         cell("float", "150.5", "151", 'table:formula="of:=150+0.5"')],
        [cell("date", "2026-03-01", "1.3."), cell("time", "PT14H05M30S", "14:05"), cell("float", "1.515E2", "152")]])
    said = Mapping((ColumnMeaning("Tag", "date"), ColumnMeaning("Uhr", "time of day"),
                    ColumnMeaning("Saugtank (cm)", "level", "Suction", "cm")), zone="rig")
    asked = any_file.take(data, "r.ods", RIG)
    assert asked.other is not None
    assert asked.other.heading_line == 3
    assert {f.code for f in asked.file.findings} == {"asked"}
    taken = any_file.take(data, "r.ods", RIG, said)
    assert taken.file.ok, taken.file.findings
    plain = b"time,Suction [cm]\n2026-03-01 02:00,150.5\n2026-03-01 14:05:30,151.5\n"
    assert taken.file.content == any_file.take(plain, "r.csv", RIG).file.content


def test_the_blanks_inside_a_cell_stay() -> None:
    data = ods("\n", P=[[cell("string", shown="Reserve <text:span>2</text:span> <text:span>vol</text:span>"), cell("string", shown="b")]])
    assert sheets.load(data, "r.ods")[0][0].rows == (("Reserve 2 vol", "b"),)


def test_a_time_of_day_keeps_its_parts_of_a_second() -> None:
    assert sheets._text(dt.time(1, 59, 59, 997_000)) == "01:59:59.997"
    assert sheets._text(dt.time(2, 0)) == "02:00:00"


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
