"""Each way in which such books go wrong, once, with the arithmetic beside it. Trips aren't followed by these books yet.

Geometry: an inch in an 8 × 30 ft box is 20 ft³ = 3.5622 bbl (42 gal of 231 in³ to the barrel; NIST SP 811, Appendix B).
Pipe 5 in 19.50: d 0.00759 and c 0.01776 bbl/ft, stand 93 ft; hole 12¼ in, Ch 12.25²/1029.41 = 0.1458 bbl/ft (exact
geometry; common practice, no source, for what a rig does with it). Where another file has the numbers of a pitfall, a
comment points there.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance, hints, watch
from dipbook.entries.checks import make
from dipbook.limits import Limit
from dipbook.observations import observe
from dipbook.records import Draft
from ledgers import BBL, FT, IN, MIN, RIG, booked, dips, entry, history, in_bbl, minutes, spread

INCH = 240 / 12 * 1728 / 9702
Ls, d, c, Ch = 93.0, 0.00759, 0.01776, 0.1458
ONE_DIP = 0.25 * INCH / math.sqrt(3)
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
PUMPING = entry("pumps", -60, state="on", flow=300)
DEPTH = entry("depth", -1, hole=5000, bit=5000)
ZERO = entry("zero", 0, length=0, reason="start of tour")
TRAP = RIG.replace('name = "Reserve"\nrole = "reserve"', 'name = "Trap"\nrole = "sand trap"')


def told(*more: Draft, rig: str = RIG) -> Any:
    return booked(PUMPING, DEPTH, START, ZERO, *more, rig=rig)


def term(books: Any, name: str, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).terms[name])


def change(books: Any, *at: float) -> Any:
    """Expected change since the zero [bbl]."""
    b = balance.at(books, minutes(*at))
    return [sum(float(v[k]) for v in b.terms.values()) / BBL for k in range(len(at))]


def difference(books: Any, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).difference_m3)


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books)}


def typed(kind: str, minute: float, end: float | None = None, rig: str = RIG, **text: str) -> Draft:
    """An entry as a form makes it, from what is typed."""
    made, findings = make(kind, {k.rstrip("_"): v for k, v in text.items()}, t_ms=round(minute * MIN), author="Test",
                          end_ms=None if end is None else round(end * MIN), learned_ms=round((end or minute) * MIN),
                          rig=booked(START, rig=rig).rig)
    assert made is not None, findings
    return made


# --- drilling and the sawtooth --------------------------------------------------------------------------------------

def test_capacity_less_steel_and_the_stands_fill_do_not_count_the_bore_twice() -> None:
    """−(0.1458 − 0.00759)·93 = −12.85 in all. With the fill of 0.01776·93 = 1.65 booked beside it: −14.51."""
    books = told(entry("stand filled", 2), entry("depth", 60, hole=5093, bit=5093))
    assert change(books, 200) == pytest.approx([-12.85], abs=0.005)
    assert c * Ls == pytest.approx(1.6, abs=0.06)                  # the 1.6 bbl a stand of 5 in


def test_the_sawtooth_goes_down_by_the_fill_and_then_by_less_than_the_mean() -> None:
    """With no lag: −1.6517 at the fill, then −(Ch − d − c) = −0.12045 a foot, −0.13821 a foot in the mean."""
    books = told(entry("stand filled", 2), *(entry("depth", m, hole=5000 + m - 2, bit=5000 + m - 2) for m in range(3, 96)),
                 rig=RIG.replace('annulus = "250 bbl"', 'lag = "0 min"'))
    assert change(books, 2, 12, 22, 95) == pytest.approx([-1.6517, -1.6517 - 1.2045, -1.6517 - 2.409, -93 * 0.13821], abs=5e-4)


# --- cuttings come out a lag later ----------------------------------------------------------------------------------

def test_cuttings_still_in_the_annulus_are_thirteen_barrels_and_leave_while_circulating_clean() -> None:
    """60 ft/h for 3 h, lag 90 min: 90 ft × 0.1458 = 13.1 bbl still below. Drilling stops at 180; by 270 they are out. A
    kick of 13 bbl in that time must read as 13 bbl and not as nothing."""
    books = told(*(entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(1, 181)),
                 rig=RIG.replace('annulus = "250 bbl"', 'lag = "90 min"'))
    after, clean, later = term(books, "cuttings", 180, 270.1, 600)
    assert after - clean == pytest.approx(13.1, abs=0.05)
    assert later == pytest.approx(-180 * Ch)


# Only while pumping, and by flow: test_situations.test_cuttings_leave_a_lag_later_and_only_while_pumping.

def test_over_bypassed_shakers_nothing_leaves_by_when_it_comes_out_and_not_by_when_it_was_cut() -> None:
    """Out at 36 (250 bbl at 7.1429 bbl/min after 1). Bypassed from 30: they stay in. From 40: they had left."""
    def out(*shakers: Draft) -> Any:
        return term(told(entry("depth", 1, hole=5010, bit=5010), *shakers), "cuttings", 120)
    bypassed = [entry("shakers", m, state="bypassed") for m in (0.5, 30, 40)]
    on = [entry("shakers", m, state="on screens") for m in (2, 33, 50)]
    assert out(bypassed[1]) == pytest.approx([0])
    assert out(bypassed[1], on[2]) == pytest.approx([0])
    assert out(bypassed[2]) == pytest.approx([-1.458])
    assert out(bypassed[0], on[0]) == pytest.approx([-1.458])
    assert out(bypassed[0], on[1]) == pytest.approx([-1.458])


# --- pipe worked, drain-back ----------------------------------------------------------------------------------------

def test_pipe_worked_with_the_pumps_on_moves_the_tanks_by_steel_and_bore() -> None:
    """(0.00759 + 0.01776)·93 = 2.36 bbl a stand of 5 in."""
    books = told(entry("depth", 5, bit=4907), entry("depth", 10, bit=5000))
    assert change(books, 5, 10) == pytest.approx([-2.4, 0], abs=0.05)


def test_drain_back_as_a_step_would_hide_the_first_barrels_of_a_kick() -> None:
    """20 bbl, τ 60 s: 12.64 after 60 s, 19.0 after 180 s. With 3 bbl of influx a minute after the pumps stop the tanks
    are 15.64 up: +3. Against a step of 20 that would be a loss of 4.4."""
    back = 20 * (1 - math.exp(-1))
    books = told(entry("pumps", 5, state="off"), dips(6, Settling=60, Suction=60 + (back + 3) / INCH))
    assert term(books, "lines", 6, 8) == pytest.approx([12.64, 19.0], abs=0.005)
    assert difference(books, 6) == pytest.approx([3])


def test_pumps_on_to_pumps_on_at_one_rate_shows_what_came_in_over_a_connection() -> None:
    """Off at 10, on at 16, dipped long before and long after: the lines hold 20 bbl both times, so 3 bbl up is a kick
    whatever the curve says. A curve wrong by half changes nothing of it."""
    for rig in (RIG, RIG.replace('"20 bbl"', '"10 bbl"').replace('falling = "60 s"', 'falling = "200 s"')):
        books = told(entry("pumps", 10, state="off"), entry("pumps", 16, state="on", flow=300),
                     dips(40, Settling=60, Suction=60 + 3 / INCH), rig=rig)
        assert difference(books, 40) == pytest.approx([3], abs=1e-3)


# A change of rate by G(Q1) − G(Q2), pumps on taking back what has drained: test_situations. No curve is learned from
# connections yet, so none can learn a kick.

def test_what_was_lost_and_comes_back_is_never_booked_as_explained() -> None:
    """10 bbl lost while pumping, logged as such; with the pumps off they come back: +10, and a person says what it is."""
    books = told(entry("discard", 5, 25, from_="Suction", volume=10), entry("pumps", 30, state="off"),
                 dips(60, Settling=60, Suction=60 + 20 / INCH))
    assert term(books, "discards", 60) == pytest.approx([-10])
    assert difference(books, 60) == pytest.approx([10], abs=1e-6)


# --- durations, rounds ----------------------------------------------------------------------------------------------

def test_a_round_in_mid_transfer_is_not_wrong_by_all_of_it() -> None:
    """40 bbl from Reserve in 20 min; dipped after 10: 20 in, as booked. Logged as an instant it would read ±20."""
    books = told(entry("transfer", 10, 30, from_="Reserve", to="Suction", volume=40),
                 dips(20, Settling=60, Suction=60 + 20 / INCH))
    assert difference(books, 20) == pytest.approx([0], abs=1e-9)


# A transfer that runs on with a rate, and one of unknown volume: test_situations.test_a_running_transfer_….

def test_five_barrels_a_minute_over_a_round_of_six_minutes_are_not_thirty_barrels_of_loss() -> None:
    """From 20 on 5 bbl/min into Settling, dipped at 30 with its 50 bbl; Suction at 36, the end of the round. By then 80
    bbl are booked. Settling's dip is carried by the 30 logged since: without that a false loss of 30 hides a kick."""
    books = told(entry("transfer", 20, 60, from_="Reserve", to="Settling", volume=200),
                 spread(30, 6, Settling=60 + 50 / INCH, Suction=60))
    assert difference(books, 36) == pytest.approx([0], abs=1e-9)


