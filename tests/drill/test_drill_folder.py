"""A finished drill is written into a folder and read back as it was; what is missing is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from dipbook import store
from dipbook.drill.record import Act, Truth
from dipbook.drill_folder import FinishedDrill, read_drill, write_drill
from dipbook.errors import DrillError
from dipbook.invented import MARK

DONE = FinishedDrill(
    "kick-connection", "Kick on connections", "A formation that flows", "name = \"Kick\"\n", f"{MARK}\nname = \"A rig\"\n", 7,
    True, "A trainee", "", "dips", 1_767_614_400_000, 1_767_618_000_250, 1_769_000_000_000, 60_000,
    "the trainee ended it", ("kick", "transfer"),
    (Truth(1_767_614_400_000, 0.0, 0.0, 0.0, 0.0, "start"), Truth(1_767_614_460_000, 0.123456789, 1e-9, 0.5, 0.25, "=odd, \"kick\": begins", 0.125)),
    (Act(1_767_614_470_000, "told driller", "+ 2 bbl, more than expected"), Act(1_767_614_480_000, "flow check", "flowing"),
     Act(1_767_614_490_000, "named", "two\nlines; 'quoted'")))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    store.open(tmp_path / "log.dipbook", "drill").close()
    return tmp_path


def test_what_is_written_is_read_back_as_it_was(folder: Path) -> None:
    write_drill(folder, DONE)
    assert read_drill(folder) == DONE
    assert sorted(p.name for p in folder.iterdir() if not p.name.startswith("log.")) == [
        "acts.csv", "drill.toml", "rig.toml", "scenario.toml", "truth.csv"]
    for name in ("acts.csv", "drill.toml", "rig.toml", "truth.csv"):
        assert (folder / name).read_text().startswith(MARK)


def test_nobody_did_anything(folder: Path) -> None:
    quiet = replace(DONE, acts=(), events=(), truths=DONE.truths[:1])
    write_drill(folder, quiet)
    assert read_drill(folder) == quiet


def test_a_rig_gets_the_mark_once(folder: Path) -> None:
    write_drill(folder, replace(DONE, rig_text='name = "A rig"\n'))
    assert read_drill(folder).rig_text == DONE.rig_text


def test_a_finished_drill_is_not_written_over(folder: Path) -> None:
    write_drill(folder, DONE)
    with pytest.raises(DrillError, match="finished already"):
        write_drill(folder, replace(DONE, seed=8))
    assert read_drill(folder).seed == 7


def test_a_folder_without_a_log_takes_no_drill(tmp_path: Path) -> None:
    with pytest.raises(DrillError, match="no drill's log"):
        write_drill(tmp_path, DONE)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("file", "text", "says"), [
    ("drill.toml", None, "no finished drill"),
    ("log.dipbook", None, "lost its log"),
    ("truth.csv", None, "can't be opened"),
    ("truth.csv", "time,influx_m3\r\n", "no column event, in_hole_m3"),
    ("acts.csv", "time,act,text\r\nsoon,named,kick\r\n", "acts.csv, line 2: can't be read .*not a time"),
    ("drill.toml", "seed = 7\n", "scenario is missing"),
    ("drill.toml", "seed = \n", "can't be read")])
def test_what_is_wrong_is_told(folder: Path, file: str, text: str | None, says: str) -> None:
    write_drill(folder, DONE)
    (folder / file).unlink() if text is None else (folder / file).write_text(text, newline="")
    with pytest.raises(DrillError, match=says):
        read_drill(folder)
