"""The frame: warnings at once and never modal, the strip of one height, every action by key."""

from __future__ import annotations

import itertools
from importlib.resources import files
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget
from situations import HIGH, MIN, NOW_MS, OVERDUE, RecordingDesk, quiet, raised, unwatched, warning

from builders import BBL
from dipbook.cautions import CAUTION
from dipbook_app import urgency
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.widgets.words_label import WordsLabel
from dipbook_app.window import LEAST, Window


class Page(QWidget):
    """A page that remembers what it was shown and asked."""

    left = Signal()
    said = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.shown, self.asked = [], []
        self.line = QLineEdit()
        QVBoxLayout(self).addWidget(self.line)
        self.setFocusProxy(self.line)
        self.panel = self

    def show_situation(self, situation):
        self.shown.append(situation)

    def show_units(self, unit_set):
        self.asked.append(("units", unit_set))

    def show_kinds(self, kinds):
        self.asked.append(("kinds", kinds))

    def begin(self, short=False):
        self.asked.append(("begin", "short") if short else ("begin",))

    def add(self, kind, values):
        self.asked.append(("add", kind, dict(values)))

    def offer(self, kind, values):
        self.asked.append(("offer", kind, dict(values)))

    def check_flow(self):
        self.asked.append(("flow check",))

    def stop(self, running):
        self.asked.append(("stop", running.uid))


@pytest.fixture
def preferences(tmp_path):
    return PreferencesFile(tmp_path / "preferences.json")


@pytest.fixture
def open_window(qtbot, preferences):
    def build(situation=None, pages=("Round", "Log", "Limits")):
        desk = RecordingDesk(situation) if situation is not None else None
        window = Window(desk, preferences, {name: Page() for name in pages} if desk else None,
                        sound=Sound(commands=(), windows=False))
        qtbot.addWidget(window)
        window.show()
        QApplication.processEvents()
        return window, desk

    return build


def press(window, qtbot, key):
    """Press a shortcut by what it is bound to, as the window would see it."""
    bound = [s for s in window.findChildren(QShortcut) if s.key() == QKeySequence(key)]
    assert len(bound) == 1, key
    bound[0].activated.emit()
    QApplication.processEvents()


def test_only_pages_that_exist_are_on_the_rail(open_window):
    window, _ = open_window(quiet())
    assert window.rail.names() == ("Watch", "Round", "Log", "Limits", "Drill", "Start")
    assert window.page == "Watch"
    window, _ = open_window(None)
    assert window.rail.names() == ("Start", "Drill")
    assert window.page == "Start"


def test_the_strip_keeps_its_height_and_is_empty_when_nothing_is_open(open_window):
    window, desk = open_window(quiet())
    height, page_top = window.strip.height(), window.watch.mapTo(window, window.watch.rect().topLeft()).y()
    assert window.strip.readings() == ()
    assert not [b for b in window.strip.buttons if b.isVisible()]
    for situation in (raised(), raised(warnings=(warning(), HIGH, OVERDUE)), quiet()):
        desk.show(situation)
        QApplication.processEvents()
        assert window.strip.height() == height
        assert window.watch.mapTo(window, window.watch.rect().topLeft()).y() == page_top
    assert window.strip.readings() == ()


def test_a_warning_has_word_symbol_text_and_caution(open_window):
    window, _ = open_window(raised())
    head, others, caution = window.strip.readings()
    assert head == "GAIN  5.6 bbl, limit 5.0 bbl, active system, since 02:05"
    assert others == "Not acknowledged. Also open: HIGH Suction (acknowledged)"
    assert caution == CAUTION


@pytest.mark.parametrize("size", [(1280, 800), (1280, 690), (1920, 1080), LEAST])
def test_the_whole_caution_can_be_read(open_window, size):
    window, _ = open_window(raised(warnings=(warning(), HIGH, OVERDUE)))
    window.resize(*size)
    QApplication.processEvents()
    label = next(w for w in window.strip.children() if getattr(w, "text", lambda: "")() == CAUTION)
    assert label.heightForWidth(label.width()) <= label.height() + 1


