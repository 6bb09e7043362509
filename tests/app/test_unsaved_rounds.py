"""A round that can't be stored is judged as if it had been: it warns at once, and nothing of it is pretended to be saved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from app.real_desks import GAIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from dipbook.errors import StoreError
from dipbook.records import Draft, Record
from dipbook_app import strip_words
from dipbook_app.answer import answer
from dipbook_app.display import DisplayUnits

pytestmark = pytest.mark.usefixtures("qapp")


class Disk:
    """Full, or not."""

    def __init__(self, b: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
        self.full, self.real = False, b.desk.store.append
        monkeypatch.setattr(b.desk.store, "append", self.append)
        monkeypatch.setattr(b.desk._writer, "_append", self.append)

    def append(self, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        if self.full:
            raise StoreError("The disk is full.")
        return self.real(drafts)


@pytest.fixture
def b(tmp_path: Path) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE)), Hands()) as made:
        made.round()
        made.pass_(20)
        yield made


@pytest.fixture
def disk(b: Bench, monkeypatch: pytest.MonkeyPatch) -> Disk:
    made = Disk(b, monkeypatch)
    made.full = True
    return made


def test_a_gain_is_shown_and_sounded_and_said_not_to_be_in_the_log(b: Bench, disk: Disk) -> None:
    records, difference, due = b.situation.records, b.situation.difference_m3, b.situation.next_due_ms
    shown = len(b.shown)
    assert not b.round(62)
    assert len(b.shown) > shown, "at once"
    (w,) = b.warnings
    assert (w.name, w.state, w.sounding, w.in_log, w.actions) == ("gain", "raised", True, False, ("acknowledge",))
    assert b.desk.sounding
    assert "could NOT be stored" in w.text
    head = strip_words.headline(w, DisplayUnits(b.situation.rig), b.situation.now_ms)
    assert head.startswith("NOT IN THE LOG: GAIN  7.1 bbl, limit 5.0 bbl")
    assert (b.situation.records, b.situation.difference_m3, b.situation.next_due_ms) == (records, difference, due)
    assert not b.situation.store_ok
    said = answer(b.situation, DisplayUnits(b.situation.rig))
    assert (said.words, said.near) == ("before the unsaved round", ())
    b.pass_(15.5)
    assert b.states() == {"gain": "raised", "overdue": "raised"}, "no round is in the log, so one is overdue"


def test_without_a_gain_it_raises_nothing_and_quiets_nothing(b: Bench, disk: Disk) -> None:
    assert not b.round(60.1)
    assert not b.warnings
    assert not b.round(62)
    assert not b.round(60.1)
    assert b.states() == {"gain": "raised"}


def test_a_warning_of_the_log_is_neither_cleared_nor_doubled_by_it(b: Bench, disk: Disk) -> None:
    disk.full = False
    b.round(62)
    (before,) = b.warnings
    b.pass_(5)
    disk.full = True
    assert not b.round(60)
    assert not b.round(63)
    (after,) = b.warnings
    assert (after.occurrence, after.state, after.sounding) == (before.occurrence, "raised", True)
    b.desk.acknowledge(after.occurrence)
    assert not b.desk.sounding
    assert not b.round(66)
    assert b.desk.sounding, "it grew"
    assert sorted((w.state, w.in_log) for w in b.warnings) == [("acknowledged", True), ("raised", False)]


def test_saved_once_the_disk_is_well_it_is_the_log_s_own_and_keeps_who_had_seen_it(b: Bench, disk: Disk) -> None:
    t = b.desk.now_ms()
    assert not b.round(62, t_ms=t)
    b.desk.acknowledge(b.warnings[0].occurrence, by="R. Moe")
    assert not b.desk.sounding
    assert not b.round(62, t_ms=t), "tried again: what was seen isn't new"
    assert not b.desk.sounding
    b.pass_(2)
    disk.full = False
    assert b.round(62, t_ms=t)
    (w,) = b.warnings
    assert (w.state, w.in_log, w.raised_ms) == ("acknowledged", True, t)
    assert b.journal() == [("gain", "ACT", "raised"), ("gain", "ACK", "acknowledged")]
    assert b.transitions()[-1].author == "R. Moe"


def test_one_that_nobody_had_seen_goes_on_sounding_when_it_is_saved(b: Bench, disk: Disk) -> None:
    t = b.desk.now_ms()
    assert not b.round(62, t_ms=t)
    disk.full = False
    assert b.round(62, t_ms=t)
    (w,) = b.warnings
    assert (w.state, w.sounding, w.in_log) == ("raised", True, True)


def test_seen_at_another_value_it_sounds_anew(b: Bench, disk: Disk) -> None:
    assert not b.round(62)
    b.desk.acknowledge(b.warnings[0].occurrence, by="R. Moe")
    disk.full = False
    assert b.round(63)
    assert b.states() == {"gain": "raised"}
    assert b.desk.sounding


def test_a_short_round_of_other_tanks_does_not_take_it_away(b: Bench, disk: Disk) -> None:
    assert not b.round(62)
    b.pass_(2)
    disk.full = False
    assert b.round(None, 60, None)
    assert b.states() == {"gain": "raised"}
    b.pass_(2)
    assert b.round(60)
    assert not b.warnings, "all of its tanks were gauged and saved since"


def test_a_delay_by_readings_counts_rounds_that_could_not_be_stored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    twice = GAIN.replace("1 reading", "2 readings")
    with bench(make_log(tmp_path / "b.dipbook", rig_text(twice)), Hands()) as b:
        b.round()
        Disk(b, monkeypatch).full = True
        for level, states in ((62, {}), (62.1, {"gain": "raised"})):
            b.pass_(10)
            assert not b.round(level)
            assert b.states() == states


def test_it_can_be_silenced_and_given_up_by_a_person_once_seen(b: Bench, disk: Disk) -> None:
    b.desk.set_on_watch("R. Moe")
    assert not b.round(62)
    b.desk.silence()
    assert not b.desk.sounding
    b.pass_(1)
    assert b.desk.sounding
    (w,) = b.warnings
    b.desk.acknowledge(w.occurrence)
    assert b.warnings[0].actions == ("close",)
    assert b.desk.close_warning(w.occurrence, "typed wrong") == ""
    assert not b.warnings
    assert "nothing of that round is in the log" in b.said[-1]
    assert [r.t_ms for r in b.situation.records if r.kind == "round"] == [NOW]
