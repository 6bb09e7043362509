"""The trip sheet, history by history, each number worked by hand. Tanks and strings are invented.

A trip tank of a barrel an inch, read to 1/8 in: u = 0.125/√3 = 0.0722 bbl. Stands of 93 ft, pulled dry 93 × 0.0076 = 0.7068
bbl, run closed 93 × (0.0076 + 0.0178) = 2.3622 bbl; collars 93 × 0.0545 = 5.0685 bbl.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, isnan, nan, sqrt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import BBL, FT, IN
from dipbook.findings import Finding
from dipbook.tanks.shapes import Box, Strapping
from dipbook.tanks.tank import Tank
from dipbook.trips import Line, Row, Way, sheet
from dipbook.well import Part, String

STAND_FT = 93
DRY, WET, COLLARS_DRY = STAND_FT * 0.0076, STAND_FT * 0.0254, STAND_FT * 0.0545
U = 0.125 / sqrt(3.0)


def part(name: str, steel: float, bore: float, length: float = inf) -> Part:
    """A part by its steel and bore [bbl/ft] and its length [ft]."""
    return Part(name, "drill pipe", steel * BBL / FT, bore * BBL / FT, length * FT)


COLLARS, PIPE = part("collars", 0.0545, 0.0077, 6 * STAND_FT), part("pipe", 0.0076, 0.0178)
STRING = String((COLLARS, PIPE))
TANKS = {name: Tank(name, "trip", False, n, Box(BBL / IN, 1.0, 4.0), dip_error_m=IN / 8) for n, name in enumerate(("Trip", "Other"))}
STROKE = 0.1
"""Output of the pump [bbl]."""
START = 9000


def row(t_min: float, kind: str = "stand", stand: int | None = None, bit: float = nan, *, strokes: float | None = None, **barrels: float) -> Row:
    """A row: time [min], kind, stand, bit depth [ft], strokes, and what each trip tank holds [bbl], an inch each."""
    return Row(round(t_min * 60_000), kind, stand, bit * FT, {name: v * IN for name, v in barrels.items()}, strokes)


def trip(*rows: Row, way: Way | None = None, string: String = STRING, tanks: dict[str, Tank] = TANKS, stroke: float = STROKE,
         **other: Any) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    return sheet(rows, string, way or Way(), tanks, stand_m=STAND_FT * FT, stroke_m3=stroke * BBL, **other)


def bbl(lines: tuple[Line, ...], what: str) -> list[float]:
    return [getattr(line, f"{what}_m3") / BBL for line in lines]


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [f.code for f in findings]


def near(*values: float) -> Any:
    return pytest.approx(list(values), abs=1e-9, nan_ok=True)


def pulled(stands: int, short: dict[int, float] | None = None, *, refill_below: float = 10.0) -> list[Row]:
    """A trip out from START, a level a stand, 100 bbl in the trip tank after each refill. short: stand -> how much less than it
    should the hole takes [bbl], below 0 more."""
    held, t = 100.0, 0
    rows = [row(t, stand=0, bit=START, Trip=held)]
    for n in range(1, stands + 1):
        t += 3
        held -= DRY - (short or {}).get(n, 0.0)
        rows.append(row(t, stand=n, bit=START - n * STAND_FT, Trip=held))
        if held < refill_below:
            held, t = 100.0, t + 3
            rows.append(row(t, "refill", n, START - n * STAND_FT, Trip=held))
    return rows


# --- a trip out


def test_a_clean_dry_trip_is_nothing_on_every_line() -> None:
    lines, findings = trip(*pulled(80, refill_below=70.0))
    assert findings == ()
    assert [line.stand for line in lines] == list(range(1, 81))
    assert bbl(lines, "difference") == pytest.approx([0.0] * 80, abs=1e-9)
    assert bbl(lines, "last_n") == pytest.approx([0.0] * 80, abs=1e-9)
    assert bbl(lines, "cumulative") == pytest.approx([0.0] * 80, abs=1e-9)
    assert bbl(lines, "expected") == pytest.approx([DRY] * 80, rel=1e-9)
    assert bbl(lines, "actual") == pytest.approx([DRY] * 80, rel=1e-9)
    assert {line.state for line in lines} == {"dry"}
    assert [line.bit_m / FT for line in lines] == pytest.approx([START - n * STAND_FT for n in range(1, 81)])


def test_four_barrels_swabbed_over_twelve_stands() -> None:
    # From stand 13 to 24 each takes 1/3 bbl less: +1 after 15, +4 from 24 on; the last five 5/3 in the midst of it.
    lines, findings = trip(*pulled(35, dict.fromkeys(range(13, 25), 1 / 3)))
    at = {line.stand: line for line in lines}
    assert findings == ()
    for stand, total, last in ((12, 0.0, 0.0), (13, 1 / 3, 1 / 3), (15, 1.0, 1.0), (20, 8 / 3, 5 / 3), (24, 4.0, 5 / 3), (26, 4.0, 1.0),
                               (29, 4.0, 0.0), (35, 4.0, 0.0)):
        assert at[stand].cumulative_m3 / BBL == pytest.approx(total, abs=1e-9)
        assert at[stand].last_n_m3 / BBL == pytest.approx(last, abs=1e-9)
    assert at[20].difference_m3 / BBL == pytest.approx(1 / 3, abs=1e-9)


def test_a_hole_that_takes_more_is_below_zero() -> None:
    # Half a barrel more on each of four stands.
    lines, _ = trip(*pulled(6, dict.fromkeys(range(1, 5), -0.5)))
    assert bbl(lines, "difference") == near(-0.5, -0.5, -0.5, -0.5, 0, 0)
    assert bbl(lines, "cumulative") == near(-0.5, -1, -1.5, -2, -2, -2)
    assert bbl(lines, "last_n") == near(-0.5, -1, -1.5, -2, -2, -1.5)


def test_the_last_three_where_three_are_asked_for() -> None:
    lines, _ = trip(*pulled(6, dict.fromkeys(range(1, 5), -0.5)), last_n=3)
    assert bbl(lines, "last_n") == near(-0.5, -1, -1.5, -1.5, -1, -0.5)


def test_pulled_wet_where_dry_was_taken_reads_as_losses_and_the_other_way_as_a_gain() -> None:
    # Taken for dry it took 93 × 0.0178 = 1.6554 bbl more a stand than it should.
    rows = (row(0, stand=0, bit=START, Trip=100), row(3, stand=1, bit=START - 93, Trip=100 - WET))
    (dry,), _ = trip(*rows)
    (wet,), _ = trip(*rows, way=Way("wet"))
    assert dry.difference_m3 / BBL == pytest.approx(-1.6554, abs=1e-9)
    assert wet.difference_m3 / BBL == pytest.approx(0.0, abs=1e-9)
    assert wet.state == "wet"


def test_the_collars_count_when_they_come_out_of_the_hole() -> None:
    # Six stands of collars below two of pipe: out come the two of pipe, 0.7068 each, then the collars, 5.0685 each.
    top = 8 * STAND_FT
    taken = [DRY] * 2 + [COLLARS_DRY] * 6
    rows = [row(0, stand=0, bit=top, Trip=100)]
    rows += [row(3 * n, stand=n, bit=top - n * STAND_FT, Trip=100 - sum(taken[:n])) for n in range(1, 9)]
    lines, findings = trip(*rows)
    assert findings == ()
    assert bbl(lines, "expected") == near(0.7068, 0.7068, *[5.0685] * 6)
    assert bbl(lines, "cumulative") == pytest.approx([0.0] * 8, abs=1e-9)
    assert lines[-1].bit_m == pytest.approx(0.0, abs=1e-9)


# --- a trip in


def test_running_in_on_a_closed_float_gives_back_steel_and_bore() -> None:
    lines, findings = trip(row(0, stand=50, bit=1000, Trip=20), row(3, stand=49, bit=1093, Trip=20 + WET),
                           row(6, stand=48, bit=1186, Trip=20 + 2 * WET))
    assert findings == ()
    assert bbl(lines, "expected") == near(-2.3622, -2.3622)
    assert bbl(lines, "actual") == near(-2.3622, -2.3622)
    assert bbl(lines, "difference") == near(0, 0)
    assert {line.state for line in lines} == {"closed float"}


def test_giving_back_more_than_it_should_is_a_gain_and_less_a_loss() -> None:
    # Run in: 2.3622 due. Given back 3 bbl: +0.6378; then 1.5: −0.8622; −0.2244 in all.
    lines, _ = trip(row(0, stand=50, bit=1000, Trip=20), row(3, stand=49, bit=1093, Trip=23), row(6, stand=48, bit=1186, Trip=24.5))
    assert bbl(lines, "difference") == near(0.6378, -0.8622)
    assert bbl(lines, "cumulative") == near(0.6378, -0.2244)


def test_out_and_back_in_is_nothing_in_all_where_the_float_was_open() -> None:
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY),
                           row(6, stand=0, bit=START, Trip=50), way=Way("dry", "open"))
    assert findings == ()
    assert bbl(lines, "cumulative") == near(0, 0)
    assert [line.state for line in lines] == ["dry", "open float"]


def test_a_self_filling_float_gives_bounds_and_what_lies_between_is_uncertain() -> None:
    # 93 ft: −2.3622 to −0.7068; the middle −1.5345; a band of 1.6554, u = 0.8277/√3 = 0.4779, with the levels' √2 × 0.0722.
    (line,), _ = trip(row(0, bit=1000, stand=50, Trip=20), row(3, bit=1093, stand=49, Trip=21.5345), way=Way(running="self-filling"))
    assert (line.least_m3 / BBL, line.most_m3 / BBL) == pytest.approx((-2.3622, -0.7068))
    assert line.difference_m3 / BBL == pytest.approx(0.0, abs=1e-9)
    assert line.u_m3 / BBL == pytest.approx(sqrt(2 * U**2 + 0.4779**2), abs=5e-5)


def test_the_sum_over_a_self_filling_float_is_as_uncertain_as_its_band_is_wide() -> None:
    # What a float lets in is the same on every stand, so the bands add up: three of 1.6554, u = 3 × 0.8277/√3 = 1.4336 bbl.
    rows = [row(3 * n, stand=50 - n, bit=1000 + n * STAND_FT, Trip=20 + 1.5345 * n) for n in range(4)]
    lines, _ = trip(*rows, way=Way(running="self-filling"))
    assert lines[-1].cumulative_u_m3 / BBL == pytest.approx(sqrt(2 * U**2 + 1.4336**2), abs=5e-5)


# --- refills


def test_a_refill_is_told_from_both_its_levels_and_doesnt_count() -> None:
    # 50 − 0.7068 − 0.7068 = 48.5864; filled to 95; the next stand from there.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=49.2932),
                           row(6, stand=2, bit=START - 186, Trip=48.5864), row(9, "refill", 2, START - 186, Trip=95),
                           row(12, stand=3, bit=START - 279, Trip=94.2932))
    assert findings == ()
    assert [line.stand for line in lines] == [1, 2, 3]
    assert bbl(lines, "actual") == near(DRY, DRY, DRY)
    assert bbl(lines, "cumulative") == near(0, 0, 0)


def test_pipe_moved_over_a_refill_is_said_and_fakes_neither_gain_nor_loss() -> None:
    # Stand 2 and the refill in one: 49.2932 to 95. What the hole took then isn't known; stands 1 and 3 count.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=49.2932),
                           row(9, "refill", 2, START - 186, Trip=95), row(12, stand=3, bit=START - 279, Trip=94.2932))
    assert codes(findings) == ["refill_moved"]
    assert [line.stand for line in lines] == [1, 3]
    assert bbl(lines, "difference") == near(0, 0)


def test_pipe_moved_over_a_refill_of_one_tank_fakes_no_loss_on_the_other() -> None:
    # Other is in use: stand 1 from it. Stand 2 without a level, then Trip is filled: what Other gave for stands 2 and 3 is set
    # against both of them, at its level after stand 3.
    rows = (row(0, stand=0, bit=START, Trip=20, Other=50), row(3, stand=1, bit=START - 93, Other=50 - DRY), row(6, stand=2, bit=START - 186),
            row(9, "refill", 2, START - 186, Trip=95), row(12, stand=3, bit=START - 279, Other=50 - 3 * DRY),
            row(15, stand=4, bit=START - 372, Other=50 - 4 * DRY))
    lines, findings = trip(*rows)
    assert codes(findings) == []
    assert bbl(lines, "difference") == near(0, 0, 0)
    assert bbl(lines, "cumulative") == near(0, 0, 0)
    assert bbl(lines, "actual") == near(DRY, 2 * DRY, DRY)


def test_a_tank_filled_while_the_other_one_is_in_use_doesnt_count_when_no_pipe_moves() -> None:
    lines, findings = trip(row(0, stand=0, bit=START, Trip=20, Other=50), row(3, stand=1, bit=START - 93, Other=50 - DRY),
                           row(6, "refill", 1, START - 93, Trip=95), row(9, stand=2, bit=START - 186, Other=50 - 2 * DRY),
                           row(12, stand=3, bit=START - 279, Trip=95 - DRY))
    assert findings == ()
    assert bbl(lines, "difference") == near(0, 0, 0)


def test_a_refill_without_a_level_never_reads_as_a_gain_of_what_was_filled() -> None:
    # Filled by some 45 bbl, nobody read it. The next level, after stand 2, is then the refill's second one, and pipe moved.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, "refill", 1, START - 93),
                           row(9, stand=2, bit=START - 186, Trip=95), row(12, stand=3, bit=START - 279, Trip=95 - DRY))
    assert codes(findings) == ["refill_moved"]
    assert [line.stand for line in lines] == [1, 3]
    assert bbl(lines, "cumulative") == near(0, 0)


def test_strokes_pumped_before_a_refill_still_count_after_it() -> None:
    # A stand left 0.4 bbl short by the trip tank, filled by 4 strokes of 0.1 without a level; then the tank is filled up. The
    # hole took what it should: 0 in all by the next row.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY + 0.4), row(4, "fill", strokes=4),
                           row(6, "refill", Trip=95), row(9, stand=2, bit=START - 186, Trip=95 - DRY))
    assert findings == ()
    assert bbl(lines, "difference") == near(0.4, -0.4)
    assert bbl(lines, "cumulative") == near(0.4, 0)


# --- levels


def test_stands_without_a_level_wait_for_the_next_one() -> None:
    # Three stands, then the fill is read: 3 × 0.7068 = 2.1204 due, 2.0 taken: +0.1204.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), *(row(3 * n, stand=n, bit=START - n * 93) for n in (1, 2, 3)),
                           row(12, "fill", Trip=48))
    assert findings == ()
    (line,) = lines
    assert (line.stand, line.state) == (3, "dry")
    assert line.expected_m3 / BBL == pytest.approx(2.1204, abs=1e-9)
    assert line.difference_m3 / BBL == pytest.approx(0.1204, abs=1e-9)


def test_rows_before_the_first_level_dont_count() -> None:
    lines, findings = trip(row(0, stand=0, bit=START), row(3, stand=1, bit=START - 93), row(6, "fill", 1, START - 93, Trip=50),
                           row(9, stand=2, bit=START - 186, Trip=50 - DRY))
    assert findings == ()
    assert bbl(lines, "cumulative") == near(0)


def test_pipe_moved_after_the_last_level_is_said() -> None:
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, stand=2, bit=START - 186))
    assert [line.stand for line in lines] == [1]
    assert codes(findings) == ["no_level_after"]


def test_a_change_over_from_one_trip_tank_to_another() -> None:
    # Two stands from Trip, then both are read, then two from Other: 0 on each; a tank without a level stands as it stood.
    rows = (row(0, stand=0, bit=START, Trip=50, Other=80), row(3, stand=1, bit=START - 93, Trip=50 - DRY),
            row(6, stand=2, bit=START - 186, Trip=50 - 2 * DRY), row(9, "fill", Trip=50 - 2 * DRY, Other=80),
            row(12, stand=3, bit=START - 279, Other=80 - DRY), row(15, stand=4, bit=START - 372, Other=80 - 2 * DRY))
    lines, findings = trip(*rows)
    assert findings == ()
    assert bbl(lines, "actual") == near(DRY, DRY, 0, DRY, DRY)
    assert bbl(lines, "cumulative") == near(0, 0, 0, 0, 0)
    assert [line.state for line in lines] == ["dry", "dry", "fill", "dry", "dry"]


def test_both_tanks_in_use_at_once_add_up() -> None:
    (line,), _ = trip(row(0, stand=0, bit=START, Trip=50, Other=80), row(3, stand=1, bit=START - 93, Trip=49.7, Other=79.8))
    assert line.actual_m3 / BBL == pytest.approx(0.5, abs=1e-9)
    assert line.difference_m3 / BBL == pytest.approx(0.2068, abs=1e-9)
    assert line.u_m3 / BBL == pytest.approx(2 * U, rel=1e-6), "four levels"


def test_a_tank_that_first_appears_on_the_way_counts_from_there() -> None:
    # Other isn't there at the start: its 80 bbl are no gain when they appear, and stand 2 counts from them.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, "fill", Other=80),
                           row(9, stand=2, bit=START - 186, Other=80 - DRY))
    assert codes(findings) == ["tank_first_level"]
    assert "Other" in findings[0].what
    assert bbl(lines, "cumulative") == near(0, 0, 0)


def test_what_a_tank_gave_before_its_first_level_reads_as_a_gain_and_is_said() -> None:
    # Stand 2 was filled from Other, which nobody had read: all that is known is that Trip gave nothing.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY),
                           row(6, stand=2, bit=START - 186, Trip=50 - DRY, Other=80))
    assert codes(findings) == ["tank_first_level"]
    assert bbl(lines, "difference") == near(0, DRY)


TABLE = replace(TANKS["Trip"], shape=Strapping((0.0, 60 * IN), (0.0, 60 * BBL)))


def test_a_level_outside_the_tank_s_table_is_left_out_and_the_stand_waits() -> None:
    # The table ends at 60 in: 70 isn't in it. Stand 2 waits for stand 3: 1.4136 due, 1.4136 taken.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, stand=2, bit=START - 186, Trip=70),
                           row(9, stand=3, bit=START - 279, Trip=50 - 3 * DRY), tanks={"Trip": TABLE})
    assert codes(findings) == ["outside_table"]
    assert [line.stand for line in lines] == [1, 3]
    assert bbl(lines, "expected") == near(DRY, 2 * DRY)
    assert bbl(lines, "difference") == near(0, 0)


def test_a_refill_past_the_table_s_end_never_reads_as_a_gain() -> None:
    lines, findings = trip(row(0, stand=0, bit=START, Trip=20), row(3, "refill", 0, START, Trip=70), row(6, stand=1, bit=START - 93, Trip=59),
                           row(9, stand=2, bit=START - 186, Trip=59 - DRY), tanks={"Trip": TABLE})
    assert codes(findings) == ["outside_table", "refill_moved"]
    assert bbl(lines, "cumulative") == near(0)


# --- strokes


def test_filled_by_strokes() -> None:
    # Five stands, 5 × 0.7068 = 3.534 bbl; 35 strokes of 0.1: 3.5. The trip tank stands still: +0.034.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(15, stand=5, bit=START - 5 * 93), row(18, "fill", strokes=35, Trip=50))
    assert findings == ()
    assert bbl(lines, "actual") == near(3.5)
    assert bbl(lines, "difference") == near(0.034)


def test_strokes_and_a_trip_tank_add_up() -> None:
    # 1.4136 due: 0.7 by seven strokes, 0.7 by the tank: +0.0136.
    lines, _ = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, strokes=7), row(6, stand=2, bit=START - 186, Trip=49.3))
    assert bbl(lines, "actual") == near(1.4)
    assert bbl(lines, "difference") == near(0.0136)


def test_a_hole_filled_by_strokes_alone_has_a_sheet_too() -> None:
    # No trip tank: 36 strokes for five stands, 3.6 for 3.534: −0.066. How far strokes can be trusted nobody has set.
    lines, findings = trip(row(0, stand=0, bit=START), row(15, stand=5, bit=START - 465), row(18, "fill", 5, START - 465, strokes=36),
                           row(33, stand=10, bit=START - 930, strokes=34), tanks={})
    assert findings == ()
    assert bbl(lines, "expected") == near(3.534, 3.534)
    assert bbl(lines, "difference") == near(-0.066, 0.134)
    assert bbl(lines, "cumulative") == near(-0.066, 0.068)
    assert all(isnan(line.u_m3) and isnan(line.cumulative_u_m3) for line in lines)


def test_an_unknown_pump_leaves_its_row_out_and_the_sums_go_on() -> None:
    # Stand 1 +0.2; stands 2 and 3 by strokes of no known output; stand 4 +0.1: +0.3 in all, and the last five the same.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY + 0.2),
                           row(9, stand=3, bit=START - 279, strokes=14, Trip=49), row(12, stand=4, bit=START - 372, Trip=49 - DRY + 0.1), stroke=nan)
    assert codes(findings) == ["row_unknown"]
    assert bbl(lines, "difference") == near(0.2, nan, 0.1)
    assert bbl(lines, "cumulative") == near(0.2, 0.2, 0.3)
    assert bbl(lines, "last_n") == near(0.2, 0.2, 0.3)
    # Four levels count: before and after stand 1, before and after stand 4.
    assert lines[0].cumulative_u_m3 / BBL == pytest.approx(sqrt(2) * U, rel=1e-6)
    assert lines[-1].cumulative_u_m3 / BBL == pytest.approx(2 * U, rel=1e-6)


def test_what_another_tank_gave_over_a_row_that_isnt_known_is_no_loss_after_it() -> None:
    # Stand 1 by strokes of no known output, read on Trip alone. Other's level after stand 2 spans both stands, of which only the
    # second was due: unknown too, and stands 3 and 4, one from each tank, count.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50, Other=80), row(3, stand=1, bit=START - 93, strokes=3, Trip=50),
                           row(6, stand=2, bit=START - 186, Other=79), row(9, stand=3, bit=START - 279, Other=79 - DRY),
                           row(12, stand=4, bit=START - 372, Trip=50 - DRY), stroke=nan)
    assert codes(findings) == ["row_unknown", "row_unknown"]
    assert bbl(lines, "difference") == near(nan, nan, 0, 0)
    assert bbl(lines, "cumulative") == near(0, 0, 0, 0)


# --- where the bit is


def test_a_missing_bit_depth_is_counted_by_stands_and_said() -> None:
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, Trip=50 - DRY), row(6, stand=3, Trip=50 - 3 * DRY))
    assert codes(findings) == ["counted_by_stands"] * 2
    assert {f.severity for f in findings} == {"note"}
    assert [line.bit_m / FT for line in lines] == pytest.approx([START - 93, START - 279])
    assert bbl(lines, "difference") == near(0, 0)


def test_running_in_missing_depths_are_counted_the_way_that_the_numbers_went() -> None:
    # The crew numbers stands upward as they run in: 1 at 1093 ft, so 2 without a depth is at 1186 ft. Counted the other way the
    # sheet would hide 93 × 0.0178 bbl of an influx.
    lines, findings = trip(row(0, stand=0, bit=1000, Trip=20), row(3, stand=1, bit=1093, Trip=20 + WET), row(6, stand=2, Trip=20 + 2 * WET),
                           row(9, stand=3, bit=1279, Trip=20 + 3 * WET))
    assert codes(findings) == ["counted_by_stands"]
    assert lines[1].bit_m / FT == pytest.approx(1186)
    assert bbl(lines, "difference") == near(0, 0, 0)


def test_numbers_that_fall_while_running_in_are_counted_downward() -> None:
    lines, _ = trip(row(0, stand=50, bit=1000, Trip=20), row(3, stand=49, Trip=20 + WET))
    assert lines[0].bit_m / FT == pytest.approx(1093)
    assert bbl(lines, "difference") == near(0)


def test_pipe_that_isnt_in_the_hole_isnt_counted_out_of_it() -> None:
    # At 0 ft with nothing said of which way: stand 1 without a depth could only have been run, and isn't known.
    lines, findings = trip(row(0, stand=0, bit=0, Trip=20), row(3, stand=1, Trip=20 + 5.0))
    assert isnan(lines[0].difference_m3)
    assert "depth_unknown" in codes(findings)


def test_a_stand_without_depth_or_number_counts_with_the_next_depth_and_never_as_no_move() -> None:
    # Stand 2 is logged by its level alone: whether it took what it should isn't known yet. Stand 3's depth tells of both: 1.4136
    # due, 0.9136 taken, +0.5.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, Trip=49),
                           row(9, stand=3, bit=START - 279, Trip=50 - DRY - 0.9136))
    assert codes(findings) == ["depth_unknown"]
    assert bbl(lines, "difference") == near(0, nan, 0.5)
    assert bbl(lines, "expected") == near(DRY, nan, 2 * DRY)
    assert bbl(lines, "actual") == near(DRY, 50 - DRY - 49, 0.9136)
    assert bbl(lines, "cumulative") == near(0, 0, 0.5)
    assert isnan(lines[1].bit_m)
    assert lines[-1].cumulative_u_m3 / BBL == pytest.approx(sqrt(2) * U, rel=1e-6)


def test_a_numbered_stand_isnt_counted_from_a_depth_that_has_no_number() -> None:
    lines, findings = trip(row(0, bit=START, Trip=50), row(3, stand=1, Trip=50 - DRY), row(6, stand=2, bit=START - 186, Trip=50 - 2 * DRY))
    assert codes(findings) == ["depth_unknown"]
    assert bbl(lines, "difference") == near(nan, 0)


def test_a_depth_after_none_at_all_isnt_taken_for_no_move() -> None:
    # The start has no depth: what stand 1 should take isn't known; stand 2 counts.
    lines, findings = trip(row(0, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY), row(6, stand=2, bit=START - 186, Trip=50 - 2 * DRY))
    assert codes(findings) == ["row_unknown"]
    assert bbl(lines, "difference") == near(nan, 0)
    assert bbl(lines, "cumulative") == near(0, 0)


def test_a_refill_after_pipe_moved_to_nobody_knows_where() -> None:
    # Stand 2 without a depth, then the refill: unknown up to the next depth, and no more.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, Trip=50 - DRY), row(6, "refill", Trip=95),
                           row(9, stand=2, bit=START - 186, Trip=95 - DRY), row(12, stand=3, bit=START - 279, Trip=95 - 2 * DRY + 0.3))
    assert codes(findings) == ["depth_unknown", "refill_moved", "row_unknown"]
    assert bbl(lines, "difference") == near(nan, nan, 0.3)
    assert bbl(lines, "cumulative") == near(0, 0, 0.3)


def test_a_string_too_short_is_unknown_until_the_bit_is_within_it() -> None:
    # 558 ft of collars and 8300 of pipe end at 8858 ft: from 9000 and from 8907 isn't known, from 8814 is.
    short = String((COLLARS, part("pipe", 0.0076, 0.0178, 8300)))
    lines, findings = trip(*pulled(4), string=short)
    assert codes(findings) == ["row_unknown", "row_unknown"]
    assert bbl(lines, "difference") == near(nan, nan, 0, 0)
    assert bbl(lines, "cumulative") == near(0, 0, 0, 0)


# --- flow checks


def test_a_flow_check_counts_what_came_while_nothing_moved() -> None:
    # A barrel and a half in ten minutes: +1.5, and the sum with it.
    lines, findings = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93, Trip=50 - DRY),
                           row(13, "flow check", Trip=51.5 - DRY), row(16, stand=2, bit=START - 186, Trip=51.5 - 2 * DRY))
    assert findings == ()
    assert [line.state for line in lines] == ["dry", "flow check", "dry"]
    assert bbl(lines, "expected") == near(DRY, 0, DRY)
    assert bbl(lines, "difference") == near(0, 1.5, 0)
    assert bbl(lines, "cumulative") == near(0, 1.5, 1.5)
    assert bbl(lines, "last_n") == near(0, 1.5, 1.5)


def test_a_flow_check_that_closes_a_stand_is_called_by_how_pipe_moved() -> None:
    (line,), _ = trip(row(0, stand=0, bit=START, Trip=50), row(3, stand=1, bit=START - 93), row(13, "flow check", Trip=50 - DRY))
    assert line.state == "dry"
    assert line.difference_m3 / BBL == pytest.approx(0.0, abs=1e-9)


# --- how far it can be trusted


def test_a_stand_and_the_sum_are_good_to_two_levels_however_many_stands() -> None:
    # √2 × 0.125/√3 = 0.10206 bbl: the levels between cancel.
    lines, _ = trip(*pulled(30))
    assert [line.u_m3 / BBL for line in lines] == pytest.approx([0.10206] * 30, abs=5e-6)
    assert [line.cumulative_u_m3 / BBL for line in lines] == pytest.approx([0.10206] * 30, abs=5e-6)


def test_each_refill_adds_two_levels() -> None:
    # One: √4 × 0.07217 = 0.14434; two: √6 × 0.07217 = 0.17678 bbl.
    lines, _ = trip(*pulled(30, refill_below=93.0))
    refills = [sum(line.stand > n for n in (10, 20)) for line in lines]
    assert [line.cumulative_u_m3 / BBL for line in lines] == pytest.approx([U * sqrt(2 + 2 * n) for n in refills], rel=1e-6)
    assert lines[-1].cumulative_u_m3 / BBL == pytest.approx(0.17678, abs=5e-6)


def test_a_dip_error_nobody_set_leaves_it_unknown() -> None:
    lines, _ = trip(*pulled(2), tanks={"Trip": replace(TANKS["Trip"], dip_error_m=None)})
    assert all(isnan(line.u_m3) and isnan(line.cumulative_u_m3) for line in lines)
    assert bbl(lines, "cumulative") == near(0, 0)


# --- whatever the trip


@given(st.lists(st.tuples(st.floats(-3.0, 3.0), st.booleans(), st.booleans()), min_size=1, max_size=30), st.sampled_from([Way("dry"), Way("wet")]))
def test_what_was_put_in_is_what_it_says_in_all(stands: list[tuple[float, bool, bool]], way: Way) -> None:
    # Each stand takes so much less than it should; some wait for the next level, some are followed by a refill.
    per = DRY if way.out == "dry" else WET
    held, rows, short, counted = 60.0, [row(0, stand=0, bit=START, Trip=60.0)], 0.0, []
    for n, (less, waits, refilled) in enumerate(stands, 1):
        held, short = held - per + less, short + less
        last = n == len(stands)
        rows.append(row(10 * n, stand=n, bit=START - n * STAND_FT, **({} if waits and not last else {"Trip": held})))
        if not waits or last:
            counted.append((n, short))
            if refilled:
                held = 60.0
                rows.append(row(10 * n + 5, "refill", n, Trip=held))
    lines, findings = trip(*rows, way=way)
    assert findings == ()
    assert bbl(lines, "cumulative") == pytest.approx([s for _, s in counted], abs=1e-6)
    # Of the last rows as many as it takes for five stands.
    whole = [(0, 0.0), *counted]
    since = [max((s for s in whole if s[0] <= max(n - 5, 0)), key=lambda s: s[0])[1] for n, _ in counted]
    assert bbl(lines, "last_n") == pytest.approx([s - b for (_, s), b in zip(counted, since, strict=True)], abs=1e-6)


BORE = STAND_FT * 0.0178


@pytest.mark.parametrize(("way", "by_hand"), [
    (Way("dry", "closed"), (2 * WET, 2 * DRY + BORE)),                      # steel; and bore where it had been run empty
    (Way("wet", "closed"), (2 * WET, 2 * WET)),                             # steel and bore, whatever was in it
    (Way("bucket", "closed", returned=0.8), (2 * WET, 2 * DRY + 0.4 * BORE + 0.8 * BORE)),      # 0.2 of each bore is lost
], ids=["dry", "wet", "bucket"])
def test_pipe_that_was_run_empty_goes_out_empty_once_and_full_pipe_after_it(way: Way, by_hand: tuple[float, float]) -> None:
    """Three stands run on a closed float: each gives back 93 x (0.0076 + 0.0178). Two out, then two more: one of them was run empty,
    the other was full before the trip."""
    bits = (1000, 1093, 1186, 1279, 1093, 907)
    lines, _ = trip(*(row(3 * n, bit=bit, Trip=20) for n, bit in enumerate(bits)), way=way)
    assert bbl(lines, "expected")[-5:] == near(-WET, -WET, -WET, *by_hand)


def test_stands_whose_numbers_fall_as_pipe_is_pulled_are_counted_upward() -> None:
    lines, findings = trip(row(0, stand=50, bit=2000, Trip=20), row(3, stand=49, bit=1907, Trip=19), row(6, stand=48, Trip=18))
    assert lines[-1].bit_m == pytest.approx((2000 - 2 * STAND_FT) * FT)
    assert "counted_by_stands" in codes(findings)
    lines, _ = trip(row(0, stand=48, bit=1814, Trip=20), row(3, stand=49, bit=1907, Trip=21), row(6, stand=48, Trip=22))
    assert lines[-1].bit_m == pytest.approx(1814 * FT), "a number lower, and the way back is up"