def test_a_move_between_two_dips_of_one_round_is_not_seen_twice() -> None:
    """5 bbl/min from Settling to Suction, dipped at 30 and 36: those 30 bbl are in both dips, a false gain of 30."""
    books = told(entry("transfer", 20, 60, from_="Settling", to="Suction", volume=200),
                 spread(30, 6, Settling=60 - 50 / INCH, Suction=60 + 80 / INCH))
    assert difference(books, 36) == pytest.approx([0], abs=1e-9)


def test_a_short_round_while_mud_runs_over_shows_no_gain() -> None:
    """24 bbl from Reserve to Suction, from Settling to Suction, in 12 min; after 6 only Suction is dipped: up 12. The
    tank it comes from is held at its dip less the 12 logged since. Held as it was, all surface, or the active, would
    read 12 bbl of gain at every short round."""
    for source in ("Reserve", "Settling"):
        books = told(entry("transfer", 50, 62, from_=source, to="Suction", volume=24), dips(56, Suction=60 + 12 / INCH))
        for system in ("active", "all surface"):
            assert in_bbl(balance.at(books, minutes(56), system).difference_m3) == pytest.approx([0], abs=1e-9)
            assert balance.at(books, minutes(56), system).partial.tolist() == [True]


def test_a_kick_beside_a_dump_that_no_dip_has_seen_is_the_kick_and_the_dump_is_checked_by_the_next_dip() -> None:
    """10 bbl logged out of Settling at 20; Suction alone is dipped at 30, 6 bbl up: +6, not +16. If Settling is found at 40
    as it was, the dump didn't happen: the 10 bbl booked for it show as well, +16."""
    kick = dips(30, Suction=60 + 6 / INCH)
    books = told(entry("discard", 20, volume=10, from_="Settling"), kick)
    assert difference(books, 30) == pytest.approx([6], abs=1e-9)
    found = told(entry("discard", 20, volume=10, from_="Settling"), kick, dips(40, Settling=60, Suction=60 + 6 / INCH))
    assert difference(found, 30, 40) == pytest.approx([6, 16], abs=1e-9)


