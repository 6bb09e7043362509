"""A stuck gauge and a gain on the real desk: the warning first, then the words on it, on its tank and on the page."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from app.real_desks import GAIN, MIN, NOW, Hands, bench, make_log, rig_text
from builders import BBL
from dipbook import store
from dipbook.records import Block, Draft
from dipbook.rig import document
from dipbook.rig.writing import same_limit
from dipbook.situation import Situation
from dipbook_app import sentences
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.limit_texts import read_limit, texts_of_limit
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

SUSPECT = """
[[limit]]
name = "gauges"
kind = "suspect"
on = "active"
after = "2 min"
shelve = "30 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""
pytestmark = pytest.mark.usefixtures("qapp")


def samples(minutes: int, gain_from: int, stuck_from: int | None) -> Draft:
    """Sensors of both active tanks, a value each 5 s; 1 bbl/min in each from a minute on, and Settling's stops."""
    t = np.arange(minutes * 12) * 5000
    rise = np.maximum(t / MIN - gain_from, 0.0)
    v = np.round(200 + np.random.default_rng(4).normal(0, 0.2, (2, len(t))) + rise, 1)
    if stuck_from is not None:
        v[0, stuck_from * 12:] = v[0, stuck_from * 12]
    start = NOW - minutes * MIN
    return Draft("samples", start, start + int(t[-1]), author="Test", blocks=tuple(
        Block(f"tank:{name}:volume", start + t, row * BBL) for name, row in zip(("Settling", "Suction"), v, strict=True)))


@pytest.mark.parametrize(("stuck_from", "words"), [(80, ["not moving"]), (None, [])])
def test_the_warning_is_shown_first_and_the_doubt_follows(tmp_path: Path, qtbot, stuck_from: int | None,
                                                          words: list[str]) -> None:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 180 * MIN)
    with bench(path, Hands()) as b:
        records = b.desk._append([samples(120, 90, stuck_from)])
        b.desk._learned(records)
        assert b.states() == {"gain": "raised"}
        assert b.warnings[0].doubts == ()
        assert b.desk._look.isActive(), "the look at the gauges comes after the warning"
        before = b.warnings[0]
        b.desk._look.timeout.emit()
        after = b.warnings[0]
        assert [d.brief for d in after.doubts if d.tank] == words
        assert [d.brief for t in b.situation.tanks if t.name == "Settling" for d in t.doubts] == words
        assert (after.state, after.sounding, after.value, after.raised_ms) == (
            before.state, before.sounding, before.value, before.raised_ms)
        said = sentences.gauges(b.situation, DisplayUnits(b.situation.rig))
        assert ("Settling hasn't moved" in said) == bool(words)
        assert [x.note for x in b.situation.board if x.name == "Settling"] == [", ".join(f"? {w}" for w in words)]


def test_the_strip_says_by_how_much_a_gain_may_read_low(tmp_path: Path, qtbot) -> None:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 180 * MIN)
    with store.open(path, station="test") as log:
        log.append([samples(120, 90, 80)])
    program = Program(PreferencesFile(tmp_path / "preferences.json"), Hands().clock())
    qtbot.addWidget(program.window)
    assert program.open_log(path)
    s: Situation = program.desk.situation
    value = s.warnings[0].value
    line = program.window.strip.readings()[1]
    assert f"? Settling not moving, may read low by 50 % (then {2 * value / BBL:.1f} bbl). Gain {value / BBL:.1f} bbl" in line
    program.close_log()


def test_a_limit_on_gauges_goes_through_its_form_and_the_file_and_comes_back_the_same(tmp_path: Path) -> None:
    text = rig_text(GAIN, SUSPECT)
    rig = document.parse(text, "rig").rig
    (limit,) = [x for x in rig.limits if x.kind == "suspect"]
    assert (limit.watched, limit.value, limit.value_is, limit.after_ms, limit.shelve_ms) == (True, 1.0, "count", 120_000, 1_800_000)
    texts = {k: v for k, v in texts_of_limit(limit, rig).items() if v}
    again, found = read_limit({**texts, "by": limit.set_by, "why": limit.reason}, rig, since=limit.since)
    assert found == ()
    assert again is not None
    assert same_limit(limit, again)
    without = document.with_limits(text, tuple(x for x in rig.limits if x is not limit))
    whole = document.with_limits(without, rig.limits)
    (written,) = [x for x in document.parse(whole, "rig").rig.limits if x.kind == "suspect"]
    assert same_limit(limit, written)
    assert "value =" not in whole[whole.index('"suspect"'):]
