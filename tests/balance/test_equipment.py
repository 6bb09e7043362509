"""Solids-control equipment: it fills once from the active tanks and drains back. Worked by hand beside each check.

Desilter: 10 bbl, filled in 4 min (2.5 bbl/min), drained in 5 (2 bbl/min), off at the start. Degasser: 6 bbl at once, on
at the start.
"""

from __future__ import annotations

from typing import Any

import pytest

from dipbook import balance
from dipbook.records import Draft
from dipbook.terms.equipment import Running, equipment_at
from ledgers import BBL, EQUIPPED, booked, dips, entry, in_bbl, minutes, rig_draft

START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
ZERO = entry("zero", 0, length=0, reason="start of tour")


def turned(minute: float, state: str, name: str = "Desilter", **other: Any) -> Draft:
    return entry("equipment", minute, equipment=name, state=state, **other)


def told(*more: Draft, rig: str = EQUIPPED) -> Any:
    return booked(START, ZERO, *more, rig=rig)


def term(books: Any, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).terms["equipment"])


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books) if "equipment" in f.code}


def test_starting_takes_what_it_holds_evenly_and_stopping_gives_it_back() -> None:
    books = told(turned(5, "on"), turned(30, "off"))
    assert term(books, 5, 7, 9, 30, 32, 35, 60) == pytest.approx([0, -5, -10, -10, -6, 0, 0], abs=1e-9)
    assert codes(books) == set()


def test_it_comes_from_the_active_tanks_and_so_from_all_surface_and_from_no_tank_by_itself() -> None:
    books = told(turned(5, "on"))
    assert term(books, 60, of="all surface") == pytest.approx([-10])
    assert [term(books, 60, of=tank) for tank in ("Suction", "Reserve")] == [[0.0], [0.0]]


def test_a_degasser_full_at_once_is_no_loss() -> None:
    """Stopped at 5, started at 10, dips that follow: 6 bbl up, 6 bbl down."""
    inch = 240 / 12 * 1728 / 9702
    books = told(turned(5, "off", "Degasser"), dips(7, Settling=60, Suction=60 + 6 / inch), turned(10, "on", "Degasser"),
                 dips(12, Settling=60, Suction=60))
    assert term(books, 4, 5, 9, 10) == pytest.approx([0, 6, 6, 0])
    assert in_bbl(balance.at(books, minutes(7, 12)).difference_m3) == pytest.approx([0, 0], abs=1e-9)


def test_what_the_rig_file_has_on_at_the_start_is_long_full() -> None:
    books = told()
    assert term(books, 60) == pytest.approx([0])
    assert equipment_at(books, minutes(60)[0]) == (Running("Desilter", False, None, 0.0),
                                                   Running("Degasser", True, None, pytest.approx(6 * BBL)))


def test_starting_twice_is_nothing_and_says_so() -> None:
    books = told(turned(5, "on"), turned(7, "on"), turned(20, "on"))
    assert term(books, 7, 9, 60) == pytest.approx([-5, -10, -10])
    assert codes(books) == {"equipment_twice"}
    assert term(told(turned(5, "off")), 60) == pytest.approx([0])
    assert term(told(turned(5, "on", "Degasser")), 60) == pytest.approx([0])


def test_stopping_while_it_fills_drains_what_was_filled() -> None:
    """Off after one minute: 2.5 bbl in it, drained at 2 bbl/min in 1.25 min."""
    books = told(turned(5, "on"), turned(6, "off"))
    assert term(books, 6, 6.5, 7.25, 60) == pytest.approx([-2.5, -1.5, 0, 0], abs=1e-9)


def test_starting_while_it_drains_fills_what_is_missing() -> None:
    """Off at 30, on at 32: 6 bbl left in it; the missing 4 bbl take 4/2.5 = 1.6 min."""
    books = told(turned(5, "on"), turned(30, "off"), turned(32, "on"))
    assert term(books, 32, 32.8, 33.6, 60) == pytest.approx([-6, -8, -10, -10])


def test_a_measured_volume_counts_in_place_of_the_rig_file_s() -> None:
    """8 bbl measured: still 4 min. Then 7 bbl measured on its way back; nobody knows where the eighth is, so it stays
    out, and the next start is booked in full."""
    books = told(turned(5, "on", volume=8), turned(30, "off", volume=7), turned(50, "on"))
    assert term(books, 7, 9, 40, 60) == pytest.approx([-4, -8, -1, -11])


def test_a_start_before_the_zero_goes_on_filling_after_it() -> None:
    """On at 10, zero on the round at 12: 5 of 10 bbl are in its dips."""
    books = told(turned(10, "on"), dips(12, Settling=60, Suction=60), entry("zero", 12, length=0, reason="x"))
    assert term(books, 12, 13, 60) == pytest.approx([0, -2.5, -5])


def test_what_the_rig_does_not_have_is_a_finding_and_not_booked() -> None:
    books = told(turned(5, "on", "Centrifuge"))
    assert term(books, 60) == pytest.approx([0])
    assert codes(books) == {"unknown_equipment"}


def test_a_new_size_counts_from_the_next_start() -> None:
    """12 bbl from 20 on: what runs holds its 10 and gives 10 back; the start at 60 takes 12."""
    bigger = EQUIPPED.replace('holds = "10 bbl"', 'holds = "12 bbl"')
    books = told(turned(5, "on"), rig_draft(bigger, 20), turned(30, "off"), turned(60, "on"))
    assert term(books, 21, 50, 90) == pytest.approx([-10, 0, -12], abs=1e-9)


def test_running_equipment_taken_out_of_the_rig_file_is_a_finding_and_may_still_be_stopped() -> None:
    without = EQUIPPED.replace(EQUIPPED[EQUIPPED.index('[[equipment]]\nname = "Desilter"'):
                                        EQUIPPED.index('[[equipment]]\nname = "Degasser"')], "")
    books = told(turned(5, "on"), rig_draft(without, 20), turned(30, "off"))
    assert term(books, 25, 60) == pytest.approx([-10, 0], abs=1e-9)
    assert codes(books) == {"equipment_gone"}
    assert [e.name for e in equipment_at(books, minutes(25)[0])] == ["Degasser"]


def test_equipment_that_comes_with_a_new_rig_file_brings_no_step() -> None:
    more = EQUIPPED + '[[equipment]]\nname = "Cleaner"\nholds = "9 bbl"\non = true\n'
    books = told(rig_draft(more, 20), turned(30, "off", "Cleaner"))
    assert term(books, 25, 60) == pytest.approx([0, 9])


def test_what_is_in_it_now_can_be_asked() -> None:
    books = told(turned(5, "on"), turned(30, "off"))
    for minute, on, since, held in ((6, True, 5, 2.5), (32, False, 30, 6), (90, False, 30, 0)):
        now = equipment_at(books, minutes(minute)[0])[0]
        assert (now.on, now.since_ms) == (on, minutes(since)[0])
        assert now.held_m3 / BBL == pytest.approx(held, abs=1e-9)


def test_what_it_held_and_did_not_give_back_is_a_finding() -> None:
    """10 bbl in, 4 measured on their way back: 6 are nobody knows where. The books take a whole fill at the next start."""
    books = told(turned(5, "on"), turned(30, "off", volume=4), turned(60, "on"))
    assert codes(books) == {"equipment_rest"}
    assert term(books, 50, 70) == pytest.approx([-6, -16], abs=1e-9)
    assert codes(told(turned(5, "on"), turned(30, "off", volume=10))) == set()