@pytest.mark.parametrize(("kind", "value_is", "value", "limit", "words"), [
    ("high", "level", 2.54, 2.5, "HIGH  8' 4\", limit 8' 2 3/8\", Suction, since 02:05"),
    ("overdue", "duration", 2400.0, 1800.0, "OVERDUE  40 min, limit 30 min, Suction, since 02:05"),
])
def test_values_are_written_as_what_they_are(open_window, kind, value_is, value, limit, words):
    window, _ = open_window(quiet(warnings=(warning(kind=kind, value_is=value_is, value=value, limit=limit,
                                                    tank="Suction"),)))
    assert window.strip.readings()[0] == words


def test_the_keys_pressed_under_stress_are_twenty_millimetres(open_window):
    window, _ = open_window(raised())
    for button in window.strip.buttons:
        assert min(button.width(), button.height()) >= 76
    boxes = sorted((b.geometry() for b in window.strip.buttons), key=lambda box: box.left())
    assert min(b.left() - a.right() for a, b in itertools.pairwise(boxes)) >= 6 / 25.4 * 96


def test_the_warning_shows_at_once_even_while_the_pages_wait(open_window):
    window, desk = open_window(quiet())
    desk.show(quiet(now_ms=NOW_MS + 1000))
    desk.show(raised(now_ms=NOW_MS + 1100))
    assert window.strip.readings()[0].startswith("GAIN")
    assert window.sound.sounding is urgency.DANGER


def test_pages_are_repainted_at_most_four_times_a_second_and_end_at_the_newest(open_window, qtbot):
    window, desk = open_window(quiet())
    window.show_page("Log")
    page = window._pages["Log"]
    qtbot.wait(300)
    page.shown.clear()
    for k in range(50):
        desk.show(quiet(now_ms=NOW_MS + k))
    assert len(page.shown) <= 1
    qtbot.waitUntil(lambda: page.shown and page.shown[-1].now_ms == NOW_MS + 49, timeout=2000)
    assert len(page.shown) <= 2


def test_a_warning_opens_no_window_and_leaves_the_typing_alone(open_window, qtbot):
    window, desk = open_window(quiet())
    window.show_page("Round")
    line = window._pages["Round"].line
    line.setText("63 1")
    line.setFocus()
    desk.show(raised())
    QApplication.processEvents()
    assert QApplication.activeModalWidget() is None
    assert not [w for w in QApplication.topLevelWidgets() if isinstance(w, QDialog) and w.isVisible()]
    assert line.text() == "63 1"
    assert window.page == "Round"
    assert window.strip.readings()[0].startswith("GAIN")


def test_acknowledge_by_key_is_passed_to_the_desk(open_window, qtbot):
    window, desk = open_window(raised())
    press(window, qtbot, "F8")
    assert desk.told == [("acknowledge", "gain-1")]


def test_acknowledge_does_nothing_when_it_cannot_be_done(open_window, qtbot):
    window, desk = open_window(quiet(warnings=(HIGH,)))
    press(window, qtbot, "F8")
    assert desk.told == []


def test_silence_by_key(open_window, qtbot):
    window, desk = open_window(raised())
    press(window, qtbot, "F9")
    assert desk.told == [("silence",)]


def test_closing_asks_for_its_note_in_the_strip(open_window, qtbot):
    over = warning(state="over_acknowledged", sounding=False, actions=("close",))
    window, desk = open_window(quiet(warnings=(over,)))
    press(window, qtbot, "F10")
    assert window.strip.noting
    assert window.strip.note.isVisible()
    assert CAUTION in window.strip.readings()
    press(window, qtbot, "F10")
    assert desk.told == [], "not without a note"
    qtbot.keyClicks(window.strip.note, "Valve to reserve 1 leaked, shut")
    qtbot.keyClick(window.strip.note, Qt.Key.Key_Return)
    assert desk.told == [("close", "gain-1", "Valve to reserve 1 leaked, shut")]
    assert not window.strip.noting


def test_escape_leaves_the_warning_open(open_window, qtbot):
    over = warning(state="over_acknowledged", sounding=False, actions=("close",))
    window, desk = open_window(quiet(warnings=(over,)))
    press(window, qtbot, "F10")
    qtbot.keyClick(window.strip.note, Qt.Key.Key_Escape)
    assert not window.strip.noting
    assert desk.told == []


def test_a_new_warning_comes_to_the_front_and_next_walks_through_them(open_window, qtbot):
    window, desk = open_window(quiet(warnings=(HIGH,)))
    assert window.strip.shown.occurrence == "high-1"
    desk.show(raised(warnings=(HIGH, OVERDUE, warning())))
    assert window.strip.shown.occurrence == "gain-1"
    press(window, qtbot, "Ctrl+N")
    assert window.strip.shown.occurrence == "due-1"
    desk.show(raised(warnings=(HIGH, OVERDUE, warning())))
    assert window.strip.shown.occurrence == "due-1", "stays where a person put it"


