"""A saved round corrected: opened from the Log, filled in as it was, saved with a reason; what wasn't touched stays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Bench, Hands, bench, make_log, rig_text
from app.real_desks import NOW as REAL_NOW
from builders import IN
from dipbook.records import ROUND, Dip, Draft, Record
from dipbook_app.drafts import Drafts
from dipbook_app.pages.log import LogPage
from dipbook_app.pages.round import RoundPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.window import Window

START = NOW - 130 * MIN + 12_345
DIPS = (Dip("Settling", START + 1000, "60 1/2", 60.5 * IN, t_half_ms=777, resolution_m=0.003),
        Dip("Suction", START + 2000, "61", 61.5 * IN, t_half_ms=778, resolution_m=0.0127, flag="foam"))
"""Invented. The second is the mean of two readings, 61 and 62."""


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    desk = RecordingDesk(tmp_path / "log.drafts.json")
    desk.learn(Draft(ROUND, START + 2000, START + 9000, "A. Berg", {
        "observer": "J. Ek", "start_ms": START, "end_ms": START + 6000, "remark": "windy"}, DIPS))
    return desk


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[RoundPage]:
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    desk.situation_changed.connect(page.show_situation)
    qtbot.addWidget(page)
    page.resize(1190, 660)
    page.show()
    yield page
    page.drafts.flush()


def begun(page: RoundPage, desk: RecordingDesk) -> Record:
    page.correct(desk.record("r1"))
    return desk.record("r1")


def test_it_opens_filled_in_as_it_was_and_says_what_it_is(page: RoundPage, desk: RecordingDesk) -> None:
    begun(page, desk)
    assert [row.stick.text() for row in page.rows] == ["60 1/2 in", "61.5 in", ""]
    assert page.row("Suction").flag.currentText() == "foam"
    assert page.head.text("observer") == "J. Ek"
    assert page.remark.text() == "windy"
    assert page.restored.text().startswith("Correcting the round of 00:05, keyed by A. Berg.")
    assert page.row("Settling").last.text().startswith("60 1/2 in")
    assert page.row("Reserve 1").last.text() == "not gauged then"
    assert page.row("Settling").change.text() == "0.0 bbl"
    assert page.reason.isVisible()


def test_only_what_was_touched_changes_and_a_reason_is_wanted(page: RoundPage, desk: RecordingDesk,
                                                             qtbot: QtBot) -> None:
    begun(page, desk)
    page.row("Suction").stick.setText("62")
    page.save()
    assert "Why is the round corrected?" in page.words.said
    assert page.focusWidget() is page.reason
    assert desk.asked == []
    QTest.keyClicks(page.reason, "misread")
    with qtbot.waitSignal(page.corrected):
        QTest.keyClick(page.reason, Qt.Key.Key_Return)
    what, asked = desk.asked[0]
    assert what == "round"
    assert (asked["supersedes"], asked["reason"]) == ("r1", "misread")
    assert (asked["start_ms"], asked["end_ms"]) == (START, START + 6000), "to the millisecond, as they were"
    assert (asked["observer"], asked["author"], asked["remark"]) == ("J. Ek", "R. Moe", "windy")
    kept, changed = asked["dips"]
    assert kept == DIPS[0], "untouched, with its time and its resolution"
    assert changed.level_m == pytest.approx(62 * IN)
    assert (changed.t_ms, changed.t_half_ms, changed.flag) == (START + 2000, 778, "foam")
    assert page.correction is None
    assert page.reason.isHidden()
    assert page.words.said.startswith("Round of 00:05 corrected.")


def test_a_mean_of_two_readings_stays_one_when_it_isnt_touched(page: RoundPage, desk: RecordingDesk) -> None:
    begun(page, desk)
    page.row("Settling").stick.setText("60")
    page.reason.setText("misread")
    page.save()
    assert desk.asked[0][1]["dips"][1] == DIPS[1]


def test_a_dip_taken_out_is_asked_about_once(page: RoundPage, desk: RecordingDesk) -> None:
    begun(page, desk)
    page.reason.setText("wrong tank")
    page.row("Suction").stick.setText("")
    page.save()
    assert page.words.said.startswith("Nothing is typed for Suction: not gauged")
    page.save()
    assert desk.asked[0][1]["dips"] == DIPS[:1]


def test_other_times_move_the_dips(page: RoundPage, desk: RecordingDesk) -> None:
    begun(page, desk)
    page.head.fields["from"].setText("00:00")
    page.head.fields["to"].setText("00:10")
    page.reason.setText("the clock was wrong")
    page.save()
    asked = desk.asked[0][1]
    midnight = NOW - 135 * MIN
    assert (asked["start_ms"], asked["end_ms"]) == (midnight, midnight + 10 * MIN)
    assert [d.t_ms for d in asked["dips"]] == [midnight + 150_000, midnight + 450_000]
    assert [d.level_m for d in asked["dips"]] == [d.level_m for d in DIPS]


def test_the_round_in_progress_is_kept_beside_it(page: RoundPage, desk: RecordingDesk) -> None:
    page.row("Settling").stick.setText("63")
    begun(page, desk)
    assert page.row("Settling").stick.text() == "60 1/2 in"
    page.foot.discard_button.click()
    assert page.row("Settling").stick.text() == "63"
    assert page.words.said == "The correction was left. The round stays as it was."
    assert desk.asked == []
    assert page.drafts.get("round correction") is None


def test_a_new_round_asked_for_leaves_the_correction(page: RoundPage, desk: RecordingDesk) -> None:
    begun(page, desk)
    page.begin()
    assert page.correction is None
    assert [row.stick.text() for row in page.rows] == ["", "", ""]
    assert page.focusWidget() is page.row("Settling").stick


def test_a_correction_in_progress_survives_a_crash(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    begun(page, desk)
    page.row("Suction").stick.setText("62")
    page.reason.setText("mis")
    page.drafts.flush()
    again = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(again)
    again.show()
    assert again.correction is not None
    assert again.row("Suction").stick.text() == "62"
    assert again.reason.text() == "mis"
    assert again.restored.text().startswith("The correction of the round of 00:05 restored.")
    desk.learn(Draft(ROUND, NOW, NOW, "X", {"start_ms": NOW, "end_ms": NOW}, DIPS, supersedes="r1"))
    later = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(later)
    assert later.correction is None, "somebody has corrected it meanwhile"


@pytest.fixture
def b(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN), REAL_NOW - 300 * MIN), Hands()) as made:
        made.desk.set_on_watch("R. Moe")
        yield made


def test_from_the_log_to_the_round_page_and_back_on_a_real_log(b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    b.hands.pass_(-30)
    b.round()
    b.hands.pass_(30)
    b.round(suction=64.0)
    assert b.states() == {"gain": "raised"}
    round_page, log = RoundPage(b.desk, Drafts(b.desk.drafts_path)), LogPage(b.desk)
    window = Window(b.desk, PreferencesFile(tmp_path / "p.json"), {"Round": round_page, "Log": log})
    qtbot.addWidget(window)
    window.show()
    window.show_page("Log")
    wrong = b.last_of(ROUND)
    assert log.choose(wrong.uid)
    QTest.keyClick(log.table, Qt.Key.Key_Return)
    assert window.page == "Round"
    assert round_page.row("Suction").stick.text() == "64.0 in"
    round_page.row("Suction").stick.setText("60.5")
    round_page.reason.setText("misread the stick")
    round_page.save()
    assert window.page == "Log"
    corrected = b.last_of(ROUND)
    assert (corrected.supersedes, corrected.reason, corrected.author) == (wrong.uid, "misread the stick", "R. Moe")
    assert round((b.situation.difference_m3 or 0) / 0.158987294928, 1) == 1.8
    assert b.states() == {"gain": "over"}, "it stays until somebody closes it"
    window.close()
    log.running._timer.stop()


def test_a_correction_to_below_the_bottom_is_refused_however_often_enter_is_pressed(
        page: RoundPage, desk: RecordingDesk) -> None:
    down = replace(desk.rig.tanks[0], gauge="down", mark_m=108 * IN)
    desk.rig = replace(desk.rig, tanks=(down, *desk.rig.tanks[1:]))
    desk.show()
    begun(page, desk)
    page.row("Settling").stick.setText("150 in")
    page.reason.setText("misread")
    for _ in range(3):
        page.save()
    assert "Below the bottom: the stick can't read more than 108 in from this mark." in page.words.said
    assert desk.asked == []
