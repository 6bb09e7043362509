"""The trip that docs/trips.md works by hand, number for number, and the demo trips against what their maker put in."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from builders import BBL, FT, IN
from dipbook import tripping
from dipbook.tanks.shapes import Box
from dipbook.tanks.tank import Tank
from dipbook.trips import Row, Way, allowed, drop, expected, pressure, sheet
from dipbook.well import Part, String

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_data"
d, c = 0.00759 * BBL / FT, 0.01776 * BBL / FT
PIPE = String((Part("collars", "collar", 0.0545 * BBL / FT, 0.0077 * BBL / FT, 600 * FT), Part("pipe", "drill pipe", d, c)))
TANK = Tank("Trip", "trip", False, 1, Box(BBL / IN, 1.0, 4.0), dip_error_m=IN / 8)
PPG = 119.826427


def test_the_sheet_of_the_page() -> None:
    rows = [Row(t * 60_000, kind, stand, bit * FT, {"Trip": inches * IN}) for t, kind, stand, bit, inches in (
        (0, "stand", 0, 9000, 100), (4, "stand", 1, 8907, 99.25), (8, "stand", 2, 8814, 98.75),
        (12, "refill", 2, 8814, 110), (16, "stand", 3, 8721, 109.25))]
    lines, findings = sheet(rows, PIPE, Way(), {"Trip": TANK}, stand_m=93 * FT)
    got = [tuple(round(x / BBL, 3) for x in (n.expected_m3, n.actual_m3, n.difference_m3, n.cumulative_m3, n.u_m3,
                                             n.cumulative_u_m3)) for n in lines]
    assert got == [(0.706, 0.750, -0.044, -0.044, 0.102, 0.102), (0.706, 0.500, 0.206, 0.162, 0.102, 0.102),
                   (0.706, 0.750, -0.044, 0.118, 0.102, 0.144)]
    assert findings == ()
    page = (ROOT / "docs/trips.md").read_text(encoding="utf-8")
    for n, row in enumerate(got, 1):
        said = next(line for line in page.splitlines() if line.startswith(f"| stand {n} | 0."))
        cells = [cell.strip().replace("−", "-") for cell in said.strip("|").split("|")][1:]
        assert [float(cell) for cell in cells] == list(row)


@pytest.mark.parametrize(("way", "bbl"), [(Way("dry"), 0.706), (Way("wet"), 2.358), (Way("bucket", returned=0.8), 1.036)])
def test_a_stand_pulled_dry_wet_and_with_a_bucket(way: Way, bbl: float) -> None:
    assert expected(PIPE, 9000 * FT, 8907 * FT, way).mean_m3 / BBL == pytest.approx(bbl, abs=5e-4)


def test_what_five_stands_lose_unfilled() -> None:
    inside = 0.0758 * BBL / FT
    fall = drop(5 * 93 * FT * d, inside, d)
    assert fall / FT == pytest.approx(51.7, abs=0.05)
    assert pressure(fall, 12 * PPG) / 6894.757 == pytest.approx(32.2, abs=0.1)
    assert allowed(93 * FT, d, inside, 12 * PPG).stands == 5


@pytest.mark.parametrize(("name", "bbl"), [("clean", 0.0), ("swabbed", 4.0)])
def test_the_demo_trips_show_what_was_put_in(name: str, bbl: float) -> None:
    done = tripping.run(DEMO / "rig-larkspur-trips.toml", DEMO / f"larkspur-trip-{name}.csv", pulled="dry")
    last = done.lines[-1]
    assert last.cumulative_m3 / BBL == pytest.approx(bbl, abs=2 * last.cumulative_u_m3 / BBL)
    assert last.stand == 104
    assert [r.limit.kind for r in done.raised] == ([] if name == "clean" else ["trip_last_n", "trip_total"])
    assert [r.line.stand for r in done.raised] == ([] if name == "clean" else [24, 28])


def test_the_demo_s_trip_in_is_clean_with_its_emptied_tank_and_filled_pipe() -> None:
    """Steel, heavy-weight and collars of the file's own sum, on a closed float, the pipe filled from a reserve tank."""
    done = tripping.run(DEMO / "rig-larkspur.toml", DEMO / "larkspur-trip-in.csv", running="closed")
    last = done.lines[-1]
    assert last.cumulative_m3 / BBL == pytest.approx(0.0, abs=2 * last.cumulative_u_m3 / BBL + 0.05)
    assert done.raised == ()
    assert done.findings == ()


def test_the_demo_files_are_what_their_maker_makes(tmp_path: Path) -> None:
    made = subprocess.run([sys.executable, "-c", "import runpy, sys; m = runpy.run_path(sys.argv[1]);"
                           "import json; print(json.dumps([m['trip']('clean'), m['trip']('swabbed'), m['trip_in']()]))",
                           str(DEMO / "make_trips.py")], capture_output=True, text=True, check=True)
    for name, rows in zip(("clean", "swabbed", "in"), json.loads(made.stdout), strict=True):
        text = (DEMO / f"larkspur-trip-{name}.csv").read_text(encoding="utf-8").splitlines()[1:]
        assert [line.split(",")[:6] for line in text] == [row[:6] for row in rows]


def test_what_is_to_be_posted_for_each_kind_of_pipe() -> None:
    """12.415 in casing holds 0.14973 bbl/ft, mud of 12 lb/gal 0.62338 psi/ft. Pipe dry: 75 (0.14973 − 0.00759)/(0.62338 ×
    0.00759) = 2253 ft, 24 stands: five are the smaller, 3.53 bbl. Collars dry: 75 × 0.09523/(0.62338 × 0.0545) = 210 ft,
    two stands of 93 ft, 10.1 bbl. Wet collars of 0.0622 bbl/ft: 169 ft, one stand, 5.78 bbl."""
    done = tripping.run(DEMO / "rig-larkspur-trips.toml", DEMO / "larkspur-trip-clean.csv", pulled="dry", mud="12 lb/gal")
    said = {p.name: (p.reference.stands, round(p.reference.volume_m3 / BBL, 2), p.reference.by) for p in done.posted}
    assert said["drill pipe"] == (5, 3.53, "the number of stands")
    assert said["collars"] == (2, 10.14, "the pressure")
    wet = tripping.run(DEMO / "rig-larkspur-trips.toml", DEMO / "larkspur-trip-clean.csv", pulled="wet", mud="12 lb/gal")
    assert {p.name: p.reference.stands for p in wet.posted}["collars"] == 1
    bucket = tripping.run(DEMO / "rig-larkspur-trips.toml", DEMO / "larkspur-trip-clean.csv", pulled="bucket", returned=0.8,
                          mud="12 lb/gal")
    assert bucket.posted == wet.posted, "what the bucket gives back goes to the trip tank, not into the hole"
    (line,) = [text for text in tripping.text_lines(done) if "collars: 2" in text]
    # 10.14/0.09523 is 106 ft, of 0.62338 psi/ft 66 psi.
    assert line == ("Between two fills, collars: 2 stands, 10.14 bbl; unfilled the level falls 106 ft and 66 psi are lost. By the "
                    "pressure of 30 CFR 250.456(c), a reference: the rig's own rule goes first.")
    unsaid = tripping.run(DEMO / "rig-larkspur-trips.toml", DEMO / "larkspur-trip-clean.csv", pulled="dry")
    assert unsaid.posted == ()
