"""The warning's sound: a shipped file played by the system's own player, again and again while a warning wants it.

Never waits for the player. Without one, or without a device, it says so in ``message``; sound is never the only
channel.
"""

from __future__ import annotations

import contextlib
import shutil
import sys
from importlib.resources import as_file, files
from pathlib import Path

from PySide6.QtCore import QObject, QProcess, QTimer, Signal

from dipbook_app import urgency as urgencies
from dipbook_app.urgency import Urgency

if sys.platform == "win32":
    import winsound

PLAYERS: dict[str, tuple[str, ...]] = {
    "darwin": ("afplay",),
    "linux": ("pw-play", "paplay", "aplay"),
}
RETRY_MS = 2_000
"""After a player that failed, the wait before the next try: a device may come back."""
WINDOWS_REPEAT_MS = 2_200
PLAYS_MS = 8_000
"""A player still at it after this has stalled: the files last 2 s."""


def players(platform: str = sys.platform) -> tuple[str, ...]:
    """The players that are here, as full paths, the preferred first. platform: as sys.platform."""
    known = PLAYERS.get(platform, PLAYERS["linux"])
    return tuple(found for name in known if (found := shutil.which(name)))


class Sound(QObject):
    """Sounds while told to.

    message: "" while all is well, else "No sound: …". changed(str): the message when it changes.
    tested(str): what a test found, in words.
    """

    changed = Signal(str)
    tested = Signal(str)

    def __init__(self, parent: QObject | None = None, *, commands: tuple[str, ...] | None = None,
                 windows: bool = sys.platform == "win32") -> None:
        """commands: players to try, in order (None: those of this system); windows: use the system's own call."""
        super().__init__(parent)
        self._commands = players() if commands is None else commands
        self._windows = windows
        self._next = 0
        self._wanted: Urgency | None = None
        self._testing = False
        self._stopping = False
        self._message = ""
        self._open = contextlib.ExitStack()
        self._paths: dict[str, Path] = {}
        self._process = QProcess(self)
        self._process.finished.connect(self._on_finished)
        self._process.errorOccurred.connect(self._on_error)
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self._on_again)
        self._stall = QTimer(self)
        self._stall.setSingleShot(True)
        self._stall.timeout.connect(self._on_stall)
        if not self._windows and not self._commands:
            names = ", ".join(PLAYERS.get(sys.platform, PLAYERS["linux"]))
            self._message = f"No sound: no player on this computer ({names}). Warnings show on the screen only."

    @property
    def message(self) -> str:
        """"" or why there is no sound."""
        return self._message

    @property
    def sounding(self) -> Urgency | None:
        """What is to be heard now."""
        return self._wanted

    def sound(self, wanted: Urgency | None) -> None:
        """Sound for this urgency until told otherwise; None is silence. Telling it the same again changes nothing."""
        if wanted == self._wanted:
            return
        self._wanted = wanted
        self._testing = False
        self._stop()
        if wanted is not None:
            self._start(wanted)

    def test(self) -> None:
        """Play the urgent sound once and say in ``tested`` how that went."""
        if self._wanted is not None:
            self.tested.emit(self._message or "The warning is sounding now.")
            return
        if not self._windows and not self._commands:
            self.tested.emit(self._message)
            return
        self._stop()
        self._testing = True
        self._start(urgencies.DANGER)

    def close(self) -> None:
        """Be silent and let go of the player. For when the window closes."""
        self._wanted = None
        self._testing = False
        self._stop()
        self._open.close()
        self._paths.clear()

    def _path(self, name: str) -> Path:
        if name not in self._paths:
            source = files("dipbook_app") / "data" / "sounds" / name
            self._paths[name] = self._open.enter_context(as_file(source))
        return self._paths[name]

    def _start(self, urgency: Urgency) -> None:
        path = str(self._path(urgency.sound))
        if self._windows:
            self._start_windows(path)
        elif self._commands:
            self._process.start(self._commands[self._next % len(self._commands)], [path])
            self._stall.start(PLAYS_MS)

    def _start_windows(self, path: str) -> None:
        if sys.platform == "win32":
            try:
                winsound.PlaySound(path, winsound.SND_FILENAME | winsound.SND_ASYNC | winsound.SND_NODEFAULT)
            except RuntimeError as error:
                self._failed(str(error))
            else:
                self._went_well()

    def _stop(self) -> None:
        self._again.stop()
        self._stall.stop()
        if sys.platform == "win32" and self._windows:
            winsound.PlaySound(None, winsound.SND_PURGE)
        if self._process.state() != QProcess.ProcessState.NotRunning:
            self._stopping = True
            self._process.kill()
            self._process.waitForFinished(200)
            self._stopping = False

    def _on_finished(self, code: int, status: QProcess.ExitStatus) -> None:
        if self._stopping:
            return
        self._stall.stop()
        if code == 0 and status == QProcess.ExitStatus.NormalExit:
            self._went_well()
            return
        said = bytes(self._process.readAllStandardError().data()).decode(errors="replace").strip().splitlines()
        self._failed(said[-1] if said else f"it ended with {code}")

    def _on_error(self, error: QProcess.ProcessError) -> None:
        if not self._stopping and error == QProcess.ProcessError.FailedToStart:
            self._failed("it can't be started")

    def _on_stall(self) -> None:
        """A player that hangs is ended, and counts as one that failed: nobody hears it."""
        if self._process.state() != QProcess.ProcessState.NotRunning:
            self._stop()
            self._failed("it began and didn't end")

    def _went_well(self) -> None:
        self._say("")
        if self._testing:
            self._testing = False
            self.tested.emit("Sound played. Could you hear it where you stand?")
        elif self._wanted is not None:
            self._again.start(WINDOWS_REPEAT_MS if self._windows else 0)

    def _failed(self, why: str) -> None:
        name = Path(self._commands[self._next % len(self._commands)]).name if self._commands else "the system"
        self._next += 1
        if self._commands and self._next % len(self._commands):
            self._again.start(0)  # another player may do it
            return
        self._say(f"No sound: {name} says: {why}. Warnings show on the screen only.")
        if self._testing:
            self._testing = False
            self.tested.emit(self._message)
        elif self._wanted is not None:
            self._again.start(RETRY_MS)

    def _on_again(self) -> None:
        if self._wanted is not None:
            self._start(self._wanted)
        elif self._testing:
            self._start(urgencies.DANGER)

    def _say(self, message: str) -> None:
        if message != self._message:
            self._message = message
            self.changed.emit(message)
