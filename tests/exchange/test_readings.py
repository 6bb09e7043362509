"""Readings files: what is read, what is refused, and that neither row order nor the machine matters."""

from __future__ import annotations

import locale
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import BBL, FT, GAL, IN, METRIC_UNITS, box_tank, two_box_rig
from dipbook import quantities
from dipbook.exchange import readings, times
from dipbook.exchange.cells import plain_numbers
from dipbook.exchange.readings import ReadingsFile, TankSeries
from dipbook.findings import Finding
from dipbook.tanks.shapes import Strapping

RIG = two_box_rig()
T0 = times.parse("2026-03-01 02:00", RIG.zone)
MIN = 60_000


def read(text: str, rig: object = RIG) -> ReadingsFile:
    return readings.parse(text.encode("utf-8"), "r.csv", rig)  # type: ignore[arg-type]


def series(file: ReadingsFile, tank: str, what: str = "level") -> TankSeries:
    assert file.ok, file.findings
    return next(s for s in file.series if (s.tank, s.what) == (tank, what))


def refused(text: str, rig: object = RIG) -> Finding:
    file = read(text, rig)
    assert not file.ok
    errors = [f for f in file.findings if f.severity == "error"]
    assert len(errors) == 1, errors
    assert errors[0].file == "r.csv"
    return errors[0]


def rows(*cells: str, heading: str = "time,Suction [in]") -> str:
    return heading + "\n" + "".join(f"2026-03-01 02:{i:02d},{cell}\n" for i, cell in enumerate(cells))


def test_levels_volumes_and_blanks_are_read_in_si() -> None:
    file = read("time,Settling [ft],Suction,Reserve 1 [bbl]\n"
                "2026-03-01 02:00,5.25,63.5,212\n2026-03-01T08:30:00Z,,60,\n")
    assert series(file, "Settling").v.tolist() == [1.6002]
    assert series(file, "Settling").t_ms.tolist() == [T0]
    assert series(file, "Suction").v.tolist() == [1.6129, 1.524]
    assert series(file, "Suction").t_ms.tolist() == [T0, T0 + 30 * MIN]
    assert series(file, "Reserve 1", "volume").v == pytest.approx([212 * BBL], rel=1e-15)
    assert file.rows == 2
    assert file.row_times().tolist() == [T0, T0 + 30 * MIN]
    assert not file.findings


@pytest.mark.parametrize(("cell", "metres"), [
    ("63.5", 63.5 * IN), ("63 1/2", 63.5 * IN), ("\"5' 3 1/2\"\"\"", 63.5 * IN), ("161 cm", 1.61), ("1.61 m", 1.61),
    (" 63.5 ", 63.5 * IN), ("0", 0.0)])
def test_a_cell_may_say_its_level_in_any_way_a_person_does(cell: str, metres: float) -> None:
    assert series(read(rows(cell, "50")), "Suction").v[0] == pytest.approx(metres, rel=1e-14)


def test_a_volume_under_a_level_heading_is_a_volume() -> None:
    file = read(rows("63.5", "212 bbl"))
    assert series(file, "Suction").t_ms.tolist() == [T0]
    assert series(file, "Suction", "volume").v == pytest.approx([212 * BBL])


def test_plain_and_spoken_numbers_come_out_the_same() -> None:
    texts = ["63.5", "63.25", "0.1", "70", "108.37", "5.0625"]
    fast, _ = plain_numbers(texts, ".", quantities.unit("in").factor)
    assert fast.tolist() == [quantities.read(text, "length", bare="in").value for text in texts]


@given(st.lists(st.decimals(0, 9999, places=3), min_size=1, max_size=20), st.sampled_from(["in", "ft", "cm", "bbl", "m3"]))
def test_plain_numbers_agree_with_the_reader_of_quantities(numbers: list[object], unit: str) -> None:
    texts = [str(n) for n in numbers]
    dimension = quantities.unit(unit).dimension
    fast, odd = plain_numbers(texts, ".", quantities.unit(unit).factor)
    assert not odd
    exact = [quantities.read(text, dimension, bare=unit).value for text in texts]
    np.testing.assert_allclose(fast, exact, rtol=5e-16, atol=0)


def test_decimal_commas_are_read_where_the_rig_writes_them() -> None:
    metric = two_box_rig(units=METRIC_UNITS, decimal=",")
    file = read("time;Suction\n2026-03-01 02:00;161,5\n2026-03-01 02:01;160\n", metric)
    assert series(file, "Suction").v.tolist() == [1.615, 1.6]
    assert refused("time;Suction\n2026-03-01 02:00;161.5\n", metric).column == "Suction"
    assert refused("time;Suction\n2026-03-01 02:00;161,5\n").column == "Suction"


