"""The thread that stores what the watch found. A warning is shown and sounded before it is stored, never after."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from PySide6.QtCore import QObject, Signal

from dipbook.errors import StoreError
from dipbook.records import Draft, Record

Append = Callable[[Sequence[Draft]], tuple[Record, ...]]


class Writer(QObject):
    """Stores drafts in order, off the window's thread; what fails is kept and tried again.

    Signals (on the window's thread): stored(tuple of Record); failed(str): the store's words.
    """

    stored = Signal(object)
    failed = Signal(str)

    def __init__(self, append: Append, parent: QObject | None = None) -> None:
        """append: stores drafts, all or none; raises StoreError."""
        super().__init__(parent)
        self._append = append
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="dipbook-writer")
        self._waiting: list[Draft] = []
        self._job: Future[None] | None = None

    @property
    def waiting(self) -> int:
        """Drafts not on the disk yet."""
        return len(self._waiting)

    def put(self, drafts: Sequence[Draft]) -> None:
        """Store ``drafts`` after those that wait already."""
        self._waiting.extend(drafts)
        self.go_on()

    def go_on(self) -> None:
        """Try what waits, unless a try is under way."""
        if self._waiting and (self._job is None or self._job.done()):
            self._job = self._pool.submit(self._store, tuple(self._waiting))

    def _store(self, drafts: tuple[Draft, ...]) -> None:
        try:
            records = self._append(drafts)
        except StoreError as error:
            self.failed.emit(str(error))
            return
        del self._waiting[:len(drafts)]
        self.stored.emit(records)

    def close(self) -> int:
        """Store what waits, wait for it, and return how many drafts could not be stored."""
        if self._job is not None:
            self._job.result()
        if self._waiting:
            self._store(tuple(self._waiting))
        self._pool.shutdown(wait=True)
        return len(self._waiting)
