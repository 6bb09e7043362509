"""What was acknowledged survives a kill, whenever it comes; two programs never write one log."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreBusyError

WRITER = """
import sys
from dipbook import store
from store.drafts_for_logs import a_round, remark, samples
with store.open(sys.argv[1], station="child") as log:
    n = 0
    while True:
        n += 1
        done = log.append([a_round(n, uid=f"round {n}"), samples(n * 10_000_000, seconds=4_000), remark(n)])
        print(done[-1].seq, flush=True)
"""

HOLDER = """
import sys
from dipbook import store
with store.open(sys.argv[1]) as log:
    print("open", flush=True)
    sys.stdin.readline()
"""


def start(code: str, path: Path) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-W", "error", "-c", code, str(path)], text=True,
                            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                            env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)})


@pytest.mark.parametrize("after", [1, 3, 10, 40])
def test_after_a_kill_every_acknowledged_record_is_there(path: Path, after: int) -> None:
    with start(WRITER, path) as child:
        assert child.stdout is not None
        acknowledged = [int(child.stdout.readline()) for _ in range(after)]
        child.kill()  # SIGKILL, most likely in the middle of the next append
        acknowledged += [int(line) for line in child.stdout.read().splitlines(keepends=True) if line.endswith("\n")]
        child.wait()
    with store.open(path) as log:
        records = log.records()
        assert len(records) >= acknowledged[-1]
        assert len(records) % 3 == 0  # an append is there whole or not at all
        assert [r.seq for r in records] == list(range(1, len(records) + 1))
        assert [len(r.dips) for r in records] == [3, 0, 0] * (len(records) // 3)
        assert [sum(len(b.t_ms) for b in r.blocks) for r in records] == [0, 4_000, 0] * (len(records) // 3)
        assert log.verify() == ()
        assert log.remarks == ()


def test_a_second_program_is_told_and_gets_in_when_the_first_is_gone(path: Path) -> None:
    with start(HOLDER, path) as child:
        assert child.stdout is not None
        assert child.stdin is not None
        assert child.stdout.readline() == "open\n"
        with pytest.raises(StoreBusyError, match="Another Dipbook has this log open for writing"):
            store.open(path)
        store.open(path, write=False).close()
        child.stdin.write("\n")
        child.stdin.flush()
        assert child.wait(30) == 0
    store.open(path).close()
