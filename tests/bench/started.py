"""Process start to first painted Watch page: the program's own way, stopped after that frame. For measure.py.

    python tests/bench/started.py LOG            the program on a log
    python tests/bench/started.py --floor        a bare QMainWindow with a QLabel
    python tests/bench/started.py --libraries LIST     the same, after importing the modules that a file names

Prints when the frame was done [s since 1970], and the modules that were imported, those of Python and of Dipbook aside.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
import time
from pathlib import Path
from typing import Any

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

OWN = ("dipbook", "dipbook_app", "paths", "__main__")


def end_with_first(app: Any, name: str) -> None:
    """End the program once a widget of the class ``name`` has been painted and its frame is out."""
    from PySide6.QtCore import QEvent, QObject, QTimer

    class First(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() == QEvent.Type.Paint and type(watched).__name__ == name:
                app.removeEventFilter(self)
                QTimer.singleShot(0, self.done)
            return False

        def done(self) -> None:
            others = [m for m in sys.modules if m.split(".")[0] not in (*OWN, *sys.stdlib_module_names)]
            sys.stdout.write(f"{time.time()} {' '.join(others)}\n")
            sys.stdout.flush()
            app.quit()

    app.installEventFilter(First(app))


def floor(libraries: str = "") -> int:
    """What Qt itself needs; and, of a file that names them, other libraries."""
    if libraries:
        for name in Path(libraries).read_text(encoding="utf-8").split():
            with contextlib.suppress(ImportError):
                importlib.import_module(name)
    from PySide6.QtWidgets import QApplication, QLabel, QMainWindow

    app = QApplication(["floor"])
    window = QMainWindow()
    window.setCentralWidget(QLabel("floor"))
    window.resize(1280, 800)
    end_with_first(app, "QLabel")
    window.show()
    return int(app.exec())


def program(log: str) -> int:
    """As ``dipbook watch LOG``, also where there is no display."""
    from dipbook_app.cli import main, opening

    running = opening.loaded()
    made = running.application

    def watched() -> Any:
        app = made()
        end_with_first(app, "DifferenceFigure")
        return app

    opening.has_display = lambda: True
    running.application = watched  # type: ignore[attr-defined]
    return main(["watch", log])


if __name__ == "__main__":
    raise SystemExit(floor(*sys.argv[2:]) if sys.argv[1].startswith("--") else program(sys.argv[1]))
