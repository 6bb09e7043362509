"""The Warnings page in a real window on a real desk: by keyboard alone, from the strip to a closed warning."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, OVERDUE, Bench, Hands, bench, make_log, rig_text
from dipbook import watch
from dipbook.cautions import CAUTION, RETURN_FLOW
from dipbook_app import urgency, warning_words
from dipbook_app.page_names import WARNINGS, WATCH
from dipbook_app.pages.warnings import WarningsPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import Window

pytestmark = pytest.mark.usefixtures("qapp")

CREW = """
[[crew]]
name = "J. Ortiz (invented)"
role = "driller"
"""
HIGH = """
[[limit]]
name = "suction high"
kind = "high"
on = "Suction"
activity = "any"
value = "70 in"
deadband = "2 in"
after = "1 reading"
shelve = "30 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""
LOSS = GAIN.replace('"gain"', '"loss"', 2).replace("5 bbl", "6 bbl")


class Opened:
    """A window on a bench, with the Warnings page."""

    def __init__(self, b: Bench, qtbot: QtBot, tmp: Path) -> None:
        self.bench = b
        self.page = WarningsPage(b.desk)
        self.window = Window(b.desk, PreferencesFile(tmp / "p.json"), {WARNINGS: self.page},
                             sound=Sound(commands=(), windows=False))
        qtbot.addWidget(self.window)
        self.window.resize(1280, 800)
        self.window.show()
        self.paint()

    def paint(self) -> None:
        self.bench.settle()
        self.window._paint_newest()
        for _ in range(3):
            QApplication.processEvents()

    def press(self, key: str) -> None:
        """A key of the window, as the window would see it."""
        bound = [s for s in self.window.findChildren(QShortcut) if s.key() == QKeySequence(key)]
        assert len(bound) == 1, key
        bound[0].activated.emit()
        self.paint()

    def key(self, key: Qt.Key, text: str = "") -> None:
        """A key, then text, to whatever has the cursor."""
        here = QApplication.focusWidget()
        assert here is not None
        QTest.keyClick(here, key)
        if text:
            QTest.keyClicks(QApplication.focusWidget(), text)
        self.paint()

    def type(self, text: str) -> None:
        QTest.keyClicks(QApplication.focusWidget(), text)

    def sections(self) -> dict[str, str]:
        return dict(self.page.story.readings())

    def cell(self, kind: str, on: str) -> str:
        return self.page.map.words_of(kind, on)


@pytest.fixture
def opened(tmp_path: Path, qtbot: QtBot) -> Iterator[Opened]:
    """One round of 60 in each: from there on an inch of the suction is 3.562 bbl of gain."""
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN, LOSS, HIGH, OVERDUE) + CREW), Hands()) as b:
        b.round()
        made = Opened(b, qtbot, tmp_path)
        yield made
        made.window.close()
        made.window.take(None, {})


def gain(o: Opened, inches: float = 62.0, minutes: float = 10) -> None:
    o.bench.pass_(minutes)
    o.bench.round(suction=inches)
    o.paint()


def test_a_key_opens_it_at_the_warning_that_the_strip_shows(opened: Opened) -> None:
    gain(opened, 71.0)
    window, page = opened.window, opened.page
    assert window.page == WATCH
    assert {w.name for w in opened.bench.warnings} == {"gain", "suction high"}
    opened.press("Ctrl+N")
    shown = window.strip.occurrence_shown
    assert shown.startswith("suction high")
    opened.press("Shift+F8")
    assert window.page == WARNINGS
    assert page.list.chosen == shown
    assert window.focusWidget() is page.list


def test_a_click_on_the_strips_words_opens_it_there(opened: Opened) -> None:
    gain(opened)
    QTest.mouseClick(opened.window.strip._headline, Qt.MouseButton.LeftButton)
    opened.paint()
    assert opened.window.page == WARNINGS
    assert opened.page.chosen is not None
    assert opened.page.chosen.name == "gain"


def test_the_pages_keys_of_the_others_stay_as_they_were(opened: Opened) -> None:
    rail = opened.window.rail
    assert rail.names() == (WATCH, WARNINGS, "Drill", "Start")
    assert [k.text().split("\n")[1] for k in rail._keys.values()] == ["Ctrl+1", "Shift+F8", "Shift+F9", "Ctrl+2"]
    opened.press("Ctrl+2")
    assert opened.window.page == "Start"


