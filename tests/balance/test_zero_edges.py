"""Zeros between rounds, in rounds, late and on top of each other; voids and corrections; what a zero writes off.

An inch in an 8 × 30 ft box is 3.5622 bbl (42 gal of 231 in³ to the barrel).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from dipbook import balance, composing
from dipbook.records import Block, Dip, Draft
from ledgers import BBL, IN, MIN, booked, dips, entry, in_bbl, minutes, spread

INCH = 240 / 12 * 1728 / 9702
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)


def zero(minute: float = 0, **other: Any) -> Draft:
    return entry("zero", minute, length=0, reason="start of tour", **other)


def difference(books: Any, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).difference_m3)


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books)}


# --- a zero between rounds ------------------------------------------------------------------------------------------

def test_a_transfer_between_the_last_round_and_the_zero_is_not_forgotten() -> None:
    """Round at 0, 24 bbl out of Suction from 2 to 8, zero at 10, round at 15: Suction is 24 bbl down, as booked. Counted
    from the zero on, those 24 bbl would read as a loss and hide 24 bbl of kick."""
    books = booked(START, entry("transfer", 2, 8, from_="Suction", to="Reserve", volume=24), zero(10),
                   dips(15, Settling=60, Suction=60 - 24 / INCH, Reserve=50 + 24 / INCH, Trip=30))
    assert difference(books, 15) == pytest.approx([0], abs=1e-9)
    assert difference(books, 15, of="all surface") == pytest.approx([0], abs=1e-9)


def test_pumps_that_stopped_between_the_round_and_the_zero_still_drain_back() -> None:
    """The round at 0 had 20 bbl in the lines; pumps off at 2, zero at 3, round at 30: the 20 bbl are back in the tanks."""
    books = booked(entry("pumps", -60, state="on", flow=300), START, entry("pumps", 2, state="off"), zero(3),
                   dips(30, Settling=60, Suction=60 + 20 / INCH))
    assert difference(books, 30) == pytest.approx([0], abs=1e-6)


def test_a_tank_left_out_of_the_round_before_the_zero_starts_with_what_was_logged_on_it() -> None:
    """Settling dipped at 0, 24 bbl into it at 5, short round at 10 without it, zero at 10, full round at 20."""
    books = booked(START, entry("transfer", 5, from_="Reserve", to="Settling", volume=24), dips(10, Suction=60), zero(10),
                   dips(20, Settling=60 + 24 / INCH, Suction=60))
    assert difference(books, 20) == pytest.approx([0], abs=1e-9)


def test_a_tank_that_joined_between_the_round_and_the_zero_counts_once() -> None:
    books = booked(START, entry("line-up", 5, tank="Reserve", state="in"), zero(10),
                   dips(20, Settling=60, Suction=61, Reserve=50))
    assert difference(books, 10, 20) == pytest.approx([0, INCH], abs=1e-9)


def test_a_zero_in_the_middle_of_a_round_rests_on_the_round_before() -> None:
    """Dips at 10 (Settling) and 12 (Suction), zero at 11: the last whole reading is at 0."""
    books = booked(START, spread(10, 2, Settling=61, Suction=60), zero(11), dips(20, Settling=61, Suction=60))
    assert difference(books, 20) == pytest.approx([INCH])


def test_several_zeros_one_after_the_other_each_start_from_the_same_round() -> None:
    books = booked(START, zero(), dips(10, Settling=60, Suction=62), zero(11), zero(12), zero(12.5),
                   dips(20, Settling=60, Suction=63))
    assert difference(books, 10, 12, 20) == pytest.approx([2 * INCH, 0, INCH], abs=1e-9)
    assert [v / BBL for _, v in balance.written_off(books)] == pytest.approx([2 * INCH, 0, 0], abs=1e-9)


# --- what was written off -------------------------------------------------------------------------------------------

def test_a_zero_at_a_round_writes_off_what_that_round_showed() -> None:
    """+2 in at 15 and the zero at 15: 7.12 bbl are written off. One millisecond earlier the books still showed 0."""
    books = booked(START, zero(), dips(15, Settling=60, Suction=62), zero(15))
    assert composing.seen(books).written_off_m3 / BBL == pytest.approx(2 * INCH)


def test_the_first_zero_given_writes_off_what_was_shown_while_nobody_had_given_one() -> None:
    books = booked(START, dips(15, Settling=60, Suction=62), zero(16))
    ((ended, volume),) = balance.written_off(books)
    assert ended.reason == "start of tour"
    assert volume / BBL == pytest.approx(2 * INCH)


def test_the_sum_of_what_was_written_off_is_never_reset() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=62), zero(15), dips(30, Settling=60, Suction=61), zero(30),
                   dips(45, Settling=60, Suction=61.5), zero(46))
    assert [v / BBL for _, v in balance.written_off(books)] == pytest.approx([2 * INCH, -INCH, 0.5 * INCH])
    assert composing.seen(books).written_off_m3 / BBL == pytest.approx(1.5 * INCH)


def test_what_is_left_and_what_was_written_off_add_up_to_what_there_would_be_without_the_zero() -> None:
    history = [entry("pumps", -60, state="on", flow=300), START, entry("depth", 0, hole=5000, bit=5000), zero(),
               entry("transfer", 3, 20, from_="Reserve", to="Suction", volume=17), entry("pumps", 9, state="off"),
               dips(15, Settling=61, Suction=63), entry("pumps", 17, state="on", flow=300),
               entry("depth", 18, hole=5020, bit=5020), dips(60, Settling=62, Suction=62)]
    without = difference(booked(*history), 60)[0]
    books = booked(*history, entry("zero", 15, length=0, reason="x"))
    off = sum(v for _, v in balance.written_off(books)) / BBL
    # the zero at 15, six minutes after pumps off, takes the lines as drained: 20·e^(−6) bbl of them are left out
    assert difference(books, 60)[0] + off == pytest.approx(without, abs=20 * math.exp(-6) * 1.01)


def test_a_zero_after_the_last_round_is_shown_as_nought_and_no_trend_from_before_it() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=61), dips(50, Settling=60, Suction=62), zero(52))
    shown = composing.seen(books)
    assert shown.at_ms == minutes(52)[0]
    assert shown.active is not None
    assert in_bbl(shown.active.difference_m3) == pytest.approx([0], abs=1e-9)
    assert shown.trend_words is None
    assert composing.seen(booked(START, zero(), dips(15, Settling=60, Suction=61))).trend_words is not None


def test_a_struck_out_zero_leaves_the_one_before_it_in_force() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=62), zero(15, uid="z2"),
                   Draft("void", minutes(15)[0], minutes(20)[0], supersedes="z2", reason="not asked for"))
    assert difference(books, 15) == pytest.approx([2 * INCH])
    assert balance.written_off(books) == ()


# --- zeros that have to wait ----------------------------------------------------------------------------------------

def test_all_surface_takes_a_tank_in_at_its_first_dip_and_is_partial_until_then() -> None:
    """Reserve and Trip, first gauged at 20, step nothing; the 1 in before and the 1 in after show. A limit on all
    surface would else see nothing until the last chemical tank is gauged."""
    books = booked(dips(0, Settling=60, Suction=60), zero(), dips(10, Settling=60, Suction=61),
                   dips(20, Settling=60, Suction=61, Reserve=50, Trip=30), dips(30, Settling=60, Suction=61, Reserve=51, Trip=30))
    assert difference(books, 10, 30) == pytest.approx([INCH, INCH])
    assert difference(books, 10, 20, 30, of="all surface") == pytest.approx([INCH, INCH, 2 * INCH])
    assert balance.at(books, minutes(10, 20, 30), "all surface").partial.tolist() == [True, False, False]


def test_all_surface_books_what_runs_from_the_active_into_a_tank_that_nobody_gauged() -> None:
    """10 bbl into Trip before its first dip, 10 after it: neither is lost."""
    moves = [entry("transfer", m, **{"from": "Settling", "to": "Trip"}, volume=10) for m in (5, 25)]
    down = 10 / INCH
    books = booked(dips(0, Settling=60, Suction=60), zero(), *moves, dips(10, Settling=60 - down, Suction=60),
                   dips(20, Settling=60 - down, Suction=60, Trip=30),
                   dips(30, Settling=60 - 2 * down, Suction=60, Trip=30 + down))
    assert difference(books, 10, 20, 30, of="all surface") == pytest.approx([0, 0, 0], abs=1e-9)
    assert "never_gauged" in codes(books), "Reserve"


def test_a_zero_waits_for_a_volume_and_not_only_for_a_dip() -> None:
    """A dip outside the strapping table has no volume: the difference would stay unknown till the next zero."""
    from ledgers import RIG
    box = 'kind = "box"\nlength = "30 ft"\nwidth = "8 ft"\nheight = "9 ft"\n'
    rig = RIG.replace(box, 'kind = "strapping"\ntable = [["0 in", "0 bbl"], ["62 in", "220 bbl"]]\n', 1).replace(
        'brim = "9 ft"', 'brim = "5 ft"', 1)
    books = booked(dips(0, Settling=70, Suction=60), zero(), dips(10, Settling=60, Suction=60),
                   dips(20, Settling=60, Suction=61), rig=rig)
    assert difference(books, 10, 20) == pytest.approx([0, INCH], abs=1e-9)
    assert "zero_late" in codes(books)


# --- partial rounds -------------------------------------------------------------------------------------------------

def test_held_tanks_are_those_that_make_the_balance_partial() -> None:
    books = booked(START, zero(), spread(10, 2, Settling=60, Suction=60), dips(11, Trip=31), dips(20, Suction=60))
    for minute in (0, 10.5, 11, 12, 15, 20):
        t = minutes(minute)[0]
        assert bool(balance.at(books, t).partial[0]) == bool(balance.held(books, t)), minute
    assert balance.held(books, minutes(20)[0]) == (("Settling", minutes(10)[0]),)


def test_rows_with_a_time_for_each_dip_are_readings_from_first_to_last_dip() -> None:
    """Two rows, 10 to 12 and 20 to 22 min; in the second Suction is left out: held since 12."""
    at = [np.array(minutes(*m), dtype=np.int64) for m in ((0, 10, 20), (0, 12), (0, 12, 22), (0, 10, 20))]
    samples = Draft("samples", 0, 0, blocks=(
        Block("tank:Settling:level", at[0], np.full(3, 60 * IN)), Block("tank:Suction:level", at[1], np.full(2, 60 * IN)),
        Block("rows", at[2], at[3].astype(float))))
    books = booked(samples, zero())
    assert balance.at(books, minutes(12, 20, 22)).partial.tolist() == [False, False, True]
    assert balance.held(books, minutes(22)[0]) == (("Suction", minutes(12)[0]),)


def test_a_dip_with_a_doubtful_time_carries_how_fast_the_tank_moved() -> None:
    """36 bbl in 6 min, ±2 min: 6 bbl/min × 2 min/√3 = 6.93 bbl beside the stick's 0.514."""
    t = minutes(6)[0]
    late = Draft("round", t, t, payload={}, dips=(Dip("Settling", t, "60 in", 60 * IN),
                                                  Dip("Suction", t, "x", (60 + 36 / INCH) * IN, t_half_ms=2 * MIN)))
    stick = 0.25 * INCH / math.sqrt(3)
    u = in_bbl(balance.at(booked(START, zero(), late), minutes(6)).u_m3)
    assert u == pytest.approx([math.sqrt(4 * stick**2 + (12 / math.sqrt(3)) ** 2)])


