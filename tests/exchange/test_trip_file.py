"""Trip files: what is read, what is refused with its place and a remedy, and that nothing is ever half-read."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import FT, IN, METRIC_UNITS, box_tank, two_box_rig
from dipbook.exchange import times, trip_file
from dipbook.exchange.trip_file import TripFile
from dipbook.findings import Finding
from dipbook.rig.model import Rig
from dipbook.tanks.shapes import Strapping

BASE = two_box_rig()
TRIP = box_tank("Trip", "trip", active=False, order=4, brim_m=8 * FT)
RIG = replace(BASE, tanks=(*BASE.tanks, TRIP))
METRIC = replace(RIG, units=METRIC_UNITS, decimal=",")
HEAD = "time,kind,stand,bit depth [ft],Trip [in],strokes,remark\n"
GOOD = "2026-03-01 02:00,stand,1,9000,60,12,ok\n"


def at(clock: str, zone: str = BASE.zone) -> int:
    return times.parse(f"2026-03-01 {clock}", zone)


def read(text: str | bytes, rig: Rig = RIG) -> TripFile:
    return trip_file.parse(text.encode("utf-8") if isinstance(text, str) else text, "t.csv", rig)


def good(text: str, rig: Rig = RIG) -> TripFile:
    file = read(text, rig)
    assert not [f for f in file.findings if f.severity == "error"], file.findings
    assert file.rows
    return file


def errors(text: str | bytes, rig: Rig = RIG) -> list[Finding]:
    file = read(text, rig)
    found = [f for f in file.findings if f.severity == "error"]
    assert found
    assert (file.rows, file.tanks) == ((), ()), "nothing is half-read"
    assert all(f.file == "t.csv" and not f.kept for f in found)
    return found


def refused(text: str | bytes, rig: Rig = RIG) -> Finding:
    (found,) = errors(text, rig)
    return found


def levels(cell: str, rig: Rig = RIG, heading: str = "Trip [in]") -> float:
    return good(f"time;{heading}\n2026-03-01 02:00;{cell}\n", rig).rows[0].levels_m["Trip"]


def test_a_row_is_read_in_si() -> None:
    file = good(HEAD + GOOD)
    (row,) = file.rows
    assert (row.t_ms, row.kind, row.stand, row.strokes, row.remark, row.line) == (at("02:00"), "stand", 1, 12.0, "ok", 2)
    assert row.bit_m == pytest.approx(9000 * FT, rel=1e-15)
    assert dict(row.levels_m) == {"Trip": pytest.approx(60 * IN, rel=1e-15)}
    assert file.tanks == ("Trip",)
    assert file.findings == ()


def test_blanks_are_allowed_everywhere_but_in_the_time() -> None:
    (row,) = good(HEAD + "2026-03-01 02:00,,,,60,,\n").rows
    assert (row.kind, row.stand, row.strokes, row.remark) == ("stand", None, None, "")
    assert row.bit_m != row.bit_m
    (row,) = good(HEAD + "2026-03-01 02:00,,,9000,-,,\n").rows
    assert row.levels_m == {}, "a dash is a tank that wasn't gauged"
    assert refused(HEAD + ",,,,60,,\n").column == "time"


def test_columns_may_stand_in_any_order_and_case_and_some_be_left_out() -> None:
    (row,) = good("TRIP [ft]\tBit Depth\tTime\n5.25\t9000\t2026-03-01 02:00\n").rows
    assert row.levels_m["Trip"] == pytest.approx(63 * IN)
    assert row.bit_m == pytest.approx(9000 * FT)


def test_several_trip_tanks_may_stand_beside_each_other() -> None:
    file = good("time,Trip [in],Reserve 1 [ft]\n2026-03-01 02:00,60,\n2026-03-01 02:05,,5\n")
    assert file.tanks == ("Trip", "Reserve 1")
    assert [dict(r.levels_m) for r in file.rows] == [{"Trip": pytest.approx(60 * IN)}, {"Reserve 1": pytest.approx(5 * FT)}]


def test_a_file_may_have_strokes_and_no_tank() -> None:
    file = good("time,strokes\n2026-03-01 02:00,0\n2026-03-01 02:10,42.5\n")
    assert [r.strokes for r in file.rows] == [0.0, 42.5]


@pytest.mark.parametrize(("unit", "metres"), [("in", 60 * IN), ("cm", 0.6), ("ft", None), ("mm", 0.06), ("", 60 * IN)])
def test_a_unit_in_the_heading_is_that_of_bare_numbers(unit: str, metres: float | None) -> None:
    heading = f"Trip [{unit}]" if unit else "Trip"
    if metres is None:
        assert "more than the tank can hold" in refused(f"time,{heading}\n2026-03-01 02:00,60\n").what
    else:
        assert levels("60", heading=heading) == pytest.approx(metres, rel=1e-14)
    assert good("time,bit depth [m],Trip\n2026-03-01 02:00,2743.2,60\n").rows[0].bit_m == pytest.approx(2743.2)
    assert good("time,bit depth,Trip\n2026-03-01 02:00,2743.2 m,60\n").rows[0].bit_m == pytest.approx(2743.2)


@pytest.mark.parametrize("cell", ['"5\' 3 1/2"""', "63 1/2", "63.5", "63½", "63.5 in", "161.29 cm", "5 ft 3 1/2 in"])
def test_a_level_may_be_said_in_any_way_a_person_does(cell: str) -> None:
    assert levels(cell) == pytest.approx(63.5 * IN, rel=1e-14)
    assert levels(cell if cell not in ("63 1/2", "63.5", "63½") else f"{cell} in", heading="Trip [ft in]") == pytest.approx(
        63.5 * IN, rel=1e-14)


