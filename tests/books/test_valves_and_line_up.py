"""Valves over time, and gates that put a tank into the active system and out of it. Oracles by scalar arithmetic."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from compartments import BBL, IN, INCH, TANKS, compartments, gate
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import build, learn
from dipbook.records import Dip, Draft
from ledgers import dips, entry, history, minutes, rig_draft

ISOLATING = gate(step="0 in", isolates="Desander")
START = (dips(0, Settling=40, Desander=60, Suction=60), entry("zero", 0, reason="x", length=0))


def valve(minute: float, state: str, **other: Any) -> Draft:
    return entry("valve", minute, valve="Gate", state=state, **other)


def difference(books: Any, minute: float) -> float:
    return float(balance.at(books, minutes(minute)).difference_m3[0])


# States

def test_a_valve_is_as_the_rig_file_says_until_an_entry_changes_it() -> None:
    books = compartments(*START, valve(10, "closed"), valve(20, "closed"), valve(30, "open"), gates=gate())
    seen = [books.valves.at("Gate", t) for t in minutes(-1000, 5, 10, 15, 25, 35)]
    assert seen == [(True, None), (True, None), (False, 600_000), (False, 600_000), (False, 600_000), (True, 1_800_000)]
    assert [(c.t_ms, c.open) for c in books.valves.changes] == [(600_000, False), (1_200_000, False), (1_800_000, True)]


def test_an_entry_that_repeats_the_rig_file_changes_nothing() -> None:
    books = compartments(*START, valve(10, "open"), gates=gate())
    assert books.valves.at("Gate", minutes(15)[0]) == (True, None)


def test_a_valve_that_the_rig_does_not_have_is_a_finding() -> None:
    books = compartments(*START, entry("valve", 10, valve="Gait", state="open"), gates=gate())
    (found,) = [f for f in books.findings if f.code == "unknown_valve"]
    assert "“Gait”" in found.what
    assert found.t_ms == minutes(10)[0]
    assert books.valves.at("Gait", minutes(15)[0]) == (None, None)
    assert books.valves.changes == ()


def test_a_superseded_entry_does_not_count() -> None:
    books = compartments(*START, valve(10, "closed", uid="a"), valve(20, "closed", supersedes="a"), gates=gate())
    assert books.valves.at("Gate", minutes(15)[0]) == (True, None)


def test_a_later_rig_file_brings_takes_and_keeps_valves() -> None:
    two = gate(is_open=False) + '\n[[valve]]\nname = "Dump"\nkind = "dump"\ntank = "Suction"\nopen = false\n'
    drafts = (*START, valve(10, "closed"), rig_draft(TANKS + two, 20), valve(30, "open"), rig_draft(TANKS, 40))
    books = compartments(*drafts, gates=gate())
    at = books.valves.at
    assert at("Gate", minutes(25)[0]) == (False, minutes(10)[0])
    assert at("Gate", minutes(35)[0]) == (True, minutes(30)[0])
    assert at("Gate", minutes(45)[0]) == (None, None)
    assert (at("Dump", minutes(15)[0]), at("Dump", minutes(25)[0])) == ((None, None), (False, None))


# Isolating

def test_closing_takes_the_tank_out_and_opening_puts_it_in_without_a_step() -> None:
    books = compartments(*START, valve(40, "closed"), dips(41, Desander=60), valve(80, "open"), gates=ISOLATING)
    assert books.line.spans["Desander"] == ((-(2**62), minutes(40)[0]), (minutes(80)[0], 2**62))
    for m in (39.9, 40, 60, 79.9, 80, 90):
        assert difference(books, m) == pytest.approx(0.0, abs=1e-12)
    b = balance.at(books, minutes(39, 60, 90))
    assert b.actual_m3.tolist() == pytest.approx([160 * INCH, 100 * INCH, 160 * INCH])
    assert b.terms["lineup"].tolist() == pytest.approx([0.0, -60 * INCH, 0.0])


def test_it_is_valued_from_its_isolated_side() -> None:
    """Closed at 40, gauged at 50 after 5 bbl were put in from Reserve; 20 bbl more from Suction; opened at 80."""
    drafts = (*START, valve(40, "closed"), entry("transfer", 45, from_="Reserve", to="Desander", volume=5),
              dips(50, Desander=60 + 5 * BBL / INCH), entry("transfer", 60, from_="Suction", to="Desander", volume=20),
              dips(70, Settling=40, Suction=60 - 20 * BBL / INCH), valve(80, "open"))
    books = compartments(*drafts, gates=ISOLATING)
    leaves, joins = books.line.changes
    assert (leaves.joins, leaves.volume_m3) == (False, pytest.approx(60 * INCH))     # the dip after, less what was put in
    assert (joins.joins, joins.volume_m3) == (True, pytest.approx(60 * INCH + 25 * BBL))
    assert difference(books, 75) == pytest.approx(0.0, abs=1e-12)
    assert difference(books, 79.9) == pytest.approx(difference(books, 80), abs=1e-12)
    # both levels settle at their mean once the gate is open: gauged once so, one dip tells the whole
    mean = (120 + 5 * BBL / INCH) / 2
    after = compartments(*drafts, dips(90, Settling=40, Suction=mean, Desander=mean), dips(99, Settling=40, Suction=mean),
                         gates=ISOLATING)
    assert difference(after, 90) == pytest.approx(0.0, abs=1e-9)
    assert difference(after, 99) == pytest.approx(0.0, abs=1e-9)
    assert after.dips["Desander"].flag[-1] == "level of Suction"


def test_a_gate_gives_what_a_line_up_entry_gives() -> None:
    def line(minute: float, state: str) -> Draft:
        return entry("line-up", minute, tank="Desander", state=state)
    common = (*START, dips(45, Desander=62), dips(70, Settling=40, Suction=58))
    plain = gate(equalises=False, isolates="Desander")
    by_gate = compartments(*common, valve(40, "closed"), valve(80, "open"), gates=plain)
    by_entry = compartments(*common, line(40, "out"), line(80, "in"), gates=plain)
    t = minutes(*range(0, 100, 3))
    one, other = balance.at(by_gate, t), balance.at(by_entry, t)
    np.testing.assert_array_equal(one.difference_m3, other.difference_m3)
    np.testing.assert_array_equal(one.u_m3, other.u_m3)
    assert by_gate.line.changes == by_entry.line.changes


@pytest.mark.parametrize("gate_first", [True, False])
def test_of_a_gate_and_an_entry_at_once_the_one_learned_last_counts(gate_first: bool) -> None:
    both = [valve(40, "closed"), entry("line-up", 40, tank="Desander", state="in")]
    books = compartments(*START, *(both if gate_first else both[::-1]), gates=ISOLATING)
    assert [c.joins for c in books.line.changes] == ([] if gate_first else [False])
    assert ("Desander" in books.line.active_at(minutes(50)[0])) is gate_first


def test_a_gate_and_an_entry_that_say_the_same_change_it_once() -> None:
    books = compartments(*START, valve(40, "closed"), entry("line-up", 41, tank="Desander", state="out"),
                         entry("line-up", 80, tank="Desander", state="in"), valve(80, "open"), gates=ISOLATING)
    assert [(c.t_ms, c.joins) for c in books.line.changes] == [(minutes(40)[0], False), (minutes(80)[0], True)]


def test_a_gate_entered_late_touches_from_its_time_on() -> None:
    records = history(*START, dips(60, Settling=40, Suction=60, Desander=60), valve(20, "closed", learned=90),
                      rig=TANKS + ISOLATING)
    books, touched = learn(build(records[:-1]), records[-1:])
    assert touched == minutes(20)[0]
    assert "Desander" not in books.line.active_at(minutes(30)[0])


def test_a_closed_gate_that_a_later_rig_file_brings_takes_its_tank_out() -> None:
    later = TANKS.replace('name = "Desander"\nrole = "desander"\nactive = true',
                          'name = "Desander"\nrole = "desander"\nactive = false') + gate(is_open=False, isolates="Desander")
    books = compartments(*START, rig_draft(later, 30))
    assert [(c.t_ms, c.joins) for c in books.line.changes] == [(minutes(30)[0], False)]
    assert difference(books, 35) == pytest.approx(0.0, abs=1e-12)


moves = st.lists(st.tuples(st.integers(1, 300), st.sampled_from(["open", "closed", "in", "out"])), max_size=6)


@settings(max_examples=60, deadline=None)
@given(moves, st.randoms(use_true_random=False))
def test_a_change_never_steps_the_difference(some: Any, rng: Any) -> None:
    """Desander is gauged a minute after each change; nothing runs, so that whatever the line-up nothing is left."""
    some = list({m: (m, what) for m, what in some}.values())
    drafts = list(START)
    for m, what in some:
        drafts.append(valve(m, what) if what in ("open", "closed") else
                      entry("line-up", m, tank="Desander", state=what))
        drafts.append(dips(m + 0.5, Desander=60))
    shuffled = drafts[:]
    rng.shuffle(shuffled)
    for order in (drafts, shuffled):
        books = compartments(*order, gates=ISOLATING)
        t = minutes(*np.arange(0, 310, 0.5).tolist())
        assert np.nanmax(np.abs(balance.at(books, t).difference_m3)) < 1e-9


# Gauged, no change

def test_dips_without_a_change_are_counted_in_a_row() -> None:
    def round_(minute: float, unchanged: bool, tank: str = "Suction", **other: Any) -> Draft:
        t = minutes(minute)[0]
        return Draft("round", t, t, payload={"start_ms": t, "end_ms": t}, dips=(
            Dip(tank, t, "same" if unchanged else "60", 60 * IN, unchanged=unchanged),), **other)
    books = compartments(round_(0, False), round_(10, True), round_(20, True, uid="b"), round_(25, False, "Settling"),
                         round_(30, True), round_(40, False), round_(50, True), gates=gate())
    seen = [books.same_counts("Suction", t) for t in minutes(-1, 0, 10, 20, 25, 35, 45, 55)]
    assert seen == [0, 0, 1, 2, 2, 3, 0, 1]
    assert books.same_counts("Desander", minutes(55)[0]) == 0
    struck = compartments(round_(0, False), round_(10, True), round_(20, True), Draft(
        "void", *minutes(10, 60), payload={"tank": "Suction", "end_ms": minutes(10)[0], "reason": "x"}), gates=gate())
    assert struck.same_counts("Suction", minutes(30)[0]) == 1
