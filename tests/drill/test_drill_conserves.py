"""Whatever is done to the well, its volumes add up to rounding, and the same seed gives the same drill."""

from __future__ import annotations

from pathlib import Path

import pytest
from drilled import MINUTE, RIG, session
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import practising

ROUNDING_M3 = 1e-8
"""A hundredth of a millilitre, of some 200 m³ in some thousand steps."""

WORK = st.sampled_from((
    '[[work]]\ndoes = "drilling"\nfor = "50 min"\nrate = "140 ft/h"\nfilling = "45 s"\nconnection = "4 min"\n',
    '[[work]]\ndoes = "circulating"\nfor = "20 min"\nflow = "500 gal[US]/min"\n',
    '[[work]]\ndoes = "static"\nfor = "15 min"\n',
    '[[work]]\ndoes = "slug"\nfrom = "Slug"\nvolume = "15 bbl"\ndensity = "12.5 lbm/gal[US]"\nflow = "200 gal[US]/min"\n'
    'return = "6 min"\n[[work]]\ndoes = "trip out"\nto = "8600 ft"\nspeed = "120 ft/min"\nrefill_from = "Reserve 1"\n',
    '[[work]]\ndoes = "trip out"\nto = "8500 ft"\nspeed = "150 ft/min"\npulled = "wet"\nrefill_from = "Reserve 1"\n',
    '[[work]]\ndoes = "trip out"\nto = "8500 ft"\nspeed = "150 ft/min"\npulled = "bucket"\nreturned = 0.7\n'
    'refill_from = "Reserve 1"\n[[work]]\ndoes = "trip in"\nto = "8900 ft"\nspeed = "90 ft/min"\nrefill_from = "Reserve 2"\n',
))
EVENT = st.sampled_from((
    'kind = "kick"\nover = "200 psi"\nflow = "1.5 bbl/min"\nflow_at = "100 psi"\nz = 0.9\nat_most = "25 bbl"\n',
    'kind = "kick"\nover = "180 psi"\nflow = "1 bbl/min"\nflow_at = "60 psi"\nout_below = "700 psi"\nat_most = "10 bbl"\n',
    'kind = "kick"\nunder = "20 psi"\nflow = "1 bbl/min"\nflow_at = "60 psi"\nfluid = "oil"\nweight = "6.5 lbm/gal[US]"\n'
    'at_most = "20 bbl"\n',
    'kind = "loss"\nunder = "120 psi"\nflow = "3 bbl/min"\nflow_at = "200 psi"\n',
    'kind = "ballooning"\nvolume = "10 bbl"\ntime = "4 min"\n',
    'kind = "transfer"\nfrom = "Reserve 1"\nto = "Suction"\nvolume = "18 bbl"\nover = "9 min"\nlogged = false\n',
    'kind = "dump"\nfrom = "Sand Trap"\nvolume = "9 bbl"\nover = "3 min"\n',
    'kind = "addition"\nto = "Suction"\nmass = "9000 lbm"\ndensity = "35 lbm/gal[US]"\nover = "11 min"\n',
    'kind = "inflow"\nrate = "9 bbl/h"\nlasts = "17 min"\n',
    'kind = "outflow"\nrate = "7 bbl/h"\n',
    'kind = "wrong valve"\nto = "Reserve 2"\nshare = 0.2\nlasts = "13 min"\n',
    'kind = "equipment"\nname = "Degasser unit"\n',
))


@settings(max_examples=25)
@given(work=st.lists(WORK, min_size=1, max_size=3),
       events=st.lists(st.tuples(EVENT, st.integers(0, 50)), max_size=4), step_ms=st.sampled_from((700, 5000, 20_000)),
       stop=st.none() | st.tuples(st.integers(5, 60), st.booleans()))
