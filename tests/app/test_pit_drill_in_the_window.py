"""A pit drill on the rig in the real window: its mark on every page, and its record to be signed. Invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import GAIN, Hands, make_log, put_away, rig_text

from dipbook.entries.kinds import BY_NAME, PIT_DRILL_KINDS
from dipbook_app.drilling import pit_drill_records
from dipbook_app.forms.entry_form import TO_BE_SIGNED, EntryForm
from dipbook_app.page_names import DRILL, LOG
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

BEGINS = {"consent": "T. Pusher", "tank": "Suction", "raised": "2 in", "run by": "R. Moe", "announced": "no"}


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    hands = Hands()
    made = Program(PreferencesFile(tmp_path / "p.json"), hands.clock())
    made.hands = hands                                  # type: ignore[attr-defined]
    made.marks.folder = tmp_path / "watches"
    made.window.resize(1100, 640)
    made.window.show()
    assert made.open_log(make_log(tmp_path / "rig.dipbook", rig_text(GAIN), hands.ms - 60_000))
    yield made
    put_away(made)


def log(program: Program, kind: str, **typed: str) -> None:
    program.hands.wall += 60                            # type: ignore[attr-defined]
    program.hands.steady += 60                          # type: ignore[attr-defined]
    assert program.desk is not None
    found = program.desk.log_entry(kind, {k.replace("_", " "): v for k, v in typed.items()}, author="R. Moe")
    assert [f.what for f in found if f.severity == "error"] == []
    program.window._paint_newest()


def test_a_pit_drill_stands_on_every_page_and_its_record_is_made_here(program: Program, qapp: Any, tmp_path: Path) -> None:
    window = program.window
    mark = window.status.pit_drill
    assert mark.isHidden()
    window.show_page(DRILL)
    assert window.drill.pit_record.isHidden()
    log(program, "pit drill", **{k.replace(" ", "_"): v for k, v in BEGINS.items()})
    for page in window.rail.names():
        window.show_page(page)
        qapp.processEvents()
        assert mark.isVisible(), page
        assert mark.text().startswith("Pit drill under way since"), page
        assert mark.text().endswith(", Suction")
        assert mark.width() >= mark.sizeHint().width(), page        # whole, in the smallest window
    window.say("Something longer is said here, which needs all of the room that there is on the line at the foot", bad=True)
    qapp.processEvents()
    assert mark.isVisible()
    assert mark.width() >= mark.sizeHint().width()
    mark.click()
    assert window.page == LOG
    assert window._pages[LOG].kinds.currentData() == frozenset(PIT_DRILL_KINDS)
    window.show_page(DRILL)
    assert window.drill.pit_record.isVisible()
    QTest.keyClick(window.drill.table, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert window.drill.words.text() == pit_drill_records.NOT_ENDED
    assert not list(tmp_path.glob("*.pdf"))
    log(program, "pit drill end", state="ended", ended_by="T. Pusher")
    assert mark.text() == "Float not proved back, Suction"
    log(program, "float proved", tank="Suction", stick="60", sensor="60", proved_by="D. Hand")
    assert mark.isHidden()
    QTest.keyClick(window.drill.table, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    (pdf,) = tmp_path.glob("rig pit drill *.pdf")
    assert str(pdf) in window.drill.words.text()
    assert "DRILL: a pit drill on the rig" in " ".join(PdfReader(pdf).pages[0].extract_text().split())
    assert pdf.with_suffix(".csv").read_text(encoding="utf-8").splitlines()[1].startswith("DRILL,")
    program.close_log()
    assert mark.isHidden()


def test_the_form_says_where_the_record_is_made(program: Program, qtbot: QtBot) -> None:
    log(program, "pit drill", **{k.replace(" ", "_"): v for k, v in BEGINS.items()})
    form = EntryForm(program.desk, BY_NAME["pit drill end"])
    qtbot.addWidget(form)
    form.start()
    for name, text in {"state": "ended", "ended by": "T. Pusher", "by": "R. Moe"}.items():
        form.field(name).set_text(text)
    said: list[str] = []
    form.saved.connect(said.append)
    form.save()
    assert len(said) == 1
    assert said[0].endswith(TO_BE_SIGNED)