def test_the_symbol_flashes_only_until_acknowledged(open_window):
    window, desk = open_window(raised(warnings=(warning(),)))
    symbol = window.strip._symbol
    assert symbol.flashing
    desk.show(raised(warnings=(warning(state="acknowledged", sounding=False, actions=()),)))
    assert not symbol.flashing
    for u in (urgency.DANGER, urgency.ABNORMAL, urgency.DUE):
        assert u.flash_hz < 3, "WCAG 2.3.1"


def test_the_sound_follows_the_warnings(open_window):
    window, desk = open_window(raised())
    assert window.sound.sounding is urgency.DANGER
    desk.show(raised(warnings=(warning(sounding=False),)))
    assert window.sound.sounding is None


def test_a_computer_without_sound_says_so_on_the_watch_page(open_window):
    window, _ = open_window(quiet())
    assert any(text.startswith("No sound: ") for text in window.watch.readings())


def test_the_status_line_says_clock_watch_round_and_log(open_window):
    window, desk = open_window(quiet())
    clock, watch, last, log, _ = window.status.readings()
    assert clock == "02:15:00  UTC−06:00  1 Mar 2026"
    assert watch == "On watch: A. Berg"
    assert last == "Last round 9 min ago"
    assert log == "Log kept, backed up 00:00"
    desk.show(unwatched())
    window._paint_newest()
    assert window.status.readings()[1] == "Nobody on watch"
    desk.show(quiet(store_ok=False, store_text=""))
    window._paint_newest()
    assert window.status.readings()[3] == "The log is NOT being kept"


def test_a_log_that_is_not_kept_warns_sounds_and_can_be_acknowledged(open_window, qtbot):
    window, desk = open_window(quiet())
    failing = quiet(store_ok=False, store_text="The disk is full. What you log now is not kept.")
    desk.show(failing)
    assert window.strip.readings()[:2] == (
        "LOG NOT KEPT since 02:15", "Not acknowledged. The disk is full. What you log now is not kept.")
    assert window.sound.sounding is urgency.ABNORMAL
    press(window, qtbot, "F9")
    assert window.sound.sounding is None
    desk.show(quiet(store_ok=False, now_ms=NOW_MS + 30_000))
    assert window.sound.sounding is urgency.ABNORMAL, "silence lasts 30 s"
    press(window, qtbot, "F8")
    assert window.sound.sounding is None
    assert window.strip.readings()[0].startswith("LOG NOT KEPT"), "acknowledged, still open"
    assert not [order for order in desk.told if order[0] == "acknowledge"]
    desk.show(quiet(now_ms=NOW_MS + 60_000))
    assert window.strip.readings() == ()


def test_a_gain_comes_before_a_log_that_is_not_kept(open_window):
    window, _ = open_window(raised(store_ok=False))
    assert window.strip.readings()[0].startswith("GAIN")
    assert window.sound.sounding is urgency.DANGER


def test_who_is_on_watch_is_typed_on_the_line(open_window, qtbot):
    window, desk = open_window(unwatched())
    press(window, qtbot, "Ctrl+W")
    assert window.status.who.isVisible()
    qtbot.keyClicks(window.status.who, "A. Berg")
    qtbot.keyClick(window.status.who, Qt.Key.Key_Return)
    assert desk.told == [("on watch", "A. Berg")]
    assert not window.status.who.isVisible()


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Escape])
@pytest.mark.parametrize("page", ["Watch", "Log"])
def test_once_the_name_is_given_the_cursor_is_back_where_it_was(open_window, qtbot, key, page):
    window, desk = open_window(unwatched())
    window.activateWindow()
    window.show_page(page)
    before = window.focusWidget()
    assert before is not None
    press(window, qtbot, "Ctrl+W")
    assert window.focusWidget() is window.status.who
    qtbot.keyClicks(window.status.who, "A. Berg")
    qtbot.keyClick(window.status.who, key)
    assert window.focusWidget() is before
    assert not window.status.who.isVisible()
    assert desk.told == ([("on watch", "A. Berg")] if key == Qt.Key.Key_Return else [])