def test_volumes_add_up_whatever_happens(work: list[str], events: list[tuple[str, int]], step_ms: int,
                                         stop: tuple[int, bool] | None) -> None:
    body = ('[well]\nfriction = "140 psi"\nspin_up = "20 s"\nreturn_lag = "9 s"\ngas_slip = "60 ft/min"\nswab = "90 psi"\n'
            'washout = 0.1\n' + "".join(work) + "".join(f'[[event]]\nat = "{at} min"\n{e}' for e, at in events))
    done = session(body, start='hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"', step_ms=step_ms)
    if stop is not None:
        done.advance(stop[0] * MINUTE)
        done.shut_in() if stop[1] else done.flow_check()
        done.advance(done.now_ms + 20 * MINUTE)
        done.go_on()
    done.advance(max(done.now_ms, 3 * 60 * MINUTE), to_the_end=True)
    assert done.well.gap_m3 < ROUNDING_M3
    assert min(done.pits.volumes.values()) >= 0.0
    assert done.well.around_m3 > 0.0
    gone = done.pits.gone_m3 - done.pits.in_m3
    assert gone < done.well.began_m3            # no more mud leaves than there was


def test_a_flow_check_stops_the_pumps_and_the_influx_goes_on_and_a_shut_in_ends_it() -> None:
    body = ('[[work]]\ndoes = "circulating"\nfor = "2 h"\n[[event]]\nkind = "kick"\nat = "10 min"\nover = "60 psi"\n'
            'flow = "1 bbl/min"\nflow_at = "60 psi"\n')
    done = session(body)
    done.advance(20 * MINUTE)
    done.flow_check()
    before = done.well.came_m3
    done.advance(25 * MINUTE)
    assert done.well.flow_m3_s == 0.0
    assert done.well.came_m3 > before > 0.0
    done.shut_in()
    held = done.well.came_m3
    done.advance(60 * MINUTE)
    assert done.well.came_m3 == held
    done.go_on()
    assert done.well.shut
    assert [e.kind for e in done.entries][-1] == "shut-in"


def test_after_a_flow_check_the_crew_go_on_where_they_were() -> None:
    body = '[[work]]\ndoes = "drilling"\nfor = "2 h"\nrate = "60 ft/h"\n'
    done = session(body)
    done.advance(20 * MINUTE)
    hole = done.well.hole_m
    done.flow_check()
    done.advance(30 * MINUTE)
    assert done.well.hole_m == hole
    done.go_on()
    done.advance(50 * MINUTE)
    assert done.well.flow_m3_s > 0.0
    assert done.well.hole_m > hole


@pytest.mark.parametrize("path", practising.scenarios(), ids=lambda p: p.stem)
def test_the_same_seed_gives_the_same_files_and_another_one_others(path: Path, tmp_path: Path) -> None:
    def files(seed: int, to: str) -> dict[str, bytes]:
        done = practising.run(path, seed, RIG)
        assert done.session.well.gap_m3 < ROUNDING_M3
        return {p.name: p.read_bytes() for p in practising.write(done, tmp_path / to)}

    one = files(7, "one")
    assert one == files(7, "again")
    assert one["readings.csv"] != files(8, "other")["readings.csv"]
    assert set(practising.FILES) <= set(one)
    assert all(data.startswith(b"# INVENTED") for data in one.values())


@pytest.mark.parametrize("seed", range(6))
def test_a_kick_that_nobody_stops_ends_the_drill_before_the_well_unloads(seed: int) -> None:
    done = practising.run(practising.find("kick-drilling-fast"), seed, RIG).session
    assert "unloads" in done.ended or "ran empty" in done.ended
    assert done.pits.gone_m3 < done.well.began_m3
    assert done.well.around_m3 > 0.0
    assert done.truths[-1].event == done.ended


def test_two_formations_that_flow_at_once_have_a_parcel_each_and_not_one_a_step() -> None:
    kick = '[[event]]\nkind = "kick"\nat = "5 min"\nover = "60 psi"\nflow = "1 bbl/min"\nflow_at = "60 psi"\nfluid = "water"\n' \
           'weight = "8.6 lbm/gal[US]"\n'
    done = session('[[work]]\ndoes = "circulating"\nfor = "1 h"\n' + kick + kick.replace("60 psi\"\nflow =", "70 psi\"\nflow ="))
    done.advance(35 * MINUTE)
    assert 0 < len(done.well.column.parcels) <= 2 * 16      # one each two minutes, of either
    assert done.well.gap_m3 < ROUNDING_M3
