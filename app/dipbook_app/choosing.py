"""The one place where the system's own file dialog is opened. A path can always be typed instead."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

RIG_FILES = "Rig files (*.toml)"
SCENARIO_FILES = "Scenario files (*.toml)"
RIGS_AND_LOGS = "Rig files and logs (*.toml *.dipbook)"
TABLES = "Tables (*.csv *.txt *.tsv *.xlsx *.xls *.ods);;All files (*)"
Choose = Callable[[QWidget, str, str, str], str]


def choose_file(parent: QWidget, title: str, pattern: str, beside: str) -> str:
    """Ask for a file that is there. pattern: as Qt writes it; beside: a path in whose folder to begin, or "".

    Returns its path, "" when the person thinks better of it.
    """
    folder = str(Path(beside).parent) if beside else ""
    return QFileDialog.getOpenFileName(parent, title, folder, pattern)[0]


def path_of(text: str) -> Path:
    """The path that a person typed or pasted: quotes around it and a ~ for the home folder are understood."""
    text = text.strip()
    if len(text) > 1 and text[0] == text[-1] and text[0] in "\"'":
        text = text[1:-1]
    try:
        return Path(text).expanduser()
    except RuntimeError:  # nobody's home is known
        return Path(text)
