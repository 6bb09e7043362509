"""The well against closed forms, each to its stated tolerance, and against published figures of gas."""

from __future__ import annotations

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from drilled import HOUR, MINUTE, demo_rig, run, session

from builders import BBL, FT, GAL
from dipbook.drill.bore import Bore
from dipbook.drill.column import Column
from dipbook.drill.ground import Breathing, Formation, Thief
from dipbook.drill.influx import GAS, OIL, Fluid, Parcel, room, z_at
from dipbook.drill.profile import Profile, vertical_depth
from dipbook.mud import slugs
from dipbook.mud.gas import GRAVITY, STANDARD_ATMOSPHERE, at_depth, expanded
from dipbook.mud.hanging import Hanging
from dipbook.quantities import read
from dipbook.rig.model import DrainBack
from dipbook.well import Part, String, Survey

PPG = read("1 lbm/gal[US]", "density").value
PSI = read("1 psi", "pressure").value
CIRCULATE = '[gauges]\nevery = "1 min"\n[[work]]\ndoes = "circulating"\nfor = "2 h"\n'
MUD = 10.0 * PPG
START = 'hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"'


# ---- U-tube: Vs (ρs/ρm − 1) comes back (Lapeyrouse, Formulas and Calculations, 2nd ed., ch. 2; in published rows S..) ----

def one_bore(area: float = 0.01776 * BBL / FT, bit: float = 3000.0) -> Bore:
    return Bore(String((Part("pipe", "drill pipe", 0.004, area),)), bit, 0.0)


def test_a_slug_falls_until_what_it_empties_balances_it_and_by_an_exponential() -> None:
    bore, slug, heavy = one_bore(), 20 * BBL, 12 * PPG
    bore.add(bore.capacity_m3 - slug, MUD)
    bore.add(slug, heavy)
    back, outside = 0.0, MUD * GRAVITY * 3000.0
    due = slugs.gain(slug, heavy, MUD)
    for second in range(1, 601):
        back += bore.falls(outside, 1.0, 60.0, lets_in=False, weight_kg_m3=MUD)
        # The slug's own weight falls with the level: ρs/c for a volume, so the time constant is exact.
        assert back == pytest.approx(due * (1.0 - exp(-second / 60.0)), rel=1e-9)
    assert back == pytest.approx(due, rel=1e-4)
    assert due == pytest.approx(4.0 * BBL, rel=1e-12)


def test_a_slug_in_a_tapered_string_rests_where_the_balance_of_columns_says() -> None:
    # Two codes, two ways: here mud leaves at the bit in steps, there (mud/hanging.py) a broken line is solved for its root.
    string = demo_rig().string
    assert string is not None
    for bit_ft, slug_bbl in ((9000, 15), (2100, 15), (1400, 8)):     # in drill pipe; into heavy-weight; into collars
        bore = Bore(string, bit_ft * FT, 0.0)
        bore.add(bore.capacity_m3 - slug_bbl * BBL, MUD)
        bore.add(slug_bbl * BBL, 12 * PPG)
        back = sum(bore.falls(MUD * GRAVITY * bit_ft * FT, 1.0, 40.0, lets_in=False, weight_kg_m3=MUD) for _ in range(900))
        assert back == pytest.approx(Hanging(slug_bbl * BBL, 12 * PPG, MUD).empty_m3(string, bit_ft * FT), rel=1e-6)


def test_a_closed_float_lets_nothing_in_and_an_open_pipe_fills_to_the_level_outside() -> None:
    bore = one_bore()
    bore.add(bore.capacity_m3 / 2.0, MUD)
    assert bore.falls(MUD * GRAVITY * 3000.0, 60.0, 10.0, lets_in=False, weight_kg_m3=MUD) == 0.0
    for _ in range(60):
        bore.falls(MUD * GRAVITY * 3000.0, 10.0, 10.0, lets_in=True, weight_kg_m3=MUD)
    assert bore.held_m3 == pytest.approx(bore.capacity_m3, rel=1e-9)


# ---- drain-back: 20 bbl with τ 60 s gives 12.64 bbl after 60 s, 19.0 after 180 s (accounting.md's own example) ----

