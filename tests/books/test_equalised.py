"""Tanks behind an open gate: what a reading of one tells of the other. Oracles by scalar arithmetic."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from compartments import HEAD, IN, INCH, TANKS, compartments, gate, tank
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import build, learn
from dipbook.books.equalised import level_with
from dipbook.records import Block, Dip, Draft, numbered
from ledgers import BBL, FT, dips, entry, history, minutes, rig_draft

ONE = INCH * 0.25 / math.sqrt(3)
"""Standard uncertainty of one dip of one compartment: ±¼ in [m3]."""


def at(books: Any, minute: float, name: str = "active") -> tuple[float, float, float, bool]:
    """(actual, difference, u [m3], partial) of a system at a minute."""
    b = balance.at(books, minutes(minute), name)
    return float(b.actual_m3[0]), float(b.difference_m3[0]), float(b.u_m3[0]), bool(b.partial[0])


START = (dips(0, Settling=40, Desander=60, Suction=60), entry("zero", 0, reason="x", length=0))


def test_a_compartment_left_out_takes_the_level_of_the_other() -> None:
    books = compartments(*START, dips(30, Settling=40, Suction=58), gates=gate())
    volume, difference, _, partial = at(books, 30)
    assert volume == pytest.approx((40 + 58 + 58) * INCH)
    assert difference == pytest.approx(-2 * 2 * INCH)
    assert not partial
    assert balance.held(books, minutes(30)[0]) == ()
    s = books.dips["Desander"]
    assert s.flag == ("", "level of Suction")
    assert s.by_gate.tolist() == [False, True]
    assert s.t_ms.tolist() == minutes(0, 30)


def test_without_the_gate_it_is_held_and_the_balance_is_partial() -> None:
    for gates in ("", gate(is_open=False), gate(equalises=False)):
        books = compartments(*START, dips(30, Settling=40, Suction=58), gates=gates)
        assert at(books, 30)[0] == pytest.approx((40 + 58 + 60) * INCH)
        assert at(books, 30)[3]
        assert balance.held(books, minutes(30)[0]) == (("Desander", 0),)


def test_a_step_between_the_bottoms_counts_either_way() -> None:
    gates = gate(step="6 in")
    upper = compartments(*START, dips(30, Settling=40, Suction=58), gates=gates)
    assert at(upper, 30)[0] == pytest.approx((40 + 58 + 52) * INCH)
    lower = compartments(*START, dips(30, Settling=40, Desander=52), gates=gates)
    assert at(lower, 30)[0] == pytest.approx((40 + 58 + 52) * INCH)
    assert lower.dips["Suction"].level_m[-1] == pytest.approx(58 * IN)


def test_each_keeps_its_own_where_both_are_gauged() -> None:
    books = compartments(*START, dips(30, Settling=40, Suction=58, Desander=57), gates=gate())
    assert at(books, 30)[0] == pytest.approx((40 + 58 + 57) * INCH)
    assert books.dips["Desander"].by_gate is None
    _, _, u, _ = at(books, 30)
    assert u == pytest.approx(math.sqrt(6) * ONE)       # three dips at either end


def test_a_compartment_whose_bottom_is_above_the_level_is_empty() -> None:
    books = compartments(*START, dips(30, Settling=40, Suction=5), gates=gate(step="6 in"))
    s = books.dips["Desander"]
    assert (s.level_m[-1], s.volume_m3[-1], s.u_m3[-1]) == (0.0, 0.0, 0.0)
    assert s.flag[-1] == "empty by the level of Suction"
    assert at(books, 30)[0] == pytest.approx((40 + 5) * INCH)


def test_a_dry_upper_compartment_tells_nothing_of_the_lower() -> None:
    books = compartments(*START, dips(30, Settling=40, Desander=0), gates=gate(step="6 in"))
    assert balance.held(books, minutes(30)[0]) == (("Suction", 0),)


def test_another_area_and_a_strapping_table_are_its_own() -> None:
    strapped = tank("Desander", "desander", 2).split("[tank.shape]")[0] + (
        '[tank.shape]\nkind = "strapping"\ntable = [["0 in", "0 bbl"], ["50 in", "30 bbl"], ["62 in", "60 bbl"], '
        '["108 in", "70 bbl"]]\n')
    rig = HEAD + tank("Settling", "settling", 1) + strapped + tank("Suction", "suction", 3, length="20 ft")
    books = compartments(*START, dips(30, Settling=40, Suction=56), gates=gate(), tanks=rig)
    assert books.dips["Desander"].volume_m3[-1] == pytest.approx(45 * BBL)           # half way from 50 to 62 in
    assert books.dips["Desander"].u_m3[-1] == pytest.approx(30 * BBL / 12 * 0.25 / math.sqrt(3))


def test_a_level_outside_the_strapping_table_tells_nothing_and_says_so() -> None:
    strapped = tank("Desander", "desander", 2).split("[tank.shape]")[0] + (
        '[tank.shape]\nkind = "strapping"\ntable = [["50 in", "30 bbl"], ["108 in", "70 bbl"]]\n')
    rig = HEAD + tank("Settling", "settling", 1) + strapped + tank("Suction", "suction", 3)
    books = compartments(*START, dips(30, Settling=40, Suction=48), gates=gate(), tanks=rig)
    assert balance.held(books, minutes(30)[0]) == (("Desander", 0),)
    assert ("outside_table", "Desander") in {(f.code, f.tank) for f in books.findings}


def test_a_dip_that_could_not_be_read_tells_nothing_of_the_other() -> None:
    round_ = dips(30, Settling=40, Suction=108)
    flagged = replace(round_, dips=tuple(replace(d, flag="over brim" if d.tank == "Suction" else "") for d in round_.dips))
    books = compartments(*START, flagged, gates=gate())
    assert books.dips["Desander"].t_ms.tolist() == minutes(0)


def test_a_doubtful_dip_says_so_on_the_other_too() -> None:
    round_ = dips(30, Settling=40, Suction=58)
    foamy = replace(round_, dips=tuple(replace(d, flag="foam" if d.tank == "Suction" else "") for d in round_.dips))
    assert compartments(*START, foamy, gates=gate()).dips["Desander"].flag[-1] == "level of Suction (foam)"


def test_the_other_is_told_at_the_time_of_the_dip_in_a_round_that_took_a_while() -> None:
    t = minutes(30, 33, 36)
    books = compartments(*START, Draft("round", t[2], t[2], payload={"start_ms": t[0], "end_ms": t[2]}, dips=(
        Dip("Settling", t[0], "40", 40 * IN), Dip("Suction", t[1], "58", 58 * IN))), gates=gate())
    assert books.dips["Desander"].t_ms.tolist() == [0, t[1]]
    # gauged itself later in the same round: nothing is told for it at the other's time
    books = compartments(*START, Draft("round", t[2], t[2], payload={"start_ms": t[0], "end_ms": t[2]}, dips=(
        Dip("Suction", t[1], "58", 58 * IN), Dip("Desander", t[2], "57", 57 * IN))), gates=gate())
    assert books.dips["Desander"].by_gate is None


def test_rows_of_an_import_tell_it_row_by_row() -> None:
    t = np.array(minutes(10, 20, 30), dtype=np.int64)
    rows = Draft("samples", int(t[-1]), int(t[-1]), payload={"source": "file"}, blocks=(
        Block("tank:Settling:level", t, np.full(3, 40 * IN)),
        Block("tank:Suction:level", t, np.array([59, 58, 57]) * IN),
        Block("tank:Desander:level", t[1:2], np.array([50 * IN]))))
    books = compartments(*START, rows, gates=gate())
    s = books.dips["Desander"]
    assert (s.level_m / IN).tolist() == pytest.approx([60, 59, 50, 57])
    assert s.by_gate.tolist() == [False, True, False, True]


# Gates in time

def test_a_gate_closed_before_the_dip_tells_nothing_and_one_opened_does_once_they_are_level() -> None:
    """Levels take minutes to meet: one dip a minute after the gate was opened would tell the other wrongly by all that
    still has to run, whatever that is."""
    closed = compartments(*START, entry("valve", 20, valve="gate", state="closed"), dips(30, Settling=40, Suction=58),
                          gates=gate())
    assert closed.dips["Desander"].t_ms.tolist() == [0]
    opened = compartments(*START, entry("valve", 20, valve="GATE", state="open"), dips(30, Settling=40, Suction=58),
                          gates=gate(is_open=False))
    assert opened.dips["Desander"].t_ms.tolist() == [0]
    assert "gate_not_level" in {f.code for f in opened.findings}
    level = compartments(*START, entry("valve", 20, valve="GATE", state="open"),
                         dips(40, Settling=40, Suction=58, Desander=58.5), dips(50, Settling=40, Suction=57),
                         gates=gate(is_open=False))
    assert level.dips["Desander"].t_ms.tolist() == minutes(0, 40, 50)
    assert level.dips["Desander"].level_m[-1] == pytest.approx(57 * IN)
    assert "gate_not_level" not in {f.code for f in level.findings}
    apart = compartments(*START, entry("valve", 20, valve="GATE", state="open"),
                         dips(40, Settling=40, Suction=50, Desander=62), dips(50, Settling=40, Suction=57),
                         gates=gate(is_open=False))
    assert apart.dips["Desander"].t_ms.tolist() == minutes(0, 40), "gauged both, and they weren't level yet"


@pytest.mark.parametrize(("was_open", "state"), [(True, "closed"), (False, "open")])
def test_a_gate_moved_at_the_very_time_of_the_dip_tells_nothing(was_open: bool, state: str) -> None:
    books = compartments(*START, entry("valve", 30, valve="Gate", state=state), dips(30, Settling=40, Suction=58),
                         dips(31, Settling=40, Suction=58), gates=gate(is_open=was_open))
    assert books.dips["Desander"].t_ms.tolist() == minutes(0)


def test_a_gate_entered_late_touches_the_books_from_its_time_on() -> None:
    records = history(*START, dips(30, Settling=40, Suction=58), dips(60, Settling=40, Suction=56),
                      entry("valve", 20, valve="Gate", state="closed", learned=90), rig=TANKS + gate())
    before = build(records[:-1])
    assert before.dips["Desander"].t_ms.tolist() == minutes(0, 30, 60)
    after, touched = learn(before, records[-1:])
    assert after.dips["Desander"].t_ms.tolist() == [0]
    assert touched == minutes(20)[0]


def test_striking_out_a_dip_touches_from_the_level_that_is_told_instead() -> None:
    t = minutes(30, 33)
    round_ = Draft("round", t[1], t[1], payload={"start_ms": t[0], "end_ms": t[1]}, dips=(
        Dip("Suction", t[0], "58", 58 * IN), Dip("Desander", t[1], "75", 75 * IN)))
    void = Draft("void", t[1], t[1] + 1, payload={"tank": "Desander", "end_ms": t[1], "reason": "misread"})
    records = history(*START, round_, void, rig=TANKS + gate())
    after, touched = learn(build(records[:-1]), records[-1:])
    assert after.dips["Desander"].t_ms.tolist() == [0, t[0]]
    assert touched == t[0]


# How sure

def test_two_volumes_from_one_dip_add_their_errors() -> None:
    first = (dips(0, Settling=40, Suction=60), entry("zero", 0, reason="x", length=0))
    books = compartments(*first, dips(30, Settling=40, Suction=58), gates=gate())
    # each end: Settling ONE, Suction with Desander 2·ONE from one dip
    assert at(books, 0)[2] == 0.0
    assert at(books, 30)[2] == pytest.approx(math.sqrt(2 * (1 + 2**2)) * ONE)
    assert at(books, 30, "all surface")[:2] == pytest.approx(at(books, 30)[:2])   # Reserve was never gauged: left out
    both = compartments(*START, dips(30, Settling=40, Suction=58), gates=gate())
    assert at(both, 30)[2] == pytest.approx(math.sqrt(3 + 1 + 2**2) * ONE)


def test_a_tank_by_itself_keeps_its_own_uncertainty() -> None:
    books = compartments(*START, dips(30, Settling=40, Suction=58), gates=gate())
    assert at(books, 30, "Desander")[2] == pytest.approx(math.sqrt(2) * ONE)
    assert at(books, 30, "Suction")[2] == pytest.approx(math.sqrt(2) * ONE)
    assert books.dips["Desander"].u_m3.tolist() == pytest.approx([ONE, ONE])


def test_a_dip_that_serves_one_tank_still_and_the_other_no_more_is_counted_once() -> None:
    books = compartments(dips(0, Settling=40, Suction=60), entry("zero", 0, reason="x", length=0),
                         entry("valve", 10, valve="Gate", state="closed"), dips(30, Desander=55), gates=gate())
    # Settling and Suction are held at the zero's dips and cancel; Desander's is that of Suction then, its own now
    assert at(books, 30)[2] == pytest.approx(math.sqrt(2) * ONE)
    books = compartments(dips(0, Settling=40, Suction=60), entry("zero", 0, reason="x", length=0),
                         entry("valve", 10, valve="Gate", state="closed"), dips(30, Suction=55), gates=gate())
    assert at(books, 30)[2] == pytest.approx(math.sqrt(2) * ONE)


def test_the_error_is_unknown_where_nobody_set_the_dip_error() -> None:
    rig = TANKS.replace('order = 3\ngauge = "up"\ndip_error = "1/4 in"\n', 'order = 3\ngauge = "up"\n')
    books = compartments(*START, dips(30, Settling=40, Suction=58), gates=gate(), tanks=rig)
    assert math.isnan(at(books, 30)[2])
    assert math.isnan(books.dips["Desander"].u_m3[-1])


def test_the_uncertainty_agrees_with_drawn_errors() -> None:
    """Against a drawing of errors: rectangular ±¼ in on each dip, two ends, Desander by Suction's at both."""
    rng = np.random.default_rng(7)
    e = rng.uniform(-0.25, 0.25, (4, 400_000)) * INCH           # Settling and Suction, at the zero and now
    drawn = float(np.std(e[2] - e[0] + 2 * (e[3] - e[1])))
    books = compartments(dips(0, Settling=40, Suction=60), entry("zero", 0, reason="x", length=0),
                         dips(30, Settling=40, Suction=58), gates=gate())
    assert at(books, 30)[2] == pytest.approx(drawn, rel=0.01)