def test_from_the_line_itself_the_cursor_goes_to_the_page(open_window, qtbot):
    window, _ = open_window(unwatched())
    window.activateWindow()
    window.show_page("Log")
    window.status._watch.setFocus()
    qtbot.keyClick(window.status._watch, Qt.Key.Key_Space)
    qtbot.keyClicks(window.status.who, "A. Berg")
    qtbot.keyClick(window.status.who, Qt.Key.Key_Return)
    assert window.focusWidget() is window._pages["Log"].line


def test_a_name_left_for_a_field_doesnt_take_the_cursor_away_again(open_window, qtbot):
    window, _ = open_window(unwatched())
    window.activateWindow()
    window.show_page("Watch")
    press(window, qtbot, "Ctrl+W")
    qtbot.keyClicks(window.status.who, "A. B")
    window.show_page("Log")
    window._pages["Log"].line.setFocus()
    assert window.focusWidget() is window._pages["Log"].line
    assert not window.status.who.isVisible()


def test_what_the_desk_says_is_shown(open_window):
    window, desk = open_window(quiet())
    desk.said.emit("Round saved 02:15. Active 512.4 bbl.")
    assert window.status.readings()[4] == "Round saved 02:15. Active 512.4 bbl."
    desk.failed.emit("The disk is full.")
    assert window.status.readings()[4] == "The disk is full."


@pytest.mark.parametrize(("key", "page", "asked"), [
    ("F5", "Round", ("begin",)), ("Shift+F5", "Round", ("begin", "short")), ("Ctrl+F", "Log", ("flow check",)),
    ("Ctrl+M", "Log", ("add", "about to move mud", {})), ("F6", "Log", ("add", None, {})),
    ("Ctrl+T", "Log", ("add", "transfer", {"state": "running"})), ("Ctrl+0", "Log", ("add", "zero", {})),
    ("Ctrl+Shift+1", "Log", ("stop", "t-9")),
])
def test_the_actions_by_key_go_to_their_page(open_window, qtbot, key, page, asked):
    window, _ = open_window(raised())
    press(window, qtbot, key)
    assert window.page == page
    assert window._pages[page].asked[-1] == asked


def test_the_pumps_key_opens_the_entry_with_what_they_are_not_now_and_logs_nothing(open_window, qtbot):
    window, desk = open_window(raised())
    press(window, qtbot, "F7")
    assert window.page == "Log"
    desk.show(unwatched())
    press(window, qtbot, "F7")
    assert [a for a in window._pages["Log"].asked if a[0] == "offer"] == [
        ("offer", "pumps", {"state": "off", "t_ms": NOW_MS}), ("offer", "pumps", {"state": "on", "t_ms": NOW_MS})]
    assert desk.told == []


def test_the_hint_prefills_the_entry(open_window, qtbot):
    window, _ = open_window(raised())
    press(window, qtbot, "Ctrl+H")
    assert window._pages["Log"].asked[-1] == (
        "add", "transfer", {"from": "Reserve 1", "to": "Suction", "volume_m3": 5.1 * BBL})


def test_pages_by_key_and_back(open_window, qtbot, preferences):
    window, _ = open_window(quiet())
    press(window, qtbot, "Ctrl+3")
    assert window.page == "Log"
    assert preferences.now.page == "Log"
    window._pages["Log"].left.emit()
    assert window.page == "Watch"


def test_the_rail_says_its_keys(open_window):
    window, _ = open_window(quiet())
    assert [key.text() for key in window.rail._keys.values()] == [
        "Watch\nCtrl+1", "Round\nCtrl+2", "Log\nCtrl+3", "Limits\nCtrl+4", "Drill\nShift+F9", "Start\nCtrl+5"]
    assert all(key.sizeHint().height() <= key.height() + 8 for key in window.rail._keys.values())


def test_a_dip_sheet_is_made_from_any_page_and_said_there(open_window, qtbot):
    window, _ = open_window(quiet())
    page = window._pages["Round"]
    page.words = WordsLabel(parent=page)
    page.print_sheet = lambda: page.words.say("Dip sheet written beside the log: a.pdf.", "done")
    press(window, qtbot, "Ctrl+P")
    assert window.page == "Watch"
    assert window.status.readings()[4] == "Dip sheet written beside the log: a.pdf."
    page.print_sheet = lambda: page.words.say("Is there room on the disk?", "error")
    window.show_page("Log")
    press(window, qtbot, "Ctrl+P")
    assert window.status.readings()[4] == "Is there room on the disk?"
    window, _ = open_window(None)
    press(window, qtbot, "Ctrl+P")
    assert window.status.readings()[4].startswith("Open a log first")


