"""Histories and the balance they must give. Each number is worked by hand beside its check.

Geometry: a 30 × 8 ft box holds 240 ft³ per foot = 20 ft³ per inch = 20/5.614583 = 3.5622 bbl per inch (exact: 42 gal of
231 in³; NIST SP 811, Appendix B). Pipe: 5 in 19.50, d 0.00759 and c 0.01776 bbl/ft, stand 93 ft; hole 12¼ in,
Ch 0.1458 bbl/ft (typed values of the rig, not a check).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from dipbook import balance
from dipbook.records import Draft
from ledgers import BBL, RIG, booked, dips, entry, in_bbl, minutes

INCH = 240 / 12 * 1728 / 9702
Ls, d, c, Ch = 93.0, 0.00759, 0.01776, 0.1458
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)


def zero(minute: float = 0, length: float = 0.0) -> Draft:
    return entry("zero", minute, length=length, reason="start of tour")


def at(books: Any, *at_minutes: float, of: str = "active") -> balance.Balance:
    return balance.at(books, minutes(*at_minutes), of)


def difference(books: Any, *at_minutes: float, of: str = "active") -> Any:
    return in_bbl(at(books, *at_minutes, of=of).difference_m3)


def term(books: Any, name: str, *at_minutes: float, of: str = "active") -> Any:
    return in_bbl(at(books, *at_minutes, of=of).terms[name])


def test_a_rise_that_nothing_explains_is_the_difference() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=61.5))
    assert difference(books, 15) == pytest.approx([1.5 * INCH])
    assert in_bbl(at(books, 15).actual_m3) == pytest.approx([121.5 * INCH])


def test_before_the_zero_expected_and_difference_are_unknown_and_actual_is_not() -> None:
    books = booked(START, dips(10, Settling=60, Suction=60), zero(10))
    b = at(books, 5)
    assert np.isnan(b.expected_m3).all()
    assert np.isnan(b.difference_m3).all()
    assert in_bbl(b.actual_m3) == pytest.approx([120 * INCH])


def test_without_a_zero_the_first_time_with_every_active_tank_gauged_is_the_zero_and_says_so() -> None:
    books = booked(dips(0, Settling=60), dips(7, Suction=60), dips(15, Settling=61, Suction=60))
    assert np.isnan(difference(books, 6)).all()
    assert difference(books, 7, 15) == pytest.approx([0.0, INCH])
    assert "no_zero" in {f.code for f in balance.findings(books)}


def test_a_second_zero_starts_the_difference_anew() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=62), zero(16), dips(30, Settling=60, Suction=63))
    assert difference(books, 15, 16, 30) == pytest.approx([2 * INCH, 0.0, INCH])


def test_a_transfer_in_is_expected_and_ramps_between_its_ends() -> None:
    """24 bbl over 10 min: half of it, 12 bbl, after five."""
    books = booked(START, zero(), entry("transfer", 5, 15, from_="Reserve", to="Suction", volume=24))
    assert term(books, "transfers", 5, 10, 15, 20) == pytest.approx([0, 12, 24, 24])
    assert term(books, "transfers", 20, of="all surface") == pytest.approx([0])


def test_a_transfer_between_two_active_tanks_changes_nothing() -> None:
    books = booked(START, zero(), entry("transfer", 5, 15, from_="Settling", to="Suction", volume=24))
    assert term(books, "transfers", 10, 20) == pytest.approx([0, 0])


def test_a_running_transfer_with_a_rate_goes_on_until_it_is_stopped() -> None:
    running = entry("transfer", 5, from_="Reserve", to="Suction", rate=2, state="running", uid="t1")
    books = booked(START, zero(), running)
    assert term(books, "transfers", 9, 65) == pytest.approx([8, 120])
    stopped = entry("transfer", 5, 17, from_="Reserve", to="Suction", volume=23, supersedes="t1", learned=17)
    books = booked(START, zero(), running, stopped)
    assert term(books, "transfers", 11, 17, 65) == pytest.approx([11.5, 23, 23])


def test_a_running_transfer_of_unknown_volume_is_not_guessed() -> None:
    books = booked(START, zero(), entry("transfer", 5, from_="Reserve", to="Suction", state="running"))
    assert term(books, "transfers", 60) == pytest.approx([0])
    assert "running_unbooked" in {f.code for f in balance.findings(books)}


def test_barite_adds_its_mass_over_its_density() -> None:
    """14 700 lb at 35.0 lb/gal is 14 700/1470 = 10 bbl; Lapeyrouse, Formulas and Calculations for Drilling (1470 = 42 × 35)."""
    books = booked(START, zero(), entry("addition", 5, 25, to="Suction", mass=14_700, density=35.0))
    assert term(books, "additions", 15, 25) == pytest.approx([5, 10], rel=1e-9)


def test_a_discard_is_an_out_for_active_and_all_surface_alike() -> None:
    books = booked(START, zero(), entry("discard", 5, from_="Settling", volume=7))
    assert term(books, "discards", 4, 5) == pytest.approx([0, -7])
    assert term(books, "discards", 5, of="all surface") == pytest.approx([-7])


def test_a_rate_in_force_is_integrated_while_it_is_on() -> None:
    """3 bbl/h from the active system for 40 min is 2 bbl."""
    books = booked(START, zero(), entry("rate in force", 10, rate=3 / 60, from_="active", state="on", remark="surface loss"),
                   entry("rate in force", 50, from_="active", state="off"))
    assert term(books, "rates", 10, 30, 50, 90) == pytest.approx([0, -1, -2, -2])
    assert term(books, "rates", 90, of="all surface") == pytest.approx([-2])


def test_drain_back_is_a_curve_and_not_a_step() -> None:
    """20 bbl with τ 60 s: 20(1 − e⁻¹) = 12.64 after 60 s, 20(1 − e⁻³) = 19.0 after 180 s (accounting rules; derived)."""
    books = booked(entry("pumps", -60, state="on", flow=300), START, zero(), entry("pumps", 5, state="off"))
    assert term(books, "lines", 5, 6, 8, 60) == pytest.approx([0, 12.64, 19.0, 20], abs=0.005)


def test_pumps_on_takes_back_what_has_drained() -> None:
    """Off for 60 s returns 12.642; on again with τ 40 s leaves 12.642·e^(−60/40) = 2.821 after another 60 s."""
    books = booked(entry("pumps", -60, state="on", flow=300), START, zero(), entry("pumps", 5, state="off"),
                   entry("pumps", 6, state="on", flow=300))
    left = 20 * (1 - math.exp(-1)) * math.exp(-1.5)
    assert term(books, "lines", 7, 30) == pytest.approx([left, 0], abs=1e-6)


def test_a_change_of_rate_moves_by_the_difference_of_what_the_lines_hold() -> None:
    """G is straight between rows: 150 gal/min holds 10 bbl of the 20 at 300."""
    books = booked(entry("pumps", -60, state="on", flow=300), START, zero(), entry("pumps", 5, state="on", flow=150))
    assert term(books, "lines", 60) == pytest.approx([10])


def test_a_typed_drain_back_curve_is_followed_from_a_settled_rate() -> None:
    rig = RIG.replace('falling = "60 s"', 'curve = [["1 min", "4 bbl"], ["2 min", "7 bbl"], ["10 min", "20 bbl"]]')
    books = booked(entry("pumps", -60, state="on", flow=300), START, zero(), entry("pumps", 5, state="off"), rig=rig)
    assert term(books, "lines", 5.5, 6, 7, 15, 60) == pytest.approx([2, 4, 7, 20, 20])


def test_a_zero_leaves_the_lines_draining() -> None:
    """Pumps off a minute before the zero: 20 bbl with τ = 60 s, so 20/e = 7.36 bbl are still to come."""
    books = booked(entry("pumps", -60, state="on", flow=300), START, entry("pumps", -1, state="off"), zero(0))
    assert term(books, "lines", 0, 30) == pytest.approx([0, 20 / math.e], abs=1e-9)


def test_pumps_first_logged_count_as_long_standing() -> None:
    books = booked(START, entry("pumps", -1, state="off"), zero(0))
    assert term(books, "lines", 0, 30) == pytest.approx([0, 0])


def test_one_stand_drilled_sums_to_hole_less_steel_once_the_lag_has_passed() -> None:
    """−(Ch − d)·Ls = −(0.1458 − 0.00759)·93 = −12.8535 bbl, with ε = 1, φ = r = 0 (derived; accounting rules)."""
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                   entry("stand filled", 2, length=Ls), entry("depth", 60, hole=5093, bit=5093))
    b = at(books, 200)
    assert sum(in_bbl(v)[0] for v in b.terms.values()) == pytest.approx(-(Ch - d) * Ls)
    assert -(Ch - d) * Ls == pytest.approx(-12.85353)


def test_the_connection_saws_and_does_not_count_the_bore_twice() -> None:
    """Filling takes c·Ls = 1.6517 bbl; lowering it full gives back c and d: at the bottom only the steel is left."""
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                   entry("stand filled", 2), entry("depth", 30, hole=5046.5, bit=5046.5), entry("depth", 60, bit=5093, hole=5093))
    assert term(books, "bore", 2, 30, 60) == pytest.approx([-c * Ls, -c * Ls / 2, 0], abs=1e-9)
    assert term(books, "steel", 2, 30, 60) == pytest.approx([0, d * Ls / 2, d * Ls])


def test_pipe_worked_with_pumps_on_moves_bore_and_steel_together() -> None:
    """(d + c)·93 = 0.02535 × 93 = 2.3576 bbl a stand of 5 in, up and down again."""
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                   entry("depth", 5, bit=4907), entry("depth", 10, bit=5000))
    moved = [s + b for s, b in zip(term(books, "steel", 5, 10), term(books, "bore", 5, 10), strict=True)]
    assert moved == pytest.approx([-(d + c) * Ls, 0], abs=1e-9)


def test_lowering_past_what_was_filled_books_the_mean_and_says_so() -> None:
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                   entry("depth", 60, hole=5093, bit=5093))
    assert term(books, "bore", 60) == pytest.approx([0])
    assert "fills_not_logged" in {f.code for f in balance.findings(books)}


def test_a_closed_float_run_in_dry_displaces_its_bore_too_until_it_is_filled() -> None:
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START, zero(),
                   entry("depth", 10, bit=4093), entry("pumps", 20, state="on", flow=300))
    assert term(books, "bore", 10, 60) == pytest.approx([c * Ls, 0], abs=1e-9)


def test_cuttings_leave_a_lag_later_and_only_while_pumping() -> None:
    """250 bbl of annulus at 300 gal/min (7.1429 bbl/min) is 35.0 min of pumping; a 10 min stop shifts it to 45. Cut evenly
    from -1 to 0.5, the 10 ft come out from 34 to 35.5."""
    def out(*stops: Draft) -> Any:
        books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                       entry("depth", 0.5, hole=5010, bit=5010), *stops)
        return term(books, "cuttings", 34, 34.75, 35.5, 44, 44.75, 45.5)
    half, gone = -0.729, -1.458
    assert out() == pytest.approx([0, half, gone, gone, gone, gone], abs=1e-6)
    assert out(entry("pumps", 10, state="off"), entry("pumps", 20, state="on", flow=300)) == pytest.approx(
        [0, 0, 0, 0, half, gone], abs=1e-6)


def test_a_naive_term_would_book_thirteen_barrels_too_early() -> None:
    """12¼ in at 60 ft/h with 90 min of lag: 90 ft × 0.1458 = 13.1 bbl still in the annulus (accounting rules; derived)."""
    rig = RIG.replace('annulus = "250 bbl"', 'lag = "90 min"')
    drilled = [entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(1, 181)]
    books = booked(entry("pumps", -60, state="on"), entry("depth", -1, hole=5000, bit=5000), START, zero(), *drilled, rig=rig)
    lagging = term(books, "cuttings", 180)[0]
    assert -Ch * 180 - lagging == pytest.approx(-13.1, abs=0.05)


def test_without_flow_or_lag_cuttings_are_held_back_and_it_says_so() -> None:
    rig = RIG.replace('annulus = "250 bbl"\n', "")
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=5000, bit=5000), START, zero(),
                   entry("depth", 1, hole=5010, bit=5010), rig=rig)
    assert term(books, "cuttings", 600) == pytest.approx([0])
    assert "cuttings_held_back" in {f.code for f in balance.findings(books)}


def test_a_typed_lag_of_nothing_is_allowed() -> None:
    rig = RIG.replace('annulus = "250 bbl"', 'lag = "0 min"')
    books = booked(entry("depth", -1, hole=5000, bit=5000), START, zero(), entry("depth", 1, hole=5010, bit=5010), rig=rig)
    assert term(books, "cuttings", 1) == pytest.approx([-1.458])


def test_the_difference_does_not_step_where_a_tank_joins() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=61),
                   entry("transfer", 20, to="Reserve", from_="Trip", volume=10), entry("line-up", 30, tank="Reserve", state="in"))
    before, after = difference(books, 29.9, 30)
    assert before == pytest.approx(after)
    assert term(books, "lineup", 30) == pytest.approx([50 * INCH + 10])


def test_a_tank_that_leaves_is_worth_its_first_dip_after_less_what_was_logged_between() -> None:
    """Suction leaves at 30 and reads 58 in at 40, after 5 bbl was put into it at 35: it left with 58 in less 5 bbl."""
    history = [START, zero(), dips(15, Settling=60, Suction=60), entry("line-up", 30, tank="Suction", state="out")]
    provisional = booked(*history)
    assert term(provisional, "lineup", 31) == pytest.approx([-60 * INCH])
    assert "lineup_provisional" in {f.code for f in balance.findings(provisional)}
    books = booked(*history, entry("transfer", 35, from_="Trip", to="Suction", volume=5), dips(40, Suction=58, Settling=60))
    assert term(books, "lineup", 31) == pytest.approx([-(58 * INCH - 5)])
    assert "lineup_provisional" not in {f.code for f in balance.findings(books)}


def test_a_dip_at_the_change_is_its_worth_and_the_difference_is_the_same_on_both_sides() -> None:
    books = booked(START, zero(), dips(30, Settling=60, Suction=61, Reserve=50), entry("line-up", 30, tank="Reserve", state="in"),
                   dips(45, Settling=60, Suction=61, Reserve=50), entry("line-up", 45, tank="Settling", state="out"))
    assert difference(books, 30, 45) == pytest.approx([INCH, INCH])


def test_a_tank_not_gauged_is_held_with_its_age_and_the_balance_is_partial() -> None:
    books = booked(START, zero(), dips(15, Suction=61))
    b = at(books, 15)
    assert bool(b.partial[0])
    assert balance.held(books, minutes(15)[0]) == (("Settling", 0),)
    assert in_bbl(b.actual_m3) == pytest.approx([121 * INCH])
    assert not at(booked(START, zero(), dips(15, Settling=60, Suction=61)), 15).partial[0]


def test_the_uncertainty_of_one_dip_on_a_big_tank_is_half_a_barrel() -> None:
    """±¼ in on 8 × 30 ft is 0.25 × 3.5622/√3 = 0.514 bbl (the contract's example; rectangular distribution, GUM 4.3.7)."""
    books = booked(START, zero(), dips(15, Settling=60, Suction=61))
    one = 0.25 * INCH / math.sqrt(3)
    assert one == pytest.approx(0.514, abs=5e-4)
    assert in_bbl(at(books, 0, 15).u_m3) == pytest.approx([0, 2 * one])


def test_a_dip_that_serves_both_ends_counts_nothing() -> None:
    books = booked(START, zero(), dips(15, Suction=61))
    assert in_bbl(at(books, 15).u_m3) == pytest.approx([math.sqrt(2) * 0.25 * INCH / math.sqrt(3)])


def test_all_surface_does_not_move_on_an_unlogged_transfer() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=64, Reserve=46, Trip=30))
    assert difference(books, 15) == pytest.approx([4 * INCH])
    assert difference(books, 15, of="all surface") == pytest.approx([0], abs=1e-9)


