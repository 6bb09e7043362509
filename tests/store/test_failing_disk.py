"""A full disk, a disk that fails, a folder that can't be written: nothing half-written, and on it goes."""

from __future__ import annotations

import errno
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from dipbook import store
from dipbook.errors import StoreError
from dipbook.store import opening, sqlite
from store.drafts_for_logs import a_round, remark, samples


def child(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-W", "error", "-c", code, *arguments], capture_output=True, text=True,
                          timeout=60, check=False, env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)})


def test_a_full_disk_loses_the_append_and_nothing_else(path: Path) -> None:
    """SQLITE_FULL by max_page_count, which is what the database gets from a disk without room."""
    with store.open(path) as log:
        log.append([a_round(0)])
        pages = _pages(log)
        event.listen(log._engine, "checkout", lambda raw, *_: raw.execute(f"PRAGMA max_page_count = {pages[0]}"))
        with pytest.raises(StoreError, match=r"Saving to the log failed\. The disk is full.*as it was\. Free some"):
            log.append([remark(1), samples(2)])
        assert log.last_seq == 1
        assert log.verify() == ()
        pages[0] += 1000  # somebody made room
        assert [r.seq for r in log.append([remark(1), samples(2)])] == [2, 3]
    with store.open(path) as log:
        assert len(log.records()) == 3
        assert log.verify() == ()


class _Pages(list[int]):
    def __format__(self, _: str) -> str:
        return str(self[0])


def _pages(log: store.Store) -> _Pages:
    with log._engine.connect() as connection:
        return _Pages([connection.exec_driver_sql("PRAGMA page_count").scalar_one()])


LIMITED = """
import resource, signal, sys
from dipbook import store
from dipbook.errors import StoreError
from store.drafts_for_logs import remark, samples
path = sys.argv[1]
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with store.open(path) as log:
    log.append([remark(0)])
    resource.setrlimit(resource.RLIMIT_FSIZE, (150_000, resource.RLIM_INFINITY))
    try:
        log.append([remark(1), samples(2, seconds=80_000)])
    except StoreError as error:
        print(error)
    else:
        sys.exit("the limit didn't bite")
    assert log.last_seq == 1, log.last_seq
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert log.append([remark(1)])[0].seq == 2
    assert log.verify() == ()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="file size limits are POSIX")
def test_a_write_that_the_system_refuses_half_way_is_undone(path: Path) -> None:
    done = child(LIMITED, str(path))
    assert done.returncode == 0, done.stderr
    assert "Saving to the log failed. The d" in done.stdout  # the disk is full, or didn't write
    assert "Nothing of it was stored" in done.stdout
    with store.open(path) as log:
        assert [r.seq for r in log.records()] == [1, 2]
        assert log.verify() == ()


def test_a_log_in_a_folder_that_cannot_be_written_is_refused_in_words(
        path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The lock is the first thing written; permissions don't bind root, so the refusal is given by hand."""
    class Refusing:
        def acquire(self, **_: Any) -> None:
            raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(opening, "FileLock", lambda *_, **__: Refusing())
    with pytest.raises(StoreError, match=r"can't be written to.*Nothing was changed\. Allow this user"):
        store.open(path)
    assert list(path.parent.iterdir()) == []


def test_a_disk_that_cannot_lock_is_refused_in_words(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Refusing:
        def acquire(self, **_: Any) -> None:
            raise NotImplementedError

    monkeypatch.setattr(opening, "FileLock", lambda *_, **__: Refusing())
    with pytest.raises(StoreError, match=r"can't lock files.*not on a network drive"):
        store.open(path)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="permissions don't bind root")
def test_a_folder_without_permission_is_refused_in_words(path: Path) -> None:
    path.parent.chmod(0o555)
    try:
        with pytest.raises(StoreError, match="can't be written to"):
            store.open(path)
    finally:
        path.parent.chmod(0o755)


def test_a_file_that_turns_read_only_refuses_the_append_in_words(path: Path) -> None:
    with store.open(path) as log:
        log.append([remark(0)])
        asked = ["ON"]
        event.listen(log._engine, "checkout", lambda raw, *_: raw.execute(f"PRAGMA query_only = {asked[0]}"))
        with pytest.raises(StoreError, match=r"can't be written to.*Nothing of it was stored"):
            log.append([remark(1)])
        asked[0] = "OFF"
        assert log.append([remark(2)])[0].seq == 2


@pytest.mark.parametrize(("error", "cause"), [
    (OSError(errno.ENOSPC, "x"), "full"), (OSError(errno.EDQUOT, "x"), "full"), (OSError(errno.EROFS, "x"), "readonly"),
    (PermissionError(errno.EACCES, "x"), "readonly"), (FileNotFoundError(errno.ENOENT, "x"), "missing"),
    (OSError(errno.EIO, "x"), "disk"), (OSError("no number"), "other"), (sqlite3.ProgrammingError("x"), "other"),
])
def test_causes_are_told_apart(error: Exception, cause: str) -> None:
    assert sqlite.cause(error) == cause


@pytest.mark.parametrize("name", [n for n in dir(sqlite3) if n.startswith(("SQLITE_IOERR_", "SQLITE_CORRUPT_",
                                                                           "SQLITE_READONLY_", "SQLITE_BUSY_"))])
def test_extended_codes_have_the_cause_of_their_family(name: str) -> None:
    error = sqlite3.OperationalError("x")
    error.sqlite_errorcode = getattr(sqlite3, name)
    family = {"IOERR": "disk", "CORRUPT": "damaged", "READONLY": "readonly", "BUSY": "busy"}
    assert sqlite.cause(error) == family[name.split("_")[1]]
