"""The font that comes with the program, so that a bare machine shows the same screens.

B612 was drawn for reading on cockpit screens; its figures are all of one width. Licence: data/fonts/OFL-B612.txt.
"""

from __future__ import annotations

from importlib.resources import files

from PySide6.QtGui import QFont, QFontDatabase
from PySide6.QtWidgets import QApplication

from dipbook_app.theme import FAMILY

FILES = ("B612-Regular.otf", "B612-Bold.otf")


def install(app: QApplication) -> bool:
    """Load the fonts and make them the application's. False if one can't be loaded (the system's font stays)."""
    if FAMILY not in QFontDatabase.families():
        folder = files("dipbook_app") / "data" / "fonts"
        for name in FILES:
            if QFontDatabase.addApplicationFontFromData((folder / name).read_bytes()) < 0:
                return False
    if app.font().family() != FAMILY:
        font = QFont(FAMILY)
        font.setPixelSize(15)
        app.setFont(font)
    return True