def test_theme_text_units_and_place_are_kept(open_window, qtbot, preferences):
    window, _ = open_window(quiet())
    press(window, qtbot, "F11")
    press(window, qtbot, "Ctrl++")
    press(window, qtbot, "Ctrl+U")
    assert preferences.now.theme == "night"
    assert preferences.now.text == 1.15
    assert preferences.now.unit_set == "oilfield"
    assert window._pages["Round"].asked[-1] == ("units", "oilfield")
    window.resize(1300, 820)
    window.close()
    again = PreferencesFile(preferences.path).now
    assert again.geometry
    assert again.theme == "night"


def test_the_first_window_fits_the_screen_with_its_frame(open_window):
    window, _ = open_window(quiet())
    room = window.screen().availableGeometry()
    assert window.height() <= max(LEAST[1], room.height())
    assert window.frameGeometry().height() <= max(LEAST[1], room.height())
    assert window.status.geometry().bottom() <= window.height()


def test_a_window_that_a_person_has_sized_keeps_its_size(open_window, preferences):
    window, _ = open_window(quiet())
    window.resize(1410, 905)
    window.close()
    window, _ = open_window(quiet())
    assert window._own_size is None


def test_long_words_on_the_status_line_are_read_whole(open_window):
    window, desk = open_window(quiet())
    window.resize(1280, 800)
    words = ("Another Dipbook has this log open for writing: /home/crew/rigs/heron.dipbook. Nothing was changed. Close it "
             "there, or open the log here for reading only.")
    window.say(words, bad=True)
    QApplication.processEvents()
    status = window.status
    assert not status._said.cut
    assert status._said.toolTip() == words
    assert not status._keys["sound"].isVisible()
    assert not status._last.isVisible()
    assert "Sound test F12" in status.toolTip(), "its key goes on working"
    desk.show(quiet(now_ms=NOW_MS + 10 * MIN))
    window._paint_newest()
    assert not status._keys["sound"].isVisible(), "what failed stays until something else is said"
    window.say("Saved.")
    assert all(key.isVisible() for key in status._keys.values())
    assert status.toolTip() == ""


def test_words_take_the_last_rounds_room_before_the_buttons(open_window, preferences):
    preferences.change(text=1.3)
    window, _ = open_window(quiet(on_watch=""))
    window.resize(1280, 720)
    window.say("Opened larkspur-demo.dipbook.")
    QApplication.processEvents()
    assert all(key.isVisible() for key in window.status._keys.values())
    assert not window.status._said.cut


@pytest.mark.parametrize("text", [1.0, 1.15, 1.3])
def test_the_headline_is_whole_and_never_smaller_than_the_page(open_window, preferences, text):
    preferences.change(text=text)
    window, desk = open_window(raised())
    window.resize(1280, 720)
    for w in (warning(), warning(system="all surface", value=122.3 * BBL, limit=16.5 * BBL, raised_ms=NOW_MS - 30 * 60 * MIN),
              warning(state="over", value=0.2 * BBL, worst=122.3 * BBL, system="all surface", actions=("close",))):
        desk.show(raised(warnings=(w, HIGH)))
        QApplication.processEvents()
        line = window.strip._headline
        assert not line.cut, line.text()
        assert line.fontInfo().pixelSize() >= window.watch.fontInfo().pixelSize()
        assert line.minimumSizeHint().height() <= line.height()
        caution = window.strip._caution
        assert caution.heightForWidth(caution.width()) <= caution.height() + 1


def test_long_good_news_gives_its_room_back_after_a_while(open_window):
    window, desk = open_window(quiet())
    window.resize(1280, 800)
    window.say("Round saved 02:15. Active 955.3 bbl. Difference +1.3 ± 0.9 bbl. Partial: not every active tank was "
               "gauged, and these are more words than the line has room for when its buttons are there.")
    desk.show(quiet(now_ms=NOW_MS + 1000))
    window._paint_newest()
    assert not window.status._keys["sound"].isVisible()
    window.status._over.timeout.emit()
    assert window.status._keys["sound"].isVisible()
    assert window.status.readings()[4] == ""


