"""Reads readings and entries files on a thread of its own, so that the window and its warnings go on meanwhile."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal

from dipbook import importing
from dipbook.errors import DipbookError
from dipbook.exchange.foreign import NOTHING_SAID
from dipbook.exchange.mapping import Mapping
from dipbook.records import Record
from dipbook.rig.model import Rig

Read = Callable[..., importing.Importable]


class _CancelledError(Exception):
    pass


class _Job:
    """One reading under way. It is only ever told to stop; its outcome counts while it is the reader's own."""

    def __init__(self) -> None:
        self.stop = threading.Event()


class FileReader(QObject):
    """Reads one pair of files at a time.

    Signals: progress(str): what is being done. done(Importable). failed(str): a file couldn't be opened, in words.
    """

    progress = Signal(str)
    done = Signal(object)
    failed = Signal(str)
    _told = Signal(object, str)
    _came = Signal(object, object)

    def __init__(self, parent: QObject | None = None, *, read: Read = importing.read) -> None:
        """read: looks at the files; a test gives its own."""
        super().__init__(parent)
        self._read = read
        self._job: _Job | None = None
        self._told.connect(self._on_told, Qt.ConnectionType.QueuedConnection)
        self._came.connect(self._on_came, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """True while files are being read."""
        return self._job is not None

    def start(self, readings: Path | None, entries: Path | None, rig: Rig, records: Sequence[Record], *, now_ms: int,
              author: str, said: Mapping = NOTHING_SAID, good_rows_only: bool = False,
              held: importing.Held | None = None) -> None:
        """Begin to read; what was under way is dropped. Arguments as in ``dipbook.importing.read``."""
        self.cancel()
        job = self._job = _Job()
        threading.Thread(target=self._work, args=(job, readings, entries, rig, tuple(records), now_ms, author, said,
                                                  good_rows_only, held), name="dipbook-files", daemon=True).start()

    def cancel(self) -> None:
        """Drop what is under way; nothing more is heard of it."""
        job, self._job = self._job, None
        if job is not None:
            job.stop.set()

    def _work(self, job: _Job, readings: Path | None, entries: Path | None, rig: Rig, records: tuple[Record, ...],
              now_ms: int, author: str, said: Mapping, good_rows_only: bool, held: importing.Held | None) -> None:
        def step(words: str) -> None:
            if job.stop.is_set():
                raise _CancelledError
            self._told.emit(job, words)

        outcome: object
        with contextlib.suppress(RuntimeError, _CancelledError):  # the page may be gone when a late word comes
            try:
                step("Opening the files …")
                files = [None if path is None else importing.load(path) for path in (readings, entries)]
                outcome = self._read(files[0], files[1], rig, records, now_ms=now_ms, author=author, step=step,
                                     said=said, good_rows_only=good_rows_only, held=held)
            except _CancelledError:
                return
            except DipbookError as error:
                outcome = str(error)
            except MemoryError:
                outcome = "There is no memory for a file of this size. Cut it into parts."
            except Exception as error:  # noqa: BLE001  a bug must not leave the page waiting for ever
                outcome = f"The files could not be read: {type(error).__name__}: {error}. Nothing was added."
            self._came.emit(job, outcome)

    def _on_told(self, job: object, words: str) -> None:
        if job is self._job:
            self.progress.emit(words)

    def _on_came(self, job: object, outcome: object) -> None:
        if job is not self._job:
            return
        self._job = None
        if isinstance(outcome, importing.Importable):
            self.done.emit(outcome)
        else:
            self.failed.emit(str(outcome))
