from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dipbook import store


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "well.log"


@pytest.fixture
def log(path: Path) -> Iterator[store.Store]:
    with store.open(path, station="desk 1", created_ms=1_700_000_000_000) as opened:
        yield opened
