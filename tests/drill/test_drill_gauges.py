"""Gauges that wave, stick, drift and end; pipe that swabs and surges; and what the crew log of what happens."""

from __future__ import annotations

import statistics

import pytest
from drilled import HOUR, MINUTE, demo_rig, run, session

from builders import BBL, IN
from dipbook.drill.gauges import Gauges
from dipbook.drill.scenario import Item

REST = '[[work]]\ndoes = "static"\nfor = "2 h"\n'
OFF = 'hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "0 gal[US]/min"'
SUCTION = demo_rig().tank("Suction")


def dips(gauges: Gauges, volume_m3: float, times: range) -> list[float]:
    found = [gauges.dip(SUCTION, volume_m3, float(t)) for t in times]
    return [d for d in found if d is not None]


def test_noise_has_the_deviation_that_was_asked_for_and_no_bias() -> None:
    level = SUCTION.level(20.0)
    found = [SUCTION.level_of_dip(d) - level for d in dips(Gauges(Item("", {"noise": 0.01}), 5), 20.0, range(4000))]
    assert statistics.fmean(found) == pytest.approx(0.0, abs=4 * 0.01 / 4000**0.5)
    assert statistics.stdev(found) == pytest.approx(0.01, rel=0.05)


def test_waves_stay_within_their_height() -> None:
    level = SUCTION.level(20.0)
    found = [abs(SUCTION.level_of_dip(d) - level) for d in dips(Gauges(Item("", {"ripple": 0.02}), 5), 20.0, range(500))]
    assert 0.018 < max(found) <= 0.02 + 1e-12


def test_a_gauge_stands_still_at_its_ends_and_reads_in_its_steps() -> None:
    gauges = Gauges(Item("", {"lowest": 0.5, "highest": 1.5, "step": IN / 4}), 1)
    for volume, level in ((SUCTION.volume(2.2), 1.5), (SUCTION.volume(0.1), 0.5), (SUCTION.volume(1.0), 1.0)):
        (dip,) = dips(gauges, volume, range(1))
        assert SUCTION.level_of_dip(dip) == pytest.approx(level, abs=IN / 8)


def test_a_stuck_gauge_keeps_what_it_read_and_a_drifting_one_goes_on() -> None:
    done = run('[[event]]\nkind = "stuck gauge"\nat = "30 min"\ntank = "Suction"\nlasts = "40 min"\n'
               '[[event]]\nkind = "drifting gauge"\nat = "30 min"\ntank = "Reserve 1"\nrate = "0.1 ft/h"\nway = "down"\n'
               '[[event]]\nkind = "transfer"\nat = "40 min"\nfrom = "Reserve 2"\nto = "Suction"\nvolume = "20 bbl"\n' + REST,
               start=OFF)
    suction = [r.dips["Suction"] for r in done.readings]
    assert len(set(suction[30:70])) == 1
    assert suction[70] != suction[69]
    reserve = [r.dips["Reserve 1"] for r in done.readings]
    assert reserve[30] - reserve[90] == pytest.approx(0.1 * 0.3048, rel=1e-9)   # an hour of it, gauged upward


def test_pulling_swabs_and_standing_still_holds() -> None:
    body = ('[well]\nswab = "100 psi"\nswab_at = "120 ft/min"\n[[work]]\ndoes = "trip out"\nto = "8800 ft"\nspeed = "120 ft/min"\n'
            'slips = "2 min"\nrefill_from = "Reserve 1"\n[[work]]\ndoes = "out of hole"\nfor = "1 h"\n'
            '[[event]]\nkind = "kick"\nat = "0 min"\nunder = "40 psi"\nflow = "0.6 bbl/min"\nflow_at = "60 psi"\nfluid = "water"\n'
            'weight = "10 lbm/gal[US]"\n')
    done = run(body, start=OFF)
    # 100 − 40 psi under while the pipe moves: 200 ft at 120 ft/min are 1.667 min at 0.6 bbl/min, and nothing else.
    assert done.well.came_m3 / BBL == pytest.approx(0.6 * 200 / 120, rel=1e-4)


def test_running_in_surges() -> None:
    body = ('[well]\nswab = "100 psi"\nswab_at = "120 ft/min"\n[[work]]\ndoes = "trip in"\nto = "8000 ft"\nspeed = "120 ft/min"\n'
            'float = "open"\nrefill_from = "Reserve 1"\n'
            '[[event]]\nkind = "loss"\nat = "0 min"\nover = "40 psi"\nflow = "0.6 bbl/min"\nflow_at = "60 psi"\n')
    done = run(body, start=OFF + '\nbit_depth = "7000 ft"')
    assert done.well.lost_m3 / BBL == pytest.approx(0.6 * 1000 / 120, rel=1e-3)


def test_the_crew_log_what_they_log_and_forget_what_they_forget() -> None:
    done = run('[[event]]\nkind = "transfer"\nat = "10 min"\nfrom = "Reserve 1"\nto = "Suction"\nvolume = "24 bbl"\nover = "12 min"\n'
               'logged_volume = "20 bbl"\n'
               '[[event]]\nkind = "dump"\nat = "40 min"\nfrom = "Suction"\nvolume = "9 bbl"\nlogged = false\n'
               '[[event]]\nkind = "inflow"\nat = "50 min"\nrate = "3 bbl/h"\nlasts = "20 min"\nwhat = "rain"\n' + REST, start=OFF)
    logged = {e.kind: e for e in done.entries}
    assert logged["transfer"].values["volume"] == pytest.approx(20 * BBL)
    assert logged["transfer"].end_ms == done.begin_ms + 22 * MINUTE
    assert "discard" not in logged
    assert [e.values["state"] for e in done.entries if e.kind == "rate in force"] == ["on", "off"]
    assert done.pits.in_m3 / BBL == pytest.approx(1.0)
    assert any("(not logged)" in t.event for t in done.truths)


def test_pumps_spin_up_and_the_flow_line_lags_and_both_are_over_after_a_while() -> None:
    body = '[well]\nspin_up = "30 s"\nreturn_lag = "20 s"\n[[work]]\ndoes = "circulating"\nflow = "600 gal[US]/min"\nfor = "1 h"\n'
    plain = session(body.split("[[work]]")[1].join(["[[work]]", ""]), start=OFF)
    late = session(body, start=OFF)
    for each in (plain, late):
        each.advance(30_000)
    assert late.pits.volumes["Suction"] < plain.pits.volumes["Suction"]
    for each in (plain, late):
        each.advance(HOUR)
    on_its_way = late.pits.transit_m3
    assert on_its_way == pytest.approx(600 * 0.003785411784 / 60 * 20, rel=1e-6)
    assert plain.pits.volumes["Suction"] - late.pits.volumes["Suction"] == pytest.approx(on_its_way, abs=1e-9)
