"""What a failed call says to a crew member: what happened, what was kept, what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from dipbook.errors import StoreBusyError, StoreDamagedError, StoreError
from dipbook.findings import printable
from dipbook.store import sqlite

_SAYS: dict[str, tuple[type[StoreError], str, str]] = {
    "full": (StoreError, "The disk is full", "Free some space on that disk, then try again."),
    "busy": (StoreBusyError, "Another program is using the log",
             "Close it (a second Dipbook, a database viewer, a backup program), then try again."),
    "readonly": (StoreError, "The file or its folder can't be written to",
                 "Allow this user to write there, or keep the log in another folder."),
    "damaged": (StoreDamagedError, "The log's file is damaged or cut off",
                "Copy the file away as it is, don't delete it, and go on from a backup."),
    "not a log": (StoreDamagedError, "This file is not a log of Dipbook, or its beginning is damaged",
                  "Choose another file, or go on from a backup. Don't delete this one yet."),
    "missing": (StoreError, "The file or its folder isn't there or can't be opened",
                "Check the path and that the disk is connected."),
    "refused": (StoreError, "The log refused it as it would alter or double what is there",
                "Add a correction that supersedes the record instead."),
    "disk": (StoreError, "The disk didn't read or write as it should",
             "Check the disk and its connection, then make a backup on another disk."),
    "other": (StoreError, "The log couldn't be used",
              "Try again; if it fails again, make a backup and report it."),
}


def said(error: BaseException, path: Path, doing: str, kept: str) -> StoreError:
    """The error of our family for what went wrong.

    error: as raised. path: the file. doing: what was being done ("Saving to the log").
    kept: a whole sentence on what is safe.
    """
    family, what, remedy = _SAYS[sqlite.cause(error)]
    inner = getattr(error, "orig", None) or error
    return family(f"{doing} failed. {what} ({printable(str(inner))}): {path}. {kept} {remedy}")


@contextmanager
def in_words(path: Path, doing: str, kept: str) -> Iterator[None]:
    """Within it, whatever the database or the disk raises comes out as a StoreError. Arguments: see
    ``said``."""
    try:
        yield
    except StoreError:
        raise
    except (SQLAlchemyError, sqlite3.Error, OSError, UnicodeDecodeError) as error:
        raise said(error, path, doing, kept) from error
