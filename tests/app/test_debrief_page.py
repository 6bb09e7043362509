"""A finished drill gone through by keyboard: as it was shown, then with the truth; its record; the list. All invented."""

from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from dipbook import debriefing
from dipbook.debrief.signed_record import of_debrief
from dipbook.drill.record import Act
from dipbook_app import fonts
from dipbook_app.cli.main import main
from dipbook_app.debrief_words import NEVER_AGAINST, NO_TARGET, NOBODY, WAS_SO
from dipbook_app.pages.debrief import DebriefPage
from dipbook_app.printing.drill_pages import lay_out
from dipbook_app.printing.paper import Words
from dipbook_app.theme import PALETTES, Look
from dipbook_app.widgets.debrief_view import SPEEDS, TICK_MS
from finished_drills import MINUTE, TARGET, finish

BEGAN = 1_767_620_212_298
"""When the kick of this scenario and seed begins to flow."""
ACTS = (Act(BEGAN + 9 * MINUTE, "told driller", "gain"), Act(BEGAN + 11 * MINUTE, "space out"),
        Act(BEGAN + 12 * MINUTE, "pumps off"), Act(BEGAN + 12 * MINUTE + 1, "flow check", "flowing"),
        Act(BEGAN + 14 * MINUTE, "shut-in"), Act(BEGAN + 20 * MINUTE, "named", "kick"))


@pytest.fixture(scope="module")
def drills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("drills")
    finish(folder / "first", "kick-connection", ACTS, target=TARGET)
    finish(folder / "second", "seepage", (), trainee="A. Hald (invented)", done_ms=1_769_100_000_000)
    (folder / "third").mkdir()
    (folder / "third" / "drill.toml").write_text("seed = 1\n", encoding="utf-8")
    return folder


@pytest.fixture
def page(drills: Path, qtbot: QtBot) -> DebriefPage:
    made = DebriefPage(Look(PALETTES["day"]))
    qtbot.addWidget(made)
    made.resize(1170, 640)
    made.show()
    assert made.show_history(drills)
    assert made.open_debrief(drills / "first")
    return made


def press(page: DebriefPage, *keys: Qt.Key) -> None:
    for key in keys:
        QTest.keyClick(page.view.table, key)
        QApplication.processEvents()


def test_it_is_gone_through_as_it_was_shown_by_keys(page: DebriefPage) -> None:
    view, key = page.view, Qt.Key
    told, _ = debriefing.of_folder(page._folder)
    learned = told.shown.learned_ms.tolist()
    assert view.t_ms == told.about.began_ms
    press(page, key.Key_Right, key.Key_Right)
    assert view.t_ms == learned[2]
    assert view.plot.drawn()[:2] == (3, 0)              # no truth, and nothing of what is to come
    press(page, key.Key_Left)
    assert view.t_ms == learned[1]
    press(page, key.Key_N)
    assert view.t_ms == told.warned[0].learned          # the first thing that is no entry
    assert "gain: raised" in view.now.text()
    press(page, key.Key_N)
    assert view.t_ms == ACTS[0].t_ms
    assert view.rows()[-1] == ("07:45", "done", "Driller told: gain")
    press(page, key.Key_P)
    assert view.t_ms == told.warned[0].learned
    press(page, key.Key_End)
    assert view.t_ms == told.about.ended_ms
    assert not any(kind == WAS_SO for _, kind, _ in view.rows())
    assert [x for _, x in view.readings()] == [view.readings()[0][1]]    # only how to go through it
    press(page, key.Key_Home)
    assert view.t_ms == told.about.began_ms
    assert view.plot.drawn()[0] <= 1