# Several gates

CHAIN = gate("G1", "Settling", "Desander", "3 in") + gate("G2", "Desander", "Suction", "4 in")


def test_a_level_goes_on_from_gate_to_gate() -> None:
    books = compartments(*START, dips(30, Suction=60), gates=CHAIN)
    assert (books.dips["Desander"].level_m[-1] / IN, books.dips["Settling"].level_m[-1] / IN) == pytest.approx((56, 53))
    assert at(books, 30)[0] == pytest.approx((60 + 56 + 53) * INCH)
    assert at(books, 30)[2] == pytest.approx(math.sqrt(3 + 3**2) * ONE)


def test_the_nearest_gauged_one_counts() -> None:
    books = compartments(*START, dips(30, Suction=60, Desander=50), gates=CHAIN)
    assert books.dips["Settling"].level_m[-1] / IN == pytest.approx(47)
    assert books.dips["Settling"].flag[-1] == "level of Desander"


def test_a_dry_compartment_on_the_way_stops_it() -> None:
    chain = gate("G1", "Desander", "Settling", "10 in") + gate("G2", "Desander", "Suction", "10 in")
    books = compartments(*START, dips(30, Suction=8), gates=chain)
    assert books.dips["Desander"].volume_m3[-1] == 0.0
    assert balance.held(books, minutes(30)[0]) == (("Settling", 0),)


