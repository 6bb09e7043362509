"""Files of readings a second to a quarter of an hour apart: dipbook check and the app that gets them bit by bit give the
same warnings. Everything is invented."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from app.real_desks import GAIN, MIN, NOW, Hands, bench, make_log, rig_text
from dipbook import checking
from dipbook.exchange.times import rfc3339
from dipbook.records import WARNING
from drift.drifting_logs import LIMIT, noise, ramp

CASES = {1.0: (40.0, 25.0, 1.0, 20), 5.0: (90.0, 60.0, 1.0, 40), 60.0: (180.0, 120.0, 0.5, 30), 900.0: (360.0, 180.0, 0.2, 24)}
"""Readings so far apart [s] → (for so long, a gain from then on [min], at [bbl/min], as many imports)."""


def rows(step_s: float) -> list[tuple[int, float, float]]:
    """(time [UTC ms], Settling, Suction [bbl])."""
    long_min, from_min, rate, _ = CASES[step_s]
    t = (np.arange(round(long_min * 60 / step_s) + 1) * step_s * 1000).astype(np.int64)
    more = noise(t, 0.3) + ramp(t, from_min, rate)
    return [(NOW + int(a), 200.0, 200.0 + float(x)) for a, x in zip(t, more, strict=True)]


def written(path: Path, part: list[tuple[int, float, float]]) -> Path:
    path.write_text("time,Settling [bbl],Suction [bbl]\n" + "".join(f"{rfc3339(t)},{a:.1f},{b:.1f}\n" for t, a, b in part),
                    encoding="utf-8")
    return path


@pytest.mark.parametrize("step_s", list(CASES))
def test_the_same_warnings_from_the_command_and_at_the_desk(tmp_path: Path, qapp: object, step_s: float) -> None:
    text = rig_text(GAIN, LIMIT)
    made = rows(step_s)
    rig = tmp_path / "rig.toml"
    rig.write_text(text, encoding="utf-8")
    checked = checking.check(rig, written(tmp_path / "all.csv", made))
    by_command = [(w.name, w.system, w.time) for w in checked.warnings if w.state == "raised"]
    assert {name for name, _, _ in by_command} == {"gain", "drift"}

    hands = Hands()
    with bench(make_log(tmp_path / "a.dipbook", text, NOW - MIN), hands) as b:
        for k, piece in enumerate(np.array_split(np.arange(len(made)), CASES[step_s][3])):
            part = [made[i] for i in piece.tolist()]
            hands.pass_((part[-1][0] - hands.ms) / MIN + 1 / 60)
            found = b.desk.import_files(written(tmp_path / f"{k}.csv", part), None, author="Test")
            assert not [f for f in found if f.severity == "error"]
        b.settle()
        at_the_desk = [(r.payload["name"], r.payload["system"], r.payload["time"]) for r in b.desk.store.records()
                       if r.kind == WARNING and r.payload["state"] == "raised"]
    assert at_the_desk == by_command
    of_drift = next(t for name, _, t in by_command if name == "drift")
    of_gain = next(t for name, _, t in by_command if name == "gain")
    assert of_drift < of_gain or step_s == 900.0