@pytest.mark.parametrize("step_ms", [500, 5000])
def test_drain_back_is_exponential_whatever_the_time_step(step_ms: int) -> None:
    done = session('[gauges]\nevery = "60 s"\n[[work]]\ndoes = "static"\nfor = "30 min"\n', step_ms=step_ms,
                   start='hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "1000 gal[US]/min"')
    before = done.pits.volumes["Suction"]
    for seconds, due in ((60, 20 * (1 - exp(-1))), (180, 20 * (1 - exp(-3))), (1200, 20.0)):
        done.advance(seconds * 1000)
        assert (done.pits.volumes["Suction"] - before) / BBL == pytest.approx(due, abs=1e-6)
    assert 20 * (1 - exp(-1)) == pytest.approx(12.64, abs=0.005)
    assert 20 * (1 - exp(-3)) == pytest.approx(19.0, abs=0.005)


def test_pumps_that_come_on_take_back_what_drained_by_the_rising_constant() -> None:
    done = session('[[work]]\ndoes = "circulating"\nflow = "600 gal[US]/min"\nfor = "30 min"\n',
                   start='hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "0 gal[US]/min"')
    before = done.pits.volumes["Suction"]
    done.advance(40_000)
    assert (done.pits.volumes["Suction"] - before) / BBL == pytest.approx(-14 * (1 - exp(-1)), abs=1e-6)


def test_a_typed_drain_back_curve_gives_what_it_says_at_each_of_its_times() -> None:
    drain = DrainBack(at=((300 * GAL / 60, 12 * BBL),), falling_s=None, rising_s=40.0,
                      curve=((60.0, 4 * BBL), (120.0, 7 * BBL), (600.0, 12 * BBL)))
    done = session('[[work]]\ndoes = "static"\nfor = "30 min"\n', rig=replace(demo_rig(), drain_back=drain),
                   start='hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "300 gal[US]/min"')
    before = done.pits.volumes["Suction"]
    for seconds, due in ((60, 4.0), (120, 7.0), (360, 9.5), (900, 12.0)):
        done.advance(seconds * 1000)
        assert (done.pits.volumes["Suction"] - before) / BBL == pytest.approx(due, abs=1e-6)


# ---- influx: constant without expansion, by underbalance × productivity ----

def test_water_comes_in_at_productivity_times_underbalance_and_all_of_it_is_in_the_tanks() -> None:
    # 60 psi under at rest, 0.5 bbl/min for each 60 psi; friction nothing. Water of the mud's weight: nothing changes, so
    # the rate stands, and every barrel that comes in has pushed one out.
    done = run(CIRCULATE + '[[event]]\nkind = "kick"\nat = "30 min"\nover = "60 psi"\nflow = "0.5 bbl/min"\nflow_at = "60 psi"\n'
               'fluid = "water"\nweight = "10 lbm/gal[US]"\n', start=START)
    assert done.well.came_m3 / BBL == pytest.approx(0.5 * 90, rel=1e-9)
    first, last = done.readings[30], done.readings[-1]
    suction = demo_rig().tank("Suction")
    rise = suction.volume(suction.level_of_dip(last.dips["Suction"])) - suction.volume(
        suction.level_of_dip(first.dips["Suction"]))
    assert rise / BBL == pytest.approx(45.0, abs=1e-6)


def test_lighter_water_lowers_the_pressure_and_the_rate_grows_exponentially() -> None:
    # dV/dt = J (Δp + k V), k = (ρm − ρw) g/A: V = (Δp/k)(e^{Jkt} − 1). Static, in one open hole with no pipe near.
    hole = Profile((3000.0,), (0.05,))
    column, f = Column(MUD), Formation(3000.0, 40 * PSI, 2e-8, Fluid(OIL, 700.0), 1e9, "kick")
    for half in range(1800):
        came = f.gives(column.pressure(hole, 3000.0, there_too=True) - at_depth(MUD, 3000.0), 0.5)
        column.comes_in(f.fluid, came, 3000.0, at_depth(MUD, 3000.0), half / 2.0)
    k = (MUD - 700.0) * GRAVITY / 0.05
    due = 40 * PSI / k * (exp(2e-8 * k * 900) - 1.0)
    assert f.came_m3 == pytest.approx(due, rel=2e-3)         # explicit steps of half a second


def test_nothing_comes_in_from_a_formation_that_is_held() -> None:
    done = run(CIRCULATE + '[[event]]\nkind = "kick"\nat = "0 min"\nunder = "10 psi"\nflow = "5 bbl/min"\nflow_at = "60 psi"\n',
               start=START)
    assert done.well.came_m3 == 0.0
    assert done.signs == []


