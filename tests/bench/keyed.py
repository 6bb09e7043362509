"""The Round page's own time for each key of a round of ten tanks, in the real window: prints lines for measure.py.

    python tests/bench/keyed.py

From the press of a key until the event loop has nothing left to paint; of the last one, which saves, until all pages are
painted. What the person takes comes on top.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from headless import say
from PySide6.QtCore import Qt
from ten_tanks import QUARTERS, Keyboard

ROUNDS = 5


def main() -> int:
    """Key five rounds and print what each kind of key took."""
    spent: dict[str, list[float]] = {"a character": [], "Enter": [], "F5": [], "the Enter that saves": []}
    with tempfile.TemporaryDirectory() as folder:
        keyboard = Keyboard(Path(folder))

        def timed(kind: str, key: Qt.Key | None = None, character: str = "") -> None:
            began = time.perf_counter()
            if key is None:
                keyboard.type_(character)
            else:
                keyboard.press(key)
            if kind == "the Enter that saves":
                keyboard.window._throttle.stop()  # pages may wait a quarter of a second
                keyboard.window._paint_newest()
            keyboard.app.processEvents()
            spent[kind].append((time.perf_counter() - began) * 1000)

        for _ in range(ROUNDS):
            before = len(keyboard.rounds)
            timed("F5", Qt.Key.Key_F5)
            for text in QUARTERS:
                for character in text:
                    timed("a character", character=character)
                timed("Enter", Qt.Key.Key_Return)
            timed("Enter", Qt.Key.Key_Return)
            timed("the Enter that saves", Qt.Key.Key_Return)
            assert len(keyboard.rounds) == before + 1
            keyboard.hands.pass_(30)
        keyboard.close()
    for name, values in spent.items():
        say(f"ten tanks: {name}", values)
    whole = [sum(values) / ROUNDS for values in spent.values()]
    say("ten tanks: the page's share of a whole round", [sum(whole)])
    return 0


if __name__ == "__main__":
    sys.exit(main())
