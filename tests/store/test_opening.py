"""The door: what is let in, what is refused, and in which words."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from threading import Thread

import pytest

from dipbook import store
from dipbook.errors import StoreBusyError, StoreDamagedError, StoreError, StoreNewerError
from dipbook.store import chain, sqlite
from store.drafts_for_logs import a_round, as_plain, remark, samples


def test_a_new_log_says_what_it_is(path: Path) -> None:
    with store.open(path, "drill", created_ms=5) as log:
        assert (log.role, log.writes, log.last_seq, log.remarks) == ("drill", True, 0, ())
        assert (log.header["format"], log.header["role"], log.header["created_ms"]) == ("dipbook log 1", "drill", "5")
    with store.open(path, "drill") as again:
        assert again.header == log.header


def test_an_url_of_a_file_is_that_file(path: Path) -> None:
    store.open(f"sqlite:///{path}").close()
    assert path.exists()


@pytest.mark.parametrize("url", ["postgresql://db/log", ":memory:"])
def test_a_log_that_is_not_in_a_file_is_refused_in_words(url: str) -> None:
    with pytest.raises(StoreError, match="keeps its log in a file"):
        store.open(url)


@pytest.mark.parametrize(("made", "opened"), [("drill", "watch"), ("watch", "drill")])
def test_a_drill_is_never_taken_for_a_watch_nor_the_other_way(path: Path, made: str, opened: str) -> None:
    store.open(path, made).close()
    for write in (True, False):
        with pytest.raises(StoreError, match=f"This is the log of a {made}, not of a {opened}.*Nothing was changed"):
            store.open(path, opened, write=write)
    store.open(path, made).close()


def test_a_role_that_does_not_exist_is_a_bug(path: Path) -> None:
    with pytest.raises(ValueError, match="role is one of"):
        store.open(path, "party")


@pytest.mark.parametrize("options", [{"create": False}, {"write": False}])
def test_no_log_is_made_where_none_was_asked_for(path: Path, options: dict[str, bool]) -> None:
    with pytest.raises(StoreError, match="There is no log at"):
        store.open(path, **options)
    assert list(path.parent.iterdir()) == []


def test_a_missing_folder_is_not_made_up(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"There is no folder .*disk is connected"):
        store.open(tmp_path / "stick" / "well.log")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_place_of_a_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="This is a folder, not a log"):
        store.open(tmp_path)


def test_a_name_with_odd_characters_is_a_name(tmp_path: Path) -> None:
    odd = tmp_path / "well 100% #3?mode=ro.log"
    with store.open(odd) as log:
        log.append([remark()])
    with store.open(odd, write=False) as log:
        assert log.last_seq == 1


def test_a_second_writer_is_told_and_a_reader_is_let_in(log: store.Store, path: Path) -> None:
    log.append([remark(0)])
    with pytest.raises(StoreBusyError, match=r"Another Dipbook has this log open for writing.*for reading only"):
        store.open(path)
    with store.open(path, write=False) as reader:
        assert reader.last_seq == 1
        log.append([remark(1)])
        assert [r.seq for r in reader.records()] == [1, 2]
        assert reader.verify() == ()
        with pytest.raises(StoreError, match="opened for reading only"):
            reader.append([remark(2)])
    assert log.append([remark(3)])[0].seq == 3


def test_the_same_log_by_another_way_is_the_same_log(log: store.Store, path: Path) -> None:
    link = path.parent / "link.log"
    link.symlink_to(path)
    with pytest.raises(StoreBusyError):
        store.open(link)


def test_a_failed_opening_lets_the_log_go(path: Path) -> None:
    store.open(path).close()
    with pytest.raises(StoreError):
        store.open(path, "drill")
    store.open(path).close()


def test_the_lock_is_let_go_from_another_thread(path: Path) -> None:
    log = store.open(path)
    closer = Thread(target=log.close)
    closer.start()
    closer.join()
    store.open(path).close()


def test_a_program_that_holds_the_database_is_named_as_the_cause(
        path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    with store.open(path) as log, closing(sqlite3.connect(path, isolation_level=None)) as other:
        log.append([remark(0)])
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBusyError, match=r"Saving to the log failed\. Another program.*Nothing of it was"):
            log.append([remark(1)])
        assert log.last_seq == 1  # reading goes on
        other.execute("ROLLBACK")
        assert log.append([remark(2)])[0].seq == 2


@pytest.mark.parametrize("content", [b"", b"\x00" * 4096, b"depth,volume\n1,2\n" * 900, b"SQLite format 3\x00"])
def test_a_file_that_is_no_log_is_refused_and_left_alone(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    for write in (True, False):
        with pytest.raises(StoreDamagedError, match=r"backup|Choose another file"):
            store.open(path, write=write)
    assert path.read_bytes() == content


def test_another_programs_database_is_refused_and_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("CREATE TABLE meta (a)")
        raw.commit()
    with pytest.raises(StoreDamagedError, match="a database, but not a log of Dipbook"):
        store.open(path)
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("meta",)]


@pytest.mark.parametrize("keep", [0.95, 0.5, 0.1])
def test_a_log_that_was_cut_off_is_refused_in_words(path: Path, keep: float) -> None:
    with store.open(path) as log:
        log.append([samples(n * 10_000_000) for n in range(4)])
    content = path.read_bytes()
    path.write_bytes(content[:int(len(content) * keep)])
    with pytest.raises(StoreDamagedError, match=r"damaged or cut off.*go on from a backup"):
        store.open(path)


def test_a_log_with_a_rotten_middle_is_found_out(path: Path) -> None:
    with store.open(path) as log:
        log.append([samples(n * 10_000_000) for n in range(4)])
    content = bytearray(path.read_bytes())
    content[len(content) // 3:len(content) // 3 + 8192] = b"\xa5" * 8192
    path.write_bytes(content)
    with store.open(path, write=False) as log:
        assert log.verify()[0].code == "file_damaged"
        with pytest.raises(StoreDamagedError):
            log.records()
        with pytest.raises(StoreDamagedError):
            log.backup(path.parent / "copy.log")
    assert not (path.parent / "copy.log").exists()


@pytest.mark.parametrize("statement", [
    "UPDATE alembic_version SET version_num = '9999'",
    "DROP TRIGGER meta_no_update; UPDATE meta SET value = 'dipbook log 2' WHERE key = 'format'",
])
def test_a_newer_log_is_refused_in_plain_words_and_not_touched(path: Path, statement: str) -> None:
    store.open(path).close()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(statement)
    before = path.read_bytes()
    for write in (True, False):
        with pytest.raises(StoreNewerError, match=r"written by a newer Dipbook.*Install that version"):
            store.open(path, write=write)
    assert path.read_bytes() == before


def test_a_reader_works_where_nothing_can_be_written(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with store.open(path) as log:
        written = log.append([a_round(0), samples(1)])
    before = sorted(p.name for p in path.parent.iterdir())
    monkeypatch.setattr(os, "access", lambda *_: False)  # what a read-only disk answers; root is denied nothing
    with store.open(path, write=False) as log:
        assert [as_plain(r) for r in log.records()] == [as_plain(r) for r in written]
        assert log.verify() == ()
    assert sorted(p.name for p in path.parent.iterdir()) == before


def test_a_crash_while_a_log_is_made_leaves_no_half_log(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: object) -> None:
        raise sqlite3.OperationalError("the power went")
    with monkeypatch.context() as patch:
        patch.setattr(sqlite, "create_triggers", fail)
        with pytest.raises(StoreError, match="the power went"):
            store.open(path)
    assert not path.exists()
    path.with_name(f".{path.name}.new").write_bytes(b"left by a crash")
    store.open(path).close()
    assert sorted(p.name for p in path.parent.iterdir()) == [path.name, f"{path.name}.lock"]


def test_opening_does_not_load_alembic_unless_the_schema_is_behind(path: Path) -> None:
    code = (f"import sys; from dipbook import store\nfor _ in range(2): store.open({str(path)!r}).close()\n"
            "assert not [m for m in sys.modules if m.split('.')[0] in ('alembic', 'PySide6')]")
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True, env=os.environ | {
        "PYTHONPATH": os.pathsep.join(sys.path)})


def test_the_first_record_is_chained_to_the_header(log: store.Store) -> None:
    (first,) = log.append([remark()])
    assert first.prev_hash == chain.first_link(log.header)
