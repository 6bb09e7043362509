"""The log is append-only for every program, and what gets past that shows."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import fields, replace
from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreDamagedError, StoreError
from dipbook.store import chain, sqlite
from store.drafts_for_logs import a_round, remark, samples

TABLES = ("record", "dip", "block", "meta")
KEY = {"record": "seq = 1", "dip": "record_seq = 2", "block": "source_seq = 3", "meta": "key = 'role'"}


@pytest.fixture
def written(path: Path) -> Path:
    with store.open(path) as log:
        log.append([remark(0, uid="first"), a_round(1), samples(2)])
        log.append([remark(3, uid="last")])
    return path


@pytest.fixture
def foreign(written: Path) -> Iterator[sqlite3.Connection]:
    """Another program's connection, every pragma at its default."""
    with closing(sqlite3.connect(written)) as raw:
        assert raw.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        yield raw


def codes(path: Path, role: str = "watch") -> list[str]:
    """What verify finds; by a reader, who repairs nothing."""
    with store.open(path, role, write=False) as log:
        return [f.code for f in log.verify()]


def copy_row(raw: sqlite3.Connection, table: str) -> tuple[str, list[object]]:
    columns = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")]
    values = raw.execute(f"SELECT * FROM {table} WHERE {KEY[table]}").fetchone()
    return f"{table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})", list(values)


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("recursive", ["OFF", "ON"])
def test_every_way_to_alter_a_row_is_refused_on_any_connection(
        foreign: sqlite3.Connection, written: Path, table: str, recursive: str) -> None:
    foreign.execute(f"PRAGMA recursive_triggers = {recursive}")
    insert, values = copy_row(foreign, table)
    column = foreign.execute(f"PRAGMA table_info({table})").fetchall()[-1][1]
    for statement, bound in (
            (f"UPDATE {table} SET {column} = {column}", []),
            (f"UPDATE OR REPLACE {table} SET {column} = {column}", []),
            (f"DELETE FROM {table}", []),
            (f"DELETE FROM {table} WHERE {KEY[table]}", []),
            (f"REPLACE INTO {insert}", values),
            (f"INSERT OR REPLACE INTO {insert}", values),
            (f"INSERT OR IGNORE INTO {insert}", values),
            (f"INSERT INTO {insert} ON CONFLICT DO UPDATE SET {column} = 'x'", values)):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            foreign.execute(statement, bound)
    assert codes(written) == []


@pytest.mark.parametrize("column", ["uid", "supersedes"])
def test_a_replace_by_another_key_than_the_number_is_refused_too(
        foreign: sqlite3.Connection, written: Path, column: str) -> None:
    with store.open(written) as log:
        log.append([remark(5, supersedes="first")])
    insert, values = copy_row(foreign, "record")
    values[0] = 99
    values[1] = "first" if column == "uid" else "fresh"
    values[8] = "first" if column == "supersedes" else None
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        foreign.execute(f"INSERT OR REPLACE INTO {insert}", values)


def test_our_own_connections_have_recursive_triggers_and_full_sync(log: store.Store) -> None:
    asked = {}
    with log._engine.connect() as connection:
        for pragma in ("recursive_triggers", "foreign_keys", "synchronous", "journal_mode", "application_id"):
            asked[pragma] = connection.exec_driver_sql(f"PRAGMA {pragma}").scalar_one()
    assert asked == {"recursive_triggers": 1, "foreign_keys": 1, "synchronous": 2, "journal_mode": "wal",
                     "application_id": sqlite.APPLICATION_ID}


def without_triggers(raw: sqlite3.Connection, statements: str) -> None:
    for name in sqlite.trigger_texts():
        raw.execute(f"DROP TRIGGER {name}")
    raw.executescript(statements)
    for body in sqlite.trigger_texts().values():  # a careful hand puts them back
        raw.execute(body)
    raw.commit()


@pytest.mark.parametrize(("statements", "expected"), [
    ("UPDATE record SET author = 'Bob' WHERE seq = 1", ["record_altered"]),
    ("UPDATE record SET t_ms = t_ms + 1 WHERE seq = 2", ["record_altered"]),
    ("UPDATE record SET payload = '{\"remark\":\"other\"}' WHERE seq = 4", ["record_altered"]),
    ("UPDATE record SET payload = 'no json' WHERE seq = 4", ["record_altered"]),
    ("UPDATE record SET prev_hash = hash WHERE seq = 2", ["chain_broken", "record_altered"]),
    ("UPDATE record SET hash = prev_hash WHERE seq = 2", ["record_altered", "chain_broken"]),
    ("UPDATE dip SET level_m = 1.6130 WHERE place = 0", ["record_altered"]),
    ("UPDATE dip SET unchanged = 0 WHERE place = 2", ["record_altered"]),
    ("DELETE FROM dip WHERE place = 1", ["record_altered"]),
    ("UPDATE block SET v = substr(v, 2) WHERE place = 0", ["block_damaged"]),
    ("UPDATE block SET t1 = t1 + 1 WHERE place = 1", ["block_damaged"]),
    ("UPDATE block SET sha256 = hex(randomblob(32)) WHERE place = 1", ["block_damaged", "record_altered"]),
    ("DELETE FROM block WHERE place = 2", ["record_altered"]),
    ("DELETE FROM record WHERE seq = 1", ["missing_seq"]),
    ("DELETE FROM record WHERE seq = 4", ["head_wrong"]),
    ("DELETE FROM record WHERE seq = 4; UPDATE log_head SET seq = 5", ["head_wrong"]),
    ("DELETE FROM record WHERE seq = 2", ["loose_row", "loose_row", "loose_row", "missing_seq"]),
    ("UPDATE record SET seq = 9 WHERE seq = 4", ["head_wrong", "missing_seq", "record_altered"]),
    ("UPDATE meta SET value = 'drill' WHERE key = 'role'", ["chain_broken"]),
])
def test_an_altered_log_is_found_out(foreign: sqlite3.Connection, written: Path, statements: str,
                                     expected: list[str]) -> None:
    without_triggers(foreign, statements)
    assert codes(written, "drill" if "drill" in statements else "watch") == expected


