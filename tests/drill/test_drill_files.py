"""Scenario files: what is wrong is told with line, key and what was expected. And the files of a drill, end to end."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from drilled import RIG, demo_rig

from builders import BBL
from dipbook import checking, practising, tripping
from dipbook.drill.kinds import EVENTS, GAUGES, SET_BY, START, WELL, WORK, keys_of
from dipbook.drill.scenario import Range, drawn
from dipbook.drill.scenario_file import parse
from dipbook.errors import DrillError, RigFileError, ScenarioFileError

GOOD = """name = "A kick"
trains = "a test"
invented = true

[start]
hole_depth = "9000 ft"
mud = ["9.8 lbm/gal[US]", "10.2 lbm/gal[US]"]
flow = "800 gal[US]/min"

[[work]]
does = "drilling"
for = "2 h"
rate = "60 ft/h"

[[event]]
kind = "kick"
at = ["40 min", "80 min"]
over = "60 psi"
flow = "1 bbl/min"
flow_at = "60 psi"
"""


def told(text: str) -> list[str]:
    found = parse(text, "mine.toml", demo_rig())
    assert (found.scenario is None) == bool(found.findings)
    return [f"{f.where}: {f.what}" for f in found.findings]


def test_a_good_one_has_nothing_to_tell() -> None:
    assert told(GOOD) == []


@pytest.mark.parametrize(("old", "new", "says"), [
    ('flow_at = "60 psi"', 'flow_at = "60 furlongs"', r"mine.toml, line 20: event row 1\.flow_at: .*furlongs.*"),
    ('flow_at = "60 psi"', "", r"line 15: event row 1\.flow_at: is missing; expected for that flow"),
    ('at = ["40 min", "80 min"]', 'at = ["80 min", "40 min"]', r'line 17: event row 1\.at: goes from "80 min" down to "40 min"; expected the lower first'),
    ('at = ["40 min", "80 min"]', 'at = ["80 min"]', r"line 17: event row 1\.at: isn't a range; expected two values"),
    ('at = ["40 min", "80 min"]', "", r"line 15: event row 1\.at: is missing; expected when it begins"),
    ('over = "60 psi"', 'over = "60 psi"\nunder = "5 psi"', r"line 19: event row 1\.under: stands beside over; expected one of the two"),
    ('over = "60 psi"\n', "", r'line 15: event row 1\.over: is missing; expected "over" or "under"'),
    ('kind = "kick"', 'kind = "kik"', r'line 16: event row 1\.kind: "kik" isn\'t a kind of event; expected .*did you mean "kick"'),
    ('does = "drilling"', 'does = "drilling"\nrates = 3', r'line 12: work row 1\.rates: isn\'t a key of the scenario file here; did you mean "rate"'),
    ('for = "2 h"', "for = 2", r"line 12: work row 1\.for: 2 has no unit; expected a text with one"),
    ('rate = "60 ft/h"', 'rate = "-60 ft/h"', r"line 13: work row 1\.rate: .*below zero"),
    ('name = "A kick"', "", r"line 1: name: is missing; expected what the scenario is called"),
    ('hole_depth = "9000 ft"', 'hole_depth = "9000"', r"line 6: start\.hole_depth: |"),
    ("[[work]]", "[work]", r"line 10: work: isn't a row of tables"),
    ('flow = "1 bbl/min"', 'flow = "1 bbl/min"\nfluid = "water"', r"line 15: event row 1\.weight: is missing; expected that of the oil or water"),
    ('[[event]]', '[target]\nwithin = "5 min"\n[[event]]', r"line 15: target\.set_by: is missing; a target says who set it"),
    ('[[event]]', '[tanks]\nSuction = "900 bbl"\n[[event]]', r"line 16: tanks\.Suction: is more than the tank holds"),
    ('[[event]]', '[tanks]\nSuctoin = "90 bbl"\n[[event]]', r'line 16: tanks\.Suctoin: isn\'t a key .*did you mean "Suction"'),
    ('kind = "kick"', 'kind = kick', r"mine.toml, line 16: this isn't TOML"),
])
def test_what_is_wrong_is_told_with_its_line_its_key_and_what_was_expected(old: str, new: str, says: str) -> None:
    assert old in GOOD
    found = told(GOOD.replace(old, new, 1))
    if says.endswith("|"):          # a bare number takes the rig's unit, in quotes as without: nothing is wrong
        assert found == []
        return
    assert any(re.search(says, line) for line in found), found


def test_all_that_is_wrong_is_told_at_once_in_the_order_of_the_lines() -> None:
    found = parse(GOOD.replace("2 h", "two hours").replace('"60 psi"', '"x"').replace("800", "-8"), "mine.toml", demo_rig())
    lines = [f.line or 0 for f in found.findings]
    assert len(lines) == 4
    assert lines == sorted(lines)


def test_a_scenario_of_another_tank_equipment_or_file_is_refused(tmp_path: Path) -> None:
    assert "a tank of the rig" in told(GOOD + '[[event]]\nkind = "dump"\nat = "1 h"\nfrom = "Pit 9"\nvolume = "3 bbl"\n')[0]
    assert "isn't equipment of the rig" in told(GOOD + '[[event]]\nkind = "equipment"\nat = "1 h"\nname = "Mixer"\n')[0]
    with pytest.raises(ScenarioFileError, match="can't be opened"):
        practising.run(tmp_path / "no.toml", 1, RIG)
    with pytest.raises(ScenarioFileError, match=r"There is no scenario called nix\. There are: ballooning"):
        practising.find("nix")
    (tmp_path / "latin.toml").write_bytes(b'name = "x"\ntrains = "\xe9"\n')
    with pytest.raises(ScenarioFileError, match="line 2: isn't UTF-8"):
        practising.run(tmp_path / "latin.toml", 1, RIG)


def test_an_instructors_own_scenario_runs_with_a_rig_beside_it(tmp_path: Path) -> None:
    (tmp_path / "our-rig.toml").write_bytes(RIG.read_bytes())
    mine = practising.copy_example("nothing", tmp_path / "mine.toml")
    mine.write_text(mine.read_text(encoding="utf-8").replace("invented = true", 'invented = true\nrig = "our-rig.toml"', 1),
                    encoding="utf-8")
    assert practising.run(mine, 3, Path("nowhere.toml")).session.over_ms is not None
    assert mine in practising.scenarios(tmp_path)
    with pytest.raises(DrillError, match="is there already"):
        practising.copy_example("nothing", mine)
    (tmp_path / "our-rig.toml").unlink()
    with pytest.raises(RigFileError):
        practising.run(mine, 3, RIG)


def test_the_seed_draws_within_the_ranges_and_each_key_by_itself() -> None:
    scenario = parse(GOOD, "mine.toml", demo_rig()).scenario
    more = parse(GOOD.replace('over = "60 psi"', 'over = ["60 psi", "90 psi"]'), "mine.toml", demo_rig()).scenario
    assert scenario is not None
    assert more is not None
    at = scenario.events[0].values["at"]
    assert isinstance(at, Range)
    found = [drawn(scenario, seed).events[0].number("at") for seed in range(300)]
    assert min(found) >= at.low
    assert max(found) <= at.high
    assert max(found) - min(found) > 0.9 * (at.high - at.low)
    assert found[:9] == [drawn(more, seed).events[0].number("at") for seed in range(9)]     # another range moves no other draw


def test_there_are_the_scenarios_that_were_asked_for_and_each_says_what_it_trains() -> None:
    found = {path.stem: practising.load(path, RIG)[0] for path in practising.scenarios()}
    assert {"kick-drilling-fast", "kick-drilling-slow", "kick-connection", "swabbed-trip", "kick-out-of-hole", "gas-oil-base",
            "seepage", "partial-loss", "total-loss", "ballooning", "ballooning-look-alike", "unlogged-transfer",
            "wrong-line-up", "stuck-float", "forgotten-barite", "rain-and-wash-down", "nothing"} <= set(found)
    for name, scenario in found.items():
        assert len(scenario.trains) > 30, name
        ranges = [v for item in (*scenario.events, *scenario.work, scenario.start) for v in item.values.values()
                  if isinstance(v, Range)]
        assert ranges, name
    assert found["nothing"].signs == ()


def test_the_page_on_drills_describes_every_kind_and_key() -> None:
    page = (Path(__file__).parents[2] / "docs" / "drills.md").read_text(encoding="utf-8")
    for kind in (*WORK.values(), *EVENTS.values()):
        assert f"| `{kind.name}` |" in page, kind.name
        for key in kind.keys:
            assert f"`{key.name}`" in page, f"{kind.name}: {key.name}"
    for key in (*START, *WELL, *GAUGES, *SET_BY, *keys_of(EVENTS["kick"])):
        assert f"`{key.name}`" in page, key.name


# ---- end to end: what a drill writes, dipbook check reads, and finds ----

def run_and_check(name: str, seed: int, to: Path) -> tuple[practising.Done, checking.Checked]:
    done = practising.run(practising.find(name), seed, RIG)
    practising.write(done, to)
    return done, checking.check(to / "rig.toml", to / "readings.csv", to / "entries.csv")


@pytest.mark.parametrize("name", ["kick-drilling-fast", "kick-drilling-slow", "kick-connection", "kick-out-of-hole", "gas-oil-base",
                                  "swabbed-trip", "ballooning-look-alike"])
@pytest.mark.parametrize("seed", [1, 2])
def test_the_check_finds_the_kick_after_it_began_and_not_before(name: str, seed: int, tmp_path: Path) -> None:
    done, found = run_and_check(name, seed, tmp_path)
    (kick,) = [s for s in done.session.signs if s.kind == "gain"]
    raised = [w.time for w in found.warnings if w.state == "raised" and w.kind == "gain"]
    assert any(t >= kick.from_ms for t in raised)
    assert all(t >= kick.from_ms for t in raised)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_stuck_float_hides_the_kick_until_it_moves_again(seed: int, tmp_path: Path) -> None:
    done, found = run_and_check("stuck-float", seed, tmp_path)
    stuck = next(t.t_ms for t in done.session.truths if t.event == "stuck gauge: Suction")
    free = next(t.t_ms for t in done.session.truths if t.event == "stuck gauge ends")
    came = {t.t_ms: t.influx_m3 for t in done.session.truths}
    t, d = found.active.t_ms, found.active.difference_m3
    after = int((t >= free).argmax())
    assert stuck < done.session.signs[0].from_ms < free
    assert len({r.dips["Suction"] for r in done.session.readings if stuck <= r.t_ms < free}) == 1
    assert came[int(t[after])] > 3.0 * BBL
    assert d[after] == pytest.approx(came[int(t[after])], abs=3.0 * BBL)


@pytest.mark.parametrize("name", ["seepage", "partial-loss", "total-loss"])
def test_the_check_finds_the_loss(name: str, tmp_path: Path) -> None:
    done, found = run_and_check(name, 1, tmp_path)
    assert any(w.state == "raised" and w.kind == "loss" and w.time >= done.session.signs[0].from_ms for w in found.warnings)


def test_the_difference_is_the_influx_when_it_is_water_that_takes_its_own_room(tmp_path: Path) -> None:
    done, found = run_and_check("kick-drilling-slow", 1, tmp_path)
    truth = {t.t_ms: t.influx_m3 for t in done.session.truths}
    error = [(d - truth[t]) / BBL for t, d in zip(found.active.t_ms.tolist(), found.active.difference_m3.tolist(), strict=True)]
    assert abs(sorted(error)[len(error) // 2]) < 1.0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_nothing_at_all_the_check_raises_nothing(seed: int, tmp_path: Path) -> None:
    _, found = run_and_check("nothing", seed, tmp_path)
    assert [w for w in found.warnings if w.state == "raised"] == []
    assert [f.what for f in found.findings if f.severity == "error"] == []


def test_the_swabbed_trips_sheet_finds_it_too(tmp_path: Path) -> None:
    done, _ = run_and_check("swabbed-trip", 1, tmp_path)
    sheet = tripping.run(tmp_path / "rig.toml", tmp_path / "trip-out.csv", pulled="dry")
    assert sheet.exit_code == 1
    assert sheet.lines[-1].cumulative_m3 == pytest.approx(done.session.well.came_m3, abs=0.3 * BBL)


def test_the_truth_is_in_the_form_that_is_promised(tmp_path: Path) -> None:
    run_and_check("ballooning", 1, tmp_path)
    lines = (tmp_path / "truth.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(lines[1:]))
    assert lines[1].split(",")[:4] == ["time", "influx_m3", "loss_m3", "event"]
    assert any("ballooning" in r["event"] for r in rows)
    lost, back = float(rows[-1]["loss_m3"]), float(rows[-1]["returned_m3"])
    assert lost > back > 0.0            # two columns, never netted
    assert [float(r["loss_m3"]) for r in rows] == sorted(float(r["loss_m3"]) for r in rows)


def test_rounds_by_hand_have_a_time_for_each_dip(tmp_path: Path) -> None:
    text = GOOD.split("[[work]]")[0] + '[[work]]\ndoes = "circulating"\nfor = "2 h"\n' + '[gauges]\nevery = "30 min"\nwalk = "40 s"\nstep = "0.25 in"\n'
    (tmp_path / "hand.toml").write_text(text, encoding="utf-8")
    done = practising.run(tmp_path / "hand.toml", 1, RIG)
    practising.write(done, tmp_path / "out")
    found = checking.check(*(tmp_path / "out" / f for f in ("rig.toml", "readings.csv", "entries.csv")))
    assert int(found.active.t_ms[0]) - done.session.begin_ms == 8 * 40_000      # a round is taken at its last dip
    assert [n for n, at in done.session.readings[1].at_ms.items() if at == done.session.readings[1].t_ms] == ["Sand Trap"]
    assert not found.raised


def test_a_folder_with_anything_else_in_it_is_not_written_into(tmp_path: Path) -> None:
    done = practising.run(practising.find("nothing"), 1, RIG)
    (tmp_path / "night.dipbook").write_bytes(b"a log")
    with pytest.raises(DrillError, match="holds other things"):
        practising.write(done, tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["night.dipbook"]


def test_the_command_lists_and_runs_without_a_window(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from dipbook_app.cli import main
    assert main(["drill", "list"]) == 0
    listed = capsys.readouterr().out
    assert all(path.stem in listed for path in practising.scenarios())
    out = tmp_path / "out"
    assert main(["drill", "run", "kick-drilling-slow", "--seed", "1", "--out", str(out)]) == 0
    assert "Invented" in capsys.readouterr().out
    assert main(["check", str(out / "rig.toml"), str(out / "readings.csv"), "--entries", str(out / "entries.csv"), "--json"]) == 1
    summary = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert summary["warnings_raised"] >= 1
    assert main(["drill", "run", "nix", "--seed", "1", "--out", str(tmp_path / "no")]) == 2
    assert "There is no scenario called nix" in capsys.readouterr().err
    assert main(["drill", "copy", "nothing", str(tmp_path / "mine.toml")]) == 0


def test_the_example_on_the_page_runs(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "drills.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", page, re.DOTALL)
    assert example
    (tmp_path / "mine.toml").write_text(example[1], encoding="utf-8")
    assert [s.kind for s in practising.run(tmp_path / "mine.toml", 1, RIG).session.signs] == ["gain"]