def test_a_bare_number_under_feet_and_inches_could_be_either() -> None:
    found = refused("time,Trip [ft in]\n2026-03-01 02:00,63\n")
    assert "could be feet or inches. Write" in found.what


def test_a_decimal_comma_is_read_where_the_rig_writes_it_and_refused_elsewhere() -> None:
    file = good("time;bit depth;Trip;strokes\n2026-03-01 02:00;2743,2;160,5;12,5\n", METRIC)
    (row,) = file.rows
    assert (row.bit_m, row.levels_m["Trip"], row.strokes) == (pytest.approx(2743.2), pytest.approx(1.605), 12.5)
    for cells, column in (("2743.2;160;12", "bit depth"), ("2743;160.5;12", "Trip"), ("2743;160;1.250", "strokes")):
        assert refused(f"time;bit depth;Trip;strokes\n2026-03-01 02:00;{cells}\n", METRIC).column == column
    for cells, column in (("2743,2;60;12", "bit depth"), ("2743;60,5;12", "Trip"), ("2743;60;1,250", "strokes")):
        assert refused(f"time;bit depth;Trip;strokes\n2026-03-01 02:00;{cells}\n").column == column


def test_a_tank_gauged_down_from_a_mark_gives_levels_above_its_bottom() -> None:
    """The mark 9 ft above the bottom: a dip of 30 in is a level of 78 in."""
    down = replace(RIG, tanks=(*BASE.tanks, replace(TRIP, gauge="down", mark_m=9 * FT, brim_m=9 * FT)))
    assert levels("30", down) == pytest.approx(78 * IN)
    assert levels("0", down) == pytest.approx(108 * IN)
    assert "below the tank's bottom: check the tank, the unit and the mark" in refused(
        "time,Trip [in]\n2026-03-01 02:00,109\n", down).what
    plate = replace(RIG, tanks=(*BASE.tanks, replace(TRIP, offset_m=2 * IN)))
    assert levels("30", plate) == pytest.approx(32 * IN)


def test_a_level_that_the_tank_cant_have_is_refused_and_one_above_its_brim_told() -> None:
    assert "more than the tank can hold" in refused("time,Trip [in]\n2026-03-01 02:00,109\n").what
    assert levels("108") == pytest.approx(108 * IN)
    file = good("time,Trip [in]\n2026-03-01 02:00,97\n")
    (told,) = file.findings
    assert (told.code, told.line, told.column, told.tank, told.kept) == ("above_brim", 2, "Trip [in]", "Trip", True)
    strapped = replace(RIG, tanks=(*BASE.tanks, replace(TRIP, shape=Strapping((0.5, 2.0), (1.0, 5.0)))))
    assert "outside the tank's shape or strapping table" in refused(
        "time,Trip [cm]\n2026-03-01 02:00,40\n", strapped).what


