"""Columns of other forms: proposed only by our own words, said by a person, then read as our own are."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import BBL, IN, two_box_rig
from dipbook.errors import ImportFileError
from dipbook.exchange import any_file, dates, mapping, proposals, times
from dipbook.exchange.any_file import Taken
from dipbook.exchange.mapping import ColumnMeaning, Mapping
from dipbook.exchange.mapping_file import as_text, from_text

RIG = two_box_rig()
WIDE = (b"When;Pit 1;Trap;Pump;Note\n"
        b"01.03.2026 02:00;150,5;33,70;70;x\n"
        b"01.03.2026 02:30;151,25;33,75;0;y\n")
SAID = Mapping((ColumnMeaning("When", "time"), ColumnMeaning("Pit 1", "level", "Suction", "cm"),
                ColumnMeaning("Trap", "volume", "Settling", "m3"), ColumnMeaning("Pump", "pump", "1", "1/min"),
                ColumnMeaning("Note", "ignore")), dates="day first", zone="rig")
START = times.parse("2026-03-01 02:00", RIG.zone)


def values(taken: Taken) -> dict[tuple[str, str], list[float]]:
    assert taken.file.ok, taken.file.findings
    return {(s.tank, s.what): s.v.tolist() for s in taken.file.series}


def asked(data: bytes, said: Mapping = any_file.NOTHING_SAID) -> list[tuple[str, str]]:
    other = any_file.take(data, "r.csv", RIG, said).other
    assert other is not None
    return [(p.part, p.what) for p in other.problems]


def test_headings_that_say_nothing_are_left_to_a_person() -> None:
    other = any_file.take(WIDE, "r.csv", RIG).other
    assert other is not None
    assert {c.meaning for c in other.mapping.columns} == {""}
    assert {p.place for p in other.problems if p.part == "column"} == {0, 1, 2, 3, 4}
    assert other.samples[1] == ("150,5", "151,25")


def test_a_file_is_read_as_it_was_said() -> None:
    taken = any_file.take(WIDE, "r.csv", RIG, SAID)
    assert values(taken) == {("Suction", "level"): pytest.approx([1.505, 1.5125]),
                             ("Settling", "volume"): pytest.approx([33.70, 33.75])}
    assert taken.file.series[0].t_ms.tolist() == [START, START + 30 * 60_000]
    assert [(e.kind, e.payload["state"]) for e in taken.file.entries] == [("pumps", "on"), ("pumps", "off")]


@pytest.mark.parametrize(("heading", "expected"), [
    ("Suction [in]", ("level", "Suction", "in")), ("suction (cm)", ("level", "Suction", "cm")),
    ("Suction volume, bbl", ("volume", "Suction", "bbl")), ("Reserve 1 level [ft]", ("level", "Reserve 1", "ft")),
    ("Suction", ("", "Suction", "")), ("Suction level", ("level", "Suction", "")), ("Suction time", ("gauged at", "Suction", "")),
    ("Sucton [in]", ("", "", "")), ("Suction 2", ("", "", "")), ("Suction [foo]", ("", "Suction", "")),
    ("Timestamp", ("time", "", "")), ("Date", ("date", "", "")), ("Bit depth (m)", ("bit depth", "", "m")),
    ("pump 1 [1/min]", ("pump", "1", "1/min")), ("pump 9", ("", "", "")), ("temperature", ("", "", "")),
])
def test_only_our_own_words_are_proposed(heading: str, expected: tuple[str, str, str]) -> None:
    other = any_file.take(f"{heading};zz\n1;2\n".encode(), "r.csv", RIG).other
    assert other is not None
    c = other.mapping.columns[0]
    assert (c.meaning, c.name, c.unit) == expected


@pytest.mark.parametrize(("change", "words"), [
    ({"unit": ""}, "choose the unit"), ({"unit": "bbl"}, "no unit of length"), ({"unit": "zz"}, "zz"),
    ({"name": ""}, "choose the tank"), ({"name": "Sucktion"}, "the rig has no tank 'Sucktion'"),
    ({"name": "Settling"}, "the same thing as"), ({"meaning": "height"}, "can't be 'height'"),
    ({"meaning": "percent", "unit": ""}, "set percent_of"), ({"meaning": "pump", "name": "7"}, "no pump '7'"),
])
def test_what_cant_be_is_said_at_the_column(change: dict[str, str], words: str) -> None:
    columns = list(SAID.columns)
    columns[1] = replace(columns[1], **change)
    taken = any_file.take(WIDE, "r.csv", RIG, replace(SAID, columns=tuple(columns)))
    assert not taken.file.ok
    assert words in " ".join(f.what for f in taken.file.findings)


@pytest.mark.parametrize(("change", "part", "words"), [
    ({"zone": ""}, "zone", "say the zone"), ({"zone": "+25:00"}, "zone", "no zone here"),
    ({"zone": "Mars"}, "zone", "no zone here"), ({"dates": "backwards"}, "dates", "dates can be"),
    ({"dates": ""}, "dates", "day first or month first"), ({"encoding": "utf-16"}, "", ""),
])
def test_times_need_their_way_round_and_their_zone(change: dict[str, str], part: str, words: str) -> None:
    found = asked(WIDE, replace(SAID, **change))
    assert [p for p, _ in found] == ([part] if part else [])
    assert words in " ".join(w for _, w in found)


def test_dates_are_asked_only_where_they_could_be_two_things() -> None:
    assert dates.forms(["03/04/2026 02:00"]) == ("day first", "month first")
    assert dates.forms(["03/04/2026 02:00", "31/03/2026 02:00"]) == ("day first",)
    assert dates.forms(["03/04/2026 02:00", "03/31/2026 02:00"]) == ("month first",)
    assert dates.forms(["31/03/2026 02:00", "03/31/2026 02:00"]) == ()
    assert dates.forms(["2026-03-04 02:00"]) == ("year first",)
    assert dates.forms(["4 Mar 2026 02:00"]) == ("year first",)


@pytest.mark.parametrize(("form", "month"), [("day first", 4), ("month first", 3)])
def test_an_ambiguous_date_is_read_as_it_was_said(form: str, month: int) -> None:
    data = WIDE.replace(b"01.03.2026", b"03.04.2026")
    taken = any_file.take(data, "r.csv", RIG, replace(SAID, dates=form))
    day = 3 if form == "day first" else 4
    assert taken.file.series[0].t_ms[0] == times.parse(f"2026-{month:02d}-{day:02d} 02:00", RIG.zone)


@pytest.mark.parametrize(("zone", "hours"), [("rig", 0), ("Z", -6), ("+01:00", -7), ("-06:00", 0)])
def test_an_offset_shifts_the_times(zone: str, hours: int) -> None:
    taken = any_file.take(WIDE, "r.csv", RIG, replace(SAID, zone=zone))
    assert taken.file.series[0].t_ms[0] == START + hours * 3_600_000


@pytest.mark.parametrize(("written", "expected"), [
    ("1/3/26 2:05 pm", "2026-03-01 14:05:00"), ("1 March 2026 12:00 AM", "2026-03-01 00:00:00"),
    ("01.03.2026, 02:15:30,5", "2026-03-01 02:15:30.5"), ("2026/03/01 02:15 +0100", "2026-03-01 02:15:00+01:00"),
])
def test_times_as_others_write_them(written: str, expected: str) -> None:
    assert dates.plain([written], "day first", "") == ([expected], [])


@pytest.mark.parametrize("written", ["", "1/3/2026", "13:00", "31/02/2026 02:00", "1/3/2026 25:00", "1/3/2026 13:00 pm",
                                     "1-3/2026 02:00", "=NOW()", "1/3/226 02:00"])
def test_a_time_that_is_none_is_a_finding(written: str) -> None:
    texts, wrong = dates.plain([written], "day first", "")
    assert texts == [""]
    assert [i for i, _ in wrong] == [0]


def test_date_and_time_of_day_in_two_columns() -> None:
    data = WIDE.replace(b"When", b"Date;Hour").replace(b" 02:", b";02:")
    said = replace(SAID, columns=(ColumnMeaning("Date", "date"), ColumnMeaning("Hour", "time of day"), *SAID.columns[1:]))
    assert any_file.take(data, "r.csv", RIG, said).file.content == any_file.take(WIDE, "r.csv", RIG, SAID).file.content


# --- one dip a row ----------------------------------------------------------------------------------------------

LONG = (b"time,tank,value,unit\n2026-03-01 02:00,Suction,60,in\n2026-03-01 02:00,Settling,212,bbl\n"
        b"2026-03-01 02:30,Suction,60.5,in\n2026-03-01 02:30,P9,1,in\n")
LONG_SAID = Mapping(tuple(ColumnMeaning(x, x) for x in ("time", "tank", "value", "unit")), zone="rig",
                    tanks=(("P9", ""),))


def test_one_dip_a_row_asks_which_tank_an_unknown_word_is() -> None:
    assert [p for p, _ in asked(LONG, replace(LONG_SAID, tanks=()))] == ["tanks"]
    assert values(any_file.take(LONG, "r.csv", RIG, LONG_SAID)) == {
        ("Suction", "level"): pytest.approx([60 * IN, 60.5 * IN]), ("Settling", "volume"): pytest.approx([212 * BBL])}


def test_a_word_is_the_tank_that_was_said() -> None:
    taken = any_file.take(LONG, "r.csv", RIG, replace(LONG_SAID, tanks=(("P9", "Reserve 1"),)))
    assert values(taken)["Reserve 1", "level"] == pytest.approx([1 * IN])


@pytest.mark.parametrize(("row", "line", "words"), [
    (b"2026-03-01 03:00,,60,in", 6, "no tank is named"), (b"2026-03-01 03:00,Suction,60,furlong", 6, "furlong"),
    (b"2026-03-01 03:00,Suction,60,", 6, "60"), (b"2026-03-01 02:00,Suction,61,in", 6, "another reading"),
])
def test_a_bad_row_of_a_long_file_has_its_line(row: bytes, line: int, words: str) -> None:
    taken = any_file.take(LONG + row + b"\n", "r.csv", RIG, LONG_SAID)
    wrong = [f for f in taken.file.findings if f.severity == "error"]
    assert line in {f.line for f in wrong}
    assert words in " ".join(f.what for f in wrong)
    assert taken.could_leave_out == (2 if words == "another reading" else 1)


DIPS = st.lists(st.tuples(st.integers(0, 500), st.sampled_from(["Settling", "Suction", "Reserve 1"]),
                          st.integers(0, 400)), min_size=1, max_size=30, unique_by=lambda d: d[:2])


@given(DIPS)
@settings(deadline=None)
def test_wide_and_long_hold_the_same(dips: list[tuple[int, str, int]]) -> None:
    tanks = ["Settling", "Suction", "Reserve 1"]

    def at(minute: int) -> str:
        return times.rfc3339(START + minute * 60_000)

    by_time: dict[int, dict[str, int]] = {}
    for minute, tank, level in dips:
        by_time.setdefault(minute, {})[tank] = level
    wide = "time," + ",".join(f"{t} [mm]" for t in tanks) + "\n" + "".join(
        f"{at(m)}," + ",".join(str(row.get(t, "")) for t in tanks) + "\n" for m, row in by_time.items())
    long = "t;which;mm\n" + "".join(f"{at(m)};{t};{v}\n" for m, t, v in dips)
    said = Mapping((ColumnMeaning("t", "time"), ColumnMeaning("which", "tank"), ColumnMeaning("mm", "value", "", "mm")))
    one, other = any_file.take(wide.encode(), "w.csv", RIG).file, any_file.take(long.encode(), "l.csv", RIG, said).file
    assert one.ok, one.findings
    assert other.ok, other.findings
    assert one.content == other.content


# --- good rows only ---------------------------------------------------------------------------------------------


def test_good_rows_only_leaves_out_the_bad_ones_and_keeps_their_count_and_first_lines() -> None:
    data = WIDE + b"01.03.2026 03:00;6O;33,8;;z\nnonsense;150;33,8;;\n01.03.2026 03:30;150\n01.03.2026 04:00;152,5;33,9;;\n"
    refused = any_file.take(data, "r.csv", RIG, SAID)
    assert not refused.file.ok
    assert refused.could_leave_out == 3
    taken = any_file.take(data, "r.csv", RIG, SAID, good_rows_only=True)
    assert values(taken)["Suction", "level"] == pytest.approx([1.505, 1.5125, 1.525])
    assert taken.left_out is not None
    assert taken.left_out.count == 3
    assert [(line, text) for line, text, _ in taken.left_out.lines] == [
        (4, "01.03.2026 03:00;6O;33,8;;z"), (5, "nonsense;150;33,8;;"), (6, "01.03.2026 03:30;150")]
    assert "3 rows are left out" in taken.file.findings[0].what


def test_good_rows_only_in_our_own_form_leaves_out_same_because_it_isnt_known_as_what() -> None:
    data = b"time,Suction [in]\n2026-03-01 02:00,60\n2026-03-01 02:10,6O\n2026-03-01 02:20,same\n2026-03-01 02:30,61\n"
    taken = any_file.take(data, "r.csv", RIG, good_rows_only=True)
    assert values(taken) == {("Suction", "level"): pytest.approx([60 * IN, 61 * IN])}
    assert taken.left_out is not None
    assert [line for line, _, _ in taken.left_out.lines] == [3, 4]


def test_of_two_readings_at_one_time_neither_is_taken() -> None:
    data = b"time,Suction [in]\n2026-03-01 02:00,60\n2026-03-01 02:00,61\n2026-03-01 02:30,62\n"
    assert values(any_file.take(data, "r.csv", RIG, good_rows_only=True)) == {("Suction", "level"): pytest.approx([62 * IN])}


def test_a_file_without_a_good_row_stays_refused() -> None:
    taken = any_file.take(b"time,Suction [in]\n2026-03-01 02:00,x\n", "r.csv", RIG, good_rows_only=True)
    assert not taken.file.ok
    assert taken.could_leave_out == 0


def test_good_rows_only_changes_nothing_in_a_good_file() -> None:
    taken = any_file.take(WIDE, "r.csv", RIG, SAID, good_rows_only=True)
    assert taken.left_out is None
    assert taken.file.content == any_file.take(WIDE, "r.csv", RIG, SAID).file.content


# --- our own form, and anything ---------------------------------------------------------------------------------


def test_a_file_of_our_own_form_needs_no_mapping() -> None:
    assert any_file.take(b"time,Suction [in]\n2026-03-01 02:00,60\n", "r.csv", RIG).other is None


def test_our_own_headings_with_the_other_decimal_sign_need_nothing_said() -> None:
    taken = any_file.take(b"time;Suction [in];flow out\n2026-03-01 02:00;60,5;1\n", "r.csv", RIG)
    assert values(taken) == {("Suction", "level"): pytest.approx([60.5 * IN])}
    assert taken.other is not None
    assert taken.other.own
    assert taken.other.mapping.decimal == ","


def test_a_misspelt_tank_of_our_own_form_is_told_as_before() -> None:
    taken = any_file.take(b"time,Sucton [in],Settling [in]\n2026-03-01 02:00,60,60\n", "r.csv", RIG)
    assert [(f.code, f.column) for f in taken.file.findings] == [("heading", "Sucton [in]")]
    assert taken.other is not None


@pytest.mark.parametrize("cell", ["=1+1", "+60", "@SUM(A1)", "-60", "=cmd|' /C calc'!A0"])
def test_what_looks_like_a_formula_is_text_and_no_reading(cell: str) -> None:
    taken = any_file.take(WIDE.replace(b"150,5", cell.encode()), "r.csv", RIG, SAID)
    assert not taken.file.ok or cell == "+60"


@given(st.binary(max_size=300), st.booleans())
@settings(deadline=None)
def test_any_bytes_are_read_or_refused_with_a_finding(data: bytes, good: bool) -> None:
    for said in (any_file.NOTHING_SAID, SAID, replace(SAID, encoding="windows-1252", separator=";", decimal=",")):
        taken = any_file.take(data, "x", RIG, said, good_rows_only=good)
        assert taken.file.ok or taken.file.findings
        assert taken.file.ok == (not any(f.severity == "error" for f in taken.file.findings))


@pytest.mark.parametrize("data", [b"", b";", b";;\n;;\n", b"# a note;\n", b"a;b\n", b"a;b\n;\n"])
def test_a_file_without_rows_is_refused(data: bytes) -> None:
    for said in (any_file.NOTHING_SAID, SAID, replace(SAID, separator=";", decimal=",")):
        assert not any_file.take(data, "x", RIG, said).file.ok


CELLS = st.lists(st.lists(st.sampled_from(["", "150", "150,5", "6O", "x", "01.03.2026 02:00", "same", "=1", '"']), min_size=5,
                          max_size=5), max_size=12)


@given(CELLS, st.booleans())
@settings(deadline=None)
def test_any_rows_under_known_headings_are_read_or_refused(rows: list[list[str]], good: bool) -> None:
    data = "When;Pit 1;Trap;Pump;Note\n" + "".join(";".join(row) + "\n" for row in rows)
    taken = any_file.take(data.encode(), "x", RIG, SAID, good_rows_only=good)
    assert taken.file.ok or taken.file.findings


# --- kept -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("said", [SAID, LONG_SAID, replace(SAID, encoding="cp850", separator="\t", decimal=",", sheet="a 'b\"",
                                                           heading_row=3, tanks=(('P "1', "Suction"), ("\\", ""), ("", "x")))])
def test_a_mapping_file_says_what_was_said(said: Mapping) -> None:
    assert from_text(as_text(said), "m.toml") == said


@given(st.lists(st.tuples(st.text(max_size=20), st.text(max_size=20)), max_size=4, unique_by=lambda p: p[0]))
@settings(deadline=None)
def test_any_words_survive_a_mapping_file(words: list[tuple[str, str]]) -> None:
    said = Mapping(tuple(ColumnMeaning(a, "level", b, "cm") for a, b in words), tanks=tuple(words))
    assert from_text(as_text(said), "m.toml") == said


@pytest.mark.parametrize(("text", "words"), [
    ("x", "no TOML"), ("", "format = 1"), ("format = 2", "format = 1"), ("format = 1\ndate = 'x'", "no key 'date'"),
    ("format = 1\ndates = 3", "dates has to be a text"), ("format = 1\n[[column]]\nis = 'time'", "column 1: its heading"),
    ("format = 1\n[[column]]\nheading = 'a'\nname = 'b'", "no key 'name'"), ("format = 1\ncolumn = 3", "[[column]]"),
    ("format = 1\nheading_row = true", "heading_row"), ("format = 1\n[tanks]\na = 1", "[tanks]"),
])
def test_a_mapping_file_that_cant_be_is_said(text: str, words: str) -> None:
    with pytest.raises(ImportFileError) as raised:
        from_text(text, "m.toml")
    assert words in str(raised.value)
    assert str(raised.value).startswith("m.toml: ")


def test_a_mapping_for_other_headings_fits_what_it_can_and_says_what_is_missing() -> None:
    fit, found = mapping.fitted(SAID, ["note", "WHEN", "Pit  1", "Trap"])
    assert [c.meaning for c in fit.columns] == ["ignore", "time", "level", "volume"]
    assert [p.what for p in found] == ["the mapping tells of a column 'Pump', and the file has none"]


def test_headings_are_remembered_in_any_case_and_in_their_order() -> None:
    assert mapping.key_of(["A b", "c"]) == mapping.key_of(["a  B", "C"])
    assert mapping.key_of(["a", "b"]) != mapping.key_of(["b", "a"])
    assert mapping.key_of(["ab", ""]) != mapping.key_of(["a", "b"])


@pytest.mark.parametrize(("heading", "meaning", "unit"), [
    ("Saugtank (cm)", mapping.LEVEL, "cm"), ("Level [m]", mapping.LEVEL, "m"), ("Reserve Vol m3", mapping.VOLUME, "m3"),
    ("Trip, bbl", mapping.VOLUME, "bbl"), ("pit_volume_bbl", mapping.VOLUME, "bbl"), ("Level [m]", mapping.VOLUME, ""),
    ("Mud in", mapping.LEVEL, ""), ("Level (in)", mapping.LEVEL, "in"), ("m", mapping.LEVEL, ""), ("Pit 1", mapping.LEVEL, ""),
    ("When (h)", mapping.TIME, ""), ("Level (cubits)", mapping.LEVEL, "")])
def test_the_unit_in_a_heading_fits_the_meaning_or_is_none(heading: str, meaning: str, unit: str) -> None:
    assert proposals.unit_in(heading, meaning) == unit