def test_percentages_are_read_only_where_the_rig_says_of_what() -> None:
    assert "percent_of" in refused(rows("50", heading="time,Suction [%]")).what
    of_level = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, percent_of="level"),))
    assert series(read(rows("50", "25 %", heading="time,Suction [%]"), of_level), "Suction").v == pytest.approx(
        [4.5 * FT, 2.25 * FT])
    of_volume = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, percent_of="volume"),))
    assert series(read(rows("50", heading="time,Suction [%]"), of_volume), "Suction", "volume").v == pytest.approx(
        [RIG.tank("Suction").capacity_m3 / 2])


def test_an_outage_stays_in_the_tanks_own_datum() -> None:
    down = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, gauge="down", mark_m=9 * FT),))
    assert series(read(rows("30"), down), "Suction").v == pytest.approx([30 * IN])
    assert refused(rows("30", "109"), down).code == "below_bottom"


def test_same_is_the_reading_before_in_time_whatever_the_order_of_rows() -> None:
    file = read("time,Suction [in]\n2026-03-01 02:10,same\n2026-03-01 02:20,61\n2026-03-01 02:00,60\n")
    assert series(file, "Suction").v.tolist() == [1.524, 1.524, 1.5494]
    error = refused("time,Suction [in]\n2026-03-01 02:10,60\n2026-03-01 02:00,same\n")
    assert (error.code, error.line) == ("same_as_nothing", 3)


@pytest.mark.parametrize(("cell", "code"), [
    ("-1", "unreadable"), ("nan", "unreadable"), ("NaN", "unreadable"), ("inf", "unreadable"), ("full", "unreadable"),
    ("1e3", "unreadable"), ("63,5,", "unreadable"), ("5 lbm", "unreadable"), ("5 furlongs", "unreadable"),
    ("120", "above_top"), ("#N/A", "unreadable"), ("63.5 in 2", "unreadable"), ("1_0", "unreadable"), ("0x10", "unreadable")])
def test_a_reading_that_cannot_be_is_refused_with_its_place(cell: str, code: str) -> None:
    error = refused("time,Settling [in],Suction [in]\n2026-03-01 02:00,50,50\n"
                    f'2026-03-01 02:01,50,"{cell}"\n2026-03-01 02:02,50,50\n')
    assert (error.code, error.line, error.column, error.tank) == (code, 3, "Suction [in]", "Suction")
    assert not error.kept


def test_a_level_above_the_brim_is_kept_with_a_warning() -> None:
    rig = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, brim_m=8 * FT),))
    file = read(rows("95", "97", "108"), rig)
    assert series(file, "Suction").v == pytest.approx([95 * IN, 97 * IN, 108 * IN])
    assert [(f.code, f.severity, f.line, f.t_ms) for f in file.findings] == [
        ("above_brim", "warning", 3, T0 + MIN), ("above_brim", "warning", 4, T0 + 2 * MIN)]


def test_a_level_outside_a_strapping_table_is_refused() -> None:
    strapped = Strapping(levels=(0.5, 1.0, 2.0), volumes=(1.0, 3.0, 8.0))
    rig = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, shape=strapped, brim_m=None),))
    assert refused(rows("1 m", "30 cm"), rig).code == "outside_table"
    assert refused(rows("1 m", "2.5 m"), rig).code == "above_top"
    assert refused(rows("1 m", "0.5 m3"), rig).code == "outside_table"
    assert refused(rows("1 m", "9 m3"), rig).code == "above_top"


def test_two_readings_at_one_time_are_refused_with_both_lines_unless_alike() -> None:
    error = refused("time,Suction\n2026-03-01 02:00,60\n2026-03-01 02:10,61\n2026-03-01T08:00:00Z,60.5\n")
    assert (error.code, error.line) == ("two_at_one_time", 4)
    assert "line 2" in error.what
    file = read("time,Suction\n2026-03-01 02:00,60\n2026-03-01T08:00:00Z,60.0\n")
    assert series(file, "Suction").v.tolist() == [1.524]
    assert [(f.code, f.severity) for f in file.findings] == [("repeated", "note")]


def test_one_time_may_be_spread_over_rows_of_different_tanks() -> None:
    file = read("time,Settling,Suction\n2026-03-01 02:00,60,\n2026-03-01 02:00,,61\n")
    assert file.ok
    assert not file.findings


@pytest.mark.parametrize(("heading", "said"), [
    ("Suctoin [in]", "did you mean Suction?"), ("Suction [furlong]", "not a unit"), ("Suction [lbm]", "level or volume"),
    ("Slugpit", "Settling, Suction, Reserve 1"), ("pump 7 [1/min]", "did you mean pump 1?"),
    ("bit depth [bbl]", "length"), ("activity [h]", "no unit"), ("Suction time", "no column with its dips")])
