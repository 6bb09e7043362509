"""Copies of a log that are made by themselves, and going back to one.

They lie in a folder beside the log, one file each, whole logs by themselves. What is damaged or deleted can be had back
from them; a disk that is lost takes them with it, so ``backup`` onto another disk is still a person's to do.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

from dipbook.errors import StoreDamagedError, StoreError
from dipbook.store import opening
from dipbook.store.failures import in_words
from dipbook.store.store import Store

HOURLY = 12
"""So many of the newest copies are kept, an hour apart where the desk makes them."""
DAILY = 14
"""And the newest copy of each of so many days (UTC)."""
ROOM = 3
"""No copy is made that leaves less room on the disk than this many times the log's size: the log comes first."""
_NAME = re.compile(r"(?P<log>.+)\.(?P<at>\d{8}T\d{6}Z)\.dipbook")
_AT = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy. path: its file; at_ms: when it was made [UTC ms]."""

    path: Path
    at_ms: int


def folder_of(log: Path) -> Path:
    """Where the copies of the log at ``log`` are."""
    return log.with_name(f"{log.name}.copies")


def copies(log: Path) -> tuple[Copy, ...]:
    """The copies of the log at ``log``, oldest first. Files of other names are none. Raises StoreError."""
    folder = folder_of(log)
    with in_words(folder, "Looking for copies of the log", "Nothing was changed."):
        if not folder.is_dir():
            return ()
        found = [(path, _NAME.fullmatch(path.name)) for path in folder.iterdir()]
        return tuple(sorted((Copy(path, _at(m["at"])) for path, m in found if m and m["log"] == log.stem and
                             _at(m["at"]) >= 0), key=lambda copy: (copy.at_ms, copy.path.name)))


def keep(log: Store, now_ms: int) -> Copy | None:
    """Copy an open log as of now, then remove copies that are no longer kept.

    now_ms: the desk's clock [UTC ms]. None where a copy of this second is there. The copy is read back and checked
    before an older one goes, so that there is never less than before. Raises StoreError; nothing is removed then.
    """
    folder, made = folder_of(log.path), dt.datetime.fromtimestamp(now_ms // 1000, dt.UTC).strftime(_AT)
    path = folder / f"{log.path.stem}.{made}.dipbook"
    kept = "The log itself is as it was; no copy was made, and those made before are there."
    with in_words(folder, "Making a copy of the log", kept):
        if path.exists():
            return None
        folder.mkdir(exist_ok=True)
        size, free = log.path.stat().st_size, shutil.disk_usage(folder).free
        if free < (ROOM + 1) * size:
            raise StoreError(f"There is too little room for another copy of the log ({free / 1e6:.0f} MB): {folder}. "
                             f"{kept} Free some space on that disk.")
        log.backup(path)
        there = copies(log.path)
        staying = {copy.path for copy in stay(there, now_ms)} | {path}
        for copy in there:
            if copy.path not in staying:
                copy.path.unlink(missing_ok=True)
    return Copy(path, _at(made))


def stay(there: tuple[Copy, ...], now_ms: int) -> tuple[Copy, ...]:
    """Which copies are kept: the newest ``HOURLY``, and the newest of each of the last ``DAILY`` days that have one.

    there: all of them, oldest first. now_ms: the desk's clock [UTC ms]. One from after now stays: the clock is wrong.
    """
    ahead = [copy for copy in there if copy.at_ms > now_ms]
    past = [copy for copy in there if copy.at_ms <= now_ms]
    days: dict[int, Copy] = {}
    for copy in past:
        days[copy.at_ms // 86_400_000] = copy
    newest_days = [days[day] for day in sorted(days)[-DAILY:]]
    chosen = {copy.path for copy in (*past[-HOURLY:], *newest_days, *ahead)}
    return tuple(copy for copy in there if copy.path in chosen)


def restore(copy: Path, target: Path, role: str = "watch") -> int:
    """Make a log at ``target`` from a copy of one, after looking through all of it. Returns its last number.

    copy: a backup, or one of ``copies``. target: must not exist. role: "watch" or "drill", as its
    header says. Raises StoreError; nothing is at the target then.
    """
    with opening.open(copy, role, write=False, create=False) as log:
        wrong = log.verify()
        if wrong:
            raise StoreDamagedError(f"This copy is not what was written ({wrong[0].what}): {copy}. Nothing was changed."
                                    " Take another copy, or salvage what verifies.")
        return log.backup(target)


def _at(name: str) -> int:
    """UTC ms of the time in a name, −1 for no time."""
    try:
        return int(dt.datetime.strptime(name, _AT).replace(tzinfo=dt.UTC).timestamp()) * 1000
    except ValueError:
        return -1
