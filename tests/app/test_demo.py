"""The demo's log: the night moved to end now, with its journal; opened by a desk it stands as it was left."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from app.real_desks import NOW, Hands, bench
from builders import BBL
from dipbook import store
from dipbook.exchange.times import rig_time
from dipbook.records import WARNING
from dipbook_app import demo
from dipbook_app.summary import of_log

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo.make_log(NOW, tmp_path_factory.mktemp("demo"))


@pytest.fixture
def b(path: Path, tmp_path: Path) -> Path:
    """A copy of the demo's log and its note."""
    copy = tmp_path / path.name
    for beside in path.parent.glob(f"{path.name}*"):
        (tmp_path / beside.name).write_bytes(beside.read_bytes())
    return copy


def test_the_night_ends_a_few_minutes_ago_and_its_chain_holds(path: Path) -> None:
    with store.open(path, write=False) as log:
        assert not log.verify()
        records = log.records()
    rounds = [r for r in records if r.kind == "round"]
    assert len(rounds) == 25
    assert 4 * 60_000 <= NOW - rounds[-1].t_ms < 5 * 60_000
    assert all(r.t_ms <= NOW for r in records)
    assert [r.learned_ms for r in records] == sorted(r.learned_ms for r in records)
    assert {d.as_typed for d in rounds[0].dips if d.tank == "Settling"} == {"80.00 in"}
    assert "invented" in records[0].author


def test_its_journal_tells_the_night(path: Path) -> None:
    with store.open(path, write=False) as log:
        lines = [(r.payload["name"], r.payload["state"], rig_time(r.t_ms, "Etc/GMT+6")[11:16])
                 for r in log.records(kinds=[WARNING])]
        rounds = [r.t_ms for r in log.records(kinds=["round"])]
        stamps = {t: rig_time(t, "Etc/GMT+6")[11:16] for t in rounds}
    assert lines == [
        ("gain", "raised", stamps[rounds[14]]),                       # 01:00 of the night: the unlogged transfer
        ("gain", "acknowledged", rig_time(rounds[14] + 180_000, "Etc/GMT+6")[11:16]),
        ("gain", "raised", stamps[rounds[22]]),                       # 05:00: grown by the slow gain
        ("all surface gain", "raised", stamps[rounds[23]])]           # 05:30: no transfer can explain it


def test_a_desk_finds_it_as_it_was_left_and_adds_nothing(b: Path) -> None:
    with bench(b, Hands(NOW + 1000)) as made:
        made.settle()
        assert made.states() == {"gain": "raised", "all surface gain": "raised"}
        assert made.desk.sounding
        assert made.desk.unreadable == 0
        assert [r for r in made.situation.records if r.kind == "not watched"] == []
        assert len(made.transitions()) == 4
        assert made.situation.difference_m3 == pytest.approx(29.3 * BBL, abs=0.1 * BBL)
        made.pass_(1)
        assert len(made.transitions()) == 4
        due = made.situation.next_due_ms
        assert due is not None
        assert due > NOW
    with bench(b, Hands(NOW + 62_000)) as made:
        assert made.states() == {"gain": "raised", "all surface gain": "raised"}
        assert len(made.transitions()) == 4


def test_the_demo_s_files_imported_on_top_raise_each_limit_once_at_most_and_add_nothing_twice(b: Path) -> None:
    """The files' own night lies before the moved one: other readings at other times."""
    data = demo.folder()
    with bench(b, Hands(NOW + 1000)) as made:
        before = Counter(r.payload["name"] for r in made.transitions() if r.payload["state"] == "raised")
        records = made.desk.store.last_seq
        found = made.desk.import_files(data / "larkspur-readings.csv", data / "larkspur-entries.csv")
        assert not [f for f in found if f.severity == "error"]
        made.desk.import_files(data / "larkspur-readings.csv", data / "larkspur-entries.csv")
        assert made.said[-1] == "Nothing new: these files are in the log already."
        after = Counter(r.payload["name"] for r in made.transitions() if r.payload["state"] == "raised")
        assert set((after - before).values()) <= {1}
        assert made.desk.store.last_seq > records + 100


def test_the_summary_says_what_the_screen_does(path: Path) -> None:
    words = of_log(path)
    for line in ("Larkspur 7 (invented)", "Active      537.4 bbl", "Expected    508.1 bbl",
                 "Difference  +29.3 bbl ± 1.3 bbl (2u)", "transfers     +55.0 bbl", "cuttings"):
        assert line in words
    assert words.count("Raised ") == 3