def test_a_finding_names_the_record(foreign: sqlite3.Connection, written: Path) -> None:
    without_triggers(foreign, "UPDATE record SET author = 'Bob' WHERE seq = 4; DELETE FROM record WHERE seq = 1")
    with store.open(written, write=False) as log:
        said = [f.what for f in log.verify()]
    assert said == ["Record 1 is missing.", "Record 4 (remark) is not what was written."]


def test_a_record_sealed_anew_breaks_the_chain_after_it(foreign: sqlite3.Connection, written: Path) -> None:
    with store.open(written, write=False) as log:
        first = log.records()[0]
    object.__setattr__(first, "author", "Bob")
    without_triggers(foreign, f"UPDATE record SET author = 'Bob', hash = '{chain.record_hash(first, ())}' "
                              "WHERE seq = 1")
    assert codes(written) == ["chain_broken"]


def test_a_row_added_by_another_program_shows(foreign: sqlite3.Connection, written: Path) -> None:
    insert, values = copy_row(foreign, "record")
    values[0], values[1] = 5, "slipped in"
    foreign.execute(f"INSERT INTO {insert}", values)
    foreign.commit()
    assert codes(written) == ["head_wrong", "chain_broken", "record_altered"]
    with store.open(written) as log, pytest.raises(StoreError, match="alter or double"):
        log.append([remark(9)])


def test_missing_triggers_show_and_are_put_back_with_a_remark(foreign: sqlite3.Connection, written: Path) -> None:
    foreign.execute("DROP TRIGGER record_no_delete")
    foreign.execute("DROP TRIGGER dip_no_update")
    foreign.execute("CREATE TRIGGER dip_no_update BEFORE UPDATE ON dip BEGIN SELECT 1; END")  # a toothless one
    foreign.commit()
    assert codes(written) == ["protection_missing"]
    with store.open(written) as log:
        (said,) = log.remarks
        assert said.code == "protection_missing"
        assert "dip_no_update, record_no_delete" in said.what or "record_no_delete, dip_no_update" in said.what
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        foreign.execute("DELETE FROM record")
    foreign.rollback()
    with store.open(written) as log:
        assert log.remarks == ()
    assert codes(written) == []


def test_a_log_whose_last_record_was_taken_out_is_not_written_on(foreign: sqlite3.Connection, written: Path) -> None:
    without_triggers(foreign, "DELETE FROM record WHERE seq = 4")
    with store.open(written) as log, pytest.raises(StoreDamagedError, match=r"last record \(4\) is missing"):
        log.append([remark(9)])


def test_a_damaged_block_stops_reading_unless_told_to_leave_it_out(
        foreign: sqlite3.Connection, written: Path) -> None:
    without_triggers(foreign, "UPDATE block SET v = substr(v, 2) WHERE place = 1")
    with store.open(written) as log:
        with pytest.raises(StoreDamagedError, match="Record 3: A block of samples of tank:Suction:level"):
            log.records()
        assert len(log.records(kinds={"remark", "round"})) == 3
        left = log.records(leave_out_damaged=True)
        assert [r.seq for r in left] == [1, 2, 3, 4]
        assert 0 < len(left[2].blocks[0].t_ms) < 9_000


@pytest.mark.parametrize("table", TABLES)
def test_the_delete_trigger_alone_would_not_be_enough(foreign: sqlite3.Connection, table: str) -> None:
    """Without the look before the insert, REPLACE does slip past the delete trigger: the guard is needed."""
    foreign.execute(f"DROP TRIGGER {table}_no_replace")
    foreign.execute("PRAGMA foreign_keys = OFF")
    insert, values = copy_row(foreign, table)
    foreign.execute(f"REPLACE INTO {insert}", values)
    foreign.rollback()
    foreign.execute("PRAGMA recursive_triggers = ON")
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        foreign.execute(f"REPLACE INTO {insert}", values)


def every_field() -> list[tuple[str, Callable[[object], object]]]:
    return [("seq", lambda _: 7), ("uid", lambda _: "x"), ("kind", lambda _: "x"), ("t_ms", lambda _: 7),
            ("learned_ms", lambda _: 7), ("author", lambda _: "x"), ("payload", lambda _: {"x": 1}),
            ("dips", lambda d: d[:-1]), ("supersedes", lambda _: "x"),  # type: ignore[index]
            ("reason", lambda _: "x"), ("offset_min", lambda _: 7), ("station", lambda _: "x"),
            ("payload_version", lambda _: 7), ("prev_hash", lambda _: "x")]


def test_every_field_of_a_record_is_under_the_seal(log: store.Store) -> None:
    (record,) = log.append([a_round(0)])
    changes = every_field()
    assert {name for name, _ in changes} == {f.name for f in fields(record)} - {"hash", "blocks"}
    for name, change in changes:
        other = replace(record, **{name: change(getattr(record, name))})  # type: ignore[arg-type]
        assert chain.record_hash(other, ()) != record.hash, name
    assert chain.record_hash(record, ()) == record.hash != chain.record_hash(record, ("0",))
