"""Line-up changes at awkward moments. An inch in an 8 × 30 ft box is 3.5622 bbl (42 gal of 231 in³ to the barrel)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from dipbook import balance
from dipbook.books import build, learn
from ledgers import RIG, booked, dips, entry, history, in_bbl, minutes

INCH = 240 / 12 * 1728 / 9702
ONE_DIP = 0.25 * INCH / math.sqrt(3)
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
ZERO = entry("zero", 0, length=0, reason="start of tour")


def difference(books: Any, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).difference_m3)


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books)}


def test_a_transfer_logged_for_the_minute_of_joining_comes_with_the_tank_once() -> None:
    """Trip → Reserve 10 bbl at 30, Reserve in at 30: it brings 50 in + 10 bbl. Counted again as a transfer into the
    active, the expected would be 10 high and hide 10 bbl of kick."""
    books = booked(START, ZERO, entry("transfer", 30, from_="Trip", to="Reserve", volume=10),
                   entry("line-up", 30, tank="Reserve", state="in"),
                   dips(45, Settling=60, Suction=60, Reserve=50 + 10 / INCH))
    assert difference(books, 29.9, 30, 45) == pytest.approx([0, 0, 0], abs=1e-9)


def test_a_transfer_logged_for_the_minute_of_leaving_is_done_before_it_leaves() -> None:
    """Reserve → Suction 10 bbl at 30, Suction out at 30, dipped 63 in at 40: it left with 63 in, 10 of them logged in,
    so 3 in − 10 bbl came into the active unexplained before."""
    books = booked(START, ZERO, entry("transfer", 30, from_="Reserve", to="Suction", volume=10),
                   entry("line-up", 30, tank="Suction", state="out"), dips(40, Settling=60, Suction=63))
    assert difference(books, 40) == pytest.approx([3 * INCH - 10])


def test_all_surface_rests_on_dips_and_not_on_what_a_tank_was_reckoned_to_hold_when_it_joined() -> None:
    """Trip → Reserve 10 bbl at 20, Reserve in at 30, nothing gauged since: all dips are as they were, nothing left or
    came to the surface, so the all-surface difference is 0, not +10."""
    books = booked(START, ZERO, entry("transfer", 20, from_="Trip", to="Reserve", volume=10),
                   entry("line-up", 30, tank="Reserve", state="in"), dips(35, Settling=60, Suction=60))
    assert difference(books, 35, of="all surface") == pytest.approx([0], abs=1e-9)
    assert difference(books, 35) == pytest.approx([0], abs=1e-9)


def test_all_surface_does_not_look_ahead_to_the_dip_that_values_a_tank_that_left() -> None:
    """Suction leaves at 30 at 60 in, is dipped 58 in at 40: at 35 the last dip still says 60."""
    books = booked(START, ZERO, entry("line-up", 30, tank="Suction", state="out"), dips(35, Settling=60),
                   dips(40, Suction=58, Settling=60))
    assert difference(books, 35, of="all surface") == pytest.approx([0], abs=1e-9)


def test_a_tank_that_was_in_and_out_ungauged_brings_and_takes_the_same() -> None:
    """Pill joins at 30 and leaves at 40 before its first dip, 20 in at 50. Taken out at 20 in and brought in at nothing
    it would read as a gain of 71 bbl."""
    rig = RIG.replace("[[pump]]", RIG[RIG.index("[[tank]]"):RIG.index("[[tank]]", RIG.index("[[tank]]") + 5)].replace(
        "Settling", "Pill").replace("true", "false").replace("order = 1", "order = 9") + "[[pump]]", 1)
    books = booked(START, ZERO, entry("line-up", 30, tank="Pill", state="in"), dips(35, Settling=60, Suction=60),
                   entry("line-up", 40, tank="Pill", state="out"), dips(50, Settling=60, Suction=60, Pill=20), rig=rig)
    assert difference(books, 29, 45, 50) == pytest.approx([0, 0, 0], abs=1e-9)
    assert difference(books, 35) == pytest.approx([0], abs=1e-9)
    assert balance.at(books, minutes(35)).partial.all()
    assert "lineup_first_dip" in codes(books)


def test_a_tank_that_joins_ungauged_is_left_out_till_its_first_dip_and_says_so() -> None:
    """Never from the next round: until Reserve's first dip at 45 it counts on neither side, and the balance is partial.
    From then on it counts, and a rise of 1 in elsewhere still shows."""
    start = dips(0, Settling=60, Suction=60)
    books = booked(start, ZERO, entry("line-up", 30, tank="Reserve", state="in"), dips(40, Settling=60, Suction=60),
                   dips(45, Settling=60, Suction=61, Reserve=52), dips(60, Settling=60, Suction=61, Reserve=53))
    assert difference(books, 30, 40) == pytest.approx([0, 0], abs=1e-9)
    assert balance.at(books, minutes(30, 40)).partial.all()
    assert difference(books, 29.9, 45, 60) == pytest.approx([0, INCH, 2 * INCH])
    assert "lineup_first_dip" in codes(books)
    assert all(c.provisional for c in books.line.changes)


def test_a_tank_may_leave_and_come_back_in_one_minute() -> None:
    books = booked(START, ZERO, entry("line-up", 30, tank="Suction", state="out"),
                   entry("line-up", 30, tank="Suction", state="in"), dips(45, Settling=60, Suction=61))
    assert difference(books, 29.9, 30, 45) == pytest.approx([0, 0, INCH], abs=1e-9)


def test_a_transfer_that_runs_on_while_its_source_joins_is_counted_till_then_and_no_further() -> None:
    """24 bbl from Reserve to Suction from 20 to 40; Reserve joins at 30 with 50 in − 12 bbl. After that it is inside."""
    books = booked(START, ZERO, entry("transfer", 20, 40, from_="Reserve", to="Suction", volume=24),
                   entry("line-up", 30, tank="Reserve", state="in"),
                   dips(45, Settling=60, Suction=60 + 24 / INCH, Reserve=50 - 24 / INCH))
    b = balance.at(books, minutes(30, 45))
    assert in_bbl(b.terms["transfers"]) == pytest.approx([12, 12])
    assert in_bbl(b.terms["lineup"]) == pytest.approx([50 * INCH - 12] * 2)
    assert difference(books, 45) == pytest.approx([0], abs=1e-9)


def test_a_dip_outside_the_table_values_no_line_up_change() -> None:
    """Reserve's table ends at 60 in. It reads 50 in at 0 and 70 in at 15, which the table doesn't know, and joins at
    30: it is worth its last known dip, provisionally. Brought in at nothing, the dip at 45 would read +178 bbl."""
    box = 'kind = "box"\nlength = "30 ft"\nwidth = "8 ft"\nheight = "9 ft"\n'
    head, tail = RIG.split('name = "Reserve"')
    rig = head + 'name = "Reserve"' + tail.replace('brim = "9 ft"', 'brim = "5 ft"', 1).replace(
        box, 'kind = "strapping"\ntable = [["0 in", "0 bbl"], ["60 in", "213.7 bbl"]]\n', 1)
    books = booked(START, ZERO, dips(15, Settling=60, Suction=60, Reserve=70),
                   entry("line-up", 30, tank="Reserve", state="in"), dips(45, Settling=60, Suction=60, Reserve=50),
                   rig=rig)
    assert difference(books, 45) == pytest.approx([0], abs=1e-9)
    assert "lineup_provisional" in codes(books)


def test_one_dip_that_a_leaving_and_a_joining_both_rest_on_adds_no_doubt() -> None:
    """Reserve, in from the start of the tour, leaves at 30 and comes back at 60; the dip at 40 values both. Taken out
    and put back in, its error cancels: what is left is the zero's dips and the last ones, three tanks: √6 u."""
    rig = RIG.replace('role = "reserve"\nactive = false', 'role = "reserve"\nactive = true')
    books = booked(START, ZERO, entry("line-up", 30, tank="Reserve", state="out"), dips(40, Reserve=50),
                   entry("line-up", 60, tank="Reserve", state="in"), dips(75, Settling=60, Suction=60, Reserve=50),
                   rig=rig)
    assert in_bbl(balance.at(books, minutes(75)).u_m3) == pytest.approx([math.sqrt(6) * ONE_DIP])


