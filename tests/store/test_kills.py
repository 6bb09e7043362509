"""Killed at any instant, a log keeps all that it acknowledged and nothing half: ten kills here, a thousand as a soak."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="children are made by fork, ended by SIGKILL")


def kill(folder: Path, kills: int, seed: int) -> dict[str, int]:
    done = subprocess.run([sys.executable, "-m", "store.killing", str(folder), "--kills", str(kills), "--seed", str(seed)],
                          capture_output=True, text=True, check=False,
                          env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)})
    assert done.returncode == 0, done.stderr[-3000:]
    figures: dict[str, int] = json.loads(done.stdout.splitlines()[-1])
    sys.stdout.write(f"{figures}\n")
    return figures


def test_ten_kills_lose_nothing(tmp_path: Path) -> None:
    assert kill(tmp_path, 10, 3)["kills"] == 10


@pytest.mark.slow
def test_a_thousand_kills_lose_nothing(tmp_path: Path) -> None:
    """Also that they came where it matters: within appends, while opening, while migrating and copying."""
    figures = kill(tmp_path, 1_000, 1)
    assert figures["kills"] == 1_000
    assert figures["killed within an append"] >= 50
    assert figures["acknowledged records"] >= 1_000
    assert figures["killed while opening"] >= 20
    for work in ("migrating", "backing up", "making"):
        assert figures[f"kills while {work}"] >= 50, work
    for what in ("killed migrations: as it was", "killed backups: none", "killed while making: not there"):
        assert figures[what] >= 20, what
    for what in ("killed migrations: at the later schema", "killed backups: whole", "killed while making: whole"):
        assert figures[what] >= 5, what  # killed between its last step and its end
