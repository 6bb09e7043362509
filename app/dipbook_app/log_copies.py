"""Copies of the log in use, each hour, beside it: nobody has to think of them. Made off the window's thread."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from dipbook import store
from dipbook.errors import DipbookError
from dipbook.store import kept_copies

FIRST_MS = 60_000
EACH_MS = 3_600_000
"""A copy is made a minute after a log is opened, then each hour."""


class LogCopies(QObject):
    """Copies one log after the other, each with a reader of its own beside the writer.

    now_ms: the desk's clock [UTC ms]. Signals (on the window's thread): failed(str): why there is no copy, in words.
    """

    failed = Signal(str)
    _came = Signal(str)

    def __init__(self, now_ms: Callable[[], int], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._now_ms = now_ms
        self._path: Path | None = None
        self.thread_now: threading.Thread | None = None
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.copy)
        self._came.connect(self.failed, Qt.ConnectionType.QueuedConnection)

    def start(self, path: Path) -> None:
        """Keep copies of the log at ``path`` from now on."""
        self._path = path
        self._timer.start(FIRST_MS)

    def stop(self) -> None:
        """No log is open, or one of which no copies are kept."""
        self._path = None
        self._timer.stop()

    def copy(self) -> None:
        """Make a copy now, unless one is being made."""
        self._timer.setInterval(EACH_MS)
        if self._path is None or (self.thread_now is not None and self.thread_now.is_alive()):
            return
        self.thread_now = threading.Thread(target=self._work, args=(self._path, self._now_ms()), name="dipbook-copy",
                                           daemon=True)
        self.thread_now.start()

    def _work(self, path: Path, now_ms: int) -> None:
        try:
            with store.open(path, None, write=False, create=False) as log:
                kept_copies.keep(log, now_ms)
            return
        except DipbookError as error:
            words = f"No copy of the log was made. {error}"
        except Exception as error:  # noqa: BLE001  a bug must not pass for a copy
            words = f"No copy of the log was made: {type(error).__name__}: {error}."
        with contextlib.suppress(RuntimeError):     # the window may be gone
            self._came.emit(words)