def test_the_truth_is_laid_over_it_at_a_key_and_tells_what_was_done(page: DebriefPage) -> None:
    view = page.view
    before = view.plot.drawn()
    press(page, Qt.Key.Key_T)
    assert view.truth_shown
    assert view.plot.drawn()[1] > 200
    assert view.plot.drawn()[2] > before[2]
    said = dict(view.readings())
    assert list(said) == ["What was done", "What could have been seen", "What it was called", "Counts"]
    assert "flow check at 07:48, 12 min after it began; 6.2 bbl had come in" in said["What was done"]
    assert "within 10 min: not met; at most 5.0 bbl: not met" in said["What was done"]
    assert NEVER_AGAINST in said["What was done"]
    assert "The flow check came 9 min after that could first be seen" in said["What could have been seen"]
    assert "isn't timed" in said["What it was called"]
    assert "Too few for d′" in said["Counts"]
    assert any(kind == WAS_SO and "begins to flow" in words for _, kind, words in view.rows())
    press(page, Qt.Key.Key_T)
    assert not view.truth_shown
    assert view.plot.drawn() == before


def test_playing_goes_on_at_its_speed_and_stops_at_the_end(page: DebriefPage) -> None:
    view, key = page.view, Qt.Key
    press(page, key.Key_Space)
    assert view.playing
    at = view.t_ms
    view.tick()
    assert view.t_ms == at + SPEEDS[1] * TICK_MS
    press(page, key.Key_Plus)
    assert str(SPEEDS[2]) in view.said.text()
    at = view.t_ms
    view.tick()
    assert view.t_ms == at + SPEEDS[2] * TICK_MS
    press(page, key.Key_Space)
    assert not view.playing
    view.slider.setValue(view.slider.maximum() - 1)
    view.play()
    view.tick()
    assert not view.playing
    view.play()                                          # again from the beginning
    assert view.playing
    view.hide()
    assert not view.playing


def test_the_list_has_every_drill_by_trainee_and_opens_one(page: DebriefPage, drills: Path, qtbot: QtBot) -> None:
    press(page, Qt.Key.Key_Escape)
    assert not page.debrief_shown
    rows = page.history.rows()
    assert [r[0].split(".")[0] for r in rows if len(r) == 1] == ["A", "T"]     # by name
    assert rows[1][1:4] == ("Seepage", "missed", "–")
    assert rows[3][1:5] == ("Kick on connections", "not met", "12 min", "6.2 bbl")
    assert page.history.unread.text().startswith("third can't be read.")
    QTest.keyClick(page.history.table, Qt.Key.Key_Up)
    QTest.keyClick(page.history.table, Qt.Key.Key_Up)
    with qtbot.waitSignal(page.history.wanted):
        QTest.keyClick(page.history.table, Qt.Key.Key_Return)
    assert page.debrief_shown
    assert page.view.title.text().startswith("Seepage")
    press(page, Qt.Key.Key_T)
    assert NOBODY in page.view.readings()[0][1]
    assert NO_TARGET in page.view.readings()[0][1]
    press(page, Qt.Key.Key_Escape)
    with qtbot.waitSignal(page.closed):
        QTest.keyClick(page.history.table, Qt.Key.Key_Escape)


def test_the_record_is_written_beside_the_drill_at_a_key(drills: Path, tmp_path: Path, qtbot: QtBot) -> None:
    own = tmp_path / "own"
    shutil.copytree(drills / "first", own)
    page = DebriefPage()
    qtbot.addWidget(page)
    page.show()
    assert page.open_debrief(own)
    QApplication.processEvents()
    with qtbot.waitSignal(page.said) as told:
        QTest.keyClick(page.view.table, Qt.Key.Key_R)
    assert told.args[1] is False
    assert (own / "record.pdf").is_file()
    assert "record.pdf" in page.view.said.text()
    (row,) = csv.DictReader(io.StringIO((own / "record.csv").read_text(encoding="utf-8")))
    assert row["mark"] == "DRILL"
    assert page.open_debrief(drills / "third") is False       # said, and what was shown stays
    assert page.view.title.text().startswith("Kick on connections")


@pytest.mark.parametrize("text", [1.0, 1.3])
def test_nothing_is_cut_at_1280_by_800(page: DebriefPage, text: float) -> None:
    page.set_look(Look(PALETTES["night"], text))
    press(page, Qt.Key.Key_T, Qt.Key.Key_End)
    assert not page.view.title.cut
    assert not page.view.now.cut
    for button in page.view.buttons:
        assert button.geometry().right() <= page.view.plot.geometry().right() + 4
        assert button.height() >= 38
    assert page.minimumSizeHint().height() <= 640


