"""Lets the measurements run from a checkout, installed or not."""

from __future__ import annotations

import os
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = [str(ROOT / name) for name in ("core", "app")]

sys.path[:0] = [*FOLDERS, str(ROOT / "tests"), str(ROOT / "tests" / "app")]
os.environ["PYTHONPATH"] = os.pathsep.join(FOLDERS)
