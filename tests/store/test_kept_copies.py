"""Copies that are made by themselves, which of them stay, and a log brought back from one."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from dipbook import store
from dipbook.errors import StoreDamagedError, StoreError
from dipbook.store import kept_copies
from dipbook.store.kept_copies import Copy, copies, folder_of, keep, restore, stay
from store.drafts_for_logs import T0, a_round, as_plain, remark, samples

HOUR = 3_600_000
DAY = 24 * HOUR


class Usage(NamedTuple):
    total: int
    used: int
    free: int


def test_a_log_comes_back_from_its_copy_record_by_record_and_can_be_gone_on_with(log: store.Store, path: Path) -> None:
    written = log.append([a_round(0), samples(1), remark(2)])
    made = keep(log, T0)
    assert made is not None
    assert made.path.parent == folder_of(path)
    log.append([remark(3)])
    log.close()
    path.write_bytes(path.read_bytes()[:5000])  # the disk failed
    with pytest.raises(StoreDamagedError):
        store.open(path)
    assert restore(made.path, path.with_name("back.log")) == 3
    with store.open(path.with_name("back.log")) as back:
        assert [as_plain(r) for r in back.records()] == [as_plain(r) for r in written]
        assert back.verify() == ()
        assert back.append([remark(4)])[0].seq == 4


def test_a_log_is_never_restored_over_a_file(log: store.Store, path: Path) -> None:
    log.append([remark(0)])
    made = keep(log, T0)
    log.append([remark(1)])
    log.close()
    assert made is not None
    with pytest.raises(StoreError, match="a file of that name already"):
        restore(made.path, path)
    with store.open(path) as there:
        assert there.last_seq == 2


def test_a_copy_that_was_altered_is_not_restored(log: store.Store, path: Path) -> None:
    import sqlite3
    from contextlib import closing
    log.append([remark(0)])
    made = keep(log, T0)
    assert made is not None
    with closing(sqlite3.connect(made.path)) as raw:
        raw.executescript("DROP TRIGGER record_no_update; UPDATE record SET author = 'Eve'")
    with pytest.raises(StoreDamagedError, match=r"not what was written.*Take another copy"):
        restore(made.path, path.with_name("back.log"))
    assert not path.with_name("back.log").exists()


def test_a_month_of_hourly_copies_leaves_twelve_hours_and_fourteen_days(log: store.Store, path: Path) -> None:
    """A real copy is made at each end; between, their names stand for them."""
    log.append([remark(0)])
    first = keep(log, T0)
    assert first is not None
    for hour in range(1, 30 * 24):
        shutil.copy(first.path, first.path.with_name(_name(path, T0 + hour * HOUR)))
    folder_of(path).joinpath("mine.txt").write_text("not a copy")
    folder_of(path).joinpath("other.20200101T000000Z.dipbook").write_text("of another log")
    now = T0 + 30 * DAY
    assert keep(log, now) is not None
    left = copies(path)
    ages = [(now - copy.at_ms) / HOUR for copy in left]
    assert [age for age in ages if age < 12] == [float(n) for n in range(11, -1, -1)]
    days = {copy.at_ms // DAY for copy in left}
    assert len(days) == 14
    assert max(ages) < 14 * 24
    assert len(left) <= 12 + 14
    assert sorted(p.name for p in folder_of(path).iterdir() if p not in {c.path for c in left}) == [
        "mine.txt", "other.20200101T000000Z.dipbook"]


def _name(path: Path, at_ms: int) -> str:
    import datetime as dt
    return f"{path.stem}.{dt.datetime.fromtimestamp(at_ms / 1000, dt.UTC):%Y%m%dT%H%M%SZ}.dipbook"


def test_a_clock_set_back_or_years_ahead_takes_no_copy_away() -> None:
    there = tuple(Copy(Path(f"{n}"), T0 + n * HOUR) for n in range(12))
    assert stay(there, T0 - DAY) == there
    assert stay(there, T0 + 3650 * DAY) == there


def test_a_copy_that_fails_removes_none(log: store.Store, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log.append([remark(0)])
    monkeypatch.setattr(kept_copies, "HOURLY", 1)
    monkeypatch.setattr(kept_copies, "DAILY", 1)
    first = keep(log, T0)

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")
    with monkeypatch.context() as patch:
        patch.setattr(store.store.backup.sqlite, "copy_to", full)
        with pytest.raises(StoreError, match="The disk is full"):
            keep(log, T0 + HOUR)
    assert copies(path) == (first,)
    second = keep(log, T0 + HOUR)
    assert copies(path) == (second,)


def test_a_copy_never_takes_the_room_that_the_log_needs(log: store.Store, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log.append([remark(0)])
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**9, 10**9, 2 * path.stat().st_size))
    with pytest.raises(StoreError, match=r"too little room.*The log itself is as it was.*Free some space"):
        keep(log, T0)
    assert copies(path) == ()


def test_two_copies_in_one_second_are_one(log: store.Store, path: Path) -> None:
    log.append([remark(0)])
    assert keep(log, T0) is not None
    assert keep(log, T0) is None
    assert len(copies(path)) == 1
