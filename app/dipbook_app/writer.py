"""Stores what the watch found, on a thread of its own. A warning is shown and sounded before it is stored, never after.

The queue belongs to the window's thread alone: the writing thread is handed a fixed batch and gives back an outcome.
So nothing put while a batch is under way can be lost or stored twice.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from PySide6.QtCore import QObject, Qt, Signal

from dipbook.errors import StoreError
from dipbook.records import Draft, Record

Append = Callable[[Sequence[Draft]], tuple[Record, ...]]


class Writer(QObject):
    """Stores drafts in order, off the window's thread; what fails is kept and tried again. Call it from that thread.

    Signals (on the window's thread): stored(tuple of Record); failed(str): the store's words.
    """

    stored = Signal(object)
    failed = Signal(str)
    _done = Signal()

    def __init__(self, append: Append, parent: QObject | None = None) -> None:
        """append: stores drafts, all or none; raises StoreError."""
        super().__init__(parent)
        self._append = append
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="dipbook-writer")
        self._waiting: list[Draft] = []
        self._batch: tuple[Draft, ...] = ()
        self._job: Future[tuple[Record, ...]] | None = None
        self._closed = False
        self._done.connect(self._collect, Qt.ConnectionType.QueuedConnection)

    @property
    def waiting(self) -> int:
        """Drafts not known to be on the disk yet."""
        return len(self._waiting)

    def put(self, drafts: Sequence[Draft]) -> None:
        """Store ``drafts`` after those that wait already."""
        self._waiting.extend(drafts)
        self.go_on()

    def go_on(self) -> None:
        """Take in what a try brought; try what waits, unless a try is under way."""
        if not self._collect():
            self._start()

    def _start(self) -> None:
        if self._waiting and self._job is None and not self._closed:
            self._batch = tuple(self._waiting)
            self._job = self._pool.submit(self._append, self._batch)
            self._job.add_done_callback(lambda _: self._done.emit())

    def _collect(self) -> bool:
        """Take in the outcome of a try that has ended; True if there was one. What was put meanwhile is tried now."""
        job = self._job
        if job is None or not job.done():
            return False
        self._job, batch = None, self._batch
        try:
            records = job.result()
        except StoreError as error:
            self.failed.emit(str(error))
            return True
        except Exception as error:  # noqa: BLE001  a bug in the store must not end the watch, nor lose a warning
            self.failed.emit(f"Saving to the log failed: {type(error).__name__}: {error}. What waits is kept and tried "
                             "again.")
            return True
        del self._waiting[:len(batch)]
        self.stored.emit(records)
        self._start()
        return True

    def close(self) -> int:
        """Store what waits, wait for it, and return how many drafts could not be stored."""
        if self._job is not None:
            self._settle()
        if self._waiting and self._job is None:
            self._start()
        if self._job is not None:
            self._settle()
        self._closed = True
        self._pool.shutdown(wait=True)
        return len(self._waiting)

    def _settle(self) -> None:
        """Wait until tries have ended, as long as they succeed."""
        while self._job is not None:
            self._job.exception()
            self._collect()