def test_a_zero_on_such_a_round_starts_from_what_the_tanks_held_at_its_end() -> None:
    books = told(entry("transfer", 20, 60, from_="Reserve", to="Settling", volume=200),
                 spread(30, 6, Settling=60 + 50 / INCH, Suction=60), entry("zero", 36, length=0, reason="x"),
                 dips(70, Settling=60 + 200 / INCH, Suction=60))
    assert difference(books, 36, 70) == pytest.approx([0, 0], abs=1e-9)


def test_what_the_well_moved_in_the_course_of_a_round_is_in_its_uncertainty() -> None:
    """5 bbl/min lost from the active as a whole × 6 min = 30 bbl that no dip tells the place of: 30/√3 = 17.3 beside
    the sticks. At an instant there is none of it."""
    rate = entry("rate in force", 10, from_="active", state="on", rate=5)
    stick = math.sqrt(4) * ONE_DIP
    u = in_bbl(balance.at(told(rate, spread(30, 6, Settling=60, Suction=60)), minutes(36)).u_m3)
    assert u == pytest.approx([math.hypot(30 / math.sqrt(3), stick)])
    assert in_bbl(balance.at(told(rate, dips(36, Settling=60, Suction=60)), minutes(36)).u_m3) == pytest.approx([stick])


def test_a_connection_within_a_round_is_in_its_uncertainty_though_nothing_is_left_of_it() -> None:
    """Pumps off at 32 and on at 38 of a round from 30 to 42: a tank dipped between shows up to 20 bbl more."""
    off, on = entry("pumps", 32, state="off"), entry("pumps", 38, state="on", flow=300)
    books = booked(PUMPING, START, ZERO, off, on, spread(30, 12, Settling=60, Suction=60))
    u = float(in_bbl(balance.at(books, minutes(42)).u_m3)[0])
    assert u == pytest.approx(math.hypot(20 / math.sqrt(3), math.sqrt(4) * ONE_DIP), rel=0.02)


def test_a_round_taken_up_again_hours_later_is_partial_for_its_old_dips() -> None:
    """Suction at 30 and Settling at 90, fresh for 40 min: the suction's dip tells nothing of 90."""
    assert balance.at(told(spread(30, 60, Suction=60, Settling=60)), minutes(90)).partial.all()
    assert not balance.at(told(spread(30, 39, Suction=60, Settling=60)), minutes(69)).partial.any()


