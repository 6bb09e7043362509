"""The history of limits, several changed at once, and the approved set: by keyboard, in a window on a real log."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from builders import BBL
from dipbook import watch
from dipbook.entries.words import describe
from dipbook.errors import StoreError
from dipbook.records import RIG
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.approve_form import ApproveForm
from dipbook_app.forms.form import Form
from dipbook_app.forms.limit_form import LABELS, LimitForm
from dipbook_app.forms.several_form import SeveralForm
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.widgets.limit_history import LimitHistory
from dipbook_app.window import Window

pytestmark = pytest.mark.usefixtures("qapp")

DRILLING, TRIPPING = (GAIN.replace('name = "gain"', f'name = "gain {what}"').replace('"any"', f'"{what}"')
                      for what in ("drilling", "tripping"))
HIGH = """
[[limit]]
name = "high"
kind = "high"
on = "Suction"
activity = "any"
value = "8 ft"
deadband = "3.17 in"
shelve = "20 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""
LIMITS = (DRILLING, TRIPPING, HIGH, OVERDUE)


class Desk:
    """A window on a real log, with its Limits page shown."""

    def __init__(self, b: Bench, folder: Path, qtbot: QtBot) -> None:
        self.bench, self.qtbot = b, qtbot
        self.page = LimitsPage(b.desk)
        self.window = Window(b.desk, PreferencesFile(folder / "p.json"), {"Limits": self.page})
        qtbot.addWidget(self.window)
        self.window.resize(1280, 800)
        self.window.show()
        self.window.activateWindow()
        QTest.qWait(0)
        self.window.show_page("Limits")
        self.show()

    def show(self) -> None:
        """The newest situation, at once."""
        self.page.show_situation(self.bench.situation)
        self.window.watch.show_situation(self.bench.situation, DisplayUnits(self.bench.situation.rig))

    def key(self, key: Qt.Key, with_: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        QTest.keyClick(QApplication.focusWidget() or self.window, key, with_)

    def opens(self, with_: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> Form | LimitHistory:
        """What F4 opens: a key of a button presses it visibly, for a moment."""
        self.page.table.setFocus()
        self.key(Qt.Key.Key_F4, with_)
        self.qtbot.waitUntil(lambda: self.page.form is not None)
        assert self.page.form is not None
        return self.page.form

    def fill(self, **texts: str) -> Form:
        """Type into the form that is open."""
        form = self.page.form
        assert isinstance(form, Form)
        for name, text in texts.items():
            form.field({"by": ".by", "why": ".why"}.get(name, name.replace("_", " "))).set_text(text)
        return form

    def rigs(self) -> int:
        return len(self.bench.desk.store.records(kinds=[RIG]))

    def values(self) -> dict[str, float]:
        return {x.name: x.value for x in self.bench.situation.rig.limits}


@pytest.fixture
def desk(tmp_path: Path, qtbot: QtBot) -> Iterator[Desk]:
    with bench(make_log(tmp_path / "a.dipbook", rig_text(*LIMITS)), Hands()) as b:
        b.round()
        made = Desk(b, tmp_path, qtbot)
        yield made
        made.window.take(None, {})


CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


def test_several_limits_are_changed_in_one_form_and_each_is_a_record(desk: Desk) -> None:
    page, before = desk.page, desk.values()
    page.table.setCurrentCell(0, 0)
    desk.key(Qt.Key.Key_Down, SHIFT)
    desk.key(Qt.Key.Key_Down, SHIFT)
    desk.key(Qt.Key.Key_Return)
    form = page.form
    assert isinstance(form, SeveralForm)
    assert [x.name for x in form.limits] == ["gain drilling", "gain tripping", "high"]
    assert form.focusWidget() is form.field("limit gain drilling").editor
    QTest.keyClicks(form.focusWidget(), "4 bbl")
    desk.key(Qt.Key.Key_Return)
    QTest.keyClicks(form.focusWidget(), "3 bbl")
    form.field("what").set_text(LABELS["shelve"])
    assert form.field("limit gain drilling").isHidden(), "a gain can't be shelved"
    form.field("limit high").set_text("30 min")
    form.save()
    assert "Not saved" in form.words.said
    assert form.field(".why").words.tone == "error"
    assert (desk.rigs(), desk.values()) == (1, before), "no why, no change"
    desk.fill(by="A. Pusher", why="tight hole")
    desk.bench.hands.pass_(5)
    form.save()
    assert page.form is None
    assert page.words.said == "3 limits changed: gain drilling, gain tripping, high."
    records = desk.bench.desk.store.records(kinds=[RIG])
    assert [(r.author, r.reason, r.t_ms, len([c for c in r.payload["changes"] if "set by" not in c and "reason" not in c
                                              and "since" not in c])) for r in records[1:]] == [
        ("A. Pusher", "tight hole", NOW + 5 * MIN, 1)] * 3
    by_name = {x.name: x for x in desk.bench.situation.rig.limits}
    assert (by_name["gain drilling"].value / BBL, by_name["gain tripping"].value / BBL) == (pytest.approx(4), pytest.approx(3))
    assert by_name["high"].shelve_ms == 30 * MIN
    assert by_name["high"].deadband == pytest.approx(3.17 * 0.0254), "the form shows it rounded; nobody typed over it"
    assert by_name["high"].value == pytest.approx(before["high"])
    assert [by_name[x].set_by for x in ("gain drilling", "high", "overdue")] == ["A. Pusher", "A. Pusher", "Test"]


def test_one_of_several_that_cannot_be_holds_back_all(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    page, before = desk.page, desk.values()
    page.table.setCurrentCell(0, 0)
    page.several_button.click()
    form = page.form
    assert isinstance(form, SeveralForm)
    assert [x.name for x in form.limits] == ["gain drilling", "gain tripping"], "one is chosen: all of its kind"
    desk.fill(**{"limit gain drilling": "4 bbl", "limit gain tripping": "1 bbl", "by": "A. Pusher", "why": "x"})
    form.save()
    # The deadband of 2 bbl, which isn't shown, doesn't fit 1 bbl: it is shown, and said at its row.
    assert form.field("what").text() == LABELS["deadband"]
    assert "less than the value" in form.field("limit gain tripping").words.said
    assert (desk.rigs(), desk.values()) == (1, before)
    form.field("limit gain tripping").set_text("0.5 bbl")
    form.field("what").set_text(LABELS["value"])
    assert form.field("limit gain tripping").text() == "1 bbl", "what was typed is kept"
    # A value that the core refuses, and a disk that fails: nothing is written of either.
    form.field("limit gain drilling").set_text("5000 bbl")
    form.save()
    assert "more than all tanks hold" in form.words.said
    assert desk.rigs() == 1
    form.field("limit gain drilling").set_text("4 bbl")

    def fails(*_: object) -> None:
        raise StoreError("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr(desk.bench.desk.store, "append", fails)
        form.save()
    assert "disk is full" in form.words.said
    assert (desk.rigs(), desk.values()) == (1, before)
    form.save()
    assert desk.rigs() == 3
    assert desk.values()["gain tripping"] == pytest.approx(BBL)


def test_a_limit_changed_meanwhile_by_somebody_else_is_not_written_over(desk: Desk) -> None:
    desk.page.table.setCurrentCell(0, 0)
    desk.page.change_several()
    form = desk.fill(**{"limit gain tripping": "4 bbl", "by": "A", "why": "x"})
    limits = desk.bench.situation.rig.limits
    desk.bench.desk.set_limits(tuple(x for x in limits if x.name != "gain drilling"), author="B", reason="y")
    form.save()
    assert "meanwhile" in form.field("limit gain drilling").words.said
    assert desk.rigs() == 2


def test_one_limits_form_keeps_what_nobody_typed_over(desk: Desk) -> None:
    desk.page.table.setCurrentCell(2, 0)
    desk.page.change()
    assert isinstance(desk.page.form, LimitForm)
    for name, text in {"value": "7 ft", "by": "A", "why": "x"}.items():
        desk.page.form.field(name).set_text(text)
    desk.page.form.save()
    high = next(x for x in desk.bench.situation.rig.limits if x.name == "high")
    assert (high.value, high.deadband, high.shelve_ms) == (
        pytest.approx(7 * 0.3048), pytest.approx(3.17 * 0.0254), 20 * MIN)


def test_several_are_neither_withdrawn_nor_chosen_by_accident(desk: Desk) -> None:
    page = desk.page
    page.table.setCurrentCell(3, 0)
    page.change_several()
    assert page.form is None, "the only one of its kind"
    assert page.words.said.startswith("Choose several limits first")
    page.table.selectAll()
    desk.key(Qt.Key.Key_Delete)
    assert page.form is None
    assert page.words.said.startswith("Choose one limit")


def test_the_history_of_a_limit_opens_by_a_key_and_has_every_value(desk: Desk) -> None:
    b, page = desk.bench, desk.page
    for minutes, value, who, why in ((10, 4.0, "A. Pusher", "tight hole"), (30, 5.0, "B. Pusher", "hole is clean")):
        b.hands.pass_(minutes)
        page.table.setCurrentCell(0, 0)
        page.change()
        for name, text in {"value": f"{value:g} bbl", "by": who, "why": why}.items():
            page.form.field(name).set_text(text)  # type: ignore[union-attr]
        page.form.save()  # type: ignore[union-attr]
        desk.show()
    b.hands.pass_(5)
    page.table.setCurrentCell(1, 0)
    desk.key(Qt.Key.Key_Delete)
    for name, text in {"by": "C. Pusher", "why": "no trip"}.items():
        page.form.field(name).set_text(text)  # type: ignore[union-attr]
    page.form.save()  # type: ignore[union-attr]
    desk.show()
    page.table.setCurrentCell(0, 0)
    shown = desk.opens()
    assert isinstance(shown, LimitHistory)
    assert shown.title.text() == "History of the limit “gain drilling”"
    assert [tuple(row[k] for k in (0, 2, 3, 4)) for row in shown.readings()] == [
        ("2026-03-01 02:55", "4 bbl → 5 bbl", "B. Pusher", "hole is clean"),
        ("2026-03-01 02:25", "5 bbl → 4 bbl", "A. Pusher", "tight hole"),
        ("2026-03-01 02:15", "Set: gain on active, drilling, 5 bbl", "Test", "test")]
    desk.key(Qt.Key.Key_A, CTRL)
    assert shown.readings()[0] == ("2026-03-01 03:00", "gain tripping", "Withdrawn (was 5 bbl)", "C. Pusher", "no trip")
    assert len(shown.readings()) == 7
    shown.table.resizeRowsToContents()
    for row in range(shown.table.rowCount()):
        for column in (2, 4):
            width = shown.table.columnWidth(column)
            item = shown.table.item(row, column)
            tall = shown.table.fontMetrics().boundingRect(0, 0, width - 12, 9999, Qt.TextFlag.TextWordWrap, item.text()).height()
            assert tall <= shown.table.rowHeight(row)
    desk.key(Qt.Key.Key_Escape)
    assert page.form is None
    assert not page.body.isHidden()


def test_nobody_has_approved_then_a_person_does_and_what_differs_is_said_at_the_handover(desk: Desk) -> None:
    b, page = desk.bench, desk.page
    assert page.approved.text() == "Nobody has approved a set of limits."
    form = desk.opens(SHIFT)
    assert isinstance(form, ApproveForm)
    form.save()
    assert form.field("approved by").words.tone == "error"
    assert b.situation.limits_record.approved is None
    for name, text in {"approved by": "A. Pusher", "remark": "programme"}.items():
        form.field(name).set_text(text)
    form.save()
    assert page.form is None
    desk.show()
    assert page.approved.text() == "All limits are as approved. Approved by A. Pusher, 02:15: Programme."
    assert [x.name for x in b.situation.limits_record.approved.limits] == [  # type: ignore[union-attr]
        "gain drilling", "gain tripping", "high", "overdue"]
    assert describe(b.last_of("limits approved"), {}, "Etc/GMT+6", ".") == (
        "Limits, as they were set, approved by A. Pusher. programme")
    b.hands.pass_(10)
    limits = b.situation.rig.limits
    b.desk.set_limits(limits[1:], author="B. Pusher", reason="trial")
    assert b.desk.set_aside(watch.Act("out of service", by="R. Moe", note="float stuck", limit="high", instead="by stick")) == ""
    desk.show()
    assert page.approved.text().splitlines() == [
        "2 limits aren't as approved. Approved by A. Pusher, 02:15: Programme.",
        "Limit gain drilling removed (was 5 bbl) (B. Pusher, 02:25: trial).",
        "Limit high is out of service; instead: by stick (R. Moe, 02:25: float stuck)."]
    notice = desk.window.watch._approved
    assert notice.isHidden(), "said at the handover, not while the crew that did it is on watch"
    b.hands.pass_(10)
    assert b.log("handover", leaving="R. Moe", arriving="S. Berg") == ()
    b.hands.pass_(5)
    b.desk.set_limits((limits[0], *b.situation.rig.limits), author="S. Berg", reason="back as it was")
    desk.show()
    assert notice.text() == "1 limit isn't as approved: high. See Limits.", "taken back is no difference any more"
    page.approve()
    for name, text in {"approved by": "A. Pusher", "remark": "tour"}.items():
        page.form.field(name).set_text(text)  # type: ignore[union-attr]
    page.form.save()  # type: ignore[union-attr]
    desk.show()
    assert notice.isHidden()
    assert page.approved.text().splitlines()[1].startswith("Limit high is out of service"), "it differs until it is back"


def test_the_comparison_is_the_same_after_a_restart(tmp_path: Path, qtbot: QtBot) -> None:
    path, hands = make_log(tmp_path / "a.dipbook", rig_text(*LIMITS)), Hands()
    with bench(path, hands) as b:
        b.round()
        assert b.log("limits approved", approved_by="A. Pusher", remark="programme") == ()
        hands.pass_(5)
        b.desk.set_limits(b.situation.rig.limits[:2], author="B", reason="c")
        b.settle()
        before = b.situation.limits_record
    with bench(path, hands) as b:
        after = b.situation.limits_record
        assert (after.approved, after.differing, after.changes) == (before.approved, before.differing, before.changes)
        assert [x.how for x in after.differing] == ["missing", "missing"]


def test_with_no_limit_there_is_nothing_to_approve(tmp_path: Path, qtbot: QtBot) -> None:
    with bench(make_log(tmp_path / "a.dipbook", rig_text()), Hands()) as b:
        page = LimitsPage(b.desk)
        qtbot.addWidget(page)
        page.show_situation(b.situation)
        assert page.approved.isHidden()
        page.approve()
        assert page.form is None
        assert b.desk.log_entry("limits approved", {"approved by": "A", "remark": "b"})[0].severity == "error"


def test_a_limit_out_of_service_is_marked_told_in_the_history_and_named_to_who_approves(desk: Desk) -> None:
    b, page = desk.bench, desk.page
    b.hands.pass_(10)
    b.round(suction=62)     # 7.1 bbl: a gain while drilling and while tripping, since the activity isn't known
    assert b.states()["gain drilling"] == "raised"
    limits = b.situation.rig.limits
    loose = replace(limits[0], value=9 * BBL, as_typed="9 bbl")
    b.desk.set_limits((loose, *limits[1:]), author="A. Pusher", reason="trial")
    assert b.desk.set_aside(watch.Act("out of service", by="R. Moe", note="float stuck", limit="high", instead="by stick")) == ""
    desk.show()
    assert [page.table.item(row, 4).text() for row in range(4)] == ["9 bbl\nwaits", "5 bbl", "8 ft\nout of service", "35 min"]
    assert [page.table.item(row, 2).font().strikeOut() for row in range(4)] == [False, False, True, False]
    assert page.table.item(2, 4).font().bold()
    page.approve()
    form = page.form
    assert isinstance(form, ApproveForm)
    assert form.in_force.text() == "In force: gain tripping, overdue."
    said = form.not_in_force.text().splitlines()
    assert said[:2] == ["Waits: gain drilling, 9 bbl. Until its warning is closed the stricter 5.0 bbl acts.",
                        "Out of service: high, since 02:25, R. Moe: float stuck. Instead: by stick."]
    form.save()
    assert form.words.said == "Not approved. See “Who approves”, “Note, or why”."
    assert form.field("remark").words.said == "Say why they are approved, or for what."
    desk.key(Qt.Key.Key_F4)
    desk.qtbot.waitUntil(lambda: form.words.said == "F4 is for when this form is left (Esc).")
    assert page.form is form, "what is typed isn't lost by a key"
    for name, text in {"approved by": "A. Pusher", "remark": "programme"}.items():
        form.field(name).set_text(text)
    form.save()
    assert page.words.said.endswith("Not in force: gain drilling (waits), high (out of service).")
    desk.show()
    record = b.situation.limits_record
    assert record.approved is not None
    assert next(x for x in record.approved.limits if x.name == "gain drilling").value == pytest.approx(9 * BBL), "as set"
    assert [x.how for x in record.differing] == ["out of service"]
    b.hands.pass_(5)
    assert b.desk.set_aside(watch.Act("back in service", by="S. Berg", note="freed", limit="high")) == ""
    b.settle()
    desk.show()
    assert not page.table.item(2, 2).font().strikeOut()
    page.table.setCurrentCell(2, 0)
    shown = desk.opens()
    assert isinstance(shown, LimitHistory)
    assert [tuple(row[k] for k in (0, 2, 3, 4)) for row in shown.readings()][:2] == [
        ("2026-03-01 02:30", "Back in service", "S. Berg", "freed"),
        ("2026-03-01 02:25", "Out of service\nInstead: by stick", "R. Moe", "float stuck")]
    assert shown.close_button.text() == "Leave\nEsc"


def test_what_was_saved_is_chosen_and_in_sight(desk: Desk) -> None:
    page = desk.page
    page.table.setCurrentCell(0, 0)
    page.add()
    assert isinstance(page.form, LimitForm)
    for name, text in {"name": "loss", "kind": "loss", "on": "active", "activity": "any", "value": "6 bbl", "deadband": "2 bbl",
                       "by": "A", "why": "x"}.items():
        page.form.field(name).set_text(text)
    page.form.save()
    desk.show()
    chosen = page.chosen()
    assert chosen is not None
    assert chosen.name == "loss"
    where = page.table.visualItemRect(page.table.item(page.table.currentRow(), 0))
    assert page.table.viewport().rect().intersects(where)
    desk.key(Qt.Key.Key_Return)
    assert page.form is None, "one Enter too many"
    desk.key(Qt.Key.Key_Return)
    assert isinstance(page.form, LimitForm)


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
def test_keys_and_words_of_the_limits_page_are_whole(desk: Desk, size: tuple[int, int]) -> None:
    b, page = desk.bench, desk.page
    b.log("limits approved", approved_by="A. Pusher", remark="programme")
    b.hands.pass_(5)
    b.desk.set_limits((), author="B. Pusher", reason="every one of them, to see what the page does with many words")
    b.desk.set_limits(desk.bench.situation.limits_record.approved.limits[:1], author="B. Pusher", reason="one again")  # type: ignore[union-attr]
    desk.window.resize(*size)
    desk.show()
    QTest.qWait(50)
    for _ in range(2):
        keys = [x for x in (page.add_button, page.change_button, page.several_button, page.withdraw_button, page.service_button,
                            page.history_button, page.approve_button, page.adopt_button) if x.isVisible()]
        assert len(keys) in (5, 8)
        for key in keys:
            box = key.parentWidget()
            assert key.geometry().right() < box.width()
            assert key.geometry().bottom() < box.height()
            assert key.width() >= key.sizeHint().width()
        for one, other in pairwise(keys):
            assert one.geometry().right() < other.geometry().left() or one.geometry().bottom() < other.geometry().top()
        for label in page.body.findChildren(QLabel):
            if label.isVisible() and label.text() and label.wordWrap():
                assert label.height() >= label.heightForWidth(label.width()), label.text()
        assert page.table.height() >= 100
        page.table.setCurrentCell(0, 0)
        page.change()
        QTest.qWait(50)