def test_a_kick_of_a_connection_flows_only_while_the_pumps_are_off() -> None:
    body = ('[well]\nfriction = "120 psi"\n[[work]]\ndoes = "circulating"\nfor = "20 min"\n[[work]]\ndoes = "static"\nfor = "10 min"\n'
            '[[work]]\ndoes = "circulating"\nflow = "800 gal[US]/min"\nfor = "20 min"\n'
            '[[event]]\nkind = "kick"\nat = "0 min"\nover = "60 psi"\nflow = "0.6 bbl/min"\nflow_at = "60 psi"\nfluid = "water"\n'
            'weight = "10 lbm/gal[US]"\n')
    done = session(body, start=START)
    for minute, due in ((20, 0.0), (30, 6.0), (50, 6.0)):
        done.advance(minute * MINUTE)
        assert done.well.came_m3 / BBL == pytest.approx(due, abs=1e-6)


def test_a_formation_gives_no_more_than_it_holds() -> None:
    f = Formation(3000.0, 1e6, 1e-6, Fluid(GAS), 2.0, "kick")
    assert sum(f.gives(0.0, 5.0) for _ in range(100)) == pytest.approx(2.0)


# ---- losses and ballooning ----

def test_a_loss_goes_by_the_pressure_of_circulating() -> None:
    body = ('[well]\nfriction = "120 psi"\n[[work]]\ndoes = "circulating"\nfor = "60 min"\n[[work]]\ndoes = "static"\nfor = "60 min"\n'
            '[[event]]\nkind = "loss"\nat = "0 min"\nover = "20 psi"\nflow = "0.4 bbl/min"\nflow_at = "100 psi"\n')
    done = session(body, start=START)
    done.advance(HOUR)
    assert done.well.lost_m3 / BBL == pytest.approx(24.0, rel=1e-9)
    done.advance(2 * HOUR)
    assert done.well.lost_m3 / BBL == pytest.approx(24.0, rel=1e-9)


def test_with_total_losses_nothing_comes_back_and_the_hole_stands_where_it_holds() -> None:
    # At rest the level falls until the column is 100 psi short of full: h = Δp/(ρ g) (the 75 psi rule's own sum, T-rows).
    body = ('[[work]]\ndoes = "static"\nfor = "60 min"\n[[event]]\nkind = "loss"\nat = "0 min"\nunder = "100 psi"\n'
            'flow = "30 bbl/min"\nflow_at = "100 psi"\n')
    done = run(body, start='hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "0 gal[US]/min"')
    area = done.well.shape.area(0.0)
    assert done.well.column.empty_m3 / area == pytest.approx(100 * PSI / (MUD * GRAVITY), rel=1e-3)
    assert done.well.lost_m3 == pytest.approx(done.well.column.empty_m3, rel=1e-9)


def test_ballooning_takes_and_gives_back_the_same_by_an_exponential_and_never_nets_it() -> None:
    b = Breathing(3000.0, 2.0 / 1e6, 240.0, "ballooning")
    for _ in range(48):
        b.taken(1e6, 5.0)
    assert b.held_m3 == pytest.approx(2.0 * (1.0 - exp(-1.0)), rel=1e-12)
    took = b.lost_m3
    for _ in range(2000):
        b.taken(0.0, 5.0)
    assert b.lost_m3 == took
    assert b.returned_m3 == pytest.approx(took, rel=1e-9)
    assert Thief(3000.0, 0.0, 1e-6, "loss").taken(-5.0, 5.0) == 0.0


# ---- gas: Boyle, z, and gas that hides in oil-base mud ----

def test_boyle_as_published_one_barrel_at_3000_psia_is_204_at_surface() -> None:
    # Row G01 of tests/published/rows.json: worked example, drillingformulas.com, 204 bbl ± 0.5.
    assert room(Fluid(GAS), 1 * BBL, 3000 * PSI, 14.7 * PSI) / BBL == pytest.approx(204.0, abs=0.5)


def test_a_gain_that_grows_as_published_from_its_own_pressure() -> None:
    # Row G08, grade C: 65.6 bbl at 3777 psi is 47.17 at 5253 psi (Devereux p. 438; what is printed, 47.4, is by 3795).
    assert room(Fluid(GAS), 65.6 * BBL, 3795 * PSI, 5253 * PSI) / BBL == pytest.approx(47.4, abs=0.05)
    assert room(Fluid(GAS), 65.6 * BBL, 3777 * PSI, 5253 * PSI) / BBL == pytest.approx(47.1676, abs=1e-3)


