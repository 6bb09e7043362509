"""Finding a kind of entry by a word of it, with the keyboard alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from desks import RecordingDesk
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from builders import BBL
from dipbook.entries.kinds import BY_NAME, GROUPS, KINDS
from dipbook.rig.model import Equipment, Valve
from dipbook_app.drafts import Drafts
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.widgets.entry_panel import EntryPanel
from dipbook_app.widgets.kind_chooser import ALSO_CALLED, KindChooser


@pytest.fixture
def chooser(qtbot: QtBot) -> KindChooser:
    shown = KindChooser()
    qtbot.addWidget(shown)
    shown.resize(420, 600)
    shown.show()
    shown.start()
    return shown


def labels(chooser: KindChooser) -> list[str]:
    """What is on the list now, headings among it."""
    rows = (chooser.list.item(row) for row in range(chooser.list.count()))
    return [item.text() for item in rows if not item.isHidden()]


def test_every_kind_stands_under_its_group_and_every_other_name_is_of_a_kind(chooser: KindChooser) -> None:
    assert labels(chooser) == [text for group, words in GROUPS.items()
                               for text in (words, *(kind.label for kind in KINDS if kind.group == group))]
    assert len(labels(chooser)) == len(KINDS) + len(GROUPS), "a kind without a group would be lost"
    assert ALSO_CALLED.keys() <= BY_NAME.keys()


@pytest.mark.parametrize(("typed", "kind"), [
    ("tr", "transfer"), ("dump", "discard"), ("rain", "rate in force"), ("gas", "gas"), ("bar", "addition"), ("centri", "rate in force"),
    ("degas", "equipment"), ("sand", "trap dump"), ("announce", "about to move mud"), ("kick", "shut-in"), ("paddle", "return flow"),
    ("crew change", "handover"), ("well shut", "shut-in"), ("FLOW CH", "flow check"), ("rem", "remark")])
def test_a_word_and_enter_choose_the_kind(chooser: KindChooser, qtbot: QtBot, typed: str, kind: str) -> None:
    QTest.keyClicks(chooser.word, typed)
    with qtbot.waitSignal(chooser.chosen, timeout=1000) as chosen:
        QTest.keyClick(chooser.word, Qt.Key.Key_Return)
    assert chosen.args == [kind]


def test_the_arrows_pass_over_headings_and_hidden_kinds(chooser: KindChooser) -> None:
    assert chooser.list.currentItem().text() == "Transfer"
    QTest.keyClick(chooser.word, Qt.Key.Key_Up)
    assert chooser.list.currentItem().text() == "Transfer"
    last_move = [kind.label for kind in KINDS if kind.group == "moves"][-1]
    first_state = next(kind.label for kind in KINDS if kind.group == "state")
    while chooser.list.currentItem().text() != last_move:
        QTest.keyClick(chooser.word, Qt.Key.Key_Down)
    QTest.keyClick(chooser.word, Qt.Key.Key_Down)
    assert chooser.list.currentItem().text() == first_state
    QTest.keyClicks(chooser.word, "flow")
    assert chooser.list.currentItem().text() == "Flow check"
    seen = set()
    for _ in KINDS:
        seen.add(chooser.list.currentItem().text())
        QTest.keyClick(chooser.word, Qt.Key.Key_Down)
    assert seen <= set(labels(chooser))


def test_a_word_that_fits_nothing_says_what_to_do(chooser: KindChooser, qtbot: QtBot) -> None:
    QTest.keyClicks(chooser.word, "xyzzy")
    assert labels(chooser) == []
    assert "remark" in chooser.words.said
    with qtbot.assertNotEmitted(chooser.chosen):
        QTest.keyClick(chooser.word, Qt.Key.Key_Return)


def test_what_a_kind_is_for_stands_below_the_list(chooser: KindChooser) -> None:
    QTest.keyClicks(chooser.word, "slug")
    assert chooser.words.said == BY_NAME["slug"].help


class Windows(QObject):
    """Remembers what was shown as a window of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.shown: list[QObject] = []

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Show and isinstance(watched, QWidget) and watched.isWindow():
            self.shown.append(watched)
        return False


