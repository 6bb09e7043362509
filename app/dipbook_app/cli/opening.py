"""Open the window on a log, or without a display draw its picture."""

from __future__ import annotations

import ctypes
import os
import sys
import time
from pathlib import Path
from types import ModuleType

from dipbook.cautions import CAUTION
from dipbook.errors import DipbookError, StoreError
from dipbook_app import demo as demo_log
from dipbook_app import demo_trips

PACKAGES = ("libglib2.0-0 libegl1 libgl1 libxkbcommon0 libfontconfig1 libdbus-1-3 libxcb-cursor0 libxkbcommon-x11-0 "
            "libxcb-icccm4 libxcb-keysyms1 libxcb-shape0")
"""What a minimal Debian lacks for Qt."""


def has_display() -> bool:
    """True if a window can be opened here, as far as can be told without trying."""
    if os.environ.get("QT_QPA_PLATFORM"):
        return os.environ["QT_QPA_PLATFORM"] not in ("offscreen", "minimal")
    if sys.platform != "linux":
        return True
    if os.environ.get("WAYLAND_DISPLAY"):
        return True
    if not os.environ.get("DISPLAY"):
        return False
    try:
        ctypes.CDLL("libxcb-cursor.so.0")
    except OSError:
        print(f"A display is there, and Qt's libraries for it are not. On Debian: apt-get install {PACKAGES}",
              file=sys.stderr)
        return False
    return True


def demo(picture: Path | None, *, trips: bool = False, connections: bool = False) -> int:
    """Open the demo's log, or write its picture and summary. picture: a folder for them, or None. trips, connections:
    the demo's trips, or its day of connections, instead of its tour."""
    now_ms = round(time.time() * 1000)
    shown = picture is None and has_display()
    if picture is not None:
        picture.mkdir(parents=True, exist_ok=True)
    path = demo_trips.make_log(now_ms) if trips else demo_log.make_log(now_ms, connections=connections)
    if shown:
        print(f"The demo's log is {path} (invented data).")
        return _window(path)
    return _picture(path, Path.cwd() / "dipbook-demo" if picture is None else picture)


def _picture(log: Path, folder: Path) -> int:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    folder.mkdir(parents=True, exist_ok=True)
    summary = folder / "summary.txt"
    try:
        from dipbook_app.picture import draw
    except ImportError as error:
        from dipbook_app.summary import of_log
        summary.write_text(of_log(log), encoding="utf-8")
        print(f"Qt can't be loaded ({error}). On Debian: apt-get install {PACKAGES}", file=sys.stderr)
        print(f"No display, and no picture without Qt. The demo's summary is {summary}.")
        return 0
    drawn, words = draw(log, folder)
    summary.write_text(words, encoding="utf-8")
    print(words)
    print(f"No window was opened. The picture of the Watch page is {drawn}, the summary {summary}.")
    return 0


def watch(log: Path | None, rig: Path | None) -> int:
    """Open a log in the window. log: its file, or None for the last one; rig: starts a new log."""
    if not has_display():
        raise DipbookError("There is no display to open a window on. Without one, use “dipbook check”, or "
                           f"“dipbook demo” for a picture.\n{CAUTION}")
    if rig is not None:
        log = rig.with_suffix(".dipbook") if log is None else log
        if not log.exists():
            start_log(log, rig)
    return _window(log, rig)


def start_log(log: Path, rig: Path, *, author: str = "") -> None:
    """Make a new log with a rig file adopted; a drill's where the rig file is one's.

    Raises StoreError if the log exists already with another rig.
    """
    from dipbook import store
    from dipbook.invented import is_marked
    from dipbook.records import RIG, Draft
    from dipbook.rig import document

    doc = document.read(rig)
    with store.open(log, store.DRILL if is_marked(doc.text) else store.WATCH) as opened:
        had = opened.records(kinds=[RIG])
        if had:
            if had[-1].payload.get("digest") != doc.digest:
                raise StoreError(f"{log.name} has a rig already, and {rig.name} is another. Nothing was changed. Open "
                                 "the log and adopt the file on its Limits page, or with “dipbook adopt”.")
            return
        now = round(time.time() * 1000)
        opened.append([Draft(RIG, now, now, author=author,
                             payload={"text": doc.text, "digest": doc.digest, "effective": "change"},
                             reason=f"adopted from {rig.name}")])


def loaded() -> ModuleType:
    """``dipbook_app.running``, imported as fast as it can be."""
    from dipbook import store  # noqa: F401  before Qt, whose binding reads the source of each module imported after it
    from dipbook_app import running

    return running


def _window(log: Path | None, rig: Path | None = None) -> int:
    return int(loaded().run(log, rig))