@pytest.mark.parametrize("tank", ["Settling", "Suction"])
@pytest.mark.parametrize("way", [1, -1])
def test_what_is_logged_between_two_dips_of_tanks_at_one_level_counts_once(tank: str, way: int) -> None:
    """An open gate, 20 bbl put into (or taken out of) either at 32 to 34, Settling dipped at 31 and Suction at 36: half
    of it is in the suction's dip already. Zeroed on such a round it starts from the whole."""
    rig = RIG + '[[valve]]\nname = "G"\nkind = "gate"\ntank = "Settling"\nto = "Suction"\nopen = true\nequalises = true\n'
    ends = {"from_": "Reserve", "to": tank} if way > 0 else {"from_": tank, "to": "Reserve"}
    run = entry("transfer", 32, 34, volume=20, **ends)
    half = way * 10 / INCH
    taken = spread(31, 5, Settling=60, Suction=60 + half)
    books = booked(START, ZERO, run, taken, dips(60, Settling=60 + half, Suction=60 + half), rig=rig)
    assert difference(books, 36, 60) == pytest.approx([0, 0], abs=1e-9)
    zeroed = booked(START, run, taken, entry("zero", 36, length=0, reason="x"),
                    dips(60, Settling=60 + half, Suction=60 + half), rig=rig)
    assert difference(zeroed, 36, 60) == pytest.approx([0, 0], abs=1e-9)


# Dips of a doubtful time, |dV/dt|·Δt: test_zero_edges.test_a_dip_with_a_doubtful_time_carries_how_fast_the_tank_moved.

TANKS = ("Settling", "Suction", "Reserve", "Trip")
fives = st.integers(1, 60).map(lambda k: 5 * k)
moves_ = st.lists(st.tuples(fives, st.sampled_from([0, 5, 45]), st.sampled_from(TANKS), st.sampled_from(TANKS),
                            st.integers(1, 60)).filter(lambda m: m[2] != m[3]), max_size=8)
lineups_ = st.lists(st.tuples(fives, st.sampled_from(TANKS), st.booleans()), max_size=4)
zeros_ = st.lists(st.integers(30, 320), max_size=3)


@settings(max_examples=120, deadline=None)
@given(moves_, lineups_, zeros_, st.sampled_from([0.5, 2.0, 3.0]))
def test_rounds_of_minutes_leave_nothing_where_everything_is_logged(moves: Any, changes: Any, zeros: Any, step: float) -> None:
    """A simulated truth: every tank dipped in turn, ``step`` minutes apart, in rounds every half hour."""
    def level(tank: str, at: float) -> float:
        bbl = 60.0 * INCH
        for t, dt, a, b, v in moves:
            share = float(at >= t) if dt == 0 else min(max((at - t) / dt, 0.0), 1.0)
            bbl += v * share * ((b == tank) - (a == tank))
        return bbl / INCH

    drafts = [dips(0, **dict.fromkeys(TANKS, 60.0)), ZERO]
    drafts += [entry("transfer", t, t + dt if dt else None, from_=a, to=b, volume=v) for t, dt, a, b, v in moves]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]
    drafts += [entry("zero", z, length=0, reason="x") for z in zeros]
    rounds = range(31, 390, 30)
    drafts += [spread(m, step, **{tank: level(tank, m + i * step) for i, tank in enumerate(TANKS)}) for m in rounds]
    books = booked(*drafts)
    ends = minutes(*(m + 3 * step for m in rounds))
    for name in ("active", "all surface", *TANKS):
        assert np.abs(balance.at(books, ends, name).difference_m3).max() < 1e-9, name
    assert all(abs(v) < 1e-9 for _, v in balance.written_off(books))


# --- line-up --------------------------------------------------------------------------------------------------------

def test_a_tank_that_joins_brings_its_last_dip_and_what_was_logged_since_and_never_the_next_round() -> None:
    """Reserve 50 in at 0, 10 bbl into it from Trip at 20, in at 30: it is worth 50 in + 10 bbl. In the round at 45 the
    active is 4 bbl up: from the next round those 4 would be Reserve's."""
    books = told(entry("transfer", 20, from_="Trip", to="Reserve", volume=10), entry("line-up", 30, tank="Reserve", state="in"),
                 dips(45, Settling=60, Suction=60, Reserve=50 + 14 / INCH))
    assert term(books, "lineup", 31) == pytest.approx([50 * INCH + 10])
    just_before, just_after, later = difference(books, 29.999, 30, 45)
    assert just_before == pytest.approx(just_after, abs=1e-9)
    assert later == pytest.approx(4)


