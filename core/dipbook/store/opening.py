"""The door of the log: is it one, is it ours, whose is it, is it of this version, is it free."""

from __future__ import annotations

import os
import uuid
from collections.abc import Mapping
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout
from sqlalchemy import Connection, Engine, insert, inspect, select

from dipbook.errors import StoreBusyError, StoreDamagedError, StoreError, StoreNewerError
from dipbook.findings import Finding
from dipbook.store import beside, migrate, schema, sqlite
from dipbook.store.failures import in_words
from dipbook.store.store import NOTHING_CHANGED, Store

SCHEME = "sqlite:///"


def open(path_or_url: str | Path, role: str | None = schema.WATCH, *, station: str = "", write: bool = True,
         create: bool = True, created_ms: int | None = None) -> Store:
    """Open a log, or make a new one.

    path_or_url: the file, or ``sqlite:///`` and the file. role: "watch" or "drill"; it must be what the
    file's header says. None: whichever that is, for whoever then asks the store what it is; a new log is a
    watch's. station: who writes, stamped on each record. write: False to read only, beside a writer if there is
    one. create: False if the file must be there. created_ms: the desk's clock [UTC ms], kept in a new header.

    Raises StoreBusyError if another program has it open for writing, StoreNewerError if a newer version made
    it, StoreDamagedError if it is no log or damaged, StoreError for the rest, each with what to do.
    ValueError for a role that doesn't exist.
    """
    if role is not None and role not in schema.ROLES:
        raise ValueError(f"role is one of {schema.ROLES}, not {role!r}")
    path = _path(path_or_url)
    with in_words(path, "Opening the log", NOTHING_CHANGED):
        path = path.resolve()
        if not path.parent.is_dir():
            raise StoreError(f"There is no folder {path.parent}. {NOTHING_CHANGED} "
                             "Make the folder, or check that its disk is connected.")
        if path.is_dir():
            raise StoreError(f"This is a folder, not a log: {path}. {NOTHING_CHANGED} Give the log's file.")
        there = path.exists()
        if not there and not (create and write):
            raise StoreError(f"There is no log at {path}. {NOTHING_CHANGED} Check the path.")
        if there and path.stat().st_size == 0:
            raise StoreDamagedError(
                f"This file is empty: {path}. It was cut off, or it never was a log. {NOTHING_CHANGED} "
                "Go on from a backup; to start a new log here, move this file away first.")
        lock = locked(path) if write else None
        try:
            if not there:
                make(path, {"format": schema.FORMAT, "role": role or schema.WATCH, "uid": str(uuid.uuid4()),
                            "created_ms": "" if created_ms is None else str(int(created_ms))})
            return _opened(path, role, station, lock)
        except BaseException:
            if lock is not None:
                lock.release()
            raise


def _path(path_or_url: str | Path) -> Path:
    text = str(path_or_url)
    if text.startswith(SCHEME):
        return Path(text.removeprefix(SCHEME))
    if "://" in text or text == ":memory:":
        raise StoreError(f"This version keeps its log in a file, not at {text}. {NOTHING_CHANGED} "
                         "Give a file's path.")
    return Path(path_or_url)


def locked(path: Path) -> BaseFileLock:
    """The lock of the log at ``path``, held: let it go. Raises StoreBusyError if another program has it."""
    lock = FileLock(f"{path}.lock", thread_local=False)  # closed perhaps by another thread
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise StoreBusyError(
            f"Another Dipbook has this log open for writing: {path}. {NOTHING_CHANGED} Close it there, "
            "or open the log here for reading only.") from None
    except NotImplementedError as error:
        raise StoreError(f"This disk can't lock files: {path}. {NOTHING_CHANGED} "
                         "Keep the log on a disk of this computer, not on a network drive.") from error
    return lock


