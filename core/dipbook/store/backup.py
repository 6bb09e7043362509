"""A copy of the log in one file: complete, checked, never over another file."""

from __future__ import annotations

import os
import uuid
from pathlib import Path

from sqlalchemy import Engine, select

from dipbook.errors import StoreDamagedError, StoreError
from dipbook.store import beside, sqlite
from dipbook.store.failures import in_words
from dipbook.store.schema import log_head


def backup(engine: Engine, source: Path, target: Path) -> int:
    """Copy the log as of now, check the copy, then give it its name. Returns the last seq in it.

    engine: of the log; it may be written to meanwhile. source: its file, for messages. target: must not
    exist. Raises StoreError; nothing is left under the target's name then, and the log is untouched.
    """
    kept = "The log itself is as it was; no backup was made."
    target = target.absolute()
    with in_words(target, "The backup", kept):
        _must_not_exist(target, kept)
        part = target.with_name(f".{target.name}.{uuid.uuid4().hex[:8]}.part")
        try:
            with engine.connect() as connection:
                sqlite.copy_to(connection, part)
            last = _checked(part, source)
            beside.sync(part)
            _name(part, target, kept)
            beside.sync(target.parent)
        finally:
            part.unlink(missing_ok=True)
    return last


def _checked(part: Path, source: Path) -> int:
    engine = sqlite.engine(part, "frozen")
    try:
        with engine.connect() as connection:
            wrong = sqlite.integrity(connection)
            last = int(connection.execute(select(log_head.c.seq)).scalar_one())
    finally:
        engine.dispose()
    if wrong:
        raise StoreDamagedError(
            f"The copy of the log is not sound ({wrong[0]}), so no backup was made: {source}. "
            "The log is as it was. If checking the log (verify) says the same, "
            "copy its file away with the program closed.")
    return last


def _must_not_exist(target: Path, kept: str) -> None:
    if target.exists():
        raise StoreError(f"There is a file of that name already: {target}. {kept} Choose another name; "
                         "a backup never replaces a file.")


def _name(part: Path, target: Path, kept: str) -> None:
    try:
        os.link(part, target)  # fails if the target has come into being meanwhile
    except FileExistsError:
        _must_not_exist(target, kept)
        raise
    except OSError:  # a disk without hard links, such as a memory stick
        _must_not_exist(target, kept)
        part.rename(target)
