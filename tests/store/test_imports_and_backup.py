"""A file goes in whole and once; a backup is the log again."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreError
from dipbook.records import Draft
from dipbook.store import backup
from store.drafts_for_logs import T0, a_round, as_plain, remark, samples

MANIFEST = {"file": "readings.csv", "digest": "a" * 64, "source": "sensors"}
COLUMNS = [*samples(0, 5_000, "tank:Suction:level").blocks, *samples(7, 5_000, "tank:Reserve:level").blocks]


def test_an_import_is_one_record_with_its_samples_and_then_its_entries(log: store.Store) -> None:
    done = log.append_import(MANIFEST, COLUMNS, [remark(1), remark(2)], learned_ms=T0 + 9, author="Ada", offset_min=60)
    assert [r.kind for r in done.new] == ["samples", "remark", "remark"]
    assert [as_plain(r) for r in log.records()] == [as_plain(r) for r in done.new]
    own = done.new[0]
    assert (own.t_ms, own.learned_ms, own.author, own.offset_min, dict(own.payload)) == (T0, T0 + 9, "Ada", 60, MANIFEST)
    assert [b.channel for b in own.blocks] == ["tank:Suction:level", "tank:Reserve:level"]
    assert log.verify() == ()


def test_the_same_file_a_second_time_adds_nothing(log: store.Store) -> None:
    first = log.append_import(MANIFEST, COLUMNS, [remark(1)], learned_ms=T0)
    again = log.append_import(MANIFEST | {"file": "renamed.csv"}, COLUMNS, [remark(1)], learned_ms=T0 + 1)
    assert again.new == ()
    assert again.earlier is not None
    assert as_plain(again.earlier) == as_plain(first.new[0])
    assert log.last_seq == 2
    other = log.append_import(MANIFEST | {"digest": "b"}, [], [remark(5)], learned_ms=T0 + 2)
    assert (other.earlier, other.new[0].t_ms, log.last_seq) == (None, T0 + 5, 4)


def test_an_import_that_was_struck_can_be_imported_again(log: store.Store) -> None:
    first = log.append_import(MANIFEST, COLUMNS, learned_ms=T0)
    log.append([Draft("void", T0, T0, "Ada", {"reason": "wrong columns"}, supersedes=first.new[0].uid)])
    assert len(log.append_import(MANIFEST, COLUMNS, learned_ms=T0).new) == 1


def test_an_import_with_one_bad_entry_adds_nothing_at_all(log: store.Store) -> None:
    with pytest.raises(StoreError, match="not in this log"):
        log.append_import(MANIFEST, COLUMNS, [remark(1), remark(2, supersedes="nobody")], learned_ms=T0)
    assert (log.last_seq, log.series("tank:Suction:level", 0, 2 * T0)[0].size) == (0, 0)
    assert log.append_import(MANIFEST, COLUMNS, learned_ms=T0).earlier is None


def test_an_import_without_a_digest_is_refused(log: store.Store) -> None:
    with pytest.raises(StoreError, match="needs the digest"):
        log.append_import({"file": "x"}, COLUMNS, learned_ms=T0)


def test_a_backup_equals_the_original_and_is_one_file(log: store.Store, tmp_path: Path) -> None:
    written = log.append([a_round(0), samples(1), remark(2)])
    target = tmp_path / "elsewhere" / "copy.log"
    target.parent.mkdir()
    assert log.backup(target) == 3
    log.append([remark(3)])
    assert [p.name for p in target.parent.iterdir()] == ["copy.log"]
    with store.open(target, write=False) as copy:
        assert [as_plain(r) for r in copy.records()] == [as_plain(r) for r in written]
        assert copy.verify() == ()
        assert copy.header == log.header
    with store.open(target) as copy:  # and the watch can go on from it, protected as before
        assert copy.append([remark(4)])[0].prev_hash == written[-1].hash
    with closing(sqlite3.connect(target)) as raw, pytest.raises(sqlite3.IntegrityError, match="append-only"):
        raw.execute("DELETE FROM record")


def test_a_backup_never_replaces_a_file(log: store.Store, tmp_path: Path) -> None:
    target = tmp_path / "copy.log"
    target.write_text("precious")
    with pytest.raises(StoreError, match=r"file of that name already.*no backup was made\. Choose another name"):
        log.backup(target)
    with pytest.raises(StoreError, match="file of that name already"):
        log.backup(log.path)
    assert target.read_text() == "precious"


def test_a_file_that_appears_while_the_backup_is_made_is_not_replaced(
        log: store.Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "copy.log"
    checked = backup._checked

    def meanwhile(part: Path, source: Path) -> int:
        target.write_text("precious")
        return checked(part, source)

    monkeypatch.setattr(backup, "_checked", meanwhile)
    with pytest.raises(StoreError, match="file of that name already"):
        log.backup(target)
    assert target.read_text() == "precious"
    assert [p.name for p in tmp_path.iterdir() if "part" in p.name] == []


def test_a_backup_works_on_a_disk_without_hard_links(
        log: store.Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")
    monkeypatch.setattr("os.link", refuse)
    log.append([remark()])
    assert log.backup(tmp_path / "copy.log") == 1
    with store.open(tmp_path / "copy.log", write=False) as copy:
        assert copy.verify() == ()


def test_a_backup_into_a_missing_folder_says_so(log: store.Store, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"The backup failed.*no backup was made"):
        log.backup(tmp_path / "stick" / "copy.log")


def test_a_reader_can_make_a_backup_while_the_writer_writes(log: store.Store, path: Path, tmp_path: Path) -> None:
    log.append([remark(0)])
    with store.open(path, write=False) as reader:
        assert reader.backup(tmp_path / "copy.log") == 1
    assert log.append([remark(1)])[0].seq == 2


def test_a_backup_goes_to_a_name_in_the_current_folder(
        log: store.Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    log.append([remark(1)])
    assert log.backup("copy.dipbook") == 1
    with store.open("copy.dipbook", write=False, create=False) as copy:
        assert copy.last_seq == 1