# Leaving, provisional till the first dip after: test_situations.test_a_tank_that_leaves_is_worth_its_first_dip_after_….
# Before = after at any history: test_truth_at_the_edges.

def test_a_tank_not_gauged_is_held_and_the_balance_says_since_when() -> None:
    books = told(dips(15, Suction=61))
    assert balance.held(books, minutes(15)[0]) == (("Settling", 0),)
    assert balance.at(books, minutes(15)).partial.tolist() == [True]
    assert difference(books, 15) == pytest.approx([INCH])


def test_a_partial_balance_raises_and_does_not_clear() -> None:
    limit = Limit(name="gain", kind="gain", on="active", activity="any", value=5 * BBL, value_is="volume",
                  deadband=2 * BBL, growth=None, after_readings=1, after_ms=0, set_by="Test", reason="test", since="")
    books = told(dips(15, Suction=62), dips(30, Suction=60), dips(45, Suction=60, Settling=60))
    _, out = watch.run((limit,), observe(books))
    assert [(tr.state, tr.time / MIN) for tr in out] == [("raised", 15), ("over", 45)]


# No tank is declared held by a weir: one that isn't gauged is partial, whatever holds it.

def test_with_the_flow_line_to_the_trip_tank_the_gain_is_there_and_the_active_sits_still() -> None:
    """Pumps off and drained at −30, returns to Trip from 5: it rises 2 in while the active shows nothing."""
    books = booked(PUMPING, entry("pumps", -30, state="off"), START, ZERO, entry("line-up", 5, tank="flow line", to="Trip"),
                   dips(20, Settling=60, Suction=60, Trip=32))
    assert balance.watched(books, minutes(20))[0] == ("Trip",)
    assert difference(books, 20, of="Trip") == pytest.approx([2 * INCH])
    assert difference(books, 20) == pytest.approx([0], abs=1e-9)


# "No returns to the tanks" is not watched: test_situations.test_the_watched_system_is_where_the_flow_line_goes.

# --- slug, pill ----------------------------------------------------------------------------------------------------

# A slug from a tank outside and from an active one, its return over minutes, into the trip tank, taken back by pumps,
# fills and raised pipe: test_slugs. In heavy pipe and collars the dry length is longer: the pipe is one bore here.

@pytest.mark.parametrize("what", ["pill", "sweep", "spacer", "cement"])
def test_a_pill_from_outside_the_active_is_a_gain_while_it_is_pumped(what: str) -> None:
    """40 bbl from Reserve in 20 min, as much mud comes back: +20 after ten. All surface stays."""
    books = told(entry("pill", 10, 30, from_="Reserve", volume=40, what=what),
                 dips(60, Settling=60, Suction=60 + 40 / INCH, Reserve=50 - 40 / INCH, Trip=30))
    assert term(books, "pills", 20, 60) == pytest.approx([20, 40])
    assert term(books, "pills", 20, 60, of="all surface") == pytest.approx([0, 0], abs=1e-12)
    assert difference(books, 60) == pytest.approx([0], abs=1e-9)


def test_a_pill_that_comes_back_is_out_only_if_it_is_dumped() -> None:
    """Taken back into the active it changes nothing more; dumped off the shaker on its return, 40 bbl are gone."""
    pill = entry("pill", 10, 30, from_="Reserve", volume=40, what="sweep")
    assert term(told(pill), "discards", 90) == pytest.approx([0])
    books = told(pill, entry("discard", 60, 80, from_="Settling", volume=40))
    assert change(books, 30, 90) == pytest.approx([40, 0], abs=1e-9)


def test_a_pill_from_an_active_tank_moves_nothing() -> None:
    books = told(entry("pill", 10, 30, from_="Suction", volume=40, what="pill"))
    assert term(books, "pills", 20, 60) == pytest.approx([0, 0], abs=1e-12)


def test_a_pill_pumped_with_no_returns_is_lost() -> None:
    books = told(entry("line-up", 5, tank="flow line", to="none"), entry("pill", 10, 30, from_="Suction", volume=40, what="pill"))
    assert term(books, "pills", 60) == pytest.approx([-40])
    assert term(books, "pills", 60, of="all surface") == pytest.approx([-40])


# --- count once: test_count_once ------------------------------------------------------------------------------------

# --- solids control -------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("holds", [5, 15])
def test_a_line_that_fills_is_no_loss_and_drained_back_no_gain(holds: int) -> None:
    """A desander that holds 5 bbl, a line of 15. Unbooked, the start reads −holds; and as much hides at the stop."""
    rig = RIG + f'\n[[equipment]]\nname = "Desander"\nholds = "{holds} bbl"\nfilling = "5 min"\non = false\n'
    books = told(entry("equipment", 10, equipment="Desander", state="on"), dips(20, Settling=60, Suction=60 - holds / INCH),
                 entry("equipment", 30, equipment="Desander", state="off"), dips(40, Settling=60, Suction=60), rig=rig)
    assert term(books, "equipment", 12.5, 20, 40) == pytest.approx([-holds / 2, -holds, 0])
    assert difference(books, 20, 40) == pytest.approx([0, 0], abs=1e-9)


