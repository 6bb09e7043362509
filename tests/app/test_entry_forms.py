"""Every kind of entry by keyboard alone, against a desk that checks with the core and records what it is asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from builders import BBL, gain_limit, two_box_rig, with_limits
from dipbook.entries.kinds import BY_NAME, KINDS
from dipbook.findings import Finding
from dipbook.rig.model import Equipment, Valve
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.stop_form import StopForm
from dipbook_app.pages.watch_actions import passing
from dipbook_app.widgets.running_strip import RunningStrip


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    return RecordingDesk(tmp_path / "d.json", with_limits(two_box_rig(), gain_limit(5.0)))


def opened(desk: RecordingDesk, kind: str, qtbot: QtBot, **other: object) -> EntryForm:
    form = EntryForm(desk, BY_NAME[kind], **other)  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.resize(420, 700)
    form.show()
    form.start()
    return form


def type_through(form: EntryForm, typed: dict[str, str]) -> None:
    """From the first field to the last with Enter, choosing in lists by their letters, and Enter to save."""
    form.fields[0].focus()
    for row in list(form.fields):
        widget = form.focusWidget()
        assert widget is row.editor, f"Enter should have come to {row.name}"
        if row.name in typed:
            if isinstance(row.editor, QComboBox):
                row.editor.setCurrentIndex(0)
                QTest.keyClicks(widget, typed[row.name].split(" ")[0])
                assert row.text() == typed[row.name]
            else:
                row.editor.selectAll()
                QTest.keyClicks(widget, typed[row.name])
        QTest.keyClick(widget, Qt.Key.Key_Return)


ENTRIES = {
    "transfer": {"from": "Reserve 1", "to": "Suction", "volume": "24 bbl"},
    "addition": {"to": "Settling", "mass": "5000 lbm", "density": "35 lbm/gal[US]", "material": "barite",
                 "remark": "by the hopper"},
    "discard": {"from": "Settling", "volume": "12"},
    "line-up": {"tank": "Reserve 1", "state": "in"},
    "pumps": {"state": "on", "pump": "1", "spm": "70"},
    "depth": {"hole depth": "9500", "bit depth": "9488.5 ft"},
    "stand filled": {"length": "92.5"},
    "activity": {"activity": "connection"},
    "rate in force": {"rate": "2 bbl/h", "state": "on", "from": "active", "remark": "shakers"},
    "zero": {"reason": "start of tour"},
    "remark": {"remark": "Gas 120 units"},
    "void": {"tank": "Suction", "reason": "wrong tank"},
    "watch": {"state": "off", "reason": "rig move"},
    "slug": {"from": "Reserve 1", "volume": "25", "density": "13.5 lbm/gal[US]", "mud_density": "12.2 lbm/gal[US]", "return": "10 min"},
    "pill": {"what": "sweep", "from": "Reserve 1", "volume": "30", "remark": "high-vis"},
    "salt": {"to": "Reserve 1", "salt": "sodium chloride", "mass": "5000 lbm", "into": "100"},
    "trap dump": {"from": "Settling", "before": "60", "after": "20 1/2", "what": "settled solids"},
    "boat": {"to": "Reserve 1", "before": "20", "after": "50", "ticket": "120", "hose": "3", "remark": "ticket 4471"},
    "about to move mud": {"from": "Reserve 1", "to": "Suction", "volume": "24", "told": "driller", "state": "announced"},
    "valve": {"valve": "Gate 2", "state": "closed"},
    "equipment": {"equipment": "Degasser", "state": "on"},
    "shakers": {"state": "bypassed"},
    "mud check": {"density in": "10.2 lbm/gal[US]", "density out": "10.1 lbm/gal[US]", "temperature in": "95 degF",
                  "temperature out": "110 degF"},
    "gas": {"gas": "1.5", "what": "connection"},
    "drilling break": {"speed before": "40 ft/h", "speed": "95 ft/h", "hole depth": "9500", "told": "driller", "answer": "flow check"},
    "return flow": {"flow": "300", "trend": "rising"},
    "flow check": {"place": "at the shoe", "readings": "0.4; 0.2; 0.1", "trend": "falling",
                   "result": "static", "seen by": "R. Moe"},
    "shut-in": {"state": "shut in", "gain": "6.2", "pipe pressure": "250 psi", "casing pressure": "400 psi", "told": "toolpusher"},
    "told driller": {"what": "suction rising", "told": "driller", "answer": "pumps off, checking"},
    "stick check": {"tank": "Suction", "stick": "60", "sensor": "61.5"},
    "pit drill": {"consent": "T. Pusher", "tank": "Suction", "raised": "6 in", "run by": "R. Moe", "announced": "no",
                  "within": "5 min", "set by": "T. Pusher"},
    "pit drill step": {"step": "recognised", "who": "D. Hand"},
    "pit drill end": {"state": "ended", "ended by": "T. Pusher", "remark": "done"},
    "float proved": {"tank": "Suction", "stick": "60", "sensor": "60", "proved by": "D. Hand"},
    "trip": {"direction": "out", "bit depth": "9000", "pulled": "dry", "pipe": "5 19.50 NC50", "number": "3", "purpose": "bit change"},
    "trip end": {"signed": "R. Moe"},
    "trip decision": {"action": "flow check, then circulate bottoms-up", "decided by": "R. Moe"},
    "connection": {"state": "accepted", "remark": "as usual"},
    "flow-back band": {"state": "adopted", "flow": "300", "remark": "with the toolpusher"},
    "handover confirmed": {"leaving": "R. Moe", "confirmed": "Open warnings, Line-up"},
    "handover": {"leaving": "R. Moe", "arriving": "J. Doe", "remark": "reserve 1 is lined up next"},
    "limits approved": {"approved by": "T. Pusher", "remark": "as in the programme"},
}


def test_every_kind_is_tried() -> None:
    assert set(ENTRIES) == {kind.name for kind in KINDS}


@pytest.mark.parametrize("kind", list(ENTRIES))
def test_an_entry_is_saved_with_the_keyboard_alone(desk: RecordingDesk, qtbot: QtBot, kind: str) -> None:
    desk.rig = replace(desk.rig, equipment=(Equipment("Degasser", 6 * BBL),), valves=(Valve("Gate 2", "gate", "Settling", "Suction"),))
    desk.show()
    form = opened(desk, kind, qtbot)
    times = {"void": {"time": "01:50", "end": "02:10"}, "flow check": {"time": "01:50", "end": "01:53"}}.get(kind, {})
    with qtbot.waitSignal(form.saved, timeout=2000) as said:
        type_through(form, {**ENTRIES[kind], **times})
    what, asked = desk.asked[-1]
    assert what == "entry"
    assert asked["kind"] == kind
    assert asked["typed"] == ENTRIES[kind]
    assert asked["author"] == "R. Moe"
    assert asked["t_ms"] == (NOW - 25 * MIN if times else NOW)
    assert asked["end_ms"] == (NOW - {"void": 5, "flow check": 22}[kind] * MIN if times else None)
    assert said.args[0].startswith(f"{BY_NAME[kind].label} saved")


def test_start_and_end_are_typed_as_clock_times(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    type_through(form, {**ENTRIES["transfer"], "time": "0150", "end": "2026-03-01 02:05"})
    asked = desk.asked[-1][1]
    assert (asked["t_ms"], asked["end_ms"]) == (NOW - 25 * MIN, NOW - 10 * MIN)


def test_a_running_transfer_is_started_without_a_volume(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    type_through(form, {"from": "Reserve 1", "to": "Suction", "rate": "2 bbl/min", "state": "running"})
    assert desk.situation.running[0].rate_m3_s == pytest.approx(2 * 0.158987294928 / 60)


def test_the_last_tanks_the_stand_and_the_other_state_are_prefilled(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24"}, t_ms=NOW - MIN, end_ms=None,
                   author="R. Moe")
    form = opened(desk, "transfer", qtbot)
    assert (form.field("from").text(), form.field("to").text()) == ("Reserve 1", "Suction")
    assert form.field("volume").text() == "", "an amount is never guessed"
    assert opened(desk, "stand filled", qtbot).field("length").text() == "93.0 ft"
    assert opened(desk, "pumps", qtbot).field("state").text() == "off"
    assert opened(desk, "watch", qtbot).field("state").text() == "off"
    assert opened(desk, "activity", qtbot).field("activity").text() == ""
    assert opened(desk, "depth", qtbot).field("hole depth").text() == ""


def test_tanks_as_last_time_say_so_and_the_cursor_begins_at_them(desk: RecordingDesk, qtbot: QtBot) -> None:
    """Filled in, passed by unseen and saved, they would be the wrong two tanks."""
    desk.log_entry("discard", {"from": "Reserve 1", "volume": "24"}, t_ms=NOW - MIN, end_ms=None, author="R. Moe")
    form = opened(desk, "discard", qtbot)
    row = form.field("from")
    assert row.words.said == "as last time"
    form.start()
    assert form.focusWidget() is row.editor
    row.set_text("Suction")
    assert row.words.said == ""
    assert opened(desk, "discard", qtbot, values={"from": "Suction"}).field("from").words.said == ""


def test_a_hole_depth_far_from_the_last_one_is_asked_about_once(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.show(hole_depth_m=9765 * 0.3048, depth_t_ms=NOW - MIN)
    form = opened(desk, "depth", qtbot)
    form.field("hole depth").set_text("40")
    asked = len(desk.asked)
    form.save()
    assert len(desk.asked) == asked
    assert "less than the hole had" in form.words.said
    form.save()
    assert len(desk.asked) == asked + 1


def test_a_hint_fills_the_form_and_leaves_the_saving_to_a_person(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot, values={"from": "Reserve 1", "to": "Suction", "volume_m3": 3.0})
    assert form.field("volume").text() == "18.9 bbl"
    assert desk.asked == []


@pytest.mark.parametrize(("kind", "field", "text", "words"), [
    ("transfer", "volume", "x", "does not begin with a number"), ("transfer", "volume", "nan", "number"),
    ("transfer", "volume", "-3", "below zero"), ("transfer", "volume", "24 ft", "ft"),
    ("transfer", "volume", "0", "nothing"), ("depth", "hole depth", "1e9", "1e9"),
    ("addition", "mass", "5000", "unit"), ("transfer", "time", "24:10", "not a time"),
    ("transfer", "time", "02:40", "still to come"), ("transfer", "end", "01:00", "before the start"),
    ("transfer", "time", "", "time is needed"), ("transfer", "by", "", "Who logs this?")])
def test_bad_input_is_said_on_its_field_and_saves_nothing(desk: RecordingDesk, qtbot: QtBot, kind: str, field: str,
                                                          text: str, words: str) -> None:
    form = opened(desk, kind, qtbot)
    for name, good in ENTRIES[kind].items():
        form.field(name).set_text(good)
    form.field(field).set_text(text)
    form.save()
    assert desk.asked == []
    assert form.field(field).words.tone == "error"
    assert words in form.field(field).words.said
    assert form.focusWidget() is form.field(field).editor
    assert form.words.said.startswith("Not saved.")
    for name, good in ENTRIES[kind].items():
        if name != field:
            assert form.field(name).text() == good, "nothing typed is lost"


@pytest.mark.parametrize(("kind", "field"), [("transfer", "from"), ("transfer", "to"), ("transfer", "volume"),
                                             ("discard", "from"), ("pumps", "state"), ("activity", "activity"),
                                             ("zero", "reason"), ("remark", "remark"), ("line-up", "state")])
def test_a_field_that_is_needed_is_asked_for(desk: RecordingDesk, qtbot: QtBot, kind: str, field: str) -> None:
    form = opened(desk, kind, qtbot)
    for name in BY_NAME[kind].fields:
        form.field(name.name).set_text(ENTRIES[kind].get(name.name, "") if name.name != field else "")
    form.save()
    assert desk.asked == []
    assert any(row.words.tone == "error" and row.words.said for row in form.fields)


def test_what_was_missing_may_come_in_another_field(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "addition", qtbot)
    form.field("to").set_text("Suction")
    form.save()
    assert form.field("volume").words.tone == "error"
    form.field("mass").set_text("5000 lbm")
    assert form.field("volume").words.tone == "error", "a density is wanted too"
    form.field("density").set_text("35 lbm/gal[US]")
    assert form.field("volume").words.said == ""
    assert form.words.said == ""


def test_what_is_typed_is_shown_as_it_was_read(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    form.field("volume").set_text("1 m3")
    assert form.field("volume").words.said == "= 6.3 bbl"


def test_a_word_is_not_called_wrong_while_it_is_typed(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    form.field("volume").set_text("24 b")
    assert form.field("volume").words.said == ""
    form.field("volume").left.emit()
    assert form.field("volume").words.tone == "error"


def test_a_doubt_of_the_core_is_said_after_saving(desk: RecordingDesk, qtbot: QtBot,
                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk, "log_entry", lambda *a, **k: (Finding("more than the tank holds", column="volume"),))
    form = opened(desk, "transfer", qtbot)
    with qtbot.waitSignal(form.saved) as said:
        type_through(form, ENTRIES["transfer"])
    assert said.args[0].endswith("More than the tank holds.")


def test_a_move_of_more_than_the_source_holds_is_asked_before_it_is_saved(desk: RecordingDesk, qtbot: QtBot) -> None:
    """Each box holds 60 in, 213.7 bbl; at 108 in it is full, 171.0 bbl more."""
    form = opened(desk, "transfer", qtbot)
    type_through(form, {"from": "Reserve 1", "to": "Suction", "volume": "300"})
    assert desk.asked == []
    assert "More than Reserve 1 holds (300.0 bbl against 213.7 bbl by its last dip)." in form.words.said
    assert "More than Suction has room for (300.0 bbl against 171.0 bbl by its last dip)." in form.words.said
    assert form.words.said.startswith("Not saved yet.")
    assert form.field("volume").words.tone == "doubt"
    form.field("volume").set_text("301")
    form.save()
    assert desk.asked == [], "another volume is asked about anew"
    form.fields[-1].focus()
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert [what for what, _ in desk.asked] == ["entry"]


def test_more_than_a_tank_can_hold_is_never_saved(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "discard", qtbot)
    type_through(form, {"from": "Settling", "volume": "9000"})
    form.save()
    form.save()
    assert desk.asked == []
    assert "More than Settling holds (9000.0 bbl against 384.7 bbl)" in form.field("volume").words.said


def test_a_stop_with_more_than_the_source_holds_is_asked(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running"}, t_ms=NOW, end_ms=None,
                   author="R. Moe")
    desk.now += 10 * MIN
    form = StopForm(desk, desk.situation.running[0])  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.field("volume").set_text("300")
    form.save()
    assert "More than Reserve 1 holds" in form.words.said
    assert len(desk.asked) == 1
    form.save()
    assert desk.asked[-1][0] == "stop"


def test_up_and_down_move_and_esc_closes(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "depth", qtbot)
    form.field("hole depth").focus()
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Down)
    assert form.focusWidget() is form.field("bit depth").editor
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Up)
    assert form.focusWidget() is form.field("hole depth").editor
    with qtbot.waitSignal(form.closed):
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Escape)
    assert desk.asked == []


def test_a_form_left_half_typed_comes_back(desk: RecordingDesk, qtbot: QtBot) -> None:
    drafts = Drafts(desk.drafts_path)
    form = opened(desk, "transfer", qtbot, drafts=drafts)
    QTest.keyClicks(form.field("volume").editor, "24")
    drafts.flush()
    desk.now += 60 * MIN
    again = opened(desk, "transfer", qtbot, drafts=Drafts(desk.drafts_path))
    assert again.field("volume").text() == "24"
    assert again.restored.text() == "Begun 02:15 and not saved: restored. Check the time."
    again.field("from").set_text("Reserve 1")
    again.field("to").set_text("Suction")
    again.save()
    assert desk.asked[-1][1]["t_ms"] == NOW, "its own time, not that of the restart"
    assert Drafts(desk.drafts_path).get("entry transfer") is None
    drafts.flush()


def test_the_words_on_a_restored_form_dont_widen_it(desk: RecordingDesk, qtbot: QtBot) -> None:
    drafts = Drafts(desk.drafts_path)
    plain = opened(desk, "transfer", qtbot, drafts=drafts)
    QTest.keyClicks(plain.field("volume").editor, "24")
    again = opened(desk, "transfer", qtbot, drafts=drafts)
    assert not again.restored.isHidden()
    assert again.column.parentWidget().minimumSizeHint().width() == \
        plain.column.parentWidget().minimumSizeHint().width()
    drafts.flush()


def test_a_correction_starts_from_what_was_typed_and_wants_a_reason(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("transfer", ENTRIES["transfer"], t_ms=NOW - 30 * MIN, end_ms=NOW - 20 * MIN, author="R. Moe")
    record = desk.records[-1]
    form = opened(desk, "transfer", qtbot, corrects=record)
    assert form.field("volume").text() == "24 bbl"
    form.field("volume").set_text("26 bbl")
    form.save()
    assert len(desk.asked) == 1
    assert "A reason is needed" in form.field("why").words.said
    form.field("why").set_text("misread")
    form.save()
    asked = desk.asked[-1][1]
    assert asked["supersedes"] == record.uid
    assert asked["reason"] == "misread"
    assert asked["typed"]["volume"] == "26 bbl"
    assert (asked["t_ms"], asked["end_ms"]) == (NOW - 30 * MIN, NOW - 20 * MIN), "untouched times stay exact"


def test_correcting_a_mass_lets_its_volume_follow(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("addition", ENTRIES["addition"], t_ms=NOW - 30 * MIN, end_ms=None, author="R. Moe")
    before = desk.records[-1].payload["volume_m3"]
    form = opened(desk, "addition", qtbot, corrects=desk.records[-1])
    assert form.field("volume").text() == ""
    form.field("mass").set_text("10000 lbm")
    form.field("why").set_text("two pallets")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(2 * before)


def test_the_ramp_says_how_far_a_move_has_come(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "transfer", qtbot)
    form.field("time").set_text("02:05")
    form.field("rate").set_text("2 bbl/min")
    form.field("rate").left.emit()
    assert form.ramp_words.text() == "20.0 bbl in 10 min"
    form.field("rate").set_text("")
    form.field("time").left.emit()
    assert form.ramp_words.text() == "10 min so far. Amount not known yet."


def running(desk: RecordingDesk) -> StopForm:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running", "rate": "2 bbl/min"},
                   t_ms=NOW - 10 * MIN, end_ms=None, author="R. Moe")
    return StopForm(desk, desk.situation.running[0])  # type: ignore[arg-type]


def test_a_running_transfer_is_stopped_now_with_enter(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = running(desk)
    qtbot.addWidget(form)
    form.show()
    form.start()
    form.fields[0].focus()
    for _ in form.fields:
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert desk.asked[-1] == ("stop", {"uid": "r1", "end_ms": NOW, "typed": {}, "author": "R. Moe"})
    assert desk.situation.running == ()


@pytest.mark.parametrize(("field", "text", "words"), [
    ("end", "02:00", "can't end before"), ("end", "half two", "not a time"), ("volume", "much", "number"),
    ("by", "", "name is needed")])
def test_a_stop_that_cannot_be_is_said_on_its_field(desk: RecordingDesk, qtbot: QtBot, field: str, text: str,
                                                    words: str) -> None:
    form = running(desk)
    qtbot.addWidget(form)
    form.show()
    form.field(field).set_text(text)
    form.save()
    assert [what for what, _ in desk.asked] == ["entry"]
    assert words in form.field(field).words.said


def test_a_hints_times_are_filled_in_and_come_before_an_older_draft(desk: RecordingDesk, qtbot: QtBot) -> None:
    drafts = Drafts(desk.drafts_path)
    drafts.put("entry transfer", {"began_ms": NOW, "texts": {"from": "Suction", "time": "00:05"}, "exact": {}})
    times = {"t_ms": NOW - 105 * MIN, "end_ms": NOW - 75 * MIN}
    form = opened(desk, "transfer", qtbot, drafts=drafts,
                  values={"from": "Reserve 1", "to": "Suction", "volume_m3": 3.0, **times})
    texts = form.texts()
    assert (texts["time"], texts["end"], texts["from"]) == ("00:30", "01:00", "Reserve 1")
    form.save()
    (asked,) = [what for name, what in desk.asked if name == "entry"]
    assert {name: asked[name] for name in times} == times


def test_pumps_going_on_offer_the_flow_that_was_logged_last(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("pumps", {"state": "on", "flow": "800 gal[US]/min"}, t_ms=NOW - 9 * MIN, end_ms=None, author="R. Moe")
    desk.log_entry("pumps", {"state": "off"}, t_ms=NOW - 5 * MIN, end_ms=None, author="R. Moe")
    assert "flow" not in opened(desk, "pumps", qtbot).texts(), "they run: off is offered"
    desk.show(pumps_on=False)
    texts = opened(desk, "pumps", qtbot).texts()
    assert texts["state"] == "on"
    assert texts["flow"].startswith("800")


def without_rate(desk: RecordingDesk) -> StopForm:
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running"}, t_ms=NOW - 10 * MIN,
                   end_ms=None, author="R. Moe")
    return StopForm(desk, desk.situation.running[0])  # type: ignore[arg-type]


def test_a_valve_closed_with_the_volume_not_known_yet_is_a_remark_and_books_nothing(desk: RecordingDesk, qtbot: QtBot,
                                                                                    ) -> None:
    form = without_rate(desk)
    qtbot.addWidget(form)
    form.show()
    form.field("end").set_text("02:12")
    form.save()
    assert len(desk.asked) == 1, "asked first"
    assert form.words.said == ("Not known yet? Enter again logs that it stopped 02:12. It stays open and isn't booked: "
                               "give its volume here once the tanks are gauged.")
    assert form.words.tone == "doubt"
    with qtbot.waitSignal(form.saved) as saved:
        form.save()
    assert saved.args == ["Logged: stopped 02:12, volume not known yet. Nothing is booked until it is given: stop it "
                          "again."]
    what, entry = desk.asked[-1]
    assert (what, entry["kind"], entry["t_ms"]) == ("entry", "remark", NOW - 3 * MIN)
    assert entry["typed"] == {"remark": "Transfer Transfer Reserve 1 to Suction: stopped, volume not known yet"}
    assert len(desk.situation.running) == 1, "no volume was invented: it is still to be given"

    desk.now += 30 * MIN
    desk.show()
    again = StopForm(desk, desk.situation.running[0])  # type: ignore[arg-type]
    qtbot.addWidget(again)
    assert again.field("end").text() == "02:12", "when it stopped, not now"
    again.field("volume").set_text("24")
    again.save()
    assert desk.asked[-1] == ("stop", {"uid": "r1", "end_ms": NOW - 3 * MIN, "typed": {"volume": "24"},
                                       "author": "R. Moe"})
    assert desk.situation.running == ()


def test_the_stop_forms_help_promises_only_what_holds(desk: RecordingDesk, qtbot: QtBot) -> None:
    with_rate = running(desk)
    qtbot.addWidget(with_rate)
    assert with_rate.help.text().startswith("The volume may stay blank: it follows from the rate")
    other = without_rate(desk)
    qtbot.addWidget(other)
    other = StopForm(desk, desk.situation.running[-1])  # type: ignore[arg-type]
    qtbot.addWidget(other)
    assert "nothing is booked" in other.help.text()


def test_the_strip_and_the_watch_page_say_that_it_stopped(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = without_rate(desk)
    qtbot.addWidget(form)
    form.save()
    form.save()
    strip = RunningStrip(desk)  # type: ignore[arg-type]
    qtbot.addWidget(strip)
    strip.show_situation(desk.situation)
    assert strip.lines[0].amount.text() == "Stopped 02:15, volume not known yet: not booked"
    action = passing(desk.situation, DisplayUnits(desk.rig))[0]
    assert (action.words, action.key) == ("Volume of Transfer Reserve 1 to Suction", "Ctrl+Shift+1")


def test_a_form_shows_units_as_the_screen_does_and_stores_what_was_stored(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("mud check", {"density in": "9.5", "remark": "of 3 lbm"}, t_ms=NOW, end_ms=None, author="R. Moe")
    stored = desk.records[-1].payload["typed"]
    assert stored["density in"] == "9.5 lbm/gal[US]"
    form = opened(desk, "mud check", qtbot, corrects=desk.records[-1])
    assert form.field("density in").text() == "9.5 lb/gal"
    assert form.field("remark").text() == "of 3 lbm", "a person's words stay"
    assert "[US]" not in form.field("density out").editor.placeholderText()
    form.field("density out").set_text("9.4")
    assert form.field("density out").words.said == "= 9.4 lb/gal"
    form.field("why").set_text("read later")
    form.save()
    form.save()
    assert desk.asked[-1][1]["typed"]["density in"] == "9.5 lbm/gal[US]", "untouched"
    assert desk.records[-1].payload["density_in_kg_m3"] == desk.records[-2].payload["density_in_kg_m3"]