# --- voids and corrections ------------------------------------------------------------------------------------------

def test_a_dip_entered_again_after_its_span_was_struck_out_counts() -> None:
    """Suction misread 70 in at 15, 14 to 16 struck out, and 61 in entered for 15: the new dip stands."""
    books = booked(START, zero(), dips(15, Settling=60, Suction=70),
                   entry("void", 14, 16, tank="Suction", reason="stick in sludge"), dips(15, Suction=61))
    assert difference(books, 15) == pytest.approx([INCH])


def test_a_struck_out_void_brings_its_readings_back() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=61),
                   entry("void", 14, 16, tank="Suction", reason="wrong tank", uid="v"),
                   Draft("void", minutes(15)[0], minutes(20)[0], supersedes="v", reason="it was right"))
    assert difference(books, 15) == pytest.approx([INCH])


def test_a_void_of_an_import_takes_all_its_readings() -> None:
    t = np.array(minutes(10, 20), dtype=np.int64)
    samples = Draft("samples", int(t[0]), int(t[-1]), uid="file", blocks=(
        Block("tank:Settling:level", t, np.full(2, 70 * IN)), Block("tank:Suction:level", t, np.full(2, 70 * IN))))
    books = booked(START, zero(), samples, Draft("void", minutes(10)[0], minutes(30)[0], supersedes="file", reason="x"))
    assert len(books.readings) == 1
    assert difference(books, 20) == pytest.approx([0], abs=1e-9)


