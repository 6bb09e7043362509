"""What is typed but not yet saved, kept beside the log so that a crash loses none of it.

A draft is not a record: it is plain data under a name ("round", "entry transfer"), all of them in one small file
that is replaced as a whole. A change is on the disk ``DELAY_MS`` after it was made, at the latest.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

DELAY_MS = 200
"""The first change after a write starts the clock; later ones don't put it off."""

FORMAT = 1


class Drafts(QObject):
    """The drafts of one log.

    path: the file beside the store; it need not exist yet.
    Signals: failed(str): words for the crew when the file can't be written; typing goes on and is tried again.
    turned(): there is one draft more or less.
    Attributes: problem: words on a file that couldn't be read at the start, or "".
    """

    failed = Signal(str)
    turned = Signal()

    def __init__(self, path: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.path = Path(path)
        self.problem = ""
        self._contents: dict[str, dict[str, Any]] = self._load()
        self._told = False
        self._unwritten = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(DELAY_MS)
        self._timer.timeout.connect(self.flush)

    def names(self) -> tuple[str, ...]:
        """The names of all drafts."""
        return tuple(self._contents)

    def get(self, name: str) -> dict[str, Any] | None:
        """A copy of the draft called ``name``, or None."""
        content = self._contents.get(name)
        return None if content is None else dict(content)

    def put(self, name: str, content: Mapping[str, Any]) -> None:
        """Keep ``content`` (plain JSON values) as the draft called ``name``; written within ``DELAY_MS``."""
        fresh = dict(content)
        if self._contents.get(name) == fresh:
            return
        another = name not in self._contents
        self._contents[name] = fresh
        self._unwritten = True
        if not self._timer.isActive():
            self._timer.start()
        if another:
            self.turned.emit()

    def drop(self, name: str) -> None:
        """Forget the draft called ``name``, at once and on the disk."""
        if self._contents.pop(name, None) is not None:
            self._unwritten = True
            self.flush()
            self.turned.emit()

    def flush(self) -> None:
        """Write what isn't written yet, now. On failure says so once by ``failed`` and keeps it in memory."""
        self._timer.stop()
        if not self._unwritten:
            return
        try:
            self._write()
        except OSError as error:
            if not self._told:
                self._told = True
                self.failed.emit(
                    f"The draft could not be kept on the disk ({error.strerror or error}). "
                    "What you type stays on the screen; save the round before closing.")
            return
        self._told = self._unwritten = False

    def _write(self) -> None:
        text = json.dumps({"format": FORMAT, "drafts": self._contents}, ensure_ascii=False, indent=1)
        beside = self.path.with_name(self.path.name + ".new")
        with beside.open("w", encoding="utf-8") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(self.path)

    def _load(self) -> dict[str, dict[str, Any]]:
        try:
            content = json.loads(self.path.read_text(encoding="utf-8"))
            drafts = content["drafts"]
            return {str(name): dict(draft) for name, draft in drafts.items()}
        except FileNotFoundError:
            return {}
        except OSError as error:
            self.problem = f"The kept draft could not be read ({error.strerror or error}). The log is not affected."
            return {}
        except (ValueError, KeyError, TypeError, AttributeError):
            aside = self.path.with_name(self.path.name + ".unreadable")
            with contextlib.suppress(OSError):
                self.path.replace(aside)
            self.problem = (f"The kept draft could not be read; it was put aside as {aside.name}. "
                            "The log is not affected.")
            return {}