def test_the_watched_system_is_where_the_flow_line_goes() -> None:
    books = booked(START, zero(), entry("line-up", 10, tank="flow line", to="Trip"), dips(20, Settling=60, Suction=60, Trip=32),
                   entry("line-up", 30, tank="flow line", to="none"))
    assert balance.watched(books, minutes(5, 20, 31))[0] == ("active", "Trip", "not watched")
    assert difference(books, 20) == pytest.approx([0])
    assert difference(books, 20, of="Trip") == pytest.approx([2 * INCH])


def test_returns_turned_to_another_tank_do_not_reach_the_active_books() -> None:
    books = booked(entry("pumps", -60, state="on", flow=300), START, zero(), entry("line-up", 3, tank="flow line", to="Trip"),
                   entry("pumps", 5, state="off"))
    assert term(books, "lines", 60) == pytest.approx([0])
    assert term(books, "lines", 60, of="Trip") == pytest.approx([20])


def test_tripping_is_shown_as_not_watched() -> None:
    books = booked(START, zero(), entry("activity", 10, activity="tripping"), entry("activity", 50, activity="drilling"))
    names, notes = balance.watched(books, minutes(5, 20, 55))
    assert names == ("active", "not watched", "active")
    assert "tripping" in notes[1]


def test_readings_struck_out_count_no_more() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=70), dips(20, Settling=60, Suction=60),
                   entry("void", 14, 16, tank="Suction", reason="stick in sludge"))
    assert difference(books, 15, 20) == pytest.approx([0, 0])


