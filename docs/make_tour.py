"""Film a tour: drive the program by keyboard through twelve invented hours and take a picture of each step.

    python docs/make_tour.py [FOLDER]

Needs no display. Writes FOLDER/NN-name-day.png and -night.png, and README.md, which tells the tour step by step. The
pits behind it are in tour_pits.py; the story in tour_story.py.
"""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

os.environ["QT_QPA_PLATFORM"] = "offscreen"
sys.path.insert(0, str(Path(__file__).parent))

import tour_story
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QKeySequence, QPageSize, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit
from tour_pits import STEP_S, Pits

from dipbook import store
from dipbook.records import RIG, Draft
from dipbook.rig import document
from dipbook_app import demo
from dipbook_app.clock import Clock
from dipbook_app.forms.form import Form
from dipbook_app.pages.line_up import LineUpPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.printing.dip_sheet import PAPERS, draw_page
from dipbook_app.printing.sheet_content import dip_sheet
from dipbook_app.running import Program, application
from dipbook_app.widgets.round_head import RoundHead

SIZE = (1280, 800)
ZONE = timezone(timedelta(hours=-6))
START = datetime(2026, 1, 6, 6, 0, tzinfo=ZONE)
TICK_S = 20
"""The desk looks at its clock this often while time passes in the film [s]."""


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture of the film. number, name: of its files; at: rig time; title; done: what the person did; see: what
    to look at."""

    number: int
    name: str
    at: str
    title: str
    done: str
    see: str


class Film:
    """The program, its clock, the pits behind it, and the pictures taken so far."""

    def __init__(self, app: QApplication, folder: Path, place: Path) -> None:
        self.app, self.folder = app, folder
        self._seconds = 0.0
        self.clock = Clock(wall=lambda: START.timestamp() + self._seconds, steady=lambda: self._seconds)
        self.place = place
        os.chdir(place)
        self.program = Program(PreferencesFile(place / "preferences.json"), self.clock)
        self.shots: list[Shot] = []
        self.keys = 0
        self.log_path = place / "larkspur.dipbook"
        described = document.read(demo.folder() / "rig-larkspur.toml")
        with store.open(self.log_path, station="desk") as log:
            log.append([Draft(RIG, self.clock.now_ms(), self.clock.now_ms(), author=tour_story.CREW[0],
                              reason="the tour begins", payload={"text": described.text, "digest": described.digest,
                                                                 "effective": "change"})])
        self.pits = Pits(described.rig, tour_story.LEVELS)
        self.window = self.program.window
        self.window.resize(*SIZE)
        self.window.show()
        self.window.activateWindow()
        QTest.qWaitForWindowActive(self.window)
        self.program.open_log(self.log_path)
        self.settle()

    # --- time ---------------------------------------------------------------------------------------------------

    def now(self, minutes: float = 0.0) -> str:
        """Rig time now, or some minutes from now, as it is typed: ``0915``."""
        return self.local(minutes).strftime("%H%M")

    def local(self, minutes: float = 0.0) -> datetime:
        """Rig time now, or some minutes from now."""
        return START + timedelta(seconds=self._seconds, minutes=minutes)

    def wait(self, minutes: float) -> None:
        """Time passes, in the pits and at the desk."""
        steps = round(minutes * 60 / STEP_S)
        for k in range(steps):
            self.pits.step()
            self._seconds += STEP_S
            if self.program.desk is not None and (k % (TICK_S // STEP_S) == 0 or k == steps - 1):
                self.program.desk.tick()
        self.settle()

    def minutes_to(self, clock: str) -> float:
        """How far off a rig time of this day is, like ``09:15`` [min]."""
        hour, minute = (int(part) for part in clock.split(":"))
        return (hour * 60 + minute) - (self.local().hour * 60 + self.local().minute + self.local().second / 60)

    def until(self, clock: str) -> None:
        """Wait until a rig time. Stops where it has passed: the story is told in order."""
        if self.minutes_to(clock) < 0:
            raise SystemExit(f"It is {self.local():%H:%M} already, past {clock}.")
        self.wait(self.minutes_to(clock))

    def settle(self, times: int = 3) -> None:
        """Let the window paint. times: longer where a file is read meanwhile."""
        for _ in range(times):
            self.app.processEvents()
            QTest.qWait(90)

    def switch_off(self, minutes: float) -> None:
        """The computer is off for a while; the pits go on."""
        self.program.close_log()
        for _ in range(round(minutes * 60 / STEP_S)):
            self.pits.step()
        self._seconds += minutes * 60
        self.program.open_log(self.log_path)
        self.settle()

    def write_file(self, name: str, text: str) -> None:
        """A file as another program leaves it, where the program was started."""
        (self.place / name).write_text(text, encoding="utf-8")

    # --- the keyboard -------------------------------------------------------------------------------------------

    def press(self, *keys: str) -> None:
        """Press keys by name: ``F5``, ``Ctrl+T``, ``Return``."""
        for key in keys:
            QTest.keySequence(self._target(), QKeySequence(key))
            self.keys += 1
            self.app.processEvents()

    def type(self, text: str) -> None:
        """Type a text where the cursor is."""
        QTest.keyClicks(self._target(), text)
        self.keys += len(text)
        self.app.processEvents()

    def enter(self, text: str) -> None:
        """Type a text and press Enter."""
        self.type(text)
        self.press("Return")

    def dip(self, stick: str) -> None:
        """Key one dip. What the row asks about is seen and kept with a second Enter, as the page says."""
        here = QApplication.focusWidget()
        self.enter(stick)
        if QApplication.focusWidget() is here:
            self.press("Return")
        if QApplication.focusWidget() is here:
            raise SystemExit(f"{self.local():%H:%M} the row doesn't take {stick!r}")

    def fill(self, **typed: str) -> None:
        """Go through the open form field by field with Enter, typing what is given, and save it with the last Enter.

        typed: by field name, with ``_`` for a blank and behind a name that Python keeps for itself.
        """
        wanted = self.fields(**typed)
        for _ in range(30):
            if self.form() is None or QApplication.focusWidget() is None:
                break
            self.press("Return")
        self.settle()
        if wanted or self.form() is not None:
            said = [(row.name, row.words.said) for row in self.form().fields if row.words.said] if self.form() else []
            raise SystemExit(f"{self.local():%H:%M} the form took no {sorted(wanted)}, or was not saved: {said} "
                             f"{self.form().words.said if self.form() else ''}")

    def fields(self, **typed: str) -> dict[str, str]:
        """As ``fill``, without saving: the cursor stays in the last field that was typed. Returns what found no field.
        """
        wanted = {name if name == "mud_density" else name.replace("_", " ").strip(): text
                  for name, text in typed.items()}
        self._back_to_first(wanted)
        for _ in range(60):
            if not wanted:
                break
            shown = [] if (form := self.form()) is None else form.fields
            here = next((row for row in shown if row.editor is QApplication.focusWidget()), None)
            if here is None:
                break
            if here.name in wanted:
                self._put(here.editor, wanted.pop(here.name))
            if wanted:
                self.press("Return")
        return wanted

    def line(self) -> str:
        """The name of the line chosen on the line-up board."""
        line = self.window.findChild(LineUpPage).chosen()
        return "" if line is None else line.name

    def form(self) -> Form | None:
        """The entry form that is open, or None."""
        return next((form for form in self.window.findChildren(Form) if form.isVisible()), None)

    def log(self, word: str, **typed: str) -> None:
        """F6, a word that finds the kind, and the form."""
        self.press("F6")
        self.enter(word)
        self.fill(**typed)

    def _back_to_first(self, wanted: dict[str, str]) -> None:
        """A form opens at its first empty field; what is typed before that is gone back to."""
        for _ in range(30):
            fields = [] if (form := self.form()) is None else [row for row in form.fields if not row.isHidden()]
            places = [k for k, row in enumerate(fields) if row.name in wanted]
            here = next((k for k, row in enumerate(fields) if row.editor is QApplication.focusWidget()), 0)
            if not places or here <= min(places):
                return
            self.press("Shift+Tab")

    def back_to(self, label: str) -> None:
        """Back with Shift+Tab to the list under a label."""
        for _ in range(20):
            here = QApplication.focusWidget()
            if here is not None and here.accessibleName() == label:
                return
            self.press("Shift+Tab")
        raise SystemExit(f"{self.local():%H:%M} there is no list {label!r}")

    def choose(self, *words: str) -> None:
        """Choose in one list after another with Down, and go on with Enter."""
        for word in words:
            box = QApplication.focusWidget()
            if not isinstance(box, QComboBox):
                raise SystemExit(f"{self.local():%H:%M} no list here for {word!r}")
            for _ in range(box.count()):
                if box.currentText() == word:
                    break
                self.press("Down")
            else:
                raise SystemExit(f"{self.local():%H:%M} the list has no {word!r}: "
                                 f"{[box.itemText(k) for k in range(box.count())]}")
            self.press("Return")
            self.settle()

    def type_at(self, name: str, text: str) -> None:
        """Type into a field at the head of the Round page, reached with Shift+Tab or Tab."""
        head = self.window.findChild(RoundHead)
        for _ in range(60):
            if head.fields[name].hasFocus():
                break
            self.press("Shift+Tab")
        head.fields[name].selectAll()
        self.enter(text)

    def _put(self, editor: QLineEdit | QComboBox, text: str) -> None:
        if isinstance(editor, QLineEdit):
            editor.selectAll()
            self.type(text)
            return
        editor.setCurrentIndex(0)
        self.type(text.split(" ")[0])
        for _ in range(editor.count()):
            if editor.currentText() == text:
                break
            self.press("Down")
        if editor.currentText() != text:
            raise SystemExit(f"{self.local():%H:%M} the list has no {text!r}")

    def _target(self) -> Any:
        return QApplication.focusWidget() or self.window

    # --- pictures -----------------------------------------------------------------------------------------------

    def shoot(self, name: str, title: str, done: str, see: str) -> None:
        """Take the picture by day and by night."""
        number = len(self.shots) + 1
        for theme in ("day", "night"):
            if (self.program.preferences.now.theme == "night") != (theme == "night"):
                self.window.switch_theme()
            self.settle()
            picture = self.window.grab().toImage().convertToFormat(QImage.Format.Format_Indexed8,
                                                                   Qt.ImageConversionFlag.ThresholdDither)
            picture.save(str(self.folder / f"{number:02}-{name}-{theme}.png"))
        self.window.switch_theme()
        self.settle()
        self.shots.append(Shot(number, name, f"{self.local():%H:%M}", title, done, see))
        print(f"{number:02} {self.local():%H:%M} {title}", flush=True)

    def sheet(self, name: str, title: str, done: str, see: str) -> None:
        """The dip sheet's first page, as it is printed."""
        sheet = dip_sheet(self.pits.rig, views=self.program.desk.situation.tanks, now_ms=self.clock.now_ms())
        size = QPageSize(PAPERS["a4"]).size(QPageSize.Unit.Millimeter)
        picture = QImage(1280, round(1280 * size.width() / size.height()), QImage.Format.Format_RGB32)
        picture.fill(Qt.GlobalColor.white)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(picture.width() / (size.height() * 10), picture.height() / (size.width() * 10))
        draw_page(painter, sheet, 0, size.height() * 10, size.width() * 10)
        painter.end()
        number, few = len(self.shots) + 1, picture.convertToFormat(QImage.Format.Format_Indexed8)
        for theme in ("day", "night"):
            few.save(str(self.folder / f"{number:02}-{name}-{theme}.png"))
        self.shots.append(Shot(number, name, f"{self.local():%H:%M}", title, done, see))
        print(f"{number:02} {self.local():%H:%M} {title}", flush=True)

    def write(self) -> None:
        """Write the page that tells the film."""
        lines = [tour_story.HEAD.strip(), ""]
        for shot in self.shots:
            lines += [f"## {shot.number}. {shot.title} ({shot.at})", "", f"**Keys.** {shot.done}", "",
                      f"**On the screen.** {shot.see}", "",
                      f"![{shot.title}, by day]({shot.number:02}-{shot.name}-day.png)", "",
                      f"[The same by night]({shot.number:02}-{shot.name}-night.png)", ""]
        (self.folder / "README.md").write_text("\n".join(lines).rstrip() + "\n", encoding="utf-8")


def main(folder: Path) -> None:
    """Make the film into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("[0-9][0-9]-*.png"):
        old.unlink()
    app = application()
    with tempfile.TemporaryDirectory() as place:
        film = Film(app, folder, Path(place))
        tour_story.play(film)
        film.write()
        film.window.close()
        film.program.close_log()
        ended = datetime.fromtimestamp(film.clock.now_ms() / 1000, UTC).astimezone(ZONE)
        print(f"{len(film.shots)} steps, {film.keys} keys, until {ended:%H:%M}")


if __name__ == "__main__":
    main((Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "tour").resolve())
