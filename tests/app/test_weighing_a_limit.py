"""F3 on a limit's form weighs it on the log's quiet hours: in a real window, by keyboard. The log is invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Hands, make_log, put_away, rig_text
from builders import IN
from dipbook import store
from dipbook.records import Dip, Draft
from dipbook_app.forms.limit_form import LimitForm
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

NOW = 1_772_352_900_000
MIN = 60_000


def opened(tmp_path: Path, hours: int) -> Program:
    begun = NOW - (hours * 60 + 5) * MIN
    path = make_log(tmp_path / "night.dipbook", rig_text(GAIN.replace("5 bbl", "12 bbl")), at_ms=begun - MIN)
    with store.open(path, station="test") as log:
        drafts = [Draft("zero", begun + MIN, begun + MIN, author="R. Moe", payload={"end_ms": None, "reason": "begun"})]
        for k in range(hours * 4 + 1):
            t = begun + k * 15 * MIN
            up = 62.0 if k in (12, 30) else 60.0       # two lone rounds 7.12 bbl up: a limit of 5 bbl would have warned twice
            drafts.append(Draft("round", t, t, author="R. Moe", payload={"start_ms": t, "end_ms": t}, dips=tuple(
                Dip(n, t, f"{x} in", x * IN) for n, x in (("Settling", 60.0), ("Suction", up), ("Reserve 1", 60.0)))))
        log.append(drafts)
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands(NOW).clock())
    made.window.resize(1280, 800)
    made.window.show()
    made.open_log(path)
    return made


def form_of(program: Program) -> LimitForm:
    """The form of the limit that is set, by keyboard."""
    QTest.keyClick(program.window, Qt.Key.Key_5, Qt.KeyboardModifier.ControlModifier)
    page = program.window._pages["Limits"]
    page.table.setFocus()
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert isinstance(page.form, LimitForm)
    return page.form


def weigh(form: LimitForm, qtbot: QtBot) -> str:
    QTest.keyClick(form.field("value").edit if hasattr(form.field("value"), "edit") else form, Qt.Key.Key_F3)
    qtbot.waitUntil(lambda: not form.weigher.busy, timeout=20_000)
    return form.weighed.text()


@pytest.fixture(params=[12, 3])
def program(request: pytest.FixtureRequest, tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = opened(tmp_path, request.param)
    made.hours = request.param
    yield made
    put_away(made)


def test_f3_weighs_the_values_as_typed_and_changes_nothing(program: Program, qtbot: QtBot) -> None:
    form = form_of(program)
    form.field("value").set_text("5 bbl")
    typed, limits = form.texts(), program.desk.situation.rig.limits
    records = len(program.desk.situation.records)
    said = weigh(form, qtbot)
    if program.hours == 3:
        assert "Not weighed: this log has" in said
        assert "6 are needed" in said
        assert "Not quiet: 0.2 h in which the difference wasn't known." in said, "before the zero"
        assert form.words.said == "Not weighed: why stands above.", "by the keys, where one looks"
        qtbot.waitUntil(lambda: form.weighed.visibleRegion().boundingRect().height() == form.weighed.height() > 30)
        return
    assert said.startswith("In 11.8 quiet hours (28 Feb 14:25 to 1 Mar 02:10) ")    # the zero comes after the first round
    assert "it would have warned 2 times: about 2.0 a tour of 12 h, between 0.2 and 7.4." in said    # Garwood 0.242, 7.225, in 11.75 h
    assert "A gain of 1 bbl/min would have been told at" in said
    assert "A gain of 5 bbl/min would not have been told by 30.0 bbl in 13 of 19 tries" in said
    assert "The gauges can't show less than" in said
    qtbot.waitUntil(lambda: form.weighed.visibleRegion().boundingRect().height() == form.weighed.height() > 60)
    assert form.weighed.height() >= form.weighed.heightForWidth(form.weighed.width())
    assert form.texts() == typed
    assert program.desk.situation.rig.limits == limits
    assert len(program.desk.situation.records) == records
    form.field("value").set_text("12 bbl")
    form.field("value").changed.emit()
    assert not form.weighed.isVisible(), "what was weighed were other values"
    assert "it would not once have warned" in weigh(form, qtbot)


def test_what_is_missing_and_what_cannot_be_weighed_is_said(program: Program, qtbot: QtBot) -> None:
    form = form_of(program)
    form.field("value").set_text("")
    QTest.keyClick(form, Qt.Key.Key_F3)
    assert not form.weigher.busy
    assert form.field("value").words.said
    assert form.words.said == "Not weighed. See “Value”."
    form.field("kind").set_text("overdue")
    form.field("value").set_text("35 min")
    QTest.keyClick(form, Qt.Key.Key_F3)
    assert "nothing to be weighed on" in form.weighed.text()