@pytest.mark.parametrize(("text", "line", "column", "says"), [
    ("time,Tripp\n2026-03-01 02:00,60\n", 1, "Tripp", "there is no tank or column 'Tripp': did you mean Trip?"),
    ("time,Trip,bit deth\n2026-03-01 02:00,60,1\n", 1, "bit deth", "did you mean bit depth?"),
    ("time,Trip,weather\n2026-03-01 02:00,60,1\n", 1, "weather", "known are time, kind, stand"),
    ("time,Trip [bbl]\n2026-03-01 02:00,60\n", 1, "Trip [bbl]", "bbl is no unit of level: the sheet wants what the stick"),
    ("time,Trip [parsec]\n2026-03-01 02:00,60\n", 1, "Trip [parsec]", "parsec"),
    ("time,Trip,bit depth [bbl]\n2026-03-01 02:00,60,1\n", 1, "bit depth [bbl]", "bbl is no unit of depth"),
    ("time,Trip,strokes [bbl]\n2026-03-01 02:00,60,1\n", 1, "strokes [bbl]", "strokes has no unit"),
    ("time,Trip,TRIP [in]\n2026-03-01 02:00,60,1\n", 1, "TRIP [in]", "this column stands here twice: keep one"),
    ("time,Trip,Trip\n2026-03-01 02:00,60,1\n", 1, "Trip", "keep one"),
    ("time,Trip,stand,stand\n2026-03-01 02:00,60,1,2\n", 1, "stand", "keep one"),
    ("time,Trip,\n2026-03-01 02:00,60,1\n", 1, "3", "has values but no heading"),
    ("time,bit depth\n2026-03-01 02:00,9000\n", 1, "", "there is no trip tank and no strokes among the columns"),
    ("Trip,stand\n60,1\n", 1, "", "the first row must be the headings, one of them `time`"),
    ("time,Trip\n", 1, "", "there are headings but no rows: the file is cut short, export it again"),
    ("", None, "", "the file is empty: it needs a heading and rows"),
    (HEAD + GOOD.replace("02:00", "25:00"), 2, "time", "25:00"),
    (HEAD + GOOD.replace("2026-03-01 02:00", "02:00"), 2, "time", "write it like 2026-03-01T02:15:00-06:00"),
    (HEAD + GOOD.replace("2026", "2926"), 2, "time", "the year 2926"),
    (HEAD + GOOD.replace("stand", "stnad"), 2, "kind", "“stnad” is no kind of row: did you mean stand?"),
    (HEAD + GOOD.replace("stand", "x"), 2, "kind", "known are stand, fill, refill, pipe filled, flow check"),
    (HEAD + GOOD.replace(",1,", ",one,"), 2, "stand", "“one” is no number of a stand: write a whole number"),
    (HEAD + GOOD.replace(",1,", ",1.5,"), 2, "stand", "write a whole number"),
    (HEAD + GOOD.replace(",1,", ",1_0,"), 2, "stand", "write a whole number"),
    (HEAD + GOOD.replace(",1,", ",١,"), 2, "stand", "write a whole number"),
    (HEAD + GOOD.replace(",1,", ",-1,"), 2, "stand", "write a whole number"),
    (HEAD + GOOD.replace(",1,", ",99999,"), 2, "stand", "below 10,000, or leave it blank"),
    (HEAD + GOOD.replace(",1,", f",{'9' * 5000},"), 2, "stand", "write a whole number"),
    (HEAD + GOOD.replace("9000", "deep"), 2, "bit depth [ft]", "“deep”"),
    (HEAD + GOOD.replace("9000", "-9000"), 2, "bit depth [ft]", "below zero"),
    (HEAD + GOOD.replace("9000", "90000"), 2, "bit depth [ft]", "can't be right: check the unit"),
    (HEAD + GOOD.replace("9000", "9e3"), 2, "bit depth [ft]", "9e3"),
    (HEAD + GOOD.replace("9000", "nan"), 2, "bit depth [ft]", "nan"),
    (HEAD + GOOD.replace("9000", "9" * 4000), 2, "bit depth [ft]", ""),
    (HEAD + GOOD.replace("9000", "9000 bbl"), 2, "bit depth [ft]", "bbl"),
    (HEAD + GOOD.replace("60", "sixty"), 2, "Trip [in]", "“sixty”"),
    (HEAD + GOOD.replace("60", "-60"), 2, "Trip [in]", "below zero"),
    (HEAD + GOOD.replace("60", "24 bbl"), 2, "Trip [in]", "“24 bbl” is no level: write what the stick or the sensor says"),
    (HEAD + GOOD.replace("60", "48 %"), 2, "Trip [in]", "“48 %” is no level: write what the stick or the sensor says"),
    (HEAD + GOOD.replace("60", "same"), 2, "Trip [in]", "“same” is no level: write what the stick or the sensor says"),
    (HEAD + GOOD.replace("60", "\"5' 13\"\"\""), 2, "Trip [in]", "twelve inches are a foot"),
    (HEAD + GOOD.replace("60", "inf"), 2, "Trip [in]", "inf"),
    (HEAD + GOOD.replace("60", "9" * 400), 2, "Trip [in]", ""),
    (HEAD + GOOD.replace(",12,", ",many,"), 2, "strokes", "“many” is no number of strokes: write one below 1,000,000"),
    (HEAD + GOOD.replace(",12,", ",-12,"), 2, "strokes", "in plain digits, or leave it blank"),
    (HEAD + GOOD.replace(",12,", ",nan,"), 2, "strokes", "in plain digits"),
    (HEAD + GOOD.replace(",12,", ",1e3,"), 2, "strokes", "in plain digits"),
    (HEAD + GOOD.replace(",12,", ",1_000,"), 2, "strokes", "in plain digits"),
    (HEAD + GOOD.replace(",12,", ",1000000,"), 2, "strokes", "write one below 1,000,000"),
    (HEAD + GOOD[:-8] + "\n", 2, "", "the file is cut short, export it again"),
    (HEAD + GOOD.replace("60", "60,5"), 2, "", "needs quotes, or use semicolons"),
    (HEAD + GOOD.replace("ok", '"ok'), 2, "", "the file is cut short, or a quote is missing"),
    ("# a note\n\n" + HEAD + GOOD + GOOD.replace(",60,", ",x,"), 5, "Trip [in]", "“x”"),
])
def test_what_cant_be_read_is_refused_with_its_place_and_a_remedy(text: str, line: int | None, column: str,
                                                                  says: str) -> None:
    found = refused(text)
    assert (found.line, found.column) == (line, column)
    assert says in found.what
    assert len(found.what) < 500