def make(path: Path, header: Mapping[str, str]) -> None:
    """Build a new log under another name; it appears whole or not at all. The lock is held.

    path: where it appears. header: what its table ``meta`` says of it. Raises what the database or the disk raises.
    """
    building = path.with_name(f".{path.name}.new")
    _remove(building)
    engine = sqlite.engine(building, "new")
    try:
        with engine.connect() as connection, connection.execution_options(writes=True).begin():
            sqlite.mark(connection)
            schema.metadata.create_all(connection)
            schema.alembic_version.create(connection)
            connection.execute(insert(schema.alembic_version).values(version_num=schema.REVISIONS[-1]))
            connection.execute(insert(schema.meta), [{"key": k, "value": v} for k, v in header.items()])
            connection.execute(insert(schema.log_head).values(id=1, seq=0))
            sqlite.create_triggers(connection)
        engine.dispose()
        beside.sync(building)
        building.replace(path)
        beside.sync(path.parent)
    except BaseException:
        engine.dispose()
        _remove(building)
        raise


def _remove(building: Path) -> None:
    for name in (building.name, f"{building.name}-wal", f"{building.name}-shm"):
        building.with_name(name).unlink(missing_ok=True)


def _opened(path: Path, role: str | None, station: str, lock: BaseFileLock | None) -> Store:
    engine = sqlite.engine(path, "write") if lock is not None else _reader(path)
    try:
        with engine.connect() as connection:
            header, revision = _header(connection, path)
            _check(header, revision, role, path)
        remarks: list[Finding] = []
        if revision != schema.REVISIONS[-1]:
            if lock is None:
                raise StoreError(f"This log is of an older version ({revision}): {path}. {NOTHING_CHANGED} "
                                 "Open it once for writing to bring it up to date.")
            remarks.append(migrate.upgrade(engine, path, revision))
        if lock is not None:
            remarks += _protect(engine, path)
        return Store(engine, path, header, station=station, lock=lock, remarks=tuple(remarks))
    except BaseException:
        engine.dispose()
        raise


def _reader(path: Path) -> Engine:
    """Where nothing can be written, no -shm can be made either: without a -wal the file is then taken as it
    is."""
    aside = path.with_name(f"{path.name}-wal")
    pending = aside.exists() and aside.stat().st_size > 0
    if not os.access(path.parent, os.W_OK) and not pending:
        return sqlite.engine(path, "frozen")
    return sqlite.engine(path, "read")


def _header(connection: Connection, path: Path) -> tuple[dict[str, str], str]:
    names = set(inspect(connection).get_table_names())
    if not {schema.meta.name, schema.alembic_version.name} <= names:
        raise _not_a_log(path)
    header = {row.key: row.value for row in connection.execute(select(schema.meta))}
    revision = connection.execute(select(schema.alembic_version.c.version_num)).scalar_one_or_none()
    if not header.get("format", "").startswith("dipbook log ") or revision is None:
        raise _not_a_log(path)
    return header, str(revision)


def _not_a_log(path: Path) -> StoreDamagedError:
    return StoreDamagedError(f"This file is a database, but not a log of Dipbook: {path}. {NOTHING_CHANGED} "
                             "Choose another file.")


def _check(header: dict[str, str], revision: str, role: str | None, path: Path) -> None:
    if header["format"] != schema.FORMAT or revision not in schema.REVISIONS:
        raise StoreNewerError(
            f"This log was written by a newer Dipbook: {path}. {NOTHING_CHANGED} "
            "Install that version or a later one; this one must not write to it, nor guess what it says.")
    if header.get("role") not in schema.ROLES:
        raise StoreDamagedError(f"This log doesn't say whether it is a watch's or a drill's: {path}. {NOTHING_CHANGED} "
                                "Go on from a backup.")
    if role is not None and header["role"] != role:
        raise StoreError(f"This is the log of a {header.get('role')}, not of a {role}: {path}. "
                         f"{NOTHING_CHANGED} Open it as a {header.get('role')}, or choose another file.")


def _protect(engine: Engine, path: Path) -> list[Finding]:
    """Put back triggers that somebody took off, and say so."""
    with engine.connect() as connection:
        wanting = sqlite.triggers_wanting(connection)
    if not wanting:
        return []
    with engine.connect() as connection, connection.execution_options(writes=True).begin():
        sqlite.create_triggers(connection)
    return [Finding(
        f"The log's protection against alteration had been taken off ({', '.join(wanting)}). "
        "It is back in place. Check the log (verify) and find out who changed the file.",
        code="protection_missing", file=path.name)]
