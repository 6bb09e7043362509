"""Mud that is about to be moved: announced, answered, started or called off; on a real log and in a real window."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from real_desks import Bench, Hands, bench, make_log, rig_text

from dipbook_app import desk_calls

NOTICE = {"from_": "Reserve 1", "to": "Suction", "volume": "24", "told": "driller", "state": "announced"}


@pytest.fixture
def made(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands()) as b:
        b.hands.pass_(1)
        b.round()
        b.hands.pass_(1)
        yield b


def announce(b: Bench) -> str:
    assert b.log("about to move mud", **NOTICE) == ()
    return b.situation.notices[-1].uid


def errors(found: tuple) -> list[str]:
    return [f.code for f in found if f.severity == "error"]


def test_an_answer_replaces_the_notice_and_both_stay(made: Bench) -> None:
    uid = announce(made)
    assert errors(made.desk.answer(uid, "  go ahead ", "B. Example")) == []
    (notice,) = made.situation.notices
    assert (notice.answer, notice.state, notice.told) == ("go ahead", "answered", "driller")
    record = made.last_of("about to move mud")
    assert (record.supersedes, record.reason, record.author) == (uid, "answered", "B. Example")
    assert record.payload["volume_m3"] == pytest.approx(24 * 0.158987294928)  # 1 bbl = 42 gal[US] of 231 in3, exact
    assert made.said[-1] == "Saved: the answer."


def test_an_answer_wants_words_and_a_name_and_a_notice_that_stands(made: Bench) -> None:
    uid = announce(made)
    assert errors(made.desk.answer(uid, " ", "B. Example")) == ["missing"]
    assert errors(made.desk.answer(uid, "go", "")) == ["no_author"]
    assert errors(made.desk.answer("none such", "go", "B. Example")) == ["gone"]
    assert errors(made.desk.answer(uid, "go", "B. Example")) == []
    assert errors(made.desk.answer(uid, "go again", "B. Example")) == ["gone"], "the old record was replaced"
    made.log("gas", gas="2")
    assert errors(made.desk.answer(made.last_of("gas").uid, "go", "B. Example")) == ["not_here"]
    assert errors(made.desk.call_off(made.last_of("gas").uid, "", "B. Example")) == ["not_here"]


def test_what_the_driller_was_told_is_answered_too(made: Bench) -> None:
    made.log("told driller", what="gaining", told="driller")
    assert errors(made.desk.answer(made.last_of("told driller").uid, "flow check", "B. Example")) == []
    assert made.last_of("told driller").payload["answer"] == "flow check"


def test_called_off_or_moved_it_waits_no_longer_and_moves_no_mud(made: Bench) -> None:
    before = made.situation.expected_m3
    first, second = announce(made), announce(made)
    assert len(made.situation.notices) == 2
    made.desk.set_on_watch("C. Example")
    assert errors(made.desk.call_off(first, "", "")) == []
    assert (made.last_of("about to move mud").payload["state"], made.last_of("about to move mud").reason,
            made.last_of("about to move mud").author) == ("called off", "called off", "C. Example")
    assert errors(made.desk.moved(second, "")) == []
    assert made.last_of("about to move mud").reason == "started"
    assert made.situation.notices == ()
    assert made.situation.expected_m3 == before
    over = made.last_of("about to move mud")
    at = desk_calls.At(made.situation.rig, "C. Example", made.hands.ms)
    assert errors(desk_calls.answered(over, at, "late")[1]) == ["over"]
