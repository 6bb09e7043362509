"""With everything switched off the well does what the books take for granted, for twelve hours, in every activity.

Two ways to the same volumes: the drill moves a well through time in small steps, the books work out terms from the
entries. Where they meet within one standard uncertainty of the gauging at all readings, neither has a volume that the
other hasn't.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from drilled import HOUR, checked, run

from dipbook import balance

TEN_MINUTES = '[gauges]\nevery = "10 min"\n'
ON_TRIP = 'hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"'
OFF = 'hole_depth = "9000 ft"\nmud = "10 lbm/gal[US]"\nflow = "0 gal[US]/min"'
LATER = '[[work]]\ndoes = "out of hole"\nfor = "12 h"\n'

WORK = {
    "drilling": ('[[work]]\ndoes = "drilling"\nfor = "12 h"\nrate = "70 ft/h"\nconnection = "6 min"\n', ""),
    "fast drilling": ('[[work]]\ndoes = "drilling"\nfor = "12 h"\nrate = "100 ft/h"\nflow = "950 gal[US]/min"\n[tanks]\nSuction = "215 bbl"\n', ""),
    "circulating": ('[[work]]\ndoes = "circulating"\nfor = "4 h"\n[[work]]\ndoes = "circulating"\nfor = "4 h"\n'
                    'flow = "500 gal[US]/min"\n[[work]]\ndoes = "circulating"\nfor = "4 h"\nflow = "900 gal[US]/min"\n', ""),
    "static": ('[[work]]\ndoes = "static"\nfor = "12 h"\n', ""),
    "mixing": ('[[work]]\ndoes = "mixing"\nfor = "12 h"\n'
               '[[event]]\nkind = "addition"\nat = "1 h"\nto = "Suction"\nmass = "20000 lbm"\ndensity = "35 lbm/gal[US]"\n'
               'over = "47 min"\n'
               '[[event]]\nkind = "transfer"\nat = "3 h"\nfrom = "Reserve 1"\nto = "Suction"\nvolume = "24 bbl"\nover = "12 min"\n'
               '[[event]]\nkind = "dump"\nat = "5 h"\nfrom = "Suction"\nvolume = "15 bbl"\nover = "9 min"\n'
               '[[event]]\nkind = "outflow"\nat = "6 h"\nrate = "2 bbl/h"\nlasts = "3 h"\n'
               '[[event]]\nkind = "inflow"\nat = "7 h"\nto = "Suction"\nrate = "3 bbl/h"\n'
               '[[event]]\nkind = "equipment"\nat = "8 h"\nname = "Degasser unit"\n', ""),
    "pulled dry": ('[[work]]\ndoes = "trip out"\nto = "0 ft"\nspeed = "120 ft/min"\nrefill_from = "Reserve 1"\n' + LATER,
                   OFF),
    "pulled wet": ('[[work]]\ndoes = "trip out"\nto = "6000 ft"\nspeed = "120 ft/min"\npulled = "wet"\n'
                   'refill_from = "Reserve 1"\n' + LATER, OFF),
    "bucket": ('[[work]]\ndoes = "trip out"\nto = "6000 ft"\nspeed = "120 ft/min"\npulled = "bucket"\nreturned = 0.8\n'
               'refill_from = "Reserve 1"\n' + LATER, OFF),
    "run in open": ('[[work]]\ndoes = "trip in"\nto = "9000 ft"\nspeed = "90 ft/min"\nfloat = "open"\n'
                    'refill_from = "Reserve 2"\n[[work]]\ndoes = "circulating"\nfor = "8 h"\nflow = "600 gal[US]/min"\n',
                    OFF + '\nbit_depth = "1200 ft"'),
    "run in closed": ('[[work]]\ndoes = "trip in"\nto = "3500 ft"\nspeed = "90 ft/min"\nfloat = "closed"\n'
                      'refill_from = "Reserve 2"\n[[work]]\ndoes = "circulating"\nfor = "8 h"\nflow = "600 gal[US]/min"\n',
                      OFF + '\nbit_depth = "1200 ft"'),
    "slug, then out": ('[[work]]\ndoes = "slug"\nfrom = "Slug"\nvolume = "20 bbl"\ndensity = "12 lbm/gal[US]"\n'
                       'flow = "210 gal[US]/min"\nreturn = "10 min"\n'
                       '[[work]]\ndoes = "trip out"\nto = "0 ft"\nspeed = "120 ft/min"\nrefill_from = "Reserve 1"\n' + LATER,
                       ON_TRIP),
}


@pytest.mark.parametrize("activity", list(WORK))
def test_the_watch_and_a_well_that_obeys_it_agree_for_twelve_hours(activity: str, tmp_path: Path) -> None:
    body, start = WORK[activity]
    done = run('[well]\nfalls_in = "1 s"\n' + TEN_MINUTES + body, start=start)
    assert done.over_ms is not None
    assert done.over_ms >= 8 * HOUR
    found = checked(done, tmp_path)
    times = found.active.t_ms
    names, _ = balance.watched(found.books, times)
    assert len(times) >= 50
    for name in {"active", "all surface", *names} - {balance.NOT_WATCHED}:
        b = balance.at(found.books, times, name)
        still = ~_just_changed(found, times)
        known = np.isfinite(b.difference_m3) & still
        assert known.sum() >= 0.8 * still.sum(), f"{name} isn't known"
        over = np.abs(b.difference_m3[known]) - b.u_m3[known]
        worst = int(np.argmax(over))
        assert over[worst] <= 1e-9, (f"{name}: {b.difference_m3[known][worst]:.3f} m3 of ± {b.u_m3[known][worst]:.3f} "
                                     f"{(times[known][worst] - done.begin_ms) / 3.6e6:.2f} h after the start")


def _just_changed(found: object, times: np.ndarray) -> np.ndarray:
    """Nothing is left out but where a reading falls into the ten minutes in which a slug falls."""
    out = np.zeros(times.shape, dtype=bool)
    for r in found.books.eff.records:  # type: ignore[attr-defined]
        if r.kind == "slug":
            out |= (times > r.payload["end_ms"]) & (times < r.payload["end_ms"] + 600_000)
    return out


def test_a_wider_hole_than_the_rig_file_has_leaves_the_uncertainty(tmp_path: Path) -> None:
    # The test above can fail: 10 % more rock carried off is 10 % of what came up, and reads as a loss.
    body, _ = WORK["drilling"]
    done = run('[well]\nwashout = 0.1\n' + TEN_MINUTES + body)
    found = checked(done, tmp_path)
    last = float(found.active.difference_m3[-1])
    assert last == pytest.approx(-done.well.cuttings.up_m3 * 0.1 / 1.1, abs=0.02)
    assert abs(last) > 3.0 * float(found.active.u_m3[-1])


def test_the_drill_uses_none_of_the_rooms_that_it_is_held_against() -> None:
    room = Path(__file__).parents[2] / "core" / "dipbook" / "drill"
    text = "".join(path.read_text(encoding="utf-8") for path in room.glob("*.py"))
    for other in ("terms", "books", "balance", "watch", "observations", "flowback"):
        assert f"dipbook.{other}" not in text
        assert f"import {other}" not in text