def text_of(path: Path) -> list[str]:
    return [" ".join(p.extract_text().split()) for p in PdfReader(path).pages]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_record_on_paper_has_its_fields_its_mark_and_lines_to_sign(drills: Path, tmp_path: Path, paper: str,
                                                                       capsys: pytest.CaptureFixture[str]) -> None:
    out, row = tmp_path / "r.pdf", tmp_path / "r.csv"
    assert main(["drill", "record", str(drills / "first"), "--out", str(out), "--csv", str(row), "--paper", paper]) == 0
    assert "to be signed" in capsys.readouterr().out
    size = PdfReader(out).pages[0].mediabox
    assert float(size.width) == pytest.approx({"a4": 841.9, "letter": 792.0}[paper], abs=1.0)
    pages = text_of(out)
    assert all("DRILL: a training drill, not the well" in p and "This log is an aid" in p for p in pages)
    told, _ = debriefing.of_folder(drills / "first")
    text = " ".join(pages)
    for words in (told.about.ident, "T. Berg (invented)", "I. Voss (invented)", "Kick on connections", "connection",
                  "07:36:52 (UTC−06:00), 13:36:52 UTC", "First recognised", "9 min 00 s", "Alarm raised: driller told",
                  "Ready to close", "11 min 00 s", "Complete: shut in", "14 min 00 s", "Company man (invented): house rule",
                  "Scenario told beforehand no", "kick: not done: logged.", "Trainee (name)", "Instructor (name)",
                  "Seen by the toolpusher (name)", "Signature"):
        assert words in text, words
    (found,) = csv.DictReader(io.StringIO(row.read_text(encoding="utf-8")))
    assert found["t0 (UTC)"] == "2026-01-05T13:36:52.298Z"
    assert (float(found["t1 after [s]"]), float(found["t3 after [s]"]), float(found["t5 after [s]"])) == (540.0, 720.0, 840.0)
    assert (found["in time"], found["in volume"], found["outcome"]) == ("no", "no", "flow check")
    assert float(found["signal volume [m3]"]) == pytest.approx(2.9626, abs=1e-3)
    assert float(found["hole depth [m]"]) == pytest.approx(2791.6, abs=1.0)


def test_what_nobody_did_stays_blank_and_is_not_made_up(drills: Path, tmp_path: Path, qapp: QApplication) -> None:
    fonts.install(qapp)
    assert main(["drill", "record", str(drills / "second"), "--out", str(tmp_path / "r.pdf"), "--csv",
                 str(tmp_path / "r.csv")]) == 0
    assert text_of(tmp_path / "r.pdf")[0].count("not done, or not noted") == 5
    assert "nobody set one" in text_of(tmp_path / "r.pdf")[0]
    (found,) = csv.DictReader(io.StringIO((tmp_path / "r.csv").read_text(encoding="utf-8")))
    assert [found[f"t{n} (UTC)"] for n in range(1, 6)] == [""] * 5
    assert (found["target time [s]"], found["in time"], found["outcome"]) == ("", "", "missed")
    told, rig = debriefing.of_folder(drills / "second")
    marks = [m for page in lay_out(of_debrief(told), rig) for m in page if isinstance(m, Words)]
    assert all(m.y > 0 and m.x > 0 for m in marks)


def test_history_and_debrief_are_told_without_a_window(drills: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["drill", "history", str(drills)]) == 0
    out = capsys.readouterr().out
    assert "A. Hald (invented): 1 drill, 1 with something missed." in out
    assert "nobody is ranked" in out
    assert "Not read: third:" in out
    assert main(["drill", "history", str(drills), "--trainee", "t. berg  (Invented)"]) == 0
    out = capsys.readouterr().out
    assert "Kick on connections: not met; after 12 min; by then 6.2 bbl" in out
    assert "Hald" not in out
    assert main(["drill", "history", str(drills), "--trainee", "nobody"]) == 2
    assert "There are drills of: A. Hald (invented), T. Berg (invented)." in capsys.readouterr().err
    assert main(["drill", "debrief", str(drills / "first")]) == 0
    out = capsys.readouterr().out
    assert "07:36:52  was so   Kick: begins to flow" in out
