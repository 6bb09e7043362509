"""The marks of watches that are open on this computer, so that no drill runs beside one in another program.

Whoever shows a watch's log holds a lock on a small file in the person's own data folder for as long as it is open. The
system itself lets the lock go when the program ends, however it ends: a mark that is left behind holds nobody up. A
drill asks which are held. A watch is never refused for a mark.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout
from platformdirs import user_data_path

from dipbook.errors import DrillError, StoreError
from dipbook.store.beside import read_json, write_json

LOCK, TEXT = ".lock", ".json"
WAIT_S = 2.0
"""A drill that looks holds a mark for a moment: a watch waits for it so long [s]."""
UNNAMED = "a log whose name can't be read"
NOT_MARKED = ("This watch could not be marked on this computer ({why}): a drill in another Dipbook here would not "
              "know of it. Begin none while this log is open.")


def marks_folder() -> Path:
    """Where the marks of a person's watches are on this computer."""
    return user_data_path("dipbook", appauthor=False) / "watches"


class WatchMarks:
    """The mark that this program holds, and those of others. folder: of the marks, None for the person's own."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self._held: BaseFileLock | None = None

    @property
    def _in(self) -> Path:
        return marks_folder() if self.folder is None else self.folder

    def hold(self, log: Path) -> str:
        """A watch's log is open here from now on; the one before isn't. log: its file. Returns what went wrong, "" for
        nothing."""
        self.let_go()
        name = hashlib.sha256(str(log).encode("utf-8", "surrogateescape")).hexdigest()[:16]
        try:
            self._in.mkdir(parents=True, exist_ok=True)
            write_json(self._in / f"{name}{TEXT}", {"log": str(log)})
            lock = FileLock(self._in / f"{name}{LOCK}", thread_local=False)
            lock.acquire(timeout=WAIT_S)
        except (OSError, StoreError, Timeout, NotImplementedError) as error:
            return NOT_MARKED.format(why=error)
        self._held = lock
        return ""

    def let_go(self) -> None:
        """No watch's log is open here any more."""
        if self._held is not None:
            text = Path(self._held.lock_file).with_suffix(TEXT)
            self._held.release()
            self._held = None
            with suppress(OSError):     # left behind, it names a log that nobody holds
                text.unlink()

    def elsewhere(self) -> tuple[str, ...]:
        """The logs of watches that are open in other programs on this computer.

        Raises DrillError where that can't be told.
        """
        own = None if self._held is None else Path(self._held.lock_file).name
        try:
            marks = [path for path in sorted(self._in.glob(f"*{LOCK}")) if path.name != own]
            return tuple(_log_of(path) for path in marks if _held(path))
        except (OSError, NotImplementedError) as error:
            raise DrillError(f"It can't be told whether a watch is open on this computer ({error}), so none can "
                             f"run. See that files in {self._in} can be written and locked.") from error


def _held(mark: Path) -> bool:
    lock = FileLock(mark, thread_local=False)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        return True
    lock.release()
    return False


def _log_of(mark: Path) -> str:
    try:
        said = read_json(mark.with_suffix(TEXT))
    except StoreError:
        return UNNAMED
    return str(said["log"]) if isinstance(said, dict) and "log" in said else UNNAMED