def test_a_closed_gate_on_the_way_stops_it() -> None:
    books = compartments(*START, entry("valve", 5, valve="G1", state="closed"), dips(30, Suction=60), gates=CHAIN)
    assert balance.held(books, minutes(30)[0]) == (("Settling", 0),)


def test_tanks_at_one_level_are_listed_nearest_first() -> None:
    books = compartments(*START, entry("valve", 5, valve="G1", state="closed"), gates=CHAIN)
    assert level_with(books.rig, books.valves, "Suction", minutes(1)[0]) == (
        ("Desander", pytest.approx(4 * IN)), ("Settling", pytest.approx(7 * IN)))
    assert level_with(books.rig, books.valves, "Suction", minutes(9)[0]) == (("Desander", pytest.approx(4 * IN)),)
    assert level_with(books.rig, books.valves, "Reserve", minutes(9)[0]) == ()


# Whole histories

levels = st.floats(20, 90).map(lambda x: round(x, 2))
rounds = st.lists(st.tuples(st.integers(1, 600), st.booleans(), st.booleans(), levels, levels), max_size=6)
gate_moves = st.lists(st.tuples(st.integers(1, 600), st.booleans()), max_size=4)


def drafts_of(some: Any, moves: Any) -> list[Draft]:
    made = list(START)
    for minute, suction, desander, a, b in some:
        gauged = {"Settling": 40.0} | ({"Suction": a} if suction else {}) | ({"Desander": b} if desander else {})
        made.append(dips(minute, **gauged))
    made += [entry("valve", t + 0.5, valve="Gate", state="open" if on else "closed") for t, on in moves]
    return made


