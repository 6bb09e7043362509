"""Works out the report of a span on a thread of its own, so that the window and its warnings go on meanwhile."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from PySide6.QtCore import QObject, Qt, Signal

from dipbook import reports
from dipbook.errors import DipbookError
from dipbook.reports import Report, Span, Table
from dipbook.series import Thinned
from dipbook_app import urgency
from dipbook_app.log_books import LogBooks

Step = Callable[[str], object]


@dataclass(frozen=True)
class Reviewed:
    """What the page shows of a span. report; alarm_figures: more tables of it. actual, expected, difference: its trend,
    ready to be thinned [m3]."""

    report: Report
    alarm_figures: tuple[Table, ...]
    actual: Thinned
    expected: Thinned
    difference: Thinned


class _Stopped(Exception):  # noqa: N818  nothing went wrong
    """Nobody wants the work any more."""


def review(log: LogBooks, span: Span, units: Mapping[str, str], then: bool, step: Step, *, drill: bool = False,
           ) -> Reviewed:
    """The figures of a span, ready to be drawn. log: where its books are. span; units; then; drill; step: as of
    ``reports.report``. Raises DipbookError for a span with too many readings."""
    step("the readings")
    books = log.over(span)
    made = reports.report(books, span, units=units, then=then, drill=drill, step=step)
    step("the warnings in figures")
    told = (reports.alarm_figures(books, span, urgency.RANKS),)
    step("the curves")
    t = made.trend
    return Reviewed(made, told, *(Thinned(t.t_ms, np.asarray(v, dtype=float))
                                  for v in (t.actual_m3, t.expected_m3, t.difference_m3)))


class Reviewer(QObject):
    """Does one piece of work at a time; of the one before nothing more is heard, and it ends at its next step.

    Signals, on the window's thread: step(str): what it does now. done(object): what came of it; failed(str): why
    nothing did, in words.
    """

    step = Signal(str)
    done = Signal(object)
    failed = Signal(str)
    _came = Signal(object, object)
    _stepped = Signal(object, str)

    def __init__(self, name: str, parent: QObject | None = None) -> None:
        """name: of its thread."""
        super().__init__(parent)
        self._name = name
        self._job: object | None = None
        self._came.connect(self._on_came, Qt.ConnectionType.QueuedConnection)
        self._stepped.connect(self._on_step, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """True while it works."""
        return self._job is not None

    def start(self, work: Callable[[Step], Any]) -> None:
        """Begin. work: given what it is to call with a word at each step."""
        job = self._job = object()
        threading.Thread(target=self._work, args=(job, work), name=self._name, daemon=True).start()

    def cancel(self) -> None:
        """Nothing more is heard of what is under way."""
        self._job = None

    def _work(self, job: object, work: Callable[[Step], Any]) -> None:
        def told(words: str) -> None:
            if job is not self._job:
                raise _Stopped
            self._stepped.emit(job, words)

        outcome: Any
        with contextlib.suppress(RuntimeError, _Stopped):   # the page may be gone when it comes
            try:
                outcome = work(told)
            except _Stopped:
                raise
            except DipbookError as error:
                outcome = _Failure(str(error))
            except Exception as error:  # noqa: BLE001  a bug must not leave the page waiting for ever
                outcome = _Failure(f"It could not be worked out: {type(error).__name__}: {error}. The log is whole.")
            self._came.emit(job, outcome)

    def _on_step(self, job: object, words: str) -> None:
        if job is self._job:
            self.step.emit(words)

    def _on_came(self, job: object, outcome: Any) -> None:
        if job is not self._job:
            return
        self._job = None
        if isinstance(outcome, _Failure):
            self.failed.emit(outcome.words)
        else:
            self.done.emit(outcome)


@dataclass(frozen=True)
class _Failure:
    words: str