def test_the_list_has_the_strips_order_and_the_arrows_go_through_it_with_the_strip(opened: Opened) -> None:
    gain(opened, 71.0)
    opened.press("Shift+F8")
    page, strip = opened.page, opened.window.strip
    assert [x.key for x in page.list.lines] == [w.occurrence for w in urgency.in_order(opened.bench.warnings)]
    head, text = page.list.lines[0].head, page.list.lines[0].text
    assert head == "GAIN  39.2 bbl, limit 5.0 bbl"
    assert text == "Active system, since 02:25. Not acknowledged."
    assert page.list.lines[0].waits
    assert page.chosen is not None
    assert page.chosen.name == "gain"
    opened.key(Qt.Key.Key_Down)
    assert page.chosen.name == "suction high"
    assert strip.occurrence_shown == page.chosen.occurrence, "F8 acts on what is read"
    opened.key(Qt.Key.Key_Up)
    assert strip.occurrence_shown == page.list.lines[0].key
    opened.press("Ctrl+N")
    assert page.chosen.name == "suction high"


def test_acknowledged_with_a_name_and_a_note_and_closed_with_one_by_keyboard_alone(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    page, b = opened.page, opened.bench
    opened.bench.pass_(3)
    opened.key(Qt.Key.Key_Return)
    form = page.form
    assert form is not None
    assert QApplication.focusWidget() is form.field("by").editor
    opened.type("R. Vance")
    opened.key(Qt.Key.Key_Return, "shakers looked at")
    opened.key(Qt.Key.Key_Return)
    assert page.form is None
    assert b.states() == {"gain": "acknowledged"}
    (ack,) = [r for r in b.transitions() if r.payload["event"] == "ACK"]
    assert (ack.payload["by"], ack.payload["note"], ack.author) == ("R. Vance", "shakers looked at", "R. Vance")
    opened.paint()
    assert "02:28  Acknowledged by R. Vance, 3 min after it was raised: Shakers looked at." in opened.sections()["What was done"]
    assert page.words.said == "Acknowledged by R. Vance."
    opened.key(Qt.Key.Key_Return)
    assert page.form is None
    assert "can be closed once it is over" in page.words.said
    gain(opened, 60.0)
    assert b.states() == {"gain": "over_acknowledged"}
    assert page.answer_button.text() == "Close with a note\nEnter"
    opened.key(Qt.Key.Key_Return)
    form = page.form
    assert form is not None
    opened.type("R. Vance")
    opened.key(Qt.Key.Key_Return)
    opened.key(Qt.Key.Key_Return)
    assert b.states() == {"gain": "over_acknowledged"}, "never without a note"
    assert "note is needed" in form.field("note").words.said
    opened.type("trip tank emptied into the suction")
    opened.key(Qt.Key.Key_Return)
    assert b.states() == {}
    (closed,) = [r for r in b.transitions() if r.payload["event"] == "RST"]
    assert (closed.payload["by"], closed.payload["note"]) == ("R. Vance", "trip tank emptied into the suction")
    assert page.count.text() == "No warning is open. Nothing is set aside."
    assert page.quiet.isVisible()
    assert page.quiet.text() == f"{CAUTION} {RETURN_FLOW}"
    assert "A quiet screen does not mean a stable well." in page.quiet.text()


def test_an_acknowledgement_by_f8_asks_nothing_as_before(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    opened.press("F8")
    assert opened.bench.states() == {"gain": "acknowledged"}
    assert opened.page.form is None
    assert "Acknowledged by nobody named" in opened.sections()["What was done"]


def test_escape_leaves_the_warning_as_it_is_and_the_cursor_in_the_list(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    opened.key(Qt.Key.Key_Return)
    opened.key(Qt.Key.Key_Escape)
    assert opened.page.form is None
    assert opened.bench.states() == {"gain": "raised"}
    assert opened.window.focusWidget() is opened.page.list


def test_a_refused_answer_stands_on_the_form(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    opened.key(Qt.Key.Key_Return)
    form = opened.page.form
    assert form is not None
    opened.bench.desk.acknowledge(opened.page.list.chosen)
    opened.type("R. Vance")
    form.save()
    assert "acknowledged already" in form.words.said
    assert opened.page.form is form


def test_the_story_says_what_it_rests_on_who_set_the_limit_and_what_others_say(opened: Opened) -> None:
    gain(opened, 71.0)
    opened.press("Shift+F8")
    said = opened.sections()
    assert said["What it rests on"].startswith("Raised on +39.2 bbl ± ")
    assert "read at 02:25" in said["What it rests on"]
    assert "“gain”, 5.0 bbl (over when back by 2.0 bbl; sounds again after 2.0 bbl more)" in said["Its limit"]
    assert "Set by Test, 2026-03-01: Test value." in said["Its limit"]
    assert "All surface tanks: +39.2 bbl ±" in said["What others say"]
    assert "the same, as far as dips can tell" in said["What others say"]
    assert "High on Suction: raised 02:25, not acknowledged." in said["What others say"]
    assert said["What was done"].splitlines() == ["02:25  Raised at 39.2 bbl."]
    x, y = opened.page.story.plot.drawn()
    assert y[-1] == pytest.approx(39.18, abs=0.01)
    assert len(x) == 2
    assert {"limit 5.0", "raised 02:25", "worst 02:25"} <= set(opened.page.story.plot.words())
    opened.key(Qt.Key.Key_Left)
    assert opened.page.story.plot.read_out.startswith("02:25  +39.2 bbl")
    opened.key(Qt.Key.Key_Left)
    assert opened.page.story.plot.read_out.startswith("02:15  0.0 bbl")


def test_a_guess_that_belongs_is_offered_with_its_key_and_the_warning_stays(opened: Opened, qtbot: QtBot) -> None:
    opened.bench.pass_(10)
    opened.bench.round(suction=62.0, reserve=58.0)
    opened.paint()
    opened.press("Shift+F8")
    page = opened.page
    assert "Reserve 1 fell 7.1 bbl while the active rose 7.1 bbl" in opened.sections()["A guess, not applied"]
    assert page.hint_button.isVisible()
    with qtbot.waitSignal(page.entry_wanted) as asked:
        opened.press("Ctrl+H")
    kind, fields = asked.args
    assert (kind, fields["from"], fields["to"]) == ("transfer", "Reserve 1", "Suction")
    assert opened.bench.states() == {"gain": "raised"}


def test_the_map_turns_with_its_key_and_says_out_of_service_after_that_was_done(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    page = opened.page
    opened.key(Qt.Key.Key_M)
    assert page.mapped
    assert opened.window.focusWidget() is page.map.table
    assert opened.cell("gain", "active") == "5.0 bbl, warns"
    assert opened.cell("loss", "active").startswith("6.0 bbl")
    assert opened.cell("gain", "all surface") == "none set"
    assert opened.cell("high", "Suction").startswith("70 in")
    assert opened.cell("high", "Settling") == "none set"
    assert opened.cell("overdue", "active").startswith("35 min")
    assert page.map.detail.said.startswith("Gain, active system: “gain” 5.0 bbl: watched. Its warning is open")
    opened.key(Qt.Key.Key_M)
    assert not page.mapped
    page.set_aside(False, "loss")
    form = page.form
    assert form is not None
    for text in ("float stuck", "stick each 5 min", "R. Vance"):
        opened.type(text)
        opened.key(Qt.Key.Key_Return)
    assert page.form is None
    assert [x.name for x in opened.bench.situation.aside] == ["loss"]
    line = page.list.lines[-1]
    assert line.aside
    assert line.head == "loss (loss, active system): out of service"
    assert line.text == "Out of service since 02:25, R. Vance: Float stuck. Instead: Stick each 5 min."
    opened.key(Qt.Key.Key_M)
    assert "out of service" in opened.cell("loss", "active")
    opened.key(Qt.Key.Key_M)


def test_a_figure_of_the_chosen_one_is_followed_to_its_parts(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    opened.press("F1")
    panel = opened.window.following.panel
    assert panel.isVisible()
    assert panel.parts is not None
    assert panel.parts.figure.name == "difference"
    assert panel.parts.value == pytest.approx(opened.bench.warnings[0].value)
    opened.key(Qt.Key.Key_Escape)


def test_what_is_set_aside_is_taken_up_again_from_the_list(opened: Opened) -> None:
    opened.bench.desk.set_aside(watch.Act("out of service", by="R. Vance", note="float stuck", limit="loss", instead="stick"))
    opened.paint()
    opened.press("Shift+F8")
    page = opened.page
    assert page.quiet.isVisible(), "nothing is open"
    assert page.mapped, "and the map is beside"
    assert page.list.isVisible()
    assert page.service_button.isVisible()
    assert page.service_button.text() == "Back in service\nCtrl+Shift+K"
    opened.press("Ctrl+Shift+K")
    assert opened.window.page == WARNINGS
    for text in ("float freed", "R. Vance"):
        opened.type(text)
        opened.key(Qt.Key.Key_Return)
    assert opened.bench.situation.aside == ()
    assert opened.cell("loss", "active").startswith("6.0 bbl")


def test_a_shelf_is_offered_where_somebody_set_how_long_and_a_gain_is_never_shelved(opened: Opened) -> None:
    gain(opened, 71.0)
    opened.press("Shift+F8")
    page = opened.page
    assert page.shelve_button.isHidden()
    assert page.service_button.isHidden()
    opened.press("Ctrl+K")
    assert page.form is None
    assert "can't be shelved" in page.words.said
    opened.key(Qt.Key.Key_Down)
    assert page.chosen is not None
    assert page.chosen.name == "suction high"
    assert page.shelve_button.isVisible()
    assert page.service_button.isVisible()
    opened.press("Ctrl+K")
    assert page.form is not None
    assert page.form.title.text() == "Shelve “suction high”"


def test_nothing_is_worked_out_for_a_page_that_is_not_shown(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    desk: Any = opened.bench.desk
    story, made = desk.warning_story, desk.watched_map
    monkeypatch.setattr(desk, "warning_story", lambda o: asked.append(o) or story(o))
    monkeypatch.setattr(desk, "watched_map", lambda: asked.append("map") or made())
    gain(opened)
    gain(opened, 63.0)
    assert asked == []
    opened.press("Shift+F8")
    assert asked == [opened.page.list.chosen]
    opened.paint()
    opened.bench.desk._show()
    opened.paint()
    assert len(asked) == 1, "nor again while nothing has changed"
    gain(opened, 64.0)
    assert len(asked) > 1


def test_the_log_that_is_not_kept_stands_in_the_list_and_is_acknowledged_there(opened: Opened) -> None:
    desk = opened.bench.desk
    desk._failures["log"] = "The disk is full: 3 records wait."
    desk._show()
    opened.press("Shift+F8")
    page = opened.page
    assert page.list.lines[0].head == "LOG NOT KEPT"
    assert opened.sections()["What it says"].startswith("The disk is full")
    page.answer()
    opened.paint()
    assert page.list.lines[0].text.startswith("Since 02:15. Acknowledged.")
    desk._failures.clear()
    desk._show()


def test_the_crew_is_offered_where_one_says_who(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    opened.key(Qt.Key.Key_Return)
    row = opened.page.form.field("by")  # type: ignore[union-attr]
    assert row.offered is not None
    assert [p.name for p in row.offered._crew()] == ["J. Ortiz (invented)"]


def test_the_words_of_a_loss_are_of_the_amount_lost(opened: Opened) -> None:
    gain(opened, 57.0)
    opened.press("Shift+F8")
    assert opened.page.list.lines[0].head == "LOSS  10.7 bbl, limit 6.0 bbl"
    assert opened.sections()["What was done"] == "02:25  Raised at 10.7 bbl."
    assert "Raised on −10.7 bbl" in opened.sections()["What it rests on"]
    assert "limit 6.0" in opened.page.story.plot.words()
    _, y = opened.page.story.plot._limit.getData()
    assert y[-1] == pytest.approx(-6.0)


def test_many_transitions_are_told_first_and_newest(opened: Opened) -> None:
    gain(opened)
    opened.press("Shift+F8")
    for step in range(6):
        opened.press("F8")
        gain(opened, 63.0 + step, minutes=5)
    lines = opened.sections()["What was done"].splitlines()
    assert len(lines) == warning_words.MOST_DONE + 1
    assert lines[0].startswith("02:25  Raised at")
    assert "more between" in lines[warning_words.FIRST_DONE]
    assert lines[-1].startswith("02:55  Grew, and sounded again at")


def test_a_drift_is_told_by_its_volume_and_both_its_sides_stand_on_the_map(tmp_path: Path, qtbot: QtBot) -> None:
    drift = GAIN.replace('"gain"', '"drift"', 2).replace("5 bbl", "3 bbl").replace('after = "1 reading"\n', "")
    with bench(make_log(tmp_path / "a.dipbook", rig_text(drift)), Hands()) as b:
        b.round()
        o = Opened(b, qtbot, tmp_path)
        for n in range(1, 13):
            gain(o, 60.0 + max(0.0, n - 6) / 4, minutes=5)
        view = next(w for w in b.warnings if w.kind == "drift")
        o.press("Shift+F8")
        line = o.page.list.lines[0]
        assert line.head.startswith("RISING  ")
        assert "Active system, above the low at" in line.text
        told = line.head.removeprefix("RISING  ").split(",")[0].split(" (")[0]
        assert f"Raised on {told}" in o.sections()["What it rests on"] or f"Last read {told}" in o.sections()["What it rests on"]
        assert "above the low at" in o.sections()["What it rests on"]
        assert o.sections()["What was done"].splitlines()[0].endswith(" bbl.")
        assert o.page.figures()[0].name == "difference"
        assert view.text.startswith("Rising")
        assert {"raised 03:10", "worst 03:15", "100 %"} <= set(o.page.story.plot.words())
        assert not o.page.story.has_more, "the plot gives the words the room that they need"
        o.key(Qt.Key.Key_M)
        assert o.cell("drift", "active") == "3.0 bbl, warns"
        assert "rising: watched" in o.page.map.detail.said
        assert "falling: watched" in o.page.map.detail.said
        o.window.close()
        o.window.take(None, {})