def test_a_correction_of_a_correction_counts_alone() -> None:
    books = booked(START, zero(), entry("transfer", 5, from_="Reserve", to="Suction", volume=24, uid="a"),
                   entry("transfer", 5, from_="Reserve", to="Suction", volume=42, uid="b", supersedes="a"),
                   entry("transfer", 6, from_="Reserve", to="Suction", volume=20, uid="c", supersedes="b"))
    assert in_bbl(balance.at(books, minutes(5.5, 10)).terms["transfers"]) == pytest.approx([0, 20])


def test_two_corrections_of_one_entry_are_not_added_up() -> None:
    """Two desks correct the same 24 bbl, to 20 and to 21: 21 was learned last. 41 would hide 20 bbl of kick."""
    books = booked(START, zero(), entry("transfer", 5, from_="Reserve", to="Suction", volume=24, uid="a"),
                   entry("transfer", 5, from_="Reserve", to="Suction", volume=20, uid="b", supersedes="a"),
                   entry("transfer", 5, from_="Reserve", to="Suction", volume=21, uid="c", supersedes="a"))
    assert in_bbl(balance.at(books, minutes(10)).terms["transfers"]) == pytest.approx([21])
    struck = booked(START, zero(), entry("transfer", 5, from_="Reserve", to="Suction", volume=24, uid="a"),
                    entry("transfer", 5, from_="Reserve", to="Suction", volume=20, uid="b", supersedes="a"),
                    Draft("void", minutes(5)[0], minutes(9)[0], supersedes="a", reason="never happened"))
    assert in_bbl(balance.at(struck, minutes(10)).terms["transfers"]) == pytest.approx([0])