@pytest.mark.parametrize(("data", "says"), [
    (HEAD.encode() + GOOD.replace("ok", "naïve").encode("latin-1"), "is not UTF-8: save the file as CSV UTF-8"),
    ((HEAD + GOOD).encode("utf-16"), "UTF-16: save it as CSV UTF-8"),
    (HEAD.encode() + b"\0" + GOOD.encode(), "a zero byte in the file: it is damaged or isn't text; export it again"),
    (HEAD.encode() + b"x" * 200_000, "it is damaged or isn't such a table")])
def test_bytes_that_are_no_text_are_refused_with_their_place(data: bytes, says: str) -> None:
    found = refused(data)
    assert says in found.what
    assert found.line is not None
    assert found.column.startswith("byte ")


def test_a_mark_at_the_start_and_any_line_end_are_read() -> None:
    text = HEAD + GOOD
    for data in (b"\xef\xbb\xbf" + text.encode(), text.replace("\n", "\r\n").encode(), text.replace("\n", "\r").encode()):
        file = read(data)
        assert len(file.rows) == 1
        assert not file.findings


def test_every_wrong_row_and_heading_is_told_at_once_and_like_ones_are_counted() -> None:
    text = (HEAD + GOOD.replace(",60,", ",x,").replace("stand", "stad") + GOOD + GOOD.replace("02:00", "nine"))
    assert sorted((f.line, f.column) for f in errors(text)) == [(2, "Trip [in]"), (2, "kind"), (4, "time")]
    assert [f.line for f in errors("time,Trip [bbl],stnd\n" + "2026-03-01 02:00,1,1\n")] == [1, 1]
    many = errors(HEAD + GOOD.replace(",60,", ",x,") * 500)
    assert len(many) == 21
    assert many[-1].what == "and 480 more like this"


def test_kinds_may_be_in_any_case() -> None:
    file = good(HEAD + "".join(f"2026-03-01 02:0{n},{kind},,,60,,\n" for n, kind in enumerate(
        ("Stand", "FILL", "refill", "Flow Check", ""))))
    assert [r.kind for r in file.rows] == ["stand", "fill", "refill", "flow check", "stand"]


def test_a_blank_row_is_passed_over_and_one_with_a_time_alone_told() -> None:
    file = good(HEAD + GOOD + "\n,,,,,,\n2026-03-01 02:10,,,,,,\n2026-03-01 02:15,stand,,,,,\n")
    assert [r.line for r in file.rows] == [2, 6], "a stand of which nothing else was logged was still pulled"
    (told,) = file.findings
    assert (told.code, told.severity, told.line, told.kept) == ("blank_row", "note", 5, False)
    assert not good(HEAD + GOOD + "2026-03-01 02:10,,,,,,tight hole\n").findings


