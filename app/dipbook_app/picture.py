"""A picture of the Watch page without a display."""

from __future__ import annotations

from pathlib import Path

from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application
from dipbook_app.summary import of_log

SIZE = (1280, 800)


def draw(log: Path, folder: Path) -> tuple[Path, str]:
    """Draw the Watch page of a log into ``folder``; returns the picture's path and the log's summary in words."""
    words = of_log(log)
    app = application()
    program = Program(PreferencesFile(folder / ".preferences.json"))
    program.window.resize(*SIZE)
    program.open_log(log)
    program.window.show_page("Watch")
    program.window.show()
    app.processEvents()
    path = folder / "watch.png"
    program.window.grab().save(str(path))
    program.window.close()
    program.close_log()
    (folder / ".preferences.json").unlink(missing_ok=True)
    return path, words