def test_a_struck_out_line_up_change_is_undone() -> None:
    books = booked(START, zero(), entry("line-up", 5, tank="Suction", state="out", uid="l"), dips(15, Settling=60, Suction=61),
                   Draft("void", minutes(5)[0], minutes(16)[0], supersedes="l", reason="other valve"))
    assert difference(books, 15) == pytest.approx([INCH])


def test_of_two_dips_at_one_time_the_one_learned_last_counts() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=65), dips(15, Suction=61))
    assert difference(books, 15) == pytest.approx([INCH])
    assert not balance.at(books, minutes(15)).partial[0]


# --- the watched system ---------------------------------------------------------------------------------------------

def test_the_trip_tank_starts_from_its_own_dip_when_the_flow_line_is_turned_to_it() -> None:
    """Trip dipped at 0, 5 bbl into it at 4, flow line to it at 10, dipped 5 bbl higher at 20: nothing unexplained."""
    books = booked(START, zero(), entry("transfer", 4, from_="Reserve", to="Trip", volume=5),
                   entry("line-up", 10, tank="flow line", to="Trip"), dips(20, Settling=60, Suction=60, Trip=30 + 5 / INCH))
    assert difference(books, 20, of="Trip") == pytest.approx([0], abs=1e-9)


def test_turning_the_flow_line_away_and_back_starts_the_trip_tank_anew_each_time() -> None:
    books = booked(START, zero(), entry("line-up", 10, tank="flow line", to="Trip"), dips(20, Settling=60, Suction=60, Trip=32),
                   entry("line-up", 30, tank="flow line", to="active"), dips(40, Settling=60, Suction=60, Trip=20),
                   entry("line-up", 50, tank="flow line", to="Trip"), dips(60, Settling=60, Suction=60, Trip=21))
    assert difference(books, 20, 60, of="Trip") == pytest.approx([2 * INCH, INCH])
    assert balance.followed(books, minutes(5, 20, 40, 60))[0] == ("active", "Trip", "active", "Trip")
