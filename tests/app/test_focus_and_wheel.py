"""Where the cursor is, and what changes nothing: the wheel, one Enter too many, a field out of sight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from real_desks import GAIN, Hands, bench, make_log, rig_text

from builders import BBL, gain_limit, two_box_rig
from dipbook.situation import WarningView
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.form import Form
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.window import Window


def turn(widget: QWidget) -> None:
    """One notch of the wheel, towards oneself."""
    at = QPointF(widget.rect().center())
    event = QWheelEvent(at, QPointF(widget.mapToGlobal(at.toPoint())), QPoint(0, 0), QPoint(0, -120),
                        Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False)
    QApplication.sendEvent(widget, event)


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    desk = RecordingDesk(tmp_path / "d.json", two_box_rig(limits=(gain_limit(), gain_limit(9.0, name="second"))))
    for minutes in (50, 3):
        desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24 bbl"}, t_ms=NOW - minutes * MIN,
                       end_ms=None, author="R. Moe")
    return desk


@pytest.fixture
def log(desk: RecordingDesk, qtbot: QtBot) -> Iterator[LogPage]:
    page = LogPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.resize(1190, 560)
    page.show()
    yield page
    page.running._timer.stop()


@pytest.fixture
def limits(desk: RecordingDesk, qtbot: QtBot) -> LimitsPage:
    page = LimitsPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.resize(1190, 480)
    page.show()
    return page


def in_sight(form: Form, name: str) -> bool:
    row = form.field(name)
    return form.area.viewport().rect().contains(row.editor.geometry().translated(
        row.mapTo(form.area.viewport(), QPoint(0, 0))))


def test_the_wheel_changes_no_list_that_is_not_open(qtbot: QtBot) -> None:
    box = DropList()
    qtbot.addWidget(box)
    box.addItems(["active", "Suction", "Reserve 1"])
    box.show()
    box.setFocus()
    turn(box)
    assert box.currentText() == "active"


def test_the_wheel_over_a_forms_list_changes_nothing(log: LogPage) -> None:
    log.add("transfer")
    form = log.panel.form
    assert isinstance(form, EntryForm)
    form.field("from").set_text("Suction")
    turn(form.field("from").editor)
    assert form.field("from").text() == "Suction"


def test_the_limit_form_begins_in_its_first_field_and_enter_walks_in_order_in_sight(limits: LimitsPage) -> None:
    QTest.keyClick(limits.table, Qt.Key.Key_Return)
    form = limits.form
    assert form is not None
    shown = [row for row in form.fields if not row.isHidden()]
    assert "shelve" not in {row.name for row in shown}      # a limit on a gain can't be shelved
    for row in shown:
        assert form.focusWidget() is row.editor
        assert in_sight(form, row.name), row.name
        if row is not shown[-1]:
            QTest.keyClick(row.editor, Qt.Key.Key_Return)


def test_a_forms_error_far_down_is_brought_into_sight(log: LogPage) -> None:
    log.add("transfer")
    form = log.panel.form
    assert form is not None
    form.field("by").set_text("")
    for name, text in (("from", "Suction"), ("to", "Reserve 1"), ("volume", "5")):
        form.field(name).set_text(text)
    form.save()
    assert form.focusWidget() is form.field("by").editor
    assert in_sight(form, "by")


def test_one_enter_too_many_after_saving_corrects_nothing(log: LogPage) -> None:
    log.choose(log.desk.situation.records[0].uid)
    log.add("remark")
    assert log.panel.form is not None
    log.panel.form.field("remark").set_text("boat along")
    log.panel.form.save()
    assert log.panel.form is None
    assert log.focusWidget() is log.table
    QTest.keyClick(log.table, Qt.Key.Key_Return)
    QTest.keyClick(log.table, Qt.Key.Key_Delete)
    assert log.panel.form is None
    QTest.keyClick(log.table, Qt.Key.Key_Up)
    chosen = log.chosen()
    assert chosen is not None
    assert chosen.payload["remark"] == "boat along", "the arrows begin at the newest"
    QTest.keyClick(log.table, Qt.Key.Key_Return)
    assert log.panel.form is not None


def test_one_enter_too_many_after_a_limit_changes_nothing(limits: LimitsPage) -> None:
    limits.table.setCurrentCell(1, 0)
    limits.withdraw()
    assert limits.form is not None
    limits.form.field("why").set_text("over")
    limits.form.save()
    assert limits.form is None
    QTest.keyClick(limits.table, Qt.Key.Key_Return)
    assert limits.form is None
    QTest.keyClick(limits.table, Qt.Key.Key_Down)
    QTest.keyClick(limits.table, Qt.Key.Key_Return)
    assert limits.form is not None


@pytest.mark.parametrize("page_of", ["log", "limits"])
def test_a_page_comes_up_with_the_cursor_in_its_table(request: pytest.FixtureRequest, page_of: str) -> None:
    page = request.getfixturevalue(page_of)
    assert page.focusWidget() is page.table
    page.add_button.setFocus()
    page.hide()
    page.show()
    assert page.focusWidget() is page.table
    assert page.table.currentIndex().isValid()
    page.add_button.setFocus()
    page.setFocus()
    assert page.focusWidget() is page.table


def test_the_pages_key_leads_to_its_table_from_anywhere(tmp_path: Path, qtbot: QtBot) -> None:
    with bench(make_log(tmp_path / "rig.dipbook", rig_text(GAIN)), Hands()) as b:
        log, limits = LogPage(b.desk), LimitsPage(b.desk)
        window = Window(b.desk, PreferencesFile(tmp_path / "p.json"), {"Log": log, "Limits": limits})
        qtbot.addWidget(window)
        window.show()
        window.activateWindow()
        qtbot.waitUntil(window.isActiveWindow)
        for key, page in ((Qt.Key.Key_2, log), (Qt.Key.Key_3, limits), (Qt.Key.Key_2, log), (Qt.Key.Key_2, log)):
            QTest.keyClick(window, key, Qt.KeyboardModifier.ControlModifier)
            assert window.focusWidget() is page.table
            page.add_button.setFocus()
        QTest.keyClick(window, Qt.Key.Key_2, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClick(log.table, Qt.Key.Key_Return)
        assert "Limits page" in log.words.said, "Enter acts on the row at once"
        window.close()
        log.running._timer.stop()


@pytest.mark.parametrize("page_of", ["log", "limits"])
def test_the_table_that_has_the_cursor_is_outlined(request: pytest.FixtureRequest, page_of: str, qtbot: QtBot) -> None:
    page = request.getfixturevalue(page_of)
    look = Look()
    page.setStyleSheet(stylesheet(look))
    page.activateWindow()
    page.table.setFocus()
    qtbot.waitUntil(page.table.hasFocus)
    edge = page.table.grab().toImage().pixelColor(0, page.table.height() // 2).name()
    page.add_button.setFocus()
    assert edge == look.palette.ink.lower()
    assert page.table.grab().toImage().pixelColor(0, page.table.height() // 2).name() != edge


def test_a_limit_that_waits_says_on_what(limits: LimitsPage, desk: RecordingDesk) -> None:
    stands = WarningView("gain-1", "gain", "gain", "active", "", "acknowledged", False, NOW, NOW, 6 * BBL, 6 * BBL,
                         5 * BBL, "volume", "", ())
    desk.show(warnings=(stands,))
    assert limits.table.item(0, 4).text() == "5 bbl"
    desk.rig = replace(desk.rig, limits=(gain_limit(8.0), desk.rig.limits[1]))
    desk.show(rig=desk.rig, warnings=(stands,))
    assert limits.table.item(0, 4).text() == "8 bbl\nwaits"
    assert "gain: 8 bbl waits until the warning is closed; it stands on 5.0 bbl." in limits.detail.text()
    assert limits.table.item(1, 4).text() == "9 bbl"
    desk.show(warnings=())
    assert limits.table.item(0, 4).text() == "8 bbl"