@pytest.mark.parametrize("word", ["transfer", "handover", "remark"])
def test_the_form_that_opens_has_the_keyboard_and_nothing_flashes_up(tmp_path: Path, qtbot: QtBot, word: str) -> None:
    around = QWidget()
    panel = EntryPanel(RecordingDesk(tmp_path / "d.json"))
    QVBoxLayout(around).addWidget(panel)
    qtbot.addWidget(around)
    panel.choose()
    around.show()
    around.activateWindow()
    assert QTest.qWaitForWindowActive(around, 3000)
    assert panel.chooser is not None
    QTest.keyClicks(panel.chooser.word, word)
    windows = Windows()
    QApplication.instance().installEventFilter(windows)
    QTest.keyClick(panel.chooser.word, Qt.Key.Key_Return)
    QApplication.instance().removeEventFilter(windows)
    assert windows.shown == []
    assert around.isActiveWindow()
    assert panel.form is not None
    assert panel.form.isAncestorOf(QApplication.focusWidget())
    assert not isinstance(QApplication.focusWidget(), QLineEdit) or QApplication.focusWidget().objectName().startswith("field ")


def found(panel: EntryPanel, words: str) -> EntryForm:
    panel.choose()
    assert panel.chooser is not None
    QTest.keyClicks(panel.chooser.word, words)
    QTest.keyClick(panel.chooser.word, Qt.Key.Key_Return)
    assert isinstance(panel.form, EntryForm)
    return panel.form


def test_the_word_that_found_the_kind_is_carried_into_the_form(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json")
    desk.rig = replace(desk.rig, equipment=(Equipment("Desander cones", 6 * BBL), Equipment("Desilter cones", 4 * BBL)),
                       valves=(Valve("Water to Suction", "water", "Suction"),))
    desk.show()
    panel = EntryPanel(desk, Drafts(tmp_path / "drafts.json"))
    qtbot.addWidget(panel)
    panel.show()
    for words, kind, field, text in (
            ("desander", "equipment", "equipment", "Desander cones"), ("desil con", "equipment", "equipment", "Desilter cones"),
            ("sweep", "pill", "what", "sweep"), ("rain", "rate in force", "what", "rain"), ("wash", "rate in force", "what", "wash-down"),
            ("water to", "valve", "valve", "Water to Suction"), ("cones", "equipment", "equipment", ""), ("equip", "equipment", "equipment", "")):
        form = found(panel, words)
        assert (form.kind.name, form.field(field).text()) == (kind, text), words


def test_another_draft_of_the_kind_does_not_come_up_under_the_word(tmp_path: Path, qtbot: QtBot) -> None:
    panel = EntryPanel(RecordingDesk(tmp_path / "d.json"), Drafts(tmp_path / "drafts.json"))
    qtbot.addWidget(panel)
    panel.show()
    found(panel, "rain").field("rate").set_text("3 bbl/h")
    assert found(panel, "wash").field("rate").text() == ""
    again = found(panel, "rain")
    assert (again.field("what").text(), again.field("rate").text()) == ("rain", "3 bbl/h")


def test_a_drafts_blank_takes_the_word(tmp_path: Path, qtbot: QtBot) -> None:
    panel = EntryPanel(RecordingDesk(tmp_path / "d.json"), Drafts(tmp_path / "drafts.json"))
    qtbot.addWidget(panel)
    panel.show()
    found(panel, "rate in").field("rate").set_text("3 bbl/h")
    again = found(panel, "rain")
    assert (again.field("what").text(), again.field("rate").text()) == ("rain", "3 bbl/h")


def test_the_one_sand_trap_is_filled_in(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json")
    panel = EntryPanel(desk)
    qtbot.addWidget(panel)
    panel.show()
    assert found(panel, "trap").field("from").text() == ""
    tanks = desk.rig.tanks
    desk.rig = replace(desk.rig, tanks=(replace(tanks[0], role="sand trap"), *tanks[1:]))
    desk.show()
    assert found(panel, "trap").field("from").text() == tanks[0].name
    desk.rig = replace(desk.rig, tanks=tuple(replace(tank, role="sand trap") for tank in tanks))
    desk.show()
    assert found(panel, "trap").field("from").text() == "", "which of them nobody knows"