# More of it (twice started, stopped while it fills, measured, a new rig file): test_equipment.

def test_a_centrifuge_is_a_rate_times_its_run_time() -> None:
    """6 bbl/h for 40 min: 4 bbl."""
    books = told(entry("rate in force", 10, from_="Suction", state="on", what="centrifuge", rate=6 / 60),
                 entry("rate in force", 50, from_="Suction", state="off", what="centrifuge"))
    assert term(books, "rates", 30, 90) == pytest.approx([-2, -4])


def test_a_sand_trap_dump_is_its_sticks_before_and_after() -> None:
    """60 in to 40 in of an active trap: 20 × 3.5622 = 71.2 bbl, over 4 min."""
    dump = typed("trap dump", 10, 14, rig=RIG, from_="Settling", before="60", after="40", what="mud")
    books = told(dump, dips(20, Settling=40, Suction=60))
    assert term(books, "discards", 12, 20) == pytest.approx([-10 * INCH, -20 * INCH])
    assert difference(books, 20) == pytest.approx([0], abs=1e-9)


def test_a_trap_outside_the_active_is_no_loss_when_dumped_and_its_refill_is() -> None:
    """Dumped from 50 to 30 in: nothing of the active. Refilled from Settling, 71.2 bbl, it is an out."""
    books = booked(dips(0, Settling=60, Suction=60, Trap=50, Trip=30), ZERO,
                   typed("trap dump", 10, rig=TRAP, from_="Trap", before="50", after="30", what="mud"),
                   entry("transfer", 20, 30, from_="Settling", to="Trap", volume=20 * INCH),
                   dips(40, Settling=40, Suction=60, Trap=50, Trip=30), rig=TRAP)
    assert term(books, "discards", 40) == pytest.approx([0])
    assert term(books, "transfers", 40) == pytest.approx([-20 * INCH])
    assert difference(books, 40) == pytest.approx([0], abs=1e-9)
    assert term(books, "discards", 40, of="all surface") == pytest.approx([-20 * INCH])


# --- rates in force -------------------------------------------------------------------------------------------------

def test_an_outflow_booked_that_does_not_happen_reads_high_and_hides_a_loss() -> None:
    """3 bbl/h booked for an hour and not running: +3. With a real loss of 3 bbl the difference would be nothing."""
    rate = entry("rate in force", 0, from_="active", state="on", what="surface loss", rate=3 / 60)
    assert difference(told(rate, dips(60, Settling=60, Suction=60)), 60) == pytest.approx([3])
    assert difference(told(rate, dips(60, Settling=60, Suction=60 - 3 / INCH)), 60) == pytest.approx([0], abs=1e-9)


def test_an_inflow_booked_that_does_not_happen_reads_low_and_hides_a_kick() -> None:
    """Rain of 6 bbl/h booked on after it stopped: −6 after an hour, and a kick of 6 bbl reads as nothing."""
    rain = entry("rate in force", 0, to="active", state="on", what="rain", rate=6 / 60)
    assert difference(told(rain, dips(60, Settling=60, Suction=60)), 60) == pytest.approx([-6])
    assert difference(told(rain, dips(60, Settling=60, Suction=60 + 6 / INCH)), 60) == pytest.approx([0], abs=1e-9)


def test_an_inflow_not_booked_reads_high_and_an_outflow_not_booked_low() -> None:
    assert difference(told(dips(60, Settling=60, Suction=60 + 6 / INCH)), 60) == pytest.approx([6])
    assert difference(told(dips(60, Settling=60, Suction=60 - 3 / INCH)), 60) == pytest.approx([-3])


def test_a_porosity_of_a_quarter_raises_the_expected_by_two_barrels_an_hour() -> None:
    """60 ft/h × 0.1458 × 0.25 = 2.19 bbl/h in 12¼ in: if it isn't there, that much influx hides each hour."""
    def hour(porosity: str) -> float:
        rig = RIG.replace('annulus = "250 bbl"', 'lag = "0 min"').replace("porosity = 0", f"porosity = {porosity}")
        return float(change(told(*(entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(1, 61)), rig=rig), 60)[0])
    assert hour("0.25") - hour("0") == pytest.approx(2.2, abs=0.05)


