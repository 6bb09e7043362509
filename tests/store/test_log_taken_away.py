"""A log that is moved, deleted or replaced while it is open: nothing is called saved that goes where nobody finds it."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreError
from store.drafts_for_logs import a_round, remark

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows lets nobody move or delete an open file")


def deleted(path: Path) -> None:
    path.unlink()


def moved(path: Path) -> None:
    path.rename(path.with_name("elsewhere"))


def folder_moved(path: Path) -> None:
    path.parent.rename(path.parent.with_name("stick taken off"))


def replaced(path: Path) -> None:
    shutil.copy(path, path.with_name("copy"))
    path.with_name("copy").replace(path)


def wal_deleted(path: Path) -> None:
    path.with_name(f"{path.name}-wal").unlink()


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "folder").mkdir()
    return tmp_path / "folder" / "well.log"


@pytest.mark.parametrize(("take", "words"), [
    (deleted, r"no longer there.*Nothing of it was stored.*Put it back"),
    (moved, r"no longer there.*Nothing of it was stored.*Put it back"),
    (folder_moved, r"no longer there.*Nothing of it was stored.*Put it back"),
    (replaced, r"Another file lies where the log was.*Nothing of it was stored.*own file back"),
    (wal_deleted, r"well\.log-wal beside the log was deleted.*Nothing of it was stored.*Close the log"),
])
def test_nothing_is_saved_into_a_log_that_was_taken_away(place: Path, take: Callable[[Path], None], words: str) -> None:
    with store.open(place) as log:
        log.append([a_round(0)])
        take(place)
        for _ in range(2):
            with pytest.raises(StoreError, match=words):
                log.append([remark(1)])
        assert log.last_seq == 1
        assert log.verify() == ()


@pytest.mark.parametrize(("take", "back"), [
    (moved, lambda path: path.with_name("elsewhere").rename(path)),
    (folder_moved, lambda path: path.parent.with_name("stick taken off").rename(path.parent)),
])
def test_saving_goes_on_once_it_is_back(place: Path, take: Callable[[Path], None], back: Callable[[Path], object]) -> None:
    with store.open(place) as log:
        log.append([a_round(0)])
        take(place)
        with pytest.raises(StoreError, match="no longer there"):
            log.append([remark(1)])
        back(place)
        assert [r.seq for r in log.append([remark(2)])] == [2]
    with store.open(place) as log:
        assert [r.kind for r in log.records()] == ["round", "remark"]
        assert log.verify() == ()


def test_a_log_whose_wal_was_deleted_is_whole_after_it_is_closed(place: Path) -> None:
    with store.open(place) as log:
        log.append([a_round(0)])
        wal_deleted(place)
        with pytest.raises(StoreError, match="beside the log"):
            log.append([remark(1)])
    with store.open(place) as log:
        assert log.append([remark(2)])[0].seq == 2
        assert log.verify() == ()


def test_a_log_that_is_gone_can_still_be_copied_away(place: Path, tmp_path: Path) -> None:
    with store.open(place) as log:
        log.append([a_round(0)])
        deleted(place)
        assert log.backup(tmp_path / "rescued.log") == 1
    with store.open(tmp_path / "rescued.log") as log:
        assert log.verify() == ()