ROWS = [f"2026-03-01 02:{n:02d},stand,{n},{9000 - 93 * n},{60 - n / 4},,\n" for n in range(12)]


@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_doesnt_matter_where_each_has_a_time_of_its_own(dice: random.Random) -> None:
    mixed = dice.sample(ROWS, len(ROWS))
    assert [replace(r, line=None) for r in good(HEAD + "".join(mixed)).rows] == [
        replace(r, line=None) for r in good(HEAD + "".join(ROWS)).rows]


def test_rows_of_one_time_stand_as_in_the_file_and_only_where_that_is_by_time() -> None:
    stand, refill = ROWS[3], ROWS[3].replace("stand", "refill").replace("59.25", "90")
    file = good(HEAD + ROWS[2] + stand + refill + ROWS[4])
    assert [r.kind for r in file.rows] == ["stand", "stand", "refill", "stand"]
    found = refused(HEAD + ROWS[4] + refill + stand + ROWS[2])
    assert (found.line, found.column, found.code) == (4, "time", "same_time")
    assert found.what.startswith("line 3 has the same time, and the rows aren't by time")
    assert found.what.endswith("Put the rows in order, or give seconds")


CHICAGO = replace(RIG, zone="America/Chicago")


def test_times_may_have_an_offset_or_be_in_the_rigs_zone() -> None:
    file = good("time,Trip\n2026-03-01T08:00:00Z,60\n2026-03-01 02:01,60\n2026-03-01T10:02:30+02:00,60\n")
    assert [r.t_ms for r in file.rows] == [at("02:00"), at("02:01"), at("02:02:30")]
    summer = good("time,Trip\n2026-07-01 03:00,60\n2026-01-01 02:00,60\n", CHICAGO).rows
    assert [r.t_ms for r in summer] == [times.parse("2026-01-01T08:00:00Z", None), times.parse("2026-07-01T08:00:00Z", None)]


@pytest.mark.parametrize("clock", ["2026-03-08 02:30", "2026-11-01 01:30"])
def test_a_local_time_that_never_was_or_was_twice_wants_its_offset(clock: str) -> None:
    """Clocks in Chicago go forward on 8 March and back on 1 November 2026."""
    found = refused(f"time,Trip\n{clock},60\n", CHICAGO)
    assert (found.line, found.column) == (2, "time")
    assert "offset" in found.what
    twice = good("time,Trip\n2026-11-01T01:30:00-05:00,60\n2026-11-01T01:30:00-06:00,61\n", CHICAGO).rows
    assert twice[1].t_ms - twice[0].t_ms == 3_600_000


def test_rows_over_the_change_of_clocks_are_by_the_true_time() -> None:
    rows = good("time,Trip\n2026-03-08 01:50,60\n2026-03-08 03:10,59\n", CHICAGO).rows
    assert rows[1].t_ms - rows[0].t_ms == 20 * 60_000


@given(st.binary(max_size=300))
def test_any_bytes_give_rows_or_an_error(data: bytes) -> None:
    file = read(data)
    refused = any(f.severity == "error" for f in file.findings)
    assert not (refused and file.rows)
    assert refused or file.rows or all(f.code in ("blank_row", "no_line_end") for f in file.findings)


@given(st.text(alphabet="0123456789.,;:-+'\"/ eE%½_infeatmbl\t\n\r٣", max_size=40), st.integers(0, 6))
def test_any_text_in_any_cell_gives_rows_or_errors_of_their_place(cell: str, column: int) -> None:
    cells = ["2026-03-01 02:00", "stand", "1", "9000", "60", "12", "x"]
    cells[column] = '"' + cell.replace('"', '""') + '"'
    file = read(HEAD + ",".join(cells) + "\n")
    wrong = [f for f in file.findings if f.severity == "error"]
    assert bool(file.rows) != bool(wrong)
    assert all(f.line == 2 and f.column == HEAD.strip().split(",")[column] for f in wrong)
    for row in file.rows:
        assert row.bit_m != row.bit_m or 0 <= row.bit_m <= 20_000
        assert all(0 <= level <= 108 * IN * (1 + 1e-9) for level in row.levels_m.values())
        assert row.strokes is None or 0 <= row.strokes < 1e6