@settings(max_examples=60, deadline=None)
@given(rounds, gate_moves, st.randoms(use_true_random=False))
def test_the_order_of_arrival_makes_no_difference(some: Any, moves: Any, rng: Any) -> None:
    some = list({m: (m, *rest) for m, *rest in some}.values())       # one round a minute: no ties to break
    moves = list({m: (m, on) for m, on in moves}.values())
    drafts = drafts_of(some, moves)
    shuffled = drafts[:]
    rng.shuffle(shuffled)
    rig = TANKS + gate(step="6 in")
    t = minutes(*range(0, 640, 7))
    one, other = (balance.at(build(history(*d, rig=rig)), t) for d in (drafts, shuffled))
    for name in ("actual_m3", "difference_m3", "u_m3", "partial"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-9, atol=1e-12, err_msg=name)


@settings(max_examples=40, deadline=None)
@given(rounds, gate_moves)
def test_learning_one_by_one_gives_what_a_batch_gives_and_touches_all_that_changed(some: Any, moves: Any) -> None:
    drafts = [*drafts_of(some, []), *drafts_of([], moves)[2:]]       # gates entered after all rounds: late
    records = numbered([rig_draft(TANKS + gate(step="6 in"), -1), *drafts])
    t = minutes(*range(0, 640, 7))
    books = build(records[:1])
    before = balance.at(books, t)
    for record in records[1:]:
        books, touched = learn(books, [record])
        now = balance.at(books, t)
        changed = np.flatnonzero(~np.isclose(now.actual_m3, before.actual_m3, equal_nan=True, rtol=0, atol=1e-12))
        assert not len(changed) or (touched is not None and t[int(changed[0])] >= touched)
        before = now
    whole = balance.at(build(records), t)
    np.testing.assert_array_equal(before.actual_m3, whole.actual_m3)
    np.testing.assert_array_equal(before.u_m3, whole.u_m3)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(-15, 15), st.sampled_from(["Suction", "Desander", "both"])), min_size=1, max_size=8))