def test_gas_goes_by_its_compressibility_factor_as_mud_gas_has_it() -> None:
    fluid = Fluid(GAS, z=0.9)
    for p in (3e7, 1e7, 2e6, STANDARD_ATMOSPHERE):
        assert room(fluid, 1.0, 3e7, p) == pytest.approx(expanded(1.0, 3e7, p, 0.9, z_at(fluid, 3e7, p)))
    assert z_at(fluid, 3e7, 3e7) == pytest.approx(0.9)
    assert z_at(fluid, 3e7, 0.0) == 1.0


def test_gas_hides_in_oil_base_mud_until_near_surface() -> None:
    fluid = Fluid(GAS, out_below_pa=5e6, swelling=0.3)
    free = Fluid(GAS)
    assert room(fluid, 1.0, 3e7, 3e7) == pytest.approx(0.3)
    assert room(fluid, 1.0, 3e7, 5e6) == pytest.approx(0.3)
    assert room(free, 1.0, 3e7, 5e6) == pytest.approx(6.0)
    # At 2.5 MPa half of it is out: 0.5 × 12 + 0.5 × 0.3.
    assert room(fluid, 1.0, 3e7, 2.5e6) == pytest.approx(6.15)
    near = room(fluid, 1.0, 3e7, STANDARD_ATMOSPHERE)
    assert near == pytest.approx(room(free, 1.0, 3e7, STANDARD_ATMOSPHERE), rel=0.03)


def test_a_parcel_pumped_up_has_boyles_volume_at_every_depth() -> None:
    hole = Profile((3000.0,), (0.05,))
    column = Column(MUD)
    column.comes_in(Fluid(GAS), 0.01, 2990.0, at_depth(MUD, 2990.0), 0.0)
    for _ in range(100):
        column.rises(hole, 0.05, 3000.0, 0.0, 20.0)
        if column.parcels and column.parcels[0].depth_m > 50.0:
            p: Parcel = column.parcels[0]
            due = 0.01 * at_depth(MUD, 2990.0) / at_depth(MUD, p.depth_m)
            assert p.volume_m3 == pytest.approx(due, rel=1e-9)


def test_a_mud_column_presses_by_the_vertical() -> None:
    survey = Survey((0.0, 1000.0, 3000.0), (0.0, 1000.0, 2000.0))
    hole = Profile((3000.0,), (0.05,))
    assert Column(MUD, survey).pressure(hole, 3000.0) == pytest.approx(at_depth(MUD, 2000.0))
    assert vertical_depth(survey, 3100.0) == pytest.approx(2100.0)
    assert vertical_depth(survey, -20.0) == -20.0


# ---- the time step ----

KICK = ('[well]\nfriction = "120 psi"\ngas_slip = "60 ft/min"\n[[work]]\ndoes = "drilling"\nfor = "60 min"\nrate = "60 ft/h"\n'
        '[[event]]\nkind = "kick"\nat = "30 min"\nover = "160 psi"\nflow = "0.4 bbl/min"\nflow_at = "60 psi"\nz = 0.95\n')


def test_it_converges_with_the_time_step() -> None:
    start = 'hole_depth = "9000 ft"\nabove = "60 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"\nbit_depth = "9000 ft"'
    found = {}
    for step_ms in (500, 2000, 4000, 8000):
        done = run(KICK + '[tanks]\nSuction = "120 bbl"\n', start=start, step_ms=step_ms)
        found[step_ms] = np.array([done.well.came_m3, done.pits.volumes["Suction"]])
    errors = {step: float(np.max(np.abs(found[step] - found[500]))) for step in (2000, 4000, 8000)}
    assert errors[2000] < errors[4000] < errors[8000]
    # First order: halving the step halves what is left, against the finest of 0.5 s: (8 − 0.5)/(4 − 0.5) and so on.
    assert errors[8000] / errors[4000] == pytest.approx(7.5 / 3.5, rel=0.35)
    assert errors[4000] < 0.02 * float(found[500][0])       # the usual step is 5 s: under 2 % of what came in


def test_800_gallons_a_minute_take_the_bottoms_up_time_of_the_crews_own_volume() -> None:
    # Rock cut in the first minute comes out once 900 bbl have been pumped: 900/(800/42) = 47.25 min, not before.
    done = session('[[work]]\ndoes = "drilling"\nfor = "3 h"\nrate = "60 ft/h"\nconnection = "1 min"\n',
                   start='hole_depth = "9000 ft"\nabove = "90 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"')
    done.advance(round(900 * BBL / (800 * GAL / 60) * 1000) - 10_000)
    assert done.well.cuttings.up_m3 == 0.0
    done.advance(done.now_ms + 20_000)
    assert done.well.cuttings.up_m3 > 0.0
