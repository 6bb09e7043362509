"""The pages on the real desk and a real log: typed, stored, shown, and there again after a restart."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from dipbook import store
from dipbook.records import RIG, ROUND, Draft
from dipbook.rig.document import parse
from dipbook_app.clock import Clock
from dipbook_app.desk import Desk
from dipbook_app.drafts import Drafts
from dipbook_app.log_model import KIND, WHAT
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.pages.log import LogPage
from dipbook_app.pages.round import RoundPage

START_S = 1_772_352_900.0
RIG_FILE = Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml"


class Wall:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = START_S

    def __call__(self) -> float:
        return self.now


class Station:
    """A desk with its pages, as the program makes them."""

    def __init__(self, path: Path, wall: Wall, qtbot: QtBot) -> None:
        self.desk = Desk(store.open(path, station="desk", create=False), Clock(wall, wall), ticking=False)
        self.desk.set_on_watch("R. Moe")
        self.drafts = Drafts(self.desk.drafts_path, self.desk)
        self.round = RoundPage(self.desk, self.drafts)
        self.log = LogPage(self.desk, self.drafts)
        self.limits = LimitsPage(self.desk)
        for page in (self.round, self.log, self.limits):
            qtbot.addWidget(page)
            self.desk.situation_changed.connect(page.show_situation)
            page.show_situation(self.desk.situation)
            page.show()

    def close(self) -> None:
        for page in (self.round, self.log, self.limits):
            self.desk.situation_changed.disconnect(page.show_situation)
            page.close()
        self.log.running._timer.stop()
        self.desk.close()


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "rig.dipbook"
    text = RIG_FILE.read_text(encoding="utf-8")
    log = store.open(path, station="desk")
    log.append([Draft(RIG, round(START_S * 1000), round(START_S * 1000), "Test",
                      {"text": text, "digest": parse(text).digest, "effective": "change"})])
    log.close()
    return path


@pytest.fixture
def station(path: Path, wall: Wall, qtbot: QtBot) -> Iterator[Station]:
    station = Station(path, wall, qtbot)
    yield station
    station.close()


def gauge(page: RoundPage, texts: list[str]) -> None:
    page.focus_first()
    for text in (*texts, "", ""):  # the two depths after the last tank stay blank
        QTest.keyClicks(page.focusWidget(), text)
        QTest.keyClick(page.focusWidget(), Qt.Key.Key_Return)


def test_rounds_entries_and_limits_go_through_to_the_log_and_come_back(path: Path, wall: Wall, qtbot: QtBot) -> None:
    station = Station(path, wall, qtbot)
    tanks = [tank.name for tank in station.desk.situation.rig.tanks]
    wall.now += 300
    gauge(station.round, ["40 in"] * len(tanks))
    assert station.round.words.said.startswith("Round saved 02:20. Active ")
    assert station.round.row(tanks[0]).last.text().startswith("40 in")

    station.log.add("zero")
    form = station.log.panel.form
    assert form is not None
    form.field("reason").set_text("start of tour")
    form.save()
    assert station.log.panel.form is None
    assert station.desk.situation.zero_ms is not None

    wall.now += 1200
    gauge(station.round, ["="] * (len(tanks) - 1) + ["40 1/2 in"])
    assert "Difference " in station.round.words.said
    rounds = [r for r in station.desk.situation.records if r.kind == ROUND]
    assert [len(r.dips) for r in rounds] == [len(tanks), len(tanks)]
    assert [d.unchanged for d in rounds[1].dips] == [True] * (len(tanks) - 1) + [False]

    station.limits.table.setCurrentCell(0, 0)
    station.limits.withdraw()
    assert station.limits.form is not None
    name = station.limits.limits[0].name
    station.limits.form.field("why").set_text("test")
    station.limits.form.save()
    assert name not in [limit.name for limit in station.desk.situation.rig.limits]

    for text in ("41 in", "39 i"):
        station.round.row(tanks[0 if text == "41 in" else 1]).stick.setText(text)
    kinds = [station.log.filter.index(row, KIND).data() for row in range(station.log.filter.rowCount())]
    station.close()

    wall.now += 10
    again = Station(path, wall, qtbot)
    assert [again.log.filter.index(row, KIND).data() for row in range(again.log.filter.rowCount())] == kinds
    assert again.round.row(tanks[1]).stick.text() == "39 i", "the round in progress is where it was left"
    assert again.limits.table.rowCount() == len(again.desk.situation.rig.limits)
    again.round.drafts.drop("round")
    again.close()


def test_a_correction_and_a_strike_change_the_books_and_stay_in_the_log(station: Station, wall: Wall) -> None:
    names = [tank.name for tank in station.desk.situation.rig.tanks]
    wall.now += 300
    gauge(station.round, ["40 in"] * len(names))
    found = station.desk.log_entry("discard", {"from": names[0], "volume": "5 bbl"}, t_ms=station.desk.now_ms() - 1000,
                                   end_ms=None, author="R. Moe")
    assert not any(f.severity == "error" for f in found)
    uid = station.desk.situation.records[-1].uid
    assert station.log.choose(uid)
    station.log.correct()
    form = station.log.panel.form
    assert form is not None
    form.field("volume").set_text("6 bbl")
    form.field("why").set_text("misread")
    form.save()
    correction = station.desk.situation.records[-1]
    assert (correction.supersedes, correction.reason) == (uid, "misread")
    assert station.log.choose(correction.uid)
    station.log.strike()
    assert station.log.panel.form is not None
    station.log.panel.form.field("reason").set_text("never happened")
    station.log.panel.form.save()
    said = [station.log.filter.index(row, WHAT).data() for row in range(station.log.filter.rowCount())]
    assert said[-4:-1] == [f"From {names[0]}: 5.0 bbl", f"From {names[0]}: 6.0 bbl. Reason: misread",
                           "Struck out: never happened"], "the round after it stays last"


def test_a_running_transfer_runs_on_the_real_desk_and_is_stopped(station: Station, wall: Wall) -> None:
    names = [tank.name for tank in station.desk.situation.rig.tanks]
    station.log.add("transfer", {"state": "running"})
    form = station.log.panel.form
    assert form is not None
    form.field("from").set_text(names[5])
    form.field("to").set_text(names[4])
    form.field("rate").set_text("2 bbl/min")
    form.save()
    wall.now += 300
    station.log.running.tick()
    (line,) = station.log.running.lines
    assert line.amount.text() == "10.0 bbl so far, 5 min"
    line.button.click()
    assert station.log.panel.form is not None
    station.log.panel.form.save()
    assert station.desk.situation.running == ()


@pytest.mark.parametrize("text", ["6x", "5000 bbl/min"])
def test_a_dip_that_cannot_be_read_never_reaches_the_log(station: Station, text: str) -> None:
    before = len(station.desk.situation.records)
    station.round.rows[0].stick.setText(text)
    station.round.save()
    assert len(station.desk.situation.records) == before
    station.drafts.drop("round")


def test_the_pumps_are_logged_by_one_key_that_offers_and_one_that_saves(station: Station) -> None:
    now = station.desk.now_ms()
    station.log.offer("pumps", {"state": "on", "t_ms": now})
    assert not [r for r in station.desk.situation.records if r.kind == "pumps"]
    QTest.keyClick(station.log.focusWidget(), Qt.Key.Key_Return)
    (record,) = [r for r in station.desk.situation.records if r.kind == "pumps"]
    assert (record.t_ms, record.payload["state"]) == (now, "on")
