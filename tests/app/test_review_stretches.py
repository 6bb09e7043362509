"""The Review page turned to the trips and the sections of the hole, on the demo's log of trips. Invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import NOW, Bench, Hands, bench

from dipbook import reports
from dipbook_app import demo_trips
from dipbook_app.cli.main import main
from dipbook_app.pages.review import ReviewPage
from dipbook_app.theme import Look


@pytest.fixture
def b(tmp_path: Path) -> Iterator[Bench]:
    with bench(demo_trips.make_log(NOW, tmp_path), Hands()) as made:
        yield made


def test_d_turns_to_trips_and_sections_and_the_keys_go_along_them(b: Bench, qtbot: QtBot) -> None:
    page = ReviewPage(b.desk)
    page.set_look(Look())
    page.resize(1180, 660)
    qtbot.addWidget(page)
    page.show()
    page.show_situation(b.situation)
    qtbot.waitUntil(lambda: not page.working, timeout=20_000)

    def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        QTest.keyClick(page.focused(page.section), key, modifier)
        qtbot.waitUntil(lambda: not page.working, timeout=20_000)
    trips, (section,) = b.desk.stretches(reports.TRIP), b.desk.stretches(reports.SECTION)
    assert len(trips) == 3
    press(Qt.Key.Key_D)
    assert page.kind_key.text() == "Trips  D"
    press(Qt.Key.Key_D)
    assert page.chosen_words.text().startswith(f"{trips[-1].label}: ")
    assert (page.chosen.from_ms, page.chosen.to_ms) == (trips[-1].span.from_ms, trips[-1].span.to_ms)
    assert page.reviewed.report.span.from_ms == trips[-1].span.from_ms
    press(Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    press(Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert page.chosen_words.text().startswith(f"{trips[0].label}: ")
    (line,) = page.reviewed.report.trips
    assert line.title == trips[0].label
    assert line.begun_ms == trips[0].span.from_ms + 1
    press(Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert page.state.text() == "? There is no trip before this one."
    wanted: list[tuple[str, str]] = []
    page.page_wanted.connect(lambda *args: wanted.append(args))
    page._open("trips", 0)
    qtbot.waitUntil(lambda: not page.working, timeout=20_000)
    assert wanted == []
    assert page.chosen.from_ms == trips[0].span.from_ms, "an earlier trip's line is its own span"
    press(Qt.Key.Key_Home, Qt.KeyboardModifier.AltModifier)
    page._open("trips", 0)
    assert wanted == [("Trip", "")], "the last one has its sheet on the Trip page"
    press(Qt.Key.Key_D)
    assert page.kind_key.text() == "Tours  D"
    assert page.chosen_words.text().startswith(f"Section {section.label}: ")
    press(Qt.Key.Key_D)
    assert page.kind_key.text() == "Days  D"


def test_the_command_takes_a_trip_or_a_section_by_its_number(b: Bench, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log, zone = str(b.path), b.situation.rig.zone
    trips = b.desk.stretches(reports.TRIP)
    assert main(["report", log, "--out", str(tmp_path / "t.pdf"), "--trip", "2"]) == 0
    assert reports.said(trips[1].span, zone) in capsys.readouterr().out
    assert main(["report", log, "--out", str(tmp_path / "s.pdf"), "--section", "1"]) == 0
    assert "Wrote" in capsys.readouterr().out
    assert main(["report", log, "--out", str(tmp_path / "x.pdf"), "--trip", "4"]) == 2
    said = capsys.readouterr().err
    assert "The log has no trip 4. It has 1: Trip 1, out of the hole, dry, from" in said
    assert "Nothing was written." in said
    assert not (tmp_path / "x.pdf").exists()
    assert main(["report", log, "--out", str(tmp_path / "x.pdf"), "--trip", "1", "--tour", "2026-03-01D"]) == 2
