"""Weighs a limit on a thread of its own, so that the window and its warnings go on meanwhile."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, Signal

from dipbook.weighing import Weighed


class Weigher(QObject):
    """Weighs one limit at a time.

    Signals: done(Weighed). failed(str): why there is no answer, in words.
    """

    done = Signal(object)
    failed = Signal(str)
    _came = Signal(object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._job: object | None = None
        self._came.connect(self._on_came, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """True while a limit is being weighed."""
        return self._job is not None

    def start(self, weigh: Callable[[], Weighed]) -> None:
        """Begin; of what was under way nothing more is heard. weigh: the work."""
        job = self._job = object()
        threading.Thread(target=self._work, args=(job, weigh), name="dipbook-weighing", daemon=True).start()

    def cancel(self) -> None:
        """Nothing more is heard of what is under way."""
        self._job = None

    def _work(self, job: object, weigh: Callable[[], Weighed]) -> None:
        outcome: object
        try:
            outcome = weigh()
        except Exception as error:  # noqa: BLE001  a bug must not leave the form waiting for ever
            outcome = f"It could not be weighed: {type(error).__name__}: {error}. Nothing was changed."
        with contextlib.suppress(RuntimeError):     # the form may be gone when the answer comes
            self._came.emit(job, outcome)

    def _on_came(self, job: object, outcome: object) -> None:
        if job is not self._job:
            return
        self._job = None
        if isinstance(outcome, Weighed):
            self.done.emit(outcome)
        else:
            self.failed.emit(str(outcome))
