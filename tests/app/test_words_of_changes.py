"""What the log says of a change of the rig, of something stopped, and of times; and what forms say, in words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import GAIN, Bench, Hands, bench, make_log, rig_text

from dipbook.entries.kinds import BY_NAME
from dipbook.entries.words import describe
from dipbook.records import RIG, ROUND, WARNING, Dip, Draft, Record
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.stop_form import StopForm
from dipbook_app.forms.void_form import VoidForm
from dipbook_app.log_model import KIND, TIME, WHAT, LogFilter, LogModel
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.pages.log import LogPage
from dipbook_app.typed_times import far_words

ZONE = "Etc/GMT+6"


@pytest.fixture
def b(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    hands = Hands()
    with bench(make_log(tmp_path / "rig.dipbook", rig_text(GAIN)), hands) as made:
        yield made


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    return RecordingDesk(tmp_path / "d.json")


def said(record: Record, b: Bench) -> str:
    return describe(record, b.situation.rig.units, ZONE, ".")


def opened(desk: RecordingDesk, kind: str, qtbot: QtBot, **other: object) -> EntryForm:
    form = EntryForm(desk, BY_NAME[kind], **other)  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.resize(420, 700)
    form.show()
    form.start()
    return form


# --- the rig and its limits --------------------------------------------------------------------------------------


def test_the_first_rig_is_named_and_a_changed_limit_says_from_what_to_what(b: Bench, qtbot: QtBot) -> None:
    assert said(b.last_of(RIG), b) == "Rig adopted: Invented 2. Reason: test"
    page = LimitsPage(b.desk)
    qtbot.addWidget(page)
    page.show_situation(b.situation)
    page.change()
    assert page.form is not None
    page.form.field("value").set_text("8 bbl")
    page.form.field("by").set_text("K. Lind")
    page.form.field("why").set_text("programme")
    page.form.save()
    assert page.form is None, "saved"
    changed = b.last_of(RIG)
    assert changed.payload["changes"][0] == "Limit gain: 5 bbl → 8 bbl"
    assert said(changed, b) == "Limit gain: 5 bbl → 8 bbl. Reason: programme"


def test_a_limit_saved_unchanged_is_refused(b: Bench, qtbot: QtBot) -> None:
    page = LimitsPage(b.desk)
    qtbot.addWidget(page)
    page.show_situation(b.situation)
    page.change()
    assert page.form is not None
    page.form.field("by").set_text("K. Lind")
    page.form.field("why").set_text("programme")
    page.form.save()
    assert page.form is not None
    assert page.form.words.said == "Not saved. Nothing changed."
    assert len([r for r in b.situation.records if r.kind == RIG]) == 1


def test_the_desk_refuses_a_rig_in_which_nothing_changed(b: Bench) -> None:
    (found,) = b.desk.set_limits(b.situation.rig.limits, author="R. Moe", reason="again")
    assert (found.severity, found.what) == ("error", "Nothing changed.")


def test_a_correction_of_the_rig_says_what_was_always_so(b: Bench) -> None:
    wider = rig_text(GAIN).replace('width = "8 ft"', 'width = "9 ft"', 1)
    assert not [f for f in b.desk.adopt_rig(wider, author="R. Moe", reason="taped", effective="correction")
                if f.severity == "error"]
    assert said(b.last_of(RIG), b).startswith("Was always so: Tank Settling, shape: box 30 ft × 8 ft")


# --- stopped -----------------------------------------------------------------------------------------------------


def test_a_stopped_transfer_is_stopped_with_its_volume_and_nothing_of_it_is_struck(desk: RecordingDesk) -> None:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running"}, t_ms=NOW - 10 * MIN,
                   end_ms=None, author="R. Moe")
    desk.stop_running(desk.records[-1].uid, end_ms=NOW, typed={"volume": "24 bbl"}, author="R. Moe")
    model, seen = LogModel(), LogFilter()
    seen.setSourceModel(model)
    model.show_situation(desk.situation)
    assert [model.index(row, KIND).data() for row in range(2)] == ["Transfer, started", "↳ Transfer, stopped"]
    assert model.index(1, WHAT).data() == "Reserve 1 to Suction: 24.0 bbl, until 02:15"
    for row in range(2):
        assert not model.index(row, WHAT).data(Qt.ItemDataRole.FontRole).strikeOut()


def test_a_correction_is_still_struck(desk: RecordingDesk) -> None:
    desk.log_entry("discard", {"from": "Suction", "volume": "12 bbl"}, t_ms=NOW - MIN, end_ms=None, author="R. Moe")
    desk.log_entry("discard", {"from": "Suction", "volume": "13 bbl"}, t_ms=NOW - MIN, end_ms=None, author="R. Moe",
                   supersedes=desk.records[-1].uid, reason="stopped")  # the word alone makes no end
    model = LogModel()
    model.show_situation(desk.situation)
    assert model.index(0, WHAT).data(Qt.ItemDataRole.FontRole).strikeOut()
    assert model.index(0, KIND).data() == "Discard (corrected)"


def test_what_runs_since_seconds_is_under_a_minute_old(desk: RecordingDesk, qtbot: QtBot) -> None:
    page = LogPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running", "rate": "2 bbl/min"},
                   t_ms=NOW - 20_000, end_ms=None, author="R. Moe")
    (line,) = page.running.lines
    assert line.amount.text() == "0.7 bbl so far, under 1 min"
    page.running._timer.stop()


# --- times -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("back", "words"), [
    (30 * MIN, ""), (120 * MIN, ""), (121 * MIN, "1 Mar 00:14, 2 h 1 min ago"),
    (641 * MIN, "28 Feb 15:34, 10 h 41 min ago"), (50 * 60 * MIN, "27 Feb 00:15, 2 d 2 h ago"),
    (366 * 24 * 60 * MIN, "28 Feb 2025 02:15, 366 d ago")])
def test_a_far_time_is_said_with_its_day_and_age(back: int, words: str) -> None:
    assert far_words(NOW - back, ZONE, NOW) == words


def test_just_before_midnight_is_another_day_even_if_near() -> None:
    assert far_words(NOW - 136 * MIN, ZONE, NOW - 135 * MIN + MIN) == "28 Feb 23:59, 2 min ago"


def test_a_forms_time_of_another_day_says_so_beside_it(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    form.field("time").focus()
    form.field("time").set_text("15:34")
    assert form.field("time").words.said == "28 Feb 15:34, 10 h 41 min ago"
    QTest.keyClick(form.field("time").editor, Qt.Key.Key_Return)
    assert form.field("time").words.said == "28 Feb 15:34, 10 h 41 min ago"
    form.field("time").set_text("02:10")
    assert form.field("time").words.said == ""


def test_the_stop_form_says_the_day_of_its_end(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running"}, t_ms=NOW - 900 * MIN,
                   end_ms=None, author="R. Moe")
    form = StopForm(desk, desk.situation.running[0])  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.show()
    form.field("end").set_text("15:34")
    assert form.field("end").words.said == "28 Feb 15:34, 10 h 41 min ago"


def test_the_desk_refuses_a_round_of_many_hours(b: Bench) -> None:
    dips = (Dip("Suction", NOW, "60 in", 1.524),)
    assert not b.desk.save_round(dips, start_ms=NOW - 181 * MIN, end_ms=NOW, observer="", author="R. Moe")
    assert b.failed[-1].endswith("The gauging would have lasted 3 h 1 min. Check the times.")
    assert b.desk.save_round(dips, start_ms=NOW - 180 * MIN, end_ms=NOW, observer="", author="R. Moe")


def test_a_round_has_one_time_in_the_list_and_where_it_is_struck_out(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.learn(Draft(ROUND, NOW - 12 * MIN, NOW, "R. Moe", {"start_ms": NOW - 20 * MIN, "end_ms": NOW - 10 * MIN},
                     (Dip("Settling", NOW - 12 * MIN, "60 1/2"),)))
    model = LogModel()
    model.show_situation(desk.situation)
    form = VoidForm(desk, desk.records[-1])  # type: ignore[arg-type]
    qtbot.addWidget(form)
    assert model.index(0, TIME).data() == "01 Mar 02:05"
    assert form.title.text() == "Strike out: Round 02:05"


# --- words of forms ----------------------------------------------------------------------------------------------


def test_a_void_without_an_end_speaks_in_labels(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "void", qtbot)
    assert form.field("end").editor.placeholderText() == ""  # type: ignore[union-attr]
    form.field("reason").set_text("foam")
    form.save()
    words = form.field("end").words.said
    assert words == "Say until when the readings are struck out. To strike out one entry, choose it in the log."


def test_a_zero_asks_why_and_names_its_length(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "zero", qtbot)
    assert form.field("length").label.text() == "Full pipe above the rotary"
    form.save()
    assert form.field("reason").words.said == "Say why."


def test_done_and_running_are_explained_and_the_words_come_back(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    note = "done: all of it was moved. running: it goes on until you stop it."
    assert form.field("state").words.said == note
    form.field("state").say("Wrong.", "error")
    form.clear_words()
    assert form.field("state").words.said == note


def test_what_begins_now_has_no_tank_filled_in(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24 bbl"}, t_ms=NOW - MIN, end_ms=None,
                   author="R. Moe")
    form = opened(desk, "transfer", qtbot, values={"state": "running"})
    assert (form.field("from").text(), form.field("to").text()) == ("", "")
    assert form.field("state").text() == "running"


@pytest.mark.parametrize(("kind", "words"), [(RIG, "Limits page"), (WARNING, "Acknowledge and close it in the strip")])
def test_what_no_form_corrects_says_what_to_do(desk: RecordingDesk, qtbot: QtBot, kind: str, words: str) -> None:
    desk.learn(Draft(kind, NOW - MIN, NOW - MIN, "R. Moe", {"text": "rig"}))
    page = LogPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show_situation(desk.situation)
    assert page.choose(desk.records[-1].uid)
    page.correct()
    assert words in page.words.said