def test_a_corrected_round_replaces_the_one_it_names() -> None:
    wrong = dips(15, Settling=60, Suction=53)
    right = dips(15, Settling=60, Suction=60)
    right = Draft(right.kind, right.t_ms, right.t_ms + 60_000, payload=right.payload, dips=right.dips, supersedes="r4",
                  reason="5 ft 0 read as 53")
    books = booked(START, zero(), wrong, right)
    assert difference(books, 15) == pytest.approx([0])
    assert dict(books.eff.superseded) == {"r4": "r5"}
    assert in_bbl(balance.at(books.known_at(4), minutes(15)).difference_m3) == pytest.approx([-7 * INCH])


def test_a_re_strapped_tank_uses_each_table_in_its_own_time() -> None:
    from ledgers import rig_draft
    bigger = RIG.replace('length = "30 ft"', 'length = "31 ft"', 1)
    books = booked(START, zero(), rig_draft(bigger, 10), dips(15, Settling=60, Suction=60))
    assert in_bbl(at(books, 5, 15).actual_m3) == pytest.approx([120 * INCH, (60 * 31 / 30 + 60) * INCH])


def test_a_level_above_the_brim_is_a_finding_and_is_not_clamped() -> None:
    books = booked(START, zero(), dips(15, Settling=60, Suction=110))
    assert difference(books, 15) == pytest.approx([50 * INCH])
    assert "above_brim" in {f.code for f in balance.findings(books)}


def test_volumes_are_in_cubic_metres_inside() -> None:
    books = booked(START, zero())
    assert at(books, 0).actual_m3[0] == pytest.approx(120 * INCH * BBL)
