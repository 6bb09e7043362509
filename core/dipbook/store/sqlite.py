"""Everything that is SQLite's own: connections and pragmas, triggers, causes of failure, copying a live
file."""

from __future__ import annotations

import errno
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import Connection, Engine, Table, UniqueConstraint, create_engine, event, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from dipbook.store.chain import canonical
from dipbook.store.schema import APPEND_ONLY

APPLICATION_ID = 0x44495042  # "DIPB": lets file(1) and a curious person tell a log from any other database
BUSY_S = 5.0
"""How long a write waits for another program before it gives up [s]."""

Mode = Literal["new", "write", "read", "frozen"]
"""frozen: a file that can't change, on a medium or in a folder where nothing can be written."""
Cause = Literal["full", "busy", "readonly", "damaged", "not a log", "missing", "refused", "disk", "other"]

_URI = {"new": "rwc", "write": "rw", "read": "ro", "frozen": "ro&immutable=1"}


def engine(path: Path, mode: Mode, *, foreign_keys: bool = True) -> Engine:
    """An engine on one file.

    path: absolute. mode: see Mode. foreign_keys: off only while a migration rebuilds tables.
    Transactions opened with the execution option ``writes=True`` take the write lock at once.
    """
    made = create_engine("sqlite://", creator=lambda: _connect(path, mode, foreign_keys), poolclass=QueuePool,
                         json_serializer=canonical)
    event.listen(made, "begin", _begin)
    return made


def _connect(path: Path, mode: Mode, foreign_keys: bool) -> sqlite3.Connection:
    # isolation_level None: the module sends no BEGIN of its own; _begin does, and DDL is transactional too.
    raw = sqlite3.connect(f"{path.as_uri()}?mode={_URI[mode]}", uri=True, timeout=BUSY_S,
                          isolation_level=None, check_same_thread=False)
    try:
        raw.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        raw.execute("PRAGMA recursive_triggers = ON")
        if mode in ("new", "write"):
            raw.execute("PRAGMA journal_mode = WAL").fetchone()
            raw.execute("PRAGMA synchronous = FULL")
        else:
            raw.execute("PRAGMA query_only = ON")
    except BaseException:
        raw.close()
        raise
    return raw


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def mark(connection: Connection) -> None:
    """Write the application id into a new file's own header."""
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


# --- append-only -----------------------------------------------------------------------------------------


def trigger_texts() -> dict[str, str]:
    """Name and text of every trigger that keeps the log append-only.

    REPLACE deletes the old row without a word to delete triggers unless the connection has
    recursive_triggers on, and that is each connection's own choice. So a third trigger looks before each
    insert whether a row with one of its keys is there: it fires on every connection.
    """
    texts: dict[str, str] = {}
    for table in APPEND_ONLY:
        name = table.name
        for verb in ("UPDATE", "DELETE"):
            texts[f"{name}_no_{verb.lower()}"] = _trigger(f"{name}_no_{verb.lower()}", verb, name, "")
        when = f" WHEN EXISTS (SELECT 1 FROM {name} WHERE {_same_row(table)})"
        texts[f"{name}_no_replace"] = _trigger(f"{name}_no_replace", "INSERT", name, when)
    return texts


def _trigger(name: str, verb: str, table: str, when: str) -> str:
    return (f"CREATE TRIGGER {name} BEFORE {verb} ON {table}{when} BEGIN SELECT RAISE(ABORT, "
            "'the log is append-only: add a record that supersedes this one'); END")


def _same_row(table: Table) -> str:
    keys = [list(table.primary_key.columns)]
    keys += sorted((list(c.columns) for c in table.constraints if isinstance(c, UniqueConstraint)),
                   key=lambda columns: [c.name for c in columns])
    return " OR ".join(" AND ".join(f"{c.name} = NEW.{c.name}" for c in key) for key in keys)


def triggers_wanting(connection: Connection) -> tuple[str, ...]:
    """Names of the triggers that are missing or whose text was changed."""
    rows = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
    there = {str(row[0]): str(row[1]) for row in rows}
    return tuple(name for name, body in trigger_texts().items() if there.get(name) != body)


def drop_triggers(connection: Connection) -> None:
    """Take the append-only triggers off, for a migration, inside its transaction."""
    for name in trigger_texts():
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")


def create_triggers(connection: Connection) -> None:
    """Put every append-only trigger in place, replacing what has its name."""
    drop_triggers(connection)
    for body in trigger_texts().values():
        connection.exec_driver_sql(body)


# --- checks ----------------------------------------------------------------------------------------------


def integrity(connection: Connection, *, quick: bool = False) -> tuple[str, ...]:
    """What SQLite itself finds wrong with the file, in its words; empty if nothing."""
    pragma = "quick_check" if quick else "integrity_check"
    said = tuple(str(row[0]) for row in connection.exec_driver_sql(f"PRAGMA {pragma}(20)"))
    return () if said == ("ok",) else said


def loose_rows(connection: Connection) -> tuple[str, ...]:
    """Rows that point to a record that isn't there."""
    rows = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    return tuple(f"{row[0]} row {row[1]} points to a {row[2]} that isn't there" for row in rows)


# --- copying ---------------------------------------------------------------------------------------------


def copy_to(connection: Connection, target: Path) -> None:
    """Copy the whole log into a new file as of now, while it may be written to; one file, nothing beside
    it."""
    raw: Any = connection.connection.driver_connection
    with closing(sqlite3.connect(target)) as copy:
        raw.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE").fetchone()


# --- causes ----------------------------------------------------------------------------------------------

_BY_CODE: dict[int, Cause] = {
    sqlite3.SQLITE_FULL: "full", sqlite3.SQLITE_BUSY: "busy", sqlite3.SQLITE_LOCKED: "busy",
    sqlite3.SQLITE_READONLY: "readonly", sqlite3.SQLITE_PERM: "readonly", sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_NOTADB: "not a log", sqlite3.SQLITE_CANTOPEN: "missing",
    sqlite3.SQLITE_CONSTRAINT: "refused", sqlite3.SQLITE_IOERR: "disk",
}
_BY_ERRNO: dict[int, Cause] = {
    errno.ENOSPC: "full", errno.EDQUOT: "full", errno.EFBIG: "full", errno.EACCES: "readonly",
    errno.EPERM: "readonly", errno.EROFS: "readonly", errno.ENOENT: "missing", errno.ENOTDIR: "missing",
    errno.EIO: "disk", errno.EISDIR: "not a log",
}


def cause(error: BaseException) -> Cause:
    """Why a call to the database or the disk failed, in one of a few words."""
    inner = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    if isinstance(inner, OSError):
        return _BY_ERRNO.get(inner.errno or 0, "other")
    if isinstance(inner, UnicodeDecodeError) or str(inner).startswith("Could not decode to UTF-8"):
        return "damaged"  # sqlite3 has no code for a text that is no text any more
    code = getattr(inner, "sqlite_errorcode", None)
    return "other" if code is None else _BY_CODE.get(code & 0xFF, "other")
