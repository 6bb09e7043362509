"""Looks through the whole log while it is in use: was it altered or damaged? It may take a while, so off the window's
thread."""

from __future__ import annotations

import contextlib
import threading
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal

from dipbook import store
from dipbook.errors import DipbookError
from dipbook.findings import Finding

PASSING = frozenset(("protection_missing",))
"""What opening the log for writing has put right."""


def wrong_words(found: tuple[Finding, ...]) -> str:
    """What a page says of ``found`` for as long as the log is open; "" if nothing is wrong."""
    wrong = [finding for finding in found if finding.code not in PASSING]
    if not wrong:
        return ""
    more = "" if len(wrong) == 1 else f" {len(wrong) - 1} more {'finding' if len(wrong) == 2 else 'findings'}."
    return f"The log was altered or damaged. {wrong[0].what}{more} Run “dipbook verify”."


class LogCheck(QObject):
    """Checks one log after the other, each with a reader of its own beside the writer.

    Signals (on the window's thread): checked(str): what is wrong with the log looked at last, "" if nothing.
    """

    checked = Signal(str)
    _came = Signal(object, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._path: Path | None = None
        self._thread: threading.Thread | None = None
        self._came.connect(self._on_came, Qt.ConnectionType.QueuedConnection)

    def start(self, path: Path) -> None:
        """Look through the log at ``path``; nothing more is heard of the one before."""
        self._path = path
        self._thread = threading.Thread(target=self._work, args=(path,), name="dipbook-verify", daemon=True)
        self._thread.start()

    def forget(self) -> None:
        """No log is open: nothing more is heard."""
        self._path = None

    def _work(self, path: Path) -> None:
        try:
            with store.open(path, None, write=False, create=False) as log:
                words = wrong_words(log.verify())
        except DipbookError as error:
            words = f"The log couldn't be checked. {error}"
        except Exception as error:  # noqa: BLE001  a bug must not make the log look checked and whole
            words = f"The log couldn't be checked ({type(error).__name__}: {error}). Run “dipbook verify”."
        with contextlib.suppress(RuntimeError):  # the program may have closed meanwhile
            self._came.emit(path, words)

    def _on_came(self, path: Path, words: str) -> None:
        if path == self._path:
            self.checked.emit(words)