def test_units_on_the_screen_change_at_once(open_window, qtbot):
    window, _ = open_window(quiet())
    for _ in range(2):
        press(window, qtbot, "Ctrl+U")
    assert window.watch.figure.readings()[0] == "+0.21 m³"  # 1.3 × 0.158987 m3


def test_every_shortcut_is_bound_once(open_window):
    window, _ = open_window(raised())
    keys = [s.key().toString() for s in window.findChildren(QShortcut)]
    keys += [b.shortcut().toString() for b in window.findChildren(QPushButton) if not b.shortcut().isEmpty()]
    assert len(keys) == len(set(keys))


def test_start_opens_the_demo_a_file_or_the_last_log(open_window, qtbot, preferences, monkeypatch):
    preferences.change(rig="Heron 3", store="/logs/heron.dipbook")
    window, _ = open_window(None)
    start = window.start
    assert start.choices[0].isVisible()
    assert "Go on with Heron 3\nheron.dipbook" in start.choices[0].text()
    for choice, signal in ((0, window.last_wanted), (1, window.demo_wanted)):
        with qtbot.waitSignal(signal):
            start.choices[choice].click()
    monkeypatch.setattr(start, "ask_what_to_open", lambda: "/rigs/other.toml")
    with qtbot.waitSignal(window.file_wanted) as asked:
        start.choices[3].click()
    assert asked.args == ["/rigs/other.toml"]
    monkeypatch.setattr(start, "ask_what_to_open", lambda: "")
    with qtbot.assertNotEmitted(window.file_wanted):
        start.choices[3].click()


def test_start_leads_to_the_drills_and_cuts_nothing(open_window, qapp):
    window, _ = open_window(None)
    assert window.start.choices[4].text().endswith("(Shift+F9)")
    window.resize(1100, 640)
    for _ in range(3):
        window.change_text(1)
    qapp.processEvents()
    qapp.processEvents()
    (caution,) = [x for x in window.start.findChildren(QLabel) if x.text() == CAUTION]
    assert caution.height() >= caution.heightForWidth(caution.width())
    window.start.choices[4].click()
    assert window.page == "Drill"


def test_the_last_log_is_opened_by_key(open_window, preferences):
    preferences.change(rig="Heron 3", store="/logs/heron.dipbook")
    window, _ = open_window(None)
    assert [c.shortcut().toString() for c in window.start.choices] == [
        "Ctrl+Return", "Ctrl+D", "Ctrl+Shift+N", "Ctrl+O", ""]     # the last one's is the window's


def test_without_a_last_log_it_is_not_offered(open_window):
    window, _ = open_window(None)
    assert not window.start.choices[0].isVisible()


def test_describe_saves_the_explained_file_and_says_what_to_do(open_window, monkeypatch, tmp_path):
    opened = []
    monkeypatch.setattr("dipbook_app.pages.start.QDesktopServices.openUrl", lambda url: opened.append(url.toLocalFile()))
    window, _ = open_window(None)
    path = tmp_path / "rig.toml"
    monkeypatch.setattr(window.start, "ask_where_to_save", lambda: str(path))
    window.start.describe()
    assert path.read_text(encoding="utf-8") == (files("dipbook_app") / "data" / "new_rig.toml").read_text(
        encoding="utf-8")
    assert [Path(name) for name in opened] == [path]
    assert window.start.said == f"Saved {path}. Fill it in with any text editor, then open it here with Ctrl+O."
    monkeypatch.setattr(window.start, "ask_where_to_save", lambda: str(tmp_path / "no" / "rig.toml"))
    window.start.describe()
    assert "can't be written" in window.start.said


def test_a_desk_taken_after_the_start_shows_the_watch(open_window):
    window, _ = open_window(None)
    desk = RecordingDesk(raised())
    window.take(desk, {"Round": Page(), "Log": Page()})
    assert window.rail.names() == ("Watch", "Round", "Log", "Drill", "Start")
    assert window.strip.readings()[0].startswith("GAIN")
    window.take(None, {})
    assert window.page == "Start"
    assert window.strip.readings() == ()
    assert window.sound.sounding is None


def test_many_situations_neither_abort_nor_leak_widgets(open_window):
    window, desk = open_window(quiet())
    before = len(window.findChildren(QWidget))
    for k in range(150):
        desk.show((raised if k % 2 else quiet)(now_ms=NOW_MS + k * MIN))
        window._paint_newest()
        QApplication.processEvents()
    assert abs(len(window.findChildren(QWidget)) - before) <= 4
