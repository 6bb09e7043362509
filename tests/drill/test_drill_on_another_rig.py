"""The scenarios on a second invented rig: other tanks, metres, a decimal comma. They run, warn, and are told right."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dipbook import checking, debriefing, practising
from dipbook.drill import set_up
from dipbook.drill.scenario_file import parse
from dipbook.errors import DipbookError, ScenarioFileError
from dipbook.rig import document

RIG = Path(__file__).with_name("rig-tamarisk.toml")
DEMO = Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml"
NOT_ON_IT = {"degasser-started": "isn't equipment of the rig", "surge-trip-in": "the rig has 1 tank with the role reserve",
             "wrong-line-up": "the rig has 1 tank with the role reserve"}


def done(tmp_path: Path, name: str, seed: int = 3) -> tuple[practising.Done, Path]:
    made = practising.run(practising.find(name), seed, RIG)
    practising.write(made, tmp_path / name)
    return made, tmp_path / name


@pytest.mark.parametrize("path", practising.scenarios(), ids=lambda p: p.stem)
def test_every_scenario_runs_on_it_or_says_why_not(path: Path) -> None:
    if path.stem in NOT_ON_IT:
        with pytest.raises(ScenarioFileError, match=NOT_ON_IT[path.stem]):
            practising.load(path, RIG)
        return
    scenario, doc = practising.load(path, RIG)
    session = set_up(scenario, 1, doc.rig)
    session.advance(30 * 60_000)
    assert abs(session.well.gap_m3) < 1e-9


def test_a_kick_is_warned_of_and_told_right(tmp_path: Path) -> None:
    made, folder = done(tmp_path, "kick-drilling-slow")
    told, rig = debriefing.of_folder(folder)
    (seen,) = told.seeable
    came = np.array([t.influx_m3 for t in made.session.truths])
    assert came[-1] > 1.0
    # the first warning of a gain sounds at the first reading at or beyond what the rig's own limit is, and after the sign
    warned = {w.name: w.learned for w in seen.warned}
    assert set(warned) == {"gain, active", "gain, all tanks"}
    assert all(t > seen.sign.from_ms for t in warned.values())
    for beyond in seen.passed:
        assert beyond.limit.value == pytest.approx(0.9)             # m3, by a decimal comma
        assert beyond.value >= 0.9
        assert warned[beyond.limit.name] >= beyond.t_ms
    # before it the difference stays within what gauges may be wrong by, and at the end it is what the well gave
    quiet = told.shown.t_ms < seen.sign.from_ms
    at_rest = np.nanmedian(np.abs(told.shown.difference_m3[quiet]))
    assert at_rest < 0.1
    given = np.interp(told.shown.t_ms[-1], told.truth.t_ms, told.truth.surface_m3)
    assert told.shown.difference_m3[-1] == pytest.approx(given, abs=3 * told.shown.u_m3[-1] + 0.05)
    assert rig.units["volume"] == "m3"


def test_nothing_at_all_warns_of_nothing(tmp_path: Path) -> None:
    _, folder = done(tmp_path, "nothing")
    checked = checking.check(folder / "rig.toml", folder / "readings.csv", folder / "entries.csv")
    assert [w for w in checked.warnings if w.event == "ACT"] == []


def test_a_place_by_its_role_and_a_sign_of_its_own() -> None:
    rig = document.read(RIG).rig
    text = practising.find("unlogged-transfer").read_text(encoding="utf-8")
    found = parse(text, "x.toml", rig).scenario
    assert found is not None
    (event,) = found.events
    assert (event.word("from"), event.word("to")) == ("Store A", "Tapping tank")
    demo = parse(text, "x.toml", document.read(DEMO).rig).scenario
    assert demo is not None
    assert (demo.events[0].word("from"), demo.events[0].word("to")) == ("Reserve 1", "Suction")
    second = parse(text.replace("role: reserve", "role: reserve 2"), "x.toml", document.read(DEMO).rig).scenario
    assert second is not None
    assert second.events[0].word("from") == "Reserve 2"
    for wrong, says in (("role: sump", "names no role of a tank"), ("role: reserve 0", "names no role of a tank"),
                        ("role: reserve 9", "isn't there: the rig has 1 tank")):
        (finding,) = parse(text.replace("role: reserve", wrong), "x.toml", rig).findings
        assert says in finding.what
    bare = text.replace('decimal = "."', 'decimal = ";"')
    assert any("decimal" in f.what for f in parse(bare, "x.toml", rig).findings)
    without = "\n".join(line for line in text.splitlines() if not line.startswith("decimal"))
    assert any("decimal comma" in f.what for f in parse(without, "x.toml", rig).findings)
    assert not parse(without, "x.toml", document.read(DEMO).rig).findings


def test_a_rig_without_pipe_is_refused_in_words(tmp_path: Path) -> None:
    text = RIG.read_text(encoding="utf-8")
    start, end = text.index("[pipe]"), text.index("[drain_back]")
    (tmp_path / "bare.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    with pytest.raises(DipbookError, match=r"needs a rig file with \[pipe\]"):
        practising.run(practising.find("nothing"), 1, tmp_path / "bare.toml")