def test_with_every_move_logged_nothing_is_left_whichever_of_the_two_is_gauged(steps: Any) -> None:
    """A simulated truth: mud comes from Reserve and spreads over both compartments; one dip tells it all."""
    level = 60.0                                     # in Suction; Desander stands 6 in lower by the stick
    drafts = [dips(0, Settling=40, Suction=60, Desander=54), entry("zero", 0, reason="x", length=0)]
    for n, (bbl, gauged) in enumerate(steps, 1):
        level += bbl * BBL / (2 * INCH)
        places = {"from_": "Reserve", "to": "Suction"} if bbl >= 0 else {"from_": "Suction", "to": "Reserve"}
        drafts.append(entry("transfer", 10 * n, volume=abs(bbl), **places))
        read = {"Settling": 40.0, "Suction": level, "Desander": level - 6}
        drafts.append(dips(10 * n + 5, **{k: v for k, v in read.items() if gauged in ("both", k) or k == "Settling"}))
    books = compartments(*drafts, gates=gate(step="6 in"))
    b = balance.at(books, minutes(*(10 * n + 5 for n in range(1, len(steps) + 1))))
    assert np.abs(b.difference_m3).max() < 1e-9
    assert not b.partial.any()


def test_the_area_of_a_compartment_is_what_the_arithmetic_says() -> None:
    assert pytest.approx(80 / 12 * 0.3048**3) == INCH
    assert pytest.approx(1.1874, abs=1e-4) == INCH / BBL         # 80/12 ft3 over 5.6146 ft3 a barrel
    assert FT == 0.3048