def test_a_heading_that_is_not_known_is_refused(heading: str, said: str) -> None:
    error = refused(f"time,Settling,{heading}\n2026-03-01 02:00,60,61\n")
    assert error.code == "heading"
    assert (error.line, error.column) == (1, heading)
    assert said in error.what


def test_a_tank_in_two_columns_is_refused() -> None:
    assert refused("time,Suction [in],Suction [bbl]\n2026-03-01 02:00,60,200\n").code == "heading_twice"


def test_a_file_without_a_tank_or_a_row_is_refused() -> None:
    assert refused("time,bit depth [ft]\n2026-03-01 02:00,9000\n").code == "no_tank"
    assert refused("time,Suction\n").code == "no_rows"
    assert refused("time,Suction\n2026-03-01 02:00,-\n").code == "no_rows"


def test_a_bad_time_is_refused_with_its_line() -> None:
    for cell in ("", "2 o'clock", "2026-13-01 00:00"):
        error = refused(f"time,Suction\n2026-03-01 02:00,60\n{cell},61\n")
        assert (error.code, error.line, error.column) == ("time", 3, "time")


def test_a_local_time_that_came_twice_is_refused() -> None:
    error = refused("time,Suction\n2026-11-01 00:30,60\n2026-11-01 01:30,61\n", two_box_rig(zone="America/Chicago"))
    assert (error.code, error.line) == ("time", 3)
    assert "-05:00 or -06:00" in error.what


def test_broken_files_are_refused_whole() -> None:
    good = rows("60", "61", "62").encode()
    assert readings.parse(good, "r.csv", RIG).ok
    for data in (b"", good + b"2026-03-01", good.replace(b"61", b"6\0"), good.replace(b"61", b"6\xb0"),
                 good + b'2026-03-01 02:30,"60\n', good + b"2026-03-01 02:30," + b"6" * 10_000_000 + b"\n"):
        file = readings.parse(data, "r.csv", RIG)
        assert not file.ok, data[:80]
        assert not file.series
        assert not file.entries


def test_a_file_cut_inside_its_last_number_is_remarked_on() -> None:
    file = readings.parse(rows("60", "61", "62").encode()[:-2], "r.csv", RIG)  # the last 62 is now a 6
    assert [(f.code, f.line) for f in file.findings] == [("no_line_end", 4)]


def test_a_dip_may_have_its_own_time() -> None:
    file = read("time,Settling,Suction,Suction time\n2026-03-01 02:00,60,61,02:04\n2026-03-01 02:30,60,61,\n"
                "2026-03-01 23:58,60,61,00:02\n2026-03-02 00:30,60,,\n")
    assert series(file, "Suction").t_ms.tolist() == [T0 + 4 * MIN, T0 + 30 * MIN, T0 + 1322 * MIN]
    assert file.row_start_ms.tolist() == [T0, T0 + 30 * MIN, T0 + 1318 * MIN, T0 + 1350 * MIN]
    assert file.row_end_ms.tolist() == [T0 + 4 * MIN, T0 + 30 * MIN, T0 + 1322 * MIN, T0 + 1350 * MIN]
    draft, _ = readings.to_draft(file, T0)
    assert draft.blocks[-1].channel == "rows"


STATES = ("time,Suction,bit depth [ft],hole depth,pump 1,flow in,activity,flow out\n"
          "2026-03-01 02:20,60,9015,9015,0,0,Connection,1\n"
          "2026-03-01 02:00,60,9000,9000,70,300,drilling,1\n"
          "2026-03-01 02:10,60,9000,,70,300,,1\n"
          "2026-03-01 02:15,60,9000,9000,70,300,drilling,\n")


