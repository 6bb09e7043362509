"""Marks of open watches: seen from another program, let go by the system, and in no watch's way."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from dipbook.errors import DrillError
from dipbook_app.watch_marks import LOCK, TEXT, UNNAMED, WatchMarks

HOLD = """
import sys
sys.path[:0] = {path!r}
from pathlib import Path
from dipbook_app.watch_marks import WatchMarks
marks = WatchMarks(Path({folder!r}))
print(marks.hold(Path("/rig/real.dipbook")) or "held", flush=True)
sys.stdin.read()
"""


def test_a_mark_of_a_program_that_is_killed_holds_nobody_up(tmp_path: Path) -> None:
    code = HOLD.format(path=sys.path, folder=str(tmp_path))
    with subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline().strip() == b"held"
        assert WatchMarks(tmp_path).elsewhere() == ("/rig/real.dipbook",)
        other.kill()
        other.wait()
    assert [p.suffix for p in sorted(tmp_path.iterdir())] == [TEXT, LOCK]     # what it left
    assert WatchMarks(tmp_path).elsewhere() == ()


def test_one_log_after_another_and_two_programs(tmp_path: Path) -> None:
    here, there = WatchMarks(tmp_path / "w"), WatchMarks(tmp_path / "w")
    assert there.elsewhere() == ()                      # nothing was ever marked
    assert here.hold(Path("/a.dipbook")) == here.hold(Path("/b.dipbook")) == ""
    assert there.elsewhere() == ("/b.dipbook",)
    assert there.hold(Path("/c.dipbook")) == ""
    assert (here.elsewhere(), there.elsewhere()) == (("/c.dipbook",), ("/b.dipbook",))
    (next((tmp_path / "w").glob(f"*{TEXT}"))).write_text("[]")
    assert UNNAMED in (*here.elsewhere(), *there.elsewhere())
    for marks in (here, there):
        marks.let_go()
        marks.let_go()
    assert here.elsewhere() == there.elsewhere() == ()


def test_where_no_mark_can_be_made_the_watch_is_told_and_goes_on(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    marks = WatchMarks(tmp_path / "file")
    assert "could not be marked" in marks.hold(Path("/a.dipbook"))
    marks.let_go()


def test_where_it_cant_be_told_no_drill_runs(tmp_path: Path) -> None:
    (tmp_path / f"odd{LOCK}").mkdir()
    with pytest.raises(DrillError, match="can't be told whether a watch is open"):
        WatchMarks(tmp_path).elsewhere()