def test_an_unknown_dip_error_makes_the_doubt_unknown_and_not_nothing() -> None:
    rig = RIG.replace('dip_error = "1/4 in"\n', "", 1)
    books = booked(START, ZERO, dips(15, Settling=60, Suction=60), dips(20, Suction=61), rig=rig)
    assert np.isnan(balance.at(books, minutes(15, 20)).u_m3).all()
    same = booked(START, ZERO, dips(20, Suction=61), rig=rig)
    assert in_bbl(balance.at(same, minutes(20)).u_m3) == pytest.approx([math.sqrt(2) * ONE_DIP])


def test_a_dip_after_leaving_touches_the_books_from_the_leaving_on() -> None:
    records = history(START, ZERO, entry("line-up", 30, tank="Suction", state="out"), dips(35, Settling=60),
                      dips(40, Settling=60, Suction=58))
    books, touched = learn(build(records[:-1]), records[-1:])
    assert touched == minutes(30)[0]
    assert difference(books, 35) == pytest.approx([-2 * INCH])


def test_a_tank_described_anew_is_a_finding_where_its_volumes_change() -> None:
    from ledgers import rig_draft
    books = booked(START, ZERO, rig_draft(RIG.replace('length = "30 ft"', 'length = "31 ft"', 1), 10),
                   dips(15, Settling=60, Suction=60))
    assert "geometry_changed" in codes(books)
    fresher = booked(START, ZERO, rig_draft(RIG.replace('"40 min"', '"50 min"'), 10), dips(15, Settling=60, Suction=60))
    assert "geometry_changed" not in codes(fresher)