def test_depth_pumps_and_activity_become_entries_where_they_change() -> None:
    file = read(STATES)
    assert file.ok, file.findings
    said = [(e.kind, (e.t_ms - T0) // MIN, {k: v for k, v in e.payload.items() if k not in ("typed", "end_ms")})
            for e in file.entries]
    approx = pytest.approx
    assert sorted(said, key=lambda s: (s[1], s[0], len(s[2]))) == [
        ("activity", 0, {"activity": "drilling"}),
        ("depth", 0, {"bit_depth_m": approx(9000 * FT), "hole_depth_m": approx(9000 * FT)}),
        ("pumps", 0, {"state": "on", "flow_m3_s": approx(300 * GAL / 60)}),
        ("pumps", 0, {"state": "on", "pump": "1", "spm": 70.0}),
        ("activity", 20, {"activity": "connection"}),
        ("depth", 20, {"bit_depth_m": approx(9015 * FT), "hole_depth_m": approx(9015 * FT)}),
        ("pumps", 20, {"state": "off", "flow_m3_s": 0.0}),
        ("pumps", 20, {"state": "off", "pump": "1", "spm": 0.0})]
    assert [(f.code, f.severity) for f in file.findings] == [("flow_out", "note")]
    assert all(e.offset_min == -360 for e in file.entries)


@pytest.mark.parametrize(("column", "cell", "code"), [
    ("activity", "driling", "unknown_activity"), ("bit depth [ft]", "-5", "unreadable"),
    ("hole depth [ft]", "900000", "absurd"), ("pump 1", "fast", "unreadable")])
def test_bad_states_are_refused_with_their_place(column: str, cell: str, code: str) -> None:
    error = refused(f"time,Suction,{column}\n2026-03-01 02:00,60,\n2026-03-01 02:10,60,{cell}\n")
    assert (error.code, error.line, error.column) == (code, 3, column)


def same(a: ReadingsFile, b: ReadingsFile) -> None:
    assert (a.ok, a.content, a.entries, a.rows) == (b.ok, b.content, b.entries, b.rows)
    assert [(s.tank, s.what, s.t_ms.tolist(), s.v.tolist()) for s in a.series] == [
        (s.tank, s.what, s.t_ms.tolist(), s.v.tolist()) for s in b.series]
    assert readings.to_draft(a, T0)[0].uid == readings.to_draft(b, T0)[0].uid


@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(chance: random.Random) -> None:
    heading, *lines = STATES.splitlines()
    lines += [f"2026-03-01 03:{i:02d},{60 + i / 4},,,,,," for i in range(12)] + ["2026-03-01 03:30,same,,,,,,"]
    before = read("\n".join([heading, *lines]) + "\n")
    assert before.ok
    chance.shuffle(lines)
    same(before, read("\n".join([heading, *lines]) + "\n"))


def test_the_same_file_gives_the_same_uids_and_another_does_not() -> None:
    first, entries = readings.to_draft(read(STATES), T0)
    again, entries_again = readings.to_draft(read(STATES), T0 + 1)
    assert first.uid == again.uid
    assert [e.uid for e in entries] == [e.uid for e in entries_again]
    assert len({e.uid for e in entries}) == len(entries)
    assert readings.to_draft(read(STATES.replace("60", "61")), T0)[0].uid != first.uid


def test_the_record_of_an_import_carries_its_origin_and_blocks() -> None:
    file = read("time,Settling,Suction [bbl]\n2026-03-01 02:10,61,\n2026-03-01 02:00,60,200\n")
    draft, entries = readings.to_draft(file, T0 + 99, author="A. Sample")
    assert (draft.kind, draft.t_ms, draft.learned_ms, draft.author, draft.offset_min) == ("samples", T0, T0 + 99, "A. Sample", -360)
    assert draft.payload == {"source": "import", "file": "r.csv", "digest": file.digest, "rows": 2}
    assert [b.channel for b in draft.blocks] == ["tank:Settling:level", "tank:Suction:volume"]
    assert draft.blocks[0].t_ms.tolist() == [T0, T0 + 10 * MIN]
    assert draft.blocks[0].t_ms.dtype == np.int64
    assert entries == ()


def test_the_locale_plays_no_part() -> None:
    before = locale.setlocale(locale.LC_ALL)
    try:
        for name in ("de_DE.UTF-8", "C.UTF-8", "C"):
            try:
                locale.setlocale(locale.LC_ALL, name)
            except locale.Error:
                continue
            assert series(read(rows("63.5")), "Suction").v.tolist() == [1.6129]
    finally:
        locale.setlocale(locale.LC_ALL, before)


@given(st.text(max_size=200))
def test_no_text_whatever_raises(text: str) -> None:
    for data in (text, "time,Suction\n" + text, "time,Suction\n2026-03-01 02:00," + text + "\n"):
        readings.parse(data.encode("utf-8", "surrogatepass"), "r.csv", RIG)


def test_a_day_of_sensor_samples_is_read_whole() -> None:
    count = 5000
    lines = [f"{times.rfc3339(T0 + 1000 * i)},{60 + (i % 7) / 10:.1f},{61.25}" for i in range(count)]
    file = read("time,Settling,Suction\n" + "\n".join(lines) + "\n")
    assert len(series(file, "Settling").v) == count
    assert series(file, "Settling").t_ms.tolist() == [T0 + 1000 * i for i in range(count)]


@pytest.mark.parametrize("digits", [300, 309, 400, 5_000])
def test_a_number_with_more_digits_than_a_float_has_powers_is_read_or_refused(digits: int) -> None:
    file = readings.parse(f"time,Suction [in]\n2026-03-01 02:00,60.{'0' * digits}1\n".encode(), "r.csv", RIG)
    assert not file.ok or file.series[0].v[0] == pytest.approx(60 * 0.0254, rel=1e-15)
