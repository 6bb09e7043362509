"""A limit on drift at the desk: set by its form, shown on the Watch page, warned of on the strip. Invented."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.real_desks import Hands, put_away
from dipbook import store
from dipbook.records import Draft
from dipbook_app.forms.limit_form import LimitForm
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from drift.drifting_logs import LIMIT, noise, pumps, ramp, samples, times
from ledgers import RIG, entry, rig_draft


def moved(d: Draft, by: int) -> Draft:
    payload = {k: v + by if k == "end_ms" and v is not None else v for k, v in d.payload.items()}
    return replace(d, t_ms=d.t_ms + by, learned_ms=d.learned_ms + by, payload=payload,
                   blocks=tuple(replace(b, t_ms=b.t_ms + by) for b in d.blocks))


def opened(tmp_path: Path, kick: float, limit: str, *, hours: float = 2.1, step_s: float = 5.0) -> Program:
    t = times(hours, step_s)
    drafts = [rig_draft(RIG + limit, -90), *pumps([]), samples(t, noise(t) + ramp(t, 120, kick)),
              entry("zero", 0, length=0, reason="x")]
    hands = Hands()
    clock = hands.clock()
    by = clock.now_ms() - int(t[-1]) - 1000
    with store.open(tmp_path / "a.dipbook", station="t") as log:
        log.append([moved(d, by) for d in drafts])
    made = Program(PreferencesFile(tmp_path / "p.json"), clock)
    made.window.resize(1280, 800)
    made.window.show()
    made.open_log(tmp_path / "a.dipbook")
    return made


@pytest.fixture(params=[(0.0, LIMIT), (1.0, LIMIT), (0.0, "")], ids=["quiet", "kick", "no limit"])
def program(request: pytest.FixtureRequest, tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = opened(tmp_path, *request.param)
    made.told = request.node.callspec.id
    yield made
    put_away(made)


@pytest.fixture
def unlimited(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = opened(tmp_path, 0.0, "")
    yield made
    put_away(made)


def test_the_watch_page_says_the_drift_and_its_limit_only_where_one_is_set(program: Program) -> None:
    words = " ".join(program.window.watch.readings())
    if program.told == "no limit":
        assert "Drift" not in words
    else:
        assert ("Drift up" in words) or ("Drift down" in words)
        side, share = program.desk.situation.drift, {"quiet": (0.5, 1.0, 1.6), "kick": (0.5, 1.6)}[program.told]
        assert any(f"limit {3.0 * part:.1f} bbl" in words for part in share), (words, side)


def test_the_watch_page_and_the_strip_tell_the_same_numbers(program: Program) -> None:
    strip = " ".join(program.window.strip.readings()[:1])
    if program.told == "kick":
        told = re.search(r"RISING  ([0-9.]+) bbl", strip)
        held = re.search(r"limit ([0-9.]+) bbl", strip)
        assert told is not None
        assert held is not None
        line = next(x for x in program.window.watch.readings() if "Drift up" in x)
        assert f"Drift up {told[1]}" in line
        assert f"limit {held[1]} bbl" in line
    else:
        assert "RISING" not in strip


def test_a_gain_stands_on_the_strip_as_a_rise_above_its_low(program: Program) -> None:
    said = program.window.strip.readings()
    if program.told == "kick":
        assert said[0].startswith("RISING  ")
        assert "above the low at" in " ".join(said).lower()
        assert "about" in said[0]
        assert "flow-check" in said[1]
        assert "Follow the rig's own well-control procedures" in said[2]
    else:
        assert said == ()


def test_a_limit_on_drift_is_set_by_the_form_and_the_noise_may_set_it_below_its_value(unlimited: Program) -> None:
    unlimited.window.show_page("Limits")
    page = unlimited.window._pages["Limits"]
    page.add()
    form = page.form
    assert isinstance(form, LimitForm)
    form.field("kind").set_text("gain")
    assert form.field("noise").isHidden()
    form.field("kind").set_text("drift")
    assert not form.field("noise").isHidden()
    for name, text in {"name": "drift", "on": "all surface", "activity": "any", "value": "5 bbl", "noise": "0.2",
                       "deadband": "1 bbl", "by": "R. Moe", "why": "as the rig agreed"}.items():
        form.field(name).set_text(text)
    form.save()
    assert "active system" in form.field("on").words.text()
    assert "from 1 to 100" in form.field("noise").words.text()
    form.field("on").set_text("active")
    form.field("noise").set_text("7.5")
    form.save()
    unlimited.window.show_page("Limits")
    limit = unlimited.window._newest.rig.limits[-1]
    assert (limit.kind, limit.times_noise, limit.watched) == ("drift", 7.5, True)
    assert page.table.item(page.table.rowCount() - 1, 4).text() == "7.5 × the noise,\nat most 5 bbl"
    assert unlimited.window._newest.drift is not None
    assert unlimited.window._newest.drift.limit_m3 < 5 * 0.158987294928      # two hours of noise are learned by now
    page.table.setCurrentCell(page.table.rowCount() - 1, 0)
    assert "It is " in page.detail.text()
    assert "false warning" in page.detail.text()
