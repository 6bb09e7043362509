"""A trip worked out from files: numbers by hand, limits, findings, and what its lines say. Everything here is invented.

The trip tank has a floor of 63 × 77 in, 4851 in2: half a barrel (9702 in3, exact) an inch. A stand of 93 ft of the pipe is
93 · 0.00759 = 0.70587 bbl of steel and 93 · 0.01776 = 1.65168 bbl of bore.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builders import BBL, FT
from dipbook import tripping
from dipbook.errors import ImportFileError, QuantityError, RigFileError
from dipbook.exchange.times import rfc3339
from dipbook.tripping import Tripped
from dipbook_app.cli import main

T0 = 1_772_352_000_000
MIN = 60_000
STEEL, BORE = 0.70587, 1.65168
HEAD = """rig = { name = "Invented 3", invented = true }
zone = "Etc/GMT+6"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
[[tank]]
name = "Trip"
role = "trip"
active = false
gauge = "up"
dip_error = "1/4 in"
[tank.shape]
kind = "box"
length = "63 in"
width = "77 in"
height = "120 in"
"""
PUMP = '[[pump]]\nname = "1"\noutput = "0.1 bbl"\n'
SECOND = '[[pump]]\nname = "2"\noutput = "0.1 bbl"\n'
PIPE = '[pipe]\nsteel = "0.00759 bbl/ft"\nbore = "0.01776 bbl/ft"\nstand = "93 ft"\n'
CLOSED = PIPE + 'float = "closed"\n'
OPEN = PIPE + 'float = "open"\n'
STRING = ('[[string]]\nname = "collars"\nkind = "collar"\nsteel = "0.0545 bbl/ft"\nbore = "0.0077 bbl/ft"\nlength = "600 ft"\n'
          '[[string]]\nname = "drill pipe"\nsteel = "0.00759 bbl/ft"\nbore = "0.01776 bbl/ft"\n')
STAND = {"type", "time", "stand", "bit_depth_m", "fill_expected_m3", "fill_actual_m3", "difference_m3", "last_n_m3",
         "cumulative_m3", "u_m3", "state"}
WARNING = {"type", "time", "learned", "name", "kind", "system", "tank", "state", "value", "limit", "unit", "text"}
COLUMNS = "time,kind,stand,bit depth,Trip,strokes,remark"


def limit(kind: str, value: str = '"1.5 bbl"', deadband: str = '"0.5 bbl"') -> str:
    return (f'[[limit]]\nname = "my {kind}"\nkind = "{kind}"\non = "active"\nvalue = {value}\ndeadband = {deadband}\n'
            'set_by = "x"\nreason = "x"\nsince = "x"\n')


class Files:
    """A rig file and a trip file in a folder."""

    def __init__(self, folder: Path) -> None:
        self.rig, self.trip = folder / "rig.toml", folder / "trip.csv"

    def write(self, rig: Sequence[str], rows: Sequence[str], columns: str = COLUMNS) -> tuple[str, str]:
        self.rig.write_text(HEAD + "".join(rig), encoding="utf-8")
        timed = [row if row.startswith("2") else f"{rfc3339(T0 + 5 * n * MIN)},{row}" for n, row in enumerate(rows)]
        self.trip.write_text("\n".join([columns, *timed]) + "\n", encoding="utf-8")
        return str(self.rig), str(self.trip)

    def run(self, rig: Sequence[str], rows: Sequence[str], columns: str = COLUMNS, **ways: Any) -> Tripped:
        self.write(rig, rows, columns)
        return tripping.run(self.rig, self.trip, **ways)


@pytest.fixture
def files(tmp_path: Path) -> Files:
    return Files(tmp_path)


def differences(*bbl: float, start: float = 110.0) -> list[str]:
    """Rows of stands pulled dry, each with so much more mud on surface than expected [bbl]."""
    rows, level, bit = [f"stand,0,9000,{start},,"], start, 9000
    for n, more in enumerate(bbl, 1):
        level, bit = level - (STEEL - more) / 0.5, bit - 93
        rows.append(f"stand,{n},{bit},{level:.9f},,")
    return rows


def codes(done: Tripped) -> list[str]:
    return [f.code for f in done.findings]


def in_bbl(*m3: float) -> list[float]:
    return [round(x / BBL, 6) for x in m3]


# --- the lines --------------------------------------------------------------------------------------------------------


def test_the_lines_have_the_contract_s_keys_findings_first_and_the_summary_last(files: Files) -> None:
    done = files.run([PIPE, limit("trip_total")], [*differences(1.0, 0.6, 0.0), ",,,,,"])
    lines = [json.loads(line, parse_constant=pytest.fail) for line in tripping.json_lines(done)]
    kinds = [x["type"] for x in lines]
    assert kinds == ["finding", "finding", "stand", "stand", "warning", "stand", "summary"]
    assert all(next(iter(x)) == "type" for x in lines)
    assert all(set(x) == {"type", "time", "where", "what", "kept"} for x in lines[:2])
    assert all(set(x) == STAND for x in lines if x["type"] == "stand")
    assert all(set(x) == WARNING for x in lines if x["type"] == "warning")
    times = [x["time"] for x in lines[2:-1]]
    assert times == sorted(times)
    assert times[0] == "2026-03-01T08:05:00.000Z"
    warning = lines[4]
    assert warning["learned"] == warning["time"] == lines[3]["time"], "behind the row that raised it"
    assert (warning["name"], warning["kind"], warning["system"], warning["state"], warning["unit"]) == (
        "my trip_total", "trip_total", "trip", "raised", "m3")
    assert in_bbl(warning["value"], warning["limit"]) == [1.6, 1.5]
    assert lines[-1] == {"type": "summary", "rows": 3, "findings": 2, "from": times[0], "to": times[-1],
                         "cumulative_m3": pytest.approx(1.6 * BBL), "warnings_raised": 1}
    assert lines[0]["where"] == {"file": "trip.csv", "line": 6}


def test_findings_without_a_time_stand_before_those_at_a_time(files: Files) -> None:
    done = files.run([PIPE], ["stand,0,9000,100,,", "stand,1,,98.5,,", "stand,2,8814,119.9,,"])
    at = [f.t_ms for f in done.findings]
    assert at == sorted(at, key=lambda t: (t is not None, t or 0))
    assert {None, T0 + 5 * MIN} <= set(at)
    assert all(f.file == "trip.csv" for f in done.findings if f.line)


# --- by hand ----------------------------------------------------------------------------------------------------------


def test_a_trip_out_with_drill_pipe_by_hand(files: Files) -> None:
    """100 → 98.5 → 97.25 in, a refill to 110, → 108.5 in: 0.75, 0.625 and 0.75 bbl taken of 0.70587 each. A dip is
    ±1/4 in, so u = 0.5 · 0.25/√3 bbl at both ends of a row."""
    done = files.run([PIPE], ["stand,0,9000,100,,", "stand,1,8907,98.5,,", "stand,2,8814,97.25,,", "refill,2,8814,110,,",
                              "stand,3,8721,108.5,,"], pulled="dry", last_n=2)
    assert [in_bbl(n.expected_m3, n.actual_m3, n.difference_m3, n.last_n_m3, n.cumulative_m3) for n in done.lines] == [
        [0.70587, 0.75, -0.04413, -0.04413, -0.04413], [0.70587, 0.625, 0.08087, 0.03674, 0.03674],
        [0.70587, 0.75, -0.04413, 0.03674, -0.00739]]
    assert [n.stand for n in done.lines] == [1, 2, 3]
    assert [n.bit_m / FT for n in done.lines] == pytest.approx([8907, 8814, 8721])
    assert [n.state for n in done.lines] == ["dry", "dry", "dry"]
    assert [n.u_m3 / BBL for n in done.lines] == pytest.approx([0.125 / sqrt(3) * sqrt(2)] * 3)
    assert codes(done) == ["no_trip_limits"]
    assert done.exit_code == 0


@pytest.mark.parametrize(("pulled", "returned", "bbl"), [
    ("dry", None, 0.3795 + 2.3435), ("wet", None, 0.3795 + 2.3435 + 0.888 + 0.3311),
    ("bucket", 0.8, 0.3795 + 2.3435 + 0.2 * (0.888 + 0.3311)), ("bucket", 0.0, 0.3795 + 2.3435 + 0.888 + 0.3311)])
def test_a_stand_over_the_top_of_the_collars_by_hand(files: Files, pulled: str, returned: float | None, bbl: float) -> None:
    """The bit from 650 to 557 ft, of 600 ft of collars: 50 ft of pipe and 43 ft of collars leave the hole. Steel 50 ·
    0.00759 + 43 · 0.0545, bore 50 · 0.01776 + 43 · 0.0077 bbl."""
    done = files.run([CLOSED, STRING], ["stand,0,650,100,,", "stand,1,557,94,,"], pulled=pulled, returned=returned)
    (line,) = done.lines
    assert in_bbl(line.expected_m3, line.actual_m3, line.difference_m3) == [
        round(bbl, 6), 3.0, pytest.approx(bbl - 3.0, abs=1e-6)]
    assert line.state == pulled


@pytest.mark.parametrize(("running", "steel_and"), [("closed", 0.7161), ("open", 0.0), ("self-filling", 0.7161 / 2)])
def test_a_stand_of_collars_run_in_by_hand(files: Files, running: str, steel_and: float) -> None:
    """93 ft of collars: 5.0685 bbl of steel and 0.7161 of bore; a float between is either, so a rectangular half-width
    of 0.35805 bbl."""
    done = files.run([CLOSED, STRING], ["stand,0,0,20,,", "stand,1,93,31,,"], running=running)
    (line,) = done.lines
    assert in_bbl(line.expected_m3, line.actual_m3) == [round(-5.0685 - steel_and, 6), -5.5]
    assert line.state == f"{running} float"
    spread = 0.35805 / sqrt(3) if running == "self-filling" else 0.0
    assert line.u_m3 / BBL == pytest.approx(sqrt(2 * (0.125 / sqrt(3)) ** 2 + spread ** 2))


def test_pipe_moved_over_rows_without_a_level_waits_for_the_next(files: Files) -> None:
    done = files.run([PIPE], ["stand,0,9000,100,,", "stand,1,8907,,,", "stand,2,8814,97,,"], pulled="dry")
    (line,) = done.lines
    assert in_bbl(line.expected_m3, line.actual_m3) == [round(2 * STEEL, 6), 1.5]


def test_stands_are_counted_where_no_bit_depth_is_given(files: Files) -> None:
    done = files.run([PIPE], ["stand,0,9000,100,,", "stand,2,,97,,"], pulled="dry")
    assert in_bbl(done.lines[0].expected_m3) == [round(2 * STEEL, 6)]
    assert "counted_by_stands" in codes(done)


def test_a_pipe_shorter_than_the_trip_is_unknown_not_zero(files: Files) -> None:
    done = files.run([PIPE, STRING, "length = 5000\n"], ["stand,0,9000,100,,", "stand,1,8907,98.5,,"], pulled="dry")
    (line,) = [json.loads(x) for x in tripping.json_lines(done) if '"stand"' in x[:20]]
    assert line["fill_expected_m3"] is line["difference_m3"] is None
    assert "row_unknown" in codes(done)
    assert "unknown" in "\n".join(tripping.text_lines(done))


# --- what nobody said -------------------------------------------------------------------------------------------------


def test_how_it_was_pulled_is_taken_as_dry_with_a_finding(files: Files) -> None:
    done = files.run([CLOSED], differences(0.0))
    (said,) = [f for f in done.findings if f.code == "way_taken"]
    assert said.what.startswith("Nobody said how the pipe was pulled: dry is taken, which expects the least.")
    assert done.lines[0].state == "dry"
    assert "way_taken" not in codes(files.run([CLOSED], differences(0.0), pulled="wet"))
    assert "way_taken" not in codes(files.run([CLOSED], ["stand,0,0,20,,", "stand,1,93,25,,"]))
    assert "way_taken" in codes(files.run([CLOSED], ["stand,0,9000,100,,", "stand,1,,98.5,,"])), "counted by stands too"


@pytest.mark.parametrize(("pipe", "running", "state", "finding"), [
    (CLOSED, None, "closed float", False), (OPEN, None, "open float", False), (PIPE, None, "closed float", True),
    (PIPE, "open", "open float", False), (CLOSED, "open", "open float", False), (STRING, None, "closed float", True)])
def test_the_float_is_the_rig_file_s_unless_said(files: Files, pipe: str, running: str | None, state: str,
                                                finding: bool) -> None:
    done = files.run([pipe], ["stand,0,0,20,,", "stand,1,93,25,,"], running=running)
    assert done.lines[0].state == state
    assert ("float_taken" in codes(done)) is finding
    assert "float_taken" not in codes(files.run([pipe], differences(0.0)))


def test_a_rig_without_string_and_pipe_is_refused(files: Files) -> None:
    with pytest.raises(ImportFileError, match=r"rig\.toml: describes neither \[\[string\]\] nor \[pipe\]") as told:
        files.run([PUMP], differences(0.0))
    assert "Nothing was worked out." in str(told.value)


def test_files_that_cant_be_read_are_refused_in_words(files: Files, tmp_path: Path) -> None:
    with pytest.raises(ImportFileError) as told:
        files.run([PIPE], ["stand,0,9000,x,,", "stand,1,deep,98.5,,"])
    assert str(told.value).splitlines()[0].startswith("trip.csv, line 2, column Trip: ")
    assert str(told.value).splitlines()[1].startswith("trip.csv, line 3, column bit depth: ")
    with pytest.raises(ImportFileError, match=r"none\.csv: can't be opened"):
        tripping.run(files.rig, tmp_path / "none.csv")
    with pytest.raises(ImportFileError, match="can't be opened"):
        tripping.run(files.rig, tmp_path)
    with pytest.raises(RigFileError, match="there is no such file"):
        tripping.run(tmp_path / "none.toml", files.trip)


# --- a bucket ---------------------------------------------------------------------------------------------------------


def test_a_bucket_of_which_nobody_said_the_share_is_told_and_expects_as_wet(files: Files) -> None:
    done = files.run([PIPE], differences(0.0), pulled="bucket")
    assert codes(done).count("share_taken") == 1
    assert in_bbl(done.lines[0].expected_m3) == [round(STEEL + BORE, 6)]
    said = files.run([PIPE], differences(0.0), pulled="bucket", returned=0.0)
    assert "share_taken" not in codes(said)
    assert said.lines == done.lines


@pytest.mark.parametrize("pulled", [None, "dry", "wet"])
def test_a_share_without_a_bucket_is_refused(files: Files, pulled: str | None) -> None:
    with pytest.raises(QuantityError, match="comes back from a bucket only"):
        files.run([PIPE], differences(0.0), pulled=pulled, returned=0.8)


# --- strokes ----------------------------------------------------------------------------------------------------------


FILLED = ["stand,0,9000,100,,", "stand,1,8907,100,7,"]


def test_a_fill_by_strokes_counts_with_the_only_pump(files: Files) -> None:
    done = files.run([PIPE, PUMP], FILLED, pulled="dry")
    assert in_bbl(done.lines[0].actual_m3, done.lines[0].difference_m3) == [0.7, 0.00587]
    assert codes(done) == ["no_trip_limits"]


@pytest.mark.parametrize(("pumps", "words"), [([PUMP, SECOND], "2 pumps, and which of them filled the hole isn't known"),
                                              ([], "describes no pump")])
def test_a_fill_by_strokes_of_who_knows_which_pump_is_unknown_and_told(files: Files, pumps: list[str], words: str) -> None:
    done = files.run([PIPE, *pumps], [*FILLED, "stand,2,8814,98.5,,"], pulled="dry")
    (told,) = [f for f in done.findings if f.code == "strokes_unknown"]
    assert words in told.what
    assert (told.file, told.line) == ("trip.csv", 3)
    assert "row_unknown" in codes(done)
    assert done.lines[0].actual_m3 != done.lines[0].actual_m3
    assert in_bbl(done.lines[1].cumulative_m3) == [pytest.approx(STEEL - 0.75, abs=1e-6)], "the other rows still count"
    assert "strokes_unknown" not in codes(files.run([PIPE, *pumps], differences(0.0), pulled="dry"))


def test_a_trip_filled_by_strokes_alone_has_its_sheet(files: Files) -> None:
    done = files.run([PIPE, PUMP, limit("trip_total")], ["9000,0", "8907,7", "8814,", "8721,0", "8628,3"],
                     "time,bit depth,strokes", pulled="dry")
    assert [in_bbl(n.expected_m3, n.actual_m3) for n in done.lines] \
        == [[STEEL, 0.7], [round(2 * STEEL, 6), 0.0], [STEEL, 0.3]], "a blank waits for the next; a 0 pumped nothing"
    assert raised(done) == [("trip_total", None, 1.82348)]
    assert {json.loads(x)["u_m3"] for x in tripping.json_lines(done) if '"stand"' in x[:20]} == {None}


def test_a_trip_without_a_second_level_says_that_nothing_was_worked_out(files: Files) -> None:
    for rows, columns in ((["stand,0,9000,100,,"], COLUMNS), (["9000,0", "8907,"], "time,bit depth,strokes")):
        done = files.run([PIPE, PUMP, limit("trip_total")], rows, columns, pulled="dry")
        (told,) = [f for f in done.findings if f.code == "no_lines"]
        assert "nothing was worked out, and nothing is warned of" in told.what
        *_, summary = map(json.loads, tripping.json_lines(done))
        assert (summary["rows"], summary["from"], summary["cumulative_m3"]) == (0, None, None)


# --- limits -----------------------------------------------------------------------------------------------------------


def raised(done: Tripped) -> list[tuple[str, int | None, float]]:
    return [(r.limit.kind, r.line.stand, round(r.value_m3 / BBL, 6)) for r in done.raised]


@pytest.mark.parametrize(("asks", "words"), [
    ('after = "2 readings"\n', "my trip_total: its after counts for nothing here"),
    ('after = "15 s"\n', "its after counts"),
    ('activity = "drilling"\nafter = "3 readings"\n', "its activity and after count for nothing")])
def test_what_a_limit_asks_for_that_a_trip_doesnt_heed_is_told_and_delays_nothing(files: Files, asks: str, words: str) -> None:
    done = files.run([PIPE, limit("trip_total") + asks], differences(1.6, 0.0), pulled="dry")
    (told,) = [f for f in done.findings if f.code == "limit_not_heeded"]
    assert words in told.what
    assert raised(done) == [("trip_total", 1, 1.6)]


@pytest.mark.parametrize("asks", ["", 'activity = "tripping"\n', 'activity = "any"\nafter = "1 reading"\n'])
def test_a_limit_of_which_all_counts_is_not_told_of(files: Files, asks: str) -> None:
    assert "limit_not_heeded" not in codes(files.run([PIPE, limit("trip_total") + asks], differences(0.0), pulled="dry"))


def test_the_total_raises_once_and_again_only_after_the_deadband(files: Files) -> None:
    """Sums: 1.0, 1.6, 1.3, 1.7, 0.95, 1.6. Limit 1.5 and deadband 0.5 bbl: it is over at 1.0."""
    done = files.run([PIPE, limit("trip_total")], differences(1.0, 0.6, -0.3, 0.4, -0.75, 0.65), pulled="dry")
    assert raised(done) == [("trip_total", 2, 1.6), ("trip_total", 6, 1.6)]
    assert done.exit_code == 1
    kept = files.run([PIPE, limit("trip_total")], differences(1.0, 0.6, -0.3, 0.4, -0.65, 0.65), pulled="dry")
    assert raised(kept) == [("trip_total", 2, 1.6)], "1.05 isn't back by the deadband"


def test_the_last_rows_raise_by_themselves(files: Files) -> None:
    """Over the last 2: 0.8, 1.6, 0.8, 0.0, 1.5, 3.0; the total stays below its own limit until 3.1."""
    rows = differences(0.8, 0.8, 0.0, 0.0, 1.5, 1.5)
    done = files.run([PIPE, limit("trip_last_n"), limit("trip_total", '"4.5 bbl"')], rows, pulled="dry", last_n=2)
    assert raised(done) == [("trip_last_n", 2, 1.6), ("trip_last_n", 5, 1.5), ("trip_total", 6, 4.6)]
    assert [round(n.last_n_m3 / BBL, 6) for n in done.lines] == [0.8, 1.6, 0.8, 0.0, 1.5, 3.0]


def test_a_limit_that_is_reached_to_the_litre_raises(files: Files) -> None:
    for more in (1.5, -1.5):
        assert len(files.run([PIPE, limit("trip_total")], differences(more), pulled="dry").raised) == 1
    assert not files.run([PIPE, limit("trip_total")], differences(1.499), pulled="dry").raised
    assert not files.run([PIPE, limit("trip_total")], differences(-1.499), pulled="dry").raised


def test_a_loss_that_follows_a_gain_at_once_is_told_too(files: Files) -> None:
    done = files.run([PIPE, limit("trip_total")], differences(2.0, -4.0, 4.0), pulled="dry")
    assert raised(done) == [("trip_total", 1, 2.0), ("trip_total", 2, -2.0), ("trip_total", 3, 2.0)]


@pytest.mark.parametrize("value", ['"5 min"', '"5 ft"', '"0 bbl"', "-5"])
def test_a_limit_that_is_no_volume_says_that_it_warns_of_nothing(files: Files, value: str) -> None:
    done = files.run([PIPE, limit("trip_total", value)], differences(4.0), pulled="dry")
    assert not done.raised
    (told,) = [f for f in done.findings if f.code == "limit_not_a_volume"]
    assert "Limit my trip_total has no volume above 0 as its value" in told.what
    assert told.what.endswith("it warns of nothing. Give it one in the rig file, like 1.5 bbl.")


def test_a_bare_number_is_a_limit_in_the_rig_s_volume(files: Files) -> None:
    assert raised(files.run([PIPE, limit("trip_total", "1.5", "0.5")], differences(1.6), pulled="dry")) == [
        ("trip_total", 1, 1.6)]


def test_without_limits_it_says_that_nothing_is_warned_of(files: Files) -> None:
    done = files.run([PIPE], differences(4.0), pulled="dry")
    assert (codes(done), done.exit_code) == (["no_trip_limits"], 0)
    assert "nothing is warned of here" in done.findings[0].what


OUT = ["stand,0,9000,100,,"]
IN = ["stand,0,0,20,,"]


@pytest.mark.parametrize(("rows", "words"), [
    ([*OUT, "stand,1,8907,102,,"], "The hole took 1.7 bbl less than it should in all, limit 1.5 bbl: a sign of swab or influx."),
    ([*OUT, "stand,1,8907,95,,"], "The hole took 1.8 bbl more than it should in all, limit 1.5 bbl: a sign of losses."),
    ([*IN, "stand,1,93,28.5,,"], "The hole gave back 1.9 bbl more than it should in all, limit 1.5 bbl: a sign of swab or influx."),
    ([*IN, "stand,1,93,21.5,,"], "The hole gave back 1.6 bbl less than it should in all, limit 1.5 bbl: a sign of losses."),
    ([*OUT, "flow check,0,9000,104,,"], "The hole took 2.0 bbl less than it should in all, limit 1.5 bbl: a sign of swab or influx."),
])
def test_what_is_raised_says_which_way_it_went(files: Files, rows: list[str], words: str) -> None:
    """A stand out should take 0.70587 bbl, a stand in on a closed float give back 2.35755."""
    done = files.run([CLOSED, limit("trip_total")], rows)
    (one,) = done.raised
    said = tripping.said(one, done.last_n, done.rig)
    assert said == f"{words} Stop, flow-check, and act as the rig's own procedures say."
    assert f"WARNING  {said}" in list(tripping.text_lines(done))
    (line,) = [x for x in map(json.loads, tripping.json_lines(done)) if x["type"] == "warning"]
    assert line["text"] == said


def test_the_last_rows_are_said_by_their_number(files: Files) -> None:
    done = files.run([CLOSED, limit("trip_last_n")], differences(1.6), last_n=3)
    assert "less than it should over the last 3 rows, limit 1.5 bbl" in tripping.said(done.raised[0], 3, done.rig)


def test_the_sheet_for_people_is_in_the_rig_s_units_and_says_what_plus_means(files: Files) -> None:
    done = files.run([CLOSED], ["stand,0,9000,100,,", "stand,1,8907,98.5,,tight"], pulled="dry")
    head, row, last = list(tripping.text_lines(done))[-3:]
    assert head.split("  ")[-1] == "how"
    assert "should take, bbl" in head
    assert row.split() == ["2026-03-01", "02:05", "-06:00", "1", "8907.0", "0.71", "0.75", "−0.04", "−0.04", "−0.04", "0.20",
                           "dry", "tight"]
    assert last == "+ is more mud on surface than expected: the hole took less, or gave back more."


# --- any bytes --------------------------------------------------------------------------------------------------------


def command(files: Files, data: bytes, capsys: pytest.CaptureFixture[str], *options: str) -> int:
    """Run it; what it came to is a result with its lines or an error in words, and never both."""
    files.rig.write_text(HEAD + CLOSED + PUMP + STRING + limit("trip_total") + limit("trip_last_n"), encoding="utf-8")
    files.trip.write_bytes(data)
    code = main(["trip", str(files.rig), str(files.trip), "--json", *options])
    out, err = capsys.readouterr()
    if code == 2:
        assert out == ""
        assert all(line.startswith("trip.csv") for line in err.splitlines())
        assert err.strip()
    else:
        assert err == ""
        lines = [json.loads(line, parse_constant=pytest.fail) for line in out.splitlines()]
        assert code == (1 if any(x["type"] == "warning" for x in lines) else 0)
        assert lines[-1]["type"] == "summary"
    return code


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.binary(max_size=200))
def test_any_bytes_are_a_result_or_an_error(files: Files, capsys: pytest.CaptureFixture[str], data: bytes) -> None:
    command(files, data, capsys)
    command(files, f"{COLUMNS}\n".encode() + data, capsys)


CELL = st.one_of(st.sampled_from(["", "-", "0", "1", "60", "119.99", "1e9", "9" * 30, "nan", "9000", "8907", "same", "refill",
                                  "flow check", "fill", "x"]), st.text(max_size=8))
CELLS = st.tuples(st.integers(-3, 3), st.sampled_from(["stand", "fill", "refill", "flow check", ""]),
                  st.one_of(st.just(""), st.integers(0, 9999).map(str)),
                  st.one_of(st.just(""), st.integers(0, 65_000).map(str)),
                  st.one_of(st.just(""), st.floats(0, 120).map(lambda x: f"{x:.3f}")),
                  st.one_of(st.just(""), st.integers(0, 999_999).map(str)))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(rows=st.lists(CELLS, max_size=8), way=st.sampled_from(["", "dry", "wet", "bucket"]),
       run=st.sampled_from(["", "closed", "open", "self-filling"]),
       odd=st.one_of(st.none(), st.tuples(st.integers(0, 7), st.integers(0, 5), CELL)))
def test_any_rows_are_a_result_or_an_error(files: Files, capsys: pytest.CaptureFixture[str], rows: list[Any], way: str,
                                           run: str, odd: tuple[int, int, str] | None) -> None:
    table = [[rfc3339(T0 + (n * 2 + jitter) * MIN), *cells, ""] for n, (jitter, *cells) in enumerate(rows)]
    if odd is not None and odd[0] < len(table):
        table[odd[0]][odd[1]] = '"' + odd[2].replace('"', '""') + '"'
    data = "\n".join([COLUMNS, *map(",".join, table)]) + "\n"
    options = (["--pulled", way] if way else []) + (["--run", run] if run else [])
    command(files, data.encode("utf-8", "replace"), capsys, *options)