# --- what is added --------------------------------------------------------------------------------------------------

def test_barite_is_its_mass_over_its_density_over_the_mixing_time() -> None:
    """14 700 lb at 35.0 lb/gal: 14 700/(42 × 35) = 10 bbl in 40 min. Published increases: tests/published."""
    books = told(typed("addition", 10, 50, to="Suction", mass="14700 lb", density="35 lb/gal"))
    assert term(books, "additions", 30, 50) == pytest.approx([5, 10], rel=1e-6)


def test_salt_takes_less_room_dissolved_than_as_grains() -> None:
    """10 000 lb of NaCl into 100 bbl of water. Water 15.899 m3 × 998.2 = 15 870 kg; with 4536 kg, 20 406 kg of brine of
    22.23 % by weight. CRC Handbook, 20 °C: 1147.8 kg/m3 at 20 %, 1164.0 at 22 %, 1180.4 at 24 %: 1165.9 between. That
    is 17.503 m3, 1.604 more = 10.1 bbl. By the grain, 4536/2165 = 2.095 m3, it would be 13.2 bbl: 3.1 bbl of kick
    hidden."""
    books = told(typed("salt", 10, 30, to="Suction", salt="sodium chloride", mass="10000 lb", into="100 bbl"))
    at_half, at_end = term(books, "additions", 20, 30)
    assert at_end == pytest.approx(10.09, abs=0.05)
    assert at_half == pytest.approx(at_end / 2)
    assert 4535.9 / 2165 / BBL - at_end == pytest.approx(3.1, abs=0.05)


def test_a_boat_is_booked_by_own_dips_and_its_ticket_only_noted() -> None:
    """Reserve from 20 to 60 in: 142.5 bbl by the own dips, 150 on the ticket, 5 left in the hose. Then 20 in back."""
    start = dips(0, Settling=60, Suction=60, Reserve=20, Trip=30)
    brought = typed("boat", 10, 40, to="Reserve", before="20", after="60", ticket="150 bbl", hose="5 bbl")
    taken = typed("boat", 50, 60, from_="Reserve", before="60", after="40", ticket="71 bbl")
    books = booked(start, ZERO, brought, taken, dips(70, Settling=60, Suction=60, Reserve=40, Trip=30))
    assert term(books, "additions", 25, 70, of="all surface") == pytest.approx([20 * INCH, 40 * INCH])
    assert term(books, "discards", 45, 70, of="all surface") == pytest.approx([0, -20 * INCH])
    assert term(books, "additions", 70) == pytest.approx([0])
    assert difference(books, 70, of="all surface") == pytest.approx([0], abs=1e-9)
    assert hints.not_seen(books) == ()


def test_a_boat_straight_into_an_active_tank_is_an_addition() -> None:
    books = told(entry("boat", 10, 40, to="Suction", volume=60))
    assert term(books, "additions", 25, 60) == pytest.approx([30, 60])


# --- annotations ----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("kind", "fields"), [
    ("gas", {"gas_percent": 20, "what": "connection"}), ("mud check", {"density_out_kg_m3": 1100, "temperature_out_k": 350}),
    ("drilling break", {"speed_m_s": 0.01}), ("return flow", {"flow_m3_s": 0.05, "trend": "rising"}),
    ("flow check", {"readings_m3": [0.1, 0.2, 0.3], "result": "flowing", "seen_by": "Test"}),
    ("shut-in", {"state": "shut in", "gain_m3": 2.0}), ("told driller", {"what": "gain"}),
    ("stick check", {"tank": "Suction", "stick_m": 1.0, "sensor_m": 1.2}), ("handover", {"leaving": "A", "arriving": "B"}),
    ("about to move mud", {"from": "Reserve", "to": "Suction", "volume_m3": 5.0, "told": "Test"}),
    ("remark", {"remark": "thermal swing, +8 bbl"}),
])
def test_what_is_noted_explains_nothing(kind: str, fields: dict[str, Any]) -> None:
    """Gas-cut mud and the thermal swing after a long static too: gas at surface is itself a sign. +5 bbl stays +5."""
    noted = Draft(kind, 10 * MIN, 10 * MIN, author="Test", payload={"end_ms": None, **fields})
    books = told(noted, dips(20, Settling=60, Suction=60 + 5 / INCH))
    assert difference(books, 20) == pytest.approx([5])
    assert change(books, 20) == pytest.approx([0], abs=1e-12)


# --- equalised tanks, floaters --------------------------------------------------------------------------------------

