"""The handover by keys on a real desk: two entries, and nothing confirmed that wasn't gone through. Invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Bench, Hands, bench, make_log, rig_text
from dipbook_app.forms.handover_form import HandoverForm, SeenRow

ENTER, CTRL = Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def on(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    hands = Hands()
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN), hands.ms - 60_000), hands) as made:
        made.desk.set_on_watch("A. Sample")
        made.round()
        made.log("zero", reason="test")
        made.log("remark", remark="Shaker 2 leaks")
        made.pass_(10)
        yield made


def opened(on: Bench, qtbot: QtBot) -> HandoverForm:
    form = HandoverForm(on.desk)
    qtbot.addWidget(form)
    form.resize(420, 640)
    form.show()
    form.start()
    return form


def press(form: HandoverForm, text: str = "") -> None:
    """Type into the field that one is in, then Enter."""
    here = form.focusWidget()
    QTest.keyClicks(here, text)
    QTest.keyClick(here, ENTER)


def kinds(on: Bench) -> list[str]:
    return [r.kind for r in on.situation.records if r.kind.startswith("handover")]


def test_who_leaves_goes_through_it_by_enter_and_who_takes_over_signs(on: Bench, qtbot: QtBot) -> None:
    form, said, handed = opened(on, qtbot), [], []
    form.saved.connect(said.append)
    on.desk.handed_over.connect(handed.append)
    assert form.field("leaving").text() == "A. Sample"
    form.field("leaving").focus()
    press(form)
    rows = [row for row in form.fields if isinstance(row, SeenRow)]
    assert [row.name for row in rows][:2] == ["Open warnings", "Limits in force"]
    assert "Shaker 2 leaks" in next(row for row in rows if row.name == "Remarks").words.text()
    for _ in rows:
        press(form)
    assert all(row.text() for row in rows)
    press(form)                                        # the remark is the last: Enter confirms
    assert kinds(on) == ["handover confirmed"]
    assert on.last_of("handover confirmed").author == "A. Sample"
    assert form.signing
    assert said == []
    assert "Nothing has changed since." in form.field("arriving").words.text()
    press(form, "B. Sample")
    press(form)
    last = on.last_of("handover")
    assert (last.payload["leaving"], last.payload["arriving"], last.author) == ("A. Sample", "B. Sample", "B. Sample")
    assert handed == ["B. Sample"]
    assert said[0].startswith("B. Sample has the watch")


def test_nothing_is_confirmed_that_was_not_gone_through(on: Bench, qtbot: QtBot) -> None:
    form = opened(on, qtbot)
    form.field("Open warnings").set_text("seen")
    QTest.keyClick(form, ENTER, CTRL)
    assert kinds(on) == []
    row = form.field("Limits in force")
    assert row.words.text().startswith("! Not gone through yet") or "Not gone through yet" in row.words.text()
    assert "gain" in row.words.text(), "its lines stay in sight"
    assert "Not gone through yet" not in form.field("Open warnings").words.text()
    QTest.keyClick(row.editor, Qt.Key.Key_Space)
    assert row.text() == "seen"
    QTest.keyClick(row.editor, Qt.Key.Key_Backspace)
    assert row.text() == ""


def test_what_came_since_it_was_confirmed_is_told_to_who_signs(on: Bench, qtbot: QtBot) -> None:
    on.log("handover confirmed", leaving="A. Sample", confirmed="Open warnings")
    on.pass_(5)
    on.round(suction=63)
    form = opened(on, qtbot)
    assert form.signing
    assert "New since: Gain 10.7 bbl" in form.field("arriving").words.text()
    QTest.keyClick(form, Qt.Key.Key_G, CTRL)
    assert not form.signing
    assert form.field("leaving").text() == "A. Sample"


def test_nobody_signs_for_their_own_watch_and_a_name_is_needed(on: Bench, qtbot: QtBot) -> None:
    on.log("handover confirmed", leaving="A. Sample", confirmed="Open warnings")
    form = opened(on, qtbot)
    QTest.keyClick(form, ENTER, CTRL)
    assert kinds(on) == ["handover confirmed"]
    form.field("arriving").set_text("A. Sample")
    QTest.keyClick(form, ENTER, CTRL)
    assert "both A. Sample" in form.field("arriving").words.text()
    assert kinds(on) == ["handover confirmed"]
