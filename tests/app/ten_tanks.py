"""A round of ten tanks keyed in the real window, every key counted. The rig, the crew and the dips are invented."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from real_desks import GAIN, HEAD, NOW, OVERDUE, TANK, Hands, make_log

from builders import IN
from dipbook.records import ROUND, Dip, Record
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application

TANKS = (("Sand Trap", "sand trap", "true"), ("Settling", "settling", "true"), ("Degasser", "degasser", "true"),
         ("Desander", "desander", "true"), ("Desilter", "desilter", "true"), ("Suction", "suction", "true"),
         ("Reserve 1", "reserve", "false"), ("Reserve 2", "reserve", "false"), ("Slug", "slug", "false"),
         ("Trip", "trip", "false"))
BEFORE_IN = (84.0, 80.0, 78.0, 76.0, 76.0, 64.0, 55.0, 82.0, 39.0, 66.0)
"""What the sticks said 30 minutes before [in]."""

QUARTERS = ("84 1/4", "80 1/4", "78 1/4", "76 1/4", "76 1/4", "64 1/4", "55 1/4", "82 1/4", "39 1/4", "66 1/4")
"""Every stick to a quarter of an inch, nothing the same: the longest round in inches."""
DECIMALS = tuple(text.replace(" 1/4", ".2") for text in QUARTERS)
"""The same to a tenth."""
USUAL = ("84 1/4", "80", "78 1/2", "76 1/4", "=", "64 1/2", "=", "=", "39", "66")
"""As sticks are read: halves and quarters where they fall, the reserves the same."""
FEET = tuple(f"{int(inches // 12)}'{int(inches % 12)} 1/4\"" for inches in BEFORE_IN)
"""In feet and inches, every stick to a quarter."""


class Keyboard:
    """The program's window on a log of ten tanks, driven by its keys alone. count: of the keys pressed so far."""

    def __init__(self, folder: Path, *, level: str = "in") -> None:
        head = HEAD.replace('level = "in"', f'level = "{level}"')
        text = head.format(zone="Etc/GMT+6") + "".join(
            TANK.format(name=n, role=r, active=a, order=i) for i, (n, r, a) in enumerate(TANKS, 1)) + GAIN + OVERDUE
        self.app = application()
        self.hands = Hands()
        self.program = Program(PreferencesFile(folder / "preferences.json"), self.hands.clock())
        assert self.program.open_log(make_log(folder / "ten.dipbook", text))
        desk = self.program.desk
        assert desk is not None
        desk._tick.stop()
        desk.set_on_watch("R. Moe")
        assert desk.save_round(tuple(Dip(name, NOW, f"{dip:g} in", dip * IN) for (name, _, _), dip in zip(
            TANKS, BEFORE_IN, strict=True)), start_ms=NOW, end_ms=NOW, observer="R. Moe", author="R. Moe")
        self.hands.pass_(30)
        desk.tick()
        self.window = self.program.window
        self.window.resize(1280, 800)
        self.window.show()
        self.window.activateWindow()
        self.app.processEvents()
        self.count = 0

    @property
    def rounds(self) -> list[Record]:
        """The rounds in the log."""
        assert self.program.desk is not None
        return [record for record in self.program.desk.situation.records if record.kind == ROUND]

    def press(self, key: Qt.Key) -> None:
        """Press a key where the cursor is."""
        QTest.keyClick(QApplication.focusWidget() or self.window, key)
        self.count += 1

    def type_(self, text: str) -> None:
        """Type a text, a key a character, where the cursor is."""
        for character in text:
            QTest.keyClicks(QApplication.focusWidget() or self.window, character)
            self.count += 1

    def key_round(self, dips: tuple[str, ...]) -> int:
        """Key a whole round, from the Watch page to the round saved. dips: as typed. Returns the keys that it took."""
        before = self.count
        self.press(Qt.Key.Key_F5)
        for text in dips:
            self.type_(text)
            self.press(Qt.Key.Key_Return)
        self.press(Qt.Key.Key_Return)  # the hole's depth and the bit's: blank, no change
        self.press(Qt.Key.Key_Return)
        return self.count - before

    def close(self) -> None:
        """Close the window and the log."""
        self.window.close()
        self.program.close_log()
        self.window.deleteLater()
        self.program.deleteLater()
        self.app.processEvents()
