"""A rig file adopted: a change counts from now on, a correction works the past out anew; both with who and why."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.real_desks import GAIN, MIN, NOW, Bench, Hands, bench, make_log, rig_text
from dipbook.composing.resuming import limits_stood
from dipbook.records import RIG
from dipbook.rig import document

pytestmark = pytest.mark.usefixtures("qapp")
START = NOW - 300 * MIN
TEXT = rig_text(GAIN)
WIDER = TEXT.replace('width = "8 ft"', 'width = "10 ft"')
"""Every tank a quarter wider: an inch of level is 4.453 bbl."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", TEXT, START)


@pytest.fixture
def b(path: Path) -> Iterator[Bench]:
    """Two rounds, half an hour apart, the second an inch higher: 3.6 bbl more."""
    with bench(path, Hands()) as made:
        made.hands.pass_(-60)
        made.round()
        made.hands.pass_(30)
        made.round(suction=61.0)
        made.hands.pass_(30)
        yield made


def adopt(b: Bench, text: str, effective: str) -> None:
    found = b.desk.adopt_rig(text, author="R. Moe", reason="measured again", effective=effective)
    assert not [f for f in found if f.severity == "error"], found


def differences(b: Bench) -> list[float]:
    return [round(float(x) / 0.158987294928, 2) for x in b.situation.trend.difference]


def test_a_correction_works_the_past_out_anew(b: Bench) -> None:
    assert differences(b) == [0.0, 3.56]
    adopt(b, WIDER, "correction")
    assert differences(b) == [0.0, 4.45]
    record = b.last_of(RIG)
    first = next(r for r in b.situation.records if r.kind == RIG)
    assert (record.t_ms, record.supersedes) == (START, first.uid)
    assert (record.author, record.reason, record.payload["effective"]) == ("R. Moe", "measured again", "correction")
    assert b.said[-1] == "Saved: the rig's description was corrected; the past was worked out anew."


def test_a_change_leaves_the_past_as_it_was(b: Bench) -> None:
    adopt(b, WIDER, "change")
    assert differences(b) == [0.0, 3.56]
    record = b.last_of(RIG)
    assert (record.t_ms, record.supersedes) == (b.hands.ms, None)
    assert b.situation.rig.tank("Suction").shape == document.parse(WIDER).rig.tank("Suction").shape


def test_a_correction_that_shows_an_excursion_raises_it_now(b: Bench) -> None:
    assert b.warnings == ()
    adopt(b, TEXT.replace('width = "8 ft"', 'width = "16 ft"'), "correction")
    (w,) = b.warnings
    assert (w.state, w.raised_ms, w.learned_ms) == ("raised", NOW - 30 * MIN, NOW)
    assert w.sounding


def test_a_correction_reaches_back_over_changes_of_the_limits_which_stay(b: Bench, path: Path) -> None:
    tighter = TEXT.replace('value = "5 bbl"', 'value = "50 bbl"')
    b.desk.set_limits(document.parse(tighter).rig.limits, author="R. Moe", reason="trial")
    assert [r.t_ms for r in b.situation.records if r.kind == RIG] == [START, NOW]
    adopt(b, WIDER.replace('value = "5 bbl"', 'value = "50 bbl"'), "correction")
    assert differences(b) == [0.0, 4.45]
    corrected = [r for r in b.situation.records if r.kind == RIG][2:]
    assert [r.t_ms for r in corrected] == [START, NOW]
    limits = [document.parse(r.payload["text"]).rig.limits[0].as_typed for r in corrected]
    assert limits == ["5 bbl", "50 bbl"]
    # A correction that leaves a limit's numbers alone doesn't set it anew.
    assert [since for since, _ in limits_stood(b.desk._books)["gain"]] == [None, NOW]
    b.hands.pass_(1)
    adopt(b, WIDER.replace('value = "5 bbl"', 'value = "50 bbl"'), "correction")
    assert [since for since, _ in limits_stood(b.desk._books)["gain"]] == [None, NOW]


def test_a_tank_removed_from_now_on_leaves_the_active_system_and_no_loss_is_seen(b: Bench) -> None:
    tanks = TEXT.split("\n[[tank]]")
    without = "\n[[tank]]".join(t for t in tanks if '"Settling"' not in t)
    adopt(b, without, "change")
    assert [t.name for t in b.situation.tanks] == ["Suction", "Reserve 1"]
    assert b.warnings == ()
    b.hands.pass_(5)
    b.round(suction=61.0, settling=None)
    assert round((b.situation.difference_m3 or 0.0) / 0.158987294928, 2) == 3.56
    assert differences(b)[:2] == [0.0, 3.56]


def test_a_tank_that_never_was_there_is_corrected_away(b: Bench) -> None:
    tanks = TEXT.split("\n[[tank]]")
    without = "\n[[tank]]".join(t for t in tanks if '"Settling"' not in t)
    adopt(b, without, "correction")
    assert differences(b) == [0.0, 3.56]
    assert round((b.situation.actual_m3 or 0.0) / 0.158987294928) == round(61 * 3.562)
    assert any(f.code == "unknown_tank" for f in b.situation.findings)


def test_a_removed_limit_watches_nothing_and_its_open_warning_stays(b: Bench) -> None:
    b.round(suction=64.0)
    assert b.states() == {"gain": "raised"}
    adopt(b, rig_text(), "change")
    assert b.states() == {"gain": "raised"}
    assert b.situation.limit_gain is None
    assert any("gain" in words.lower() for words in b.situation.unwatched) or not b.situation.rig.limits


def test_the_adopted_rig_is_there_after_a_restart(b: Bench, path: Path) -> None:
    adopt(b, WIDER, "correction")
    b.settle()
    b.desk.close()
    with bench(path, b.hands) as again:
        assert differences(again) == [0.0, 4.45]
        assert again.desk.store.verify() == ()


@pytest.mark.parametrize(("text", "author", "reason"), [
    (WIDER, "", "why"), (WIDER, "R. Moe", " "), (WIDER.replace('"10 ft"', '"ten ft"'), "R. Moe", "why")])
def test_a_file_that_cant_stand_or_has_no_name_beside_it_changes_nothing(b: Bench, text: str, author: str,
                                                                        reason: str) -> None:
    before = len(b.situation.records)
    for effective in ("change", "correction"):
        found = b.desk.adopt_rig(text, author=author, reason=reason, effective=effective)
        assert [f.severity for f in found] == ["error"]
    assert len(b.situation.records) == before