def test_tanks_that_stand_at_one_level_are_summed_by_their_own_areas() -> None:
    """Suction's floor made 15 ft long, half of Settling's: an inch in both is 3.5622 + 1.7811 bbl, from 60 to 62 in
    10.69. By one tank's volume times two it would be 14.25."""
    head, tail = RIG.split('name = "Suction"')
    rig = head + 'name = "Suction"' + tail.replace('length = "30 ft"', 'length = "15 ft"', 1)
    assert difference(told(dips(15, Settling=62, Suction=62), rig=rig), 15) == pytest.approx([1.5 * 2 * INCH])


# One of them gauged for both, and a gate closed as a line-up change: tests/books. Heave, trim and a riser are not
# described by a rig file.

# --- warnings and explanations --------------------------------------------------------------------------------------

def test_an_explanation_entered_after_the_warning_does_not_clear_it() -> None:
    """+24 bbl at 15 raises; the transfer that explains it is entered at 20. The books then show nothing, and the
    warning waits for a person: what is over isn't closed."""
    limit = Limit(name="gain", kind="gain", on="active", activity="any", value=5 * BBL, value_is="volume",
                  deadband=2 * BBL, growth=None, after_readings=1, after_ms=0, set_by="Test", reason="test", since="")
    rounds = [dips(15, Settling=60, Suction=60 + 24 / INCH), dips(30, Settling=60, Suction=60 + 24 / INCH)]
    before = told(*rounds)
    late = entry("transfer", 5, 12, from_="Reserve", to="Suction", volume=24, learned=20)
    after = told(*rounds, late)
    assert difference(before, 15) == pytest.approx([24])
    assert difference(after, 15, 30) == pytest.approx([0, 0], abs=1e-9)
    raised, out = watch.step(watch.start((limit,), 1), watch.Learned(5, minutes(15)[0], observe(before, 0, 2)))
    assert [tr.state for tr in out] == ["raised"]
    explained, out = watch.step(raised, watch.Learned(6, minutes(20)[0], observe(after, 0, 2), cause="transfer entered"))
    assert [(tr.state, tr.cause) for tr in out] == [("over", "transfer entered")]
    assert watch.sounding(explained, minutes(21)[0])
    _, out = watch.step(explained, watch.Learned(7, minutes(30)[0], observe(after, 2)))
    assert out == ()


def test_a_late_entry_carries_both_times_and_the_books_of_then_can_be_asked() -> None:
    """Happened at 5, learned at 20: with what was known at 15 the difference was 24 bbl."""
    late = entry("transfer", 5, from_="Reserve", to="Suction", volume=24, learned=20)
    records = history(START, ZERO, dips(15, Settling=60, Suction=60 + 24 / INCH), late)
    assert (records[-1].t_ms, records[-1].learned_ms) == tuple(minutes(5, 20))
    books = booked(START, ZERO, dips(15, Settling=60, Suction=60 + 24 / INCH), late)
    assert difference(books, 15) == pytest.approx([0], abs=1e-9)
    assert difference(books.known_at(records[-1].seq - 1), 15) == pytest.approx([24])


def test_a_zero_keeps_what_it_wrote_off_and_who_and_why() -> None:
    books = told(dips(15, Settling=60, Suction=62), entry("zero", 15, length=0, reason="after mixing"))
    ((zero, volume),) = balance.written_off(books)
    assert (zero.by, zero.reason, volume / BBL) == ("Test", "after mixing", pytest.approx(2 * INCH))


# The sum that is never reset: test_zero_edges. Latching, acknowledging, growth, no shelving: tests/alarms, tests/watch.
# One situation, one sound: tests/app/test_sound. What rounds can miss, q·T: tests/app/test_display. Unknown activity
# takes the strictest and tightening acts at once: tests/watch/test_watch_histories, test_watch_limits_changed.

def test_a_tight_limit_on_all_surface_does_not_mind_an_unlogged_transfer_and_sees_a_kick_behind_it() -> None:
    """14 bbl from Reserve unlogged and 3 bbl of influx: the active says 17, all surface says 3."""
    books = told(dips(15, Settling=60, Suction=60 + 17 / INCH, Reserve=50 - 14 / INCH, Trip=30))
    assert difference(books, 15) == pytest.approx([17])
    assert difference(books, 15, of="all surface") == pytest.approx([3])


def test_volumes_and_lengths_are_those_of_the_trade() -> None:
    """A guard on this file's own numbers: 240 ft² × 1 in in barrels, and 12¼ in by D²/1029.4142."""
    assert pytest.approx(240 * FT * FT * IN / BBL) == INCH
    assert pytest.approx(12.25**2 / 1029.4142, abs=5e-5) == Ch
    assert {f for f in codes(told()) if f != "zero_length"} == set()
