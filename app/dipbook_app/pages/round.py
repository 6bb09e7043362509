"""The Round page: one round of dips, in gauging order, by keyboard alone. Nothing typed is lost."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from dipbook.situation import Situation
from dipbook.tanks.gauging import FLAGS
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.round_sheet import AGAIN, RoundSheet, RowText, Saved, last_words, listed, saved_words
from dipbook_app.round_times import Exact
from dipbook_app.typed_times import clock
from dipbook_app.widgets.dip_row import DipHeading, DipRow
from dipbook_app.widgets.round_foot import RoundFoot
from dipbook_app.widgets.round_head import RoundHead

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dipbook_app.desk import Desk

DRAFT = "round"
STALE_OPEN_MS = 15 * 60_000
"""A page that stood open longer than this before the first dip: the round begins with that dip."""
PERSONS_FLAGS = FLAGS[:4]


class RoundPage(QWidget):
    """One row a tank; Enter goes down, Enter on the last row saves; Up and Down move; Esc leaves and keeps the draft.

    desk: takes the round. drafts: keeps it while it is typed.
    Signals: left(): Esc. saved(str): what was saved, in words.
    """

    left = Signal()
    saved = Signal(str)

    def __init__(self, desk: Desk, drafts: Drafts, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.drafts = drafts
        self.rows: list[DipRow] = []
        self._situation: Situation = current(desk)
        self._units = DisplayUnits(self._situation.rig)
        self._unit_set = ""
        self._start = Exact("", 0)
        self._last_ms: int | None = None
        self._asked: dict[str, str] = {}
        self._asked_blank: tuple[str, ...] = ()
        self._asked_discard = False
        self._filling = False
        self._saved: Saved | None = None
        self._build()
        self.words, self.remark = self.foot.words, self.foot.remark
        self.keyer = self.head.fields["keyer"]
        self.sheet = self._read()
        self.show_situation(self._situation)
        self._restore()

    # --- what is shown -------------------------------------------------------------------------------------------

    def show_situation(self, situation: Situation) -> None:
        """Bring the last levels up to date; what is typed stays."""
        self._situation = situation
        self._units = DisplayUnits(situation.rig, self._unit_set)
        if [row.tank for row in self.rows] != [tank.name for tank in situation.rig.tanks]:
            self._build_rows()
        for row in self.rows:
            row.show_last(*last_words(situation, row.tank, self._units))
        if not self.keyer.text() and self.desk.on_watch:
            with self._fill_in():
                self.head.set_text("keyer", self.desk.on_watch)
        self._say_saved(situation)
        self._show_rows()

    def show_units(self, unit_set: str) -> None:
        """Show volumes and levels in a set of units instead of the rig's own. unit_set: a name of UNIT_SETS or ""."""
        self._unit_set = unit_set
        self.show_situation(self._situation)

    def begin(self) -> None:
        """Come to the page for a round: a fresh one begins now; one in progress goes on where it was left."""
        if not self.in_progress:
            self._begin_at(self.desk.now_ms())
        self.focus_first()

    @property
    def in_progress(self) -> bool:
        """True if anything of a round is typed."""
        return any(row.content() for row in self.rows) or bool(self.remark.text().strip())

    def focus_first(self) -> None:
        """Put the cursor into the first row with nothing typed, or the first of all."""
        row = next((row for row in self.rows if not row.stick.text()), self.rows[0] if self.rows else None)
        if row is not None:
            row.focus()

    def row(self, tank: str) -> DipRow:
        """The row of a tank. Raises KeyError if there is none."""
        for row in self.rows:
            if row.tank == tank:
                return row
        raise KeyError(tank)

    # --- saving --------------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the round; with an error, a doubt not yet seen or rows left blank, say so first and save nothing."""
        sheet = self.sheet = self._read()
        if not self._may_save(sheet):
            return
        keyer, times = self.head.text("keyer"), sheet.times
        ok = self.desk.save_round(sheet.dips(), start_ms=times.start_ms, end_ms=times.end_ms,
                                  observer=self.head.text("observer") or keyer, author=keyer,
                                  remark=self.remark.text().strip())
        if not ok:
            self.words.say("The round was not saved. What you typed is kept; try again.", "error")
            return
        self._clear()
        self._saved = Saved(times.start_ms, times.end_ms, sheet.missing)
        self._say_saved(current(self.desk))

    def _may_save(self, sheet: RoundSheet) -> bool:
        """True if nothing stands in the way; else says what does and puts the cursor there."""
        wrong = sheet.first_wrong()
        if wrong is not None:
            where, words = wrong
            if where in self.head.fields:
                self.head.fields[where].setFocus()
            else:
                self.row(where).focus()
            self.words.say(f"Not saved. {words}", "error")
            return False
        if not sheet.gauged:
            self.focus_first()
            self.words.say("Nothing is gauged yet. Type what the stick says, or = for “same as before”.", "error")
            return False
        doubtful = next((tank for tank in sheet.gauged if not self._kept(tank)), None)
        if doubtful is not None:
            self.row(doubtful).focus()
            self._ask(doubtful)
            return False
        if sheet.blank and sheet.blank != self._asked_blank:
            self._asked_blank = sheet.blank
            self.words.say(f"Nothing is typed for {listed(sheet.blank)}: not gauged, held at the last level. "
                           "Enter again saves.", "doubt")
            return False
        if not self.head.text("keyer"):
            self.keyer.setFocus()
            self.words.say("Not saved. Who keys this round? Type the name at the top.", "error")
            return False
        return True

    def discard(self) -> None:
        """Throw the round in progress away; asks once."""
        if not self.in_progress:
            self.words.say("Nothing is typed.")
        elif not self._asked_discard:
            self._asked_discard = True
            self.words.say("Press “Start afresh” again to throw away what is typed.", "doubt")
        else:
            self._clear()
            self.focus_first()
            self.words.say("Started afresh. Nothing was saved.")

    # --- events --------------------------------------------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:
        """A fresh round begins when the page is opened."""
        super().showEvent(event)
        self.begin()

    def hideEvent(self, event: QHideEvent) -> None:
        """The page is left or the window closed: the draft goes to the disk now."""
        super().hideEvent(event)
        self.drafts.flush()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves without losing, Ctrl+Enter saves."""
        if event.key() == Qt.Key.Key_Escape:
            self.drafts.flush()
            self.left.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier or self.focusWidget() is self.remark:
                self.save()
            elif isinstance(pressed := self.focusWidget(), QPushButton):
                pressed.click()
        else:
            super().keyPressEvent(event)

    def _row_changed(self, row: DipRow) -> None:
        if self._filling:
            return
        now_ms = self.desk.now_ms()
        stale = now_ms - self._start.t_ms > STALE_OPEN_MS
        if self._last_ms is None and stale and self.head.text("from") == self._start.text:
            self._begin_at(now_ms)
        self._last_ms = now_ms
        self._asked.pop(row.tank, None)
        self._changed()

    def _changed(self) -> None:
        """Something was typed or switched."""
        if self._filling:
            return
        self._saved = None
        self._asked_blank = ()
        self._asked_discard = False
        self._show_columns()
        self._show_rows()
        self.words.say("")
        if self.in_progress:
            self.drafts.put(DRAFT, self._content())
        else:
            self.drafts.drop(DRAFT)

    def _entered(self, row: DipRow) -> None:
        """Enter on a row: on, unless it can't be read or a doubt is to be seen first."""
        error = self.sheet.error(row.tank)
        if error:  # the text stays unselected: the next tank's dip, typed blind, must not take its place
            self.words.say(f"{row.tank}: {error}", "error")
        elif not self._kept(row.tank):
            self._ask(row.tank)
        elif row is self.rows[-1]:
            self.save()
        else:
            self._go(row, 1)

    def _came_to(self, row: DipRow) -> None:
        """The row's words whole, where there is room for them."""
        self.area.ensureWidgetVisible(row, 0, 0)
        if row.words.tone in ("doubt", "error") and row.words.said:
            self.words.say(f"{row.tank}: {row.words.said}", row.words.tone)
        elif self.words.tone != "done":
            self.words.say("")

    def _go(self, row: DipRow, step: int) -> None:
        place = self.rows.index(row) + step
        if place < 0:
            self.head.fields["from"].setFocus()
        elif place < len(self.rows):
            self.rows[place].focus()

    # --- reading and words ---------------------------------------------------------------------------------------

    def _read(self) -> RoundSheet:
        columns = self.head.columns()
        texts = [RowText(row.tank, row.stick.text(), row.second.text() if columns["second"] else "",
                         row.time.text().strip() if columns["time"] else "",
                         row.flag.currentText() if columns["flag"] else "") for row in self.rows]
        return RoundSheet(self._situation, texts, start=self.head.text("from"), end=self.head.text("to"),
                          exact=self._start, last_ms=self._last_ms, now_ms=self.desk.now_ms())

    def _show_rows(self) -> None:
        """Read every row again and show what it makes."""
        self.sheet = self._read()
        self.head.mark({name: words for name, words in self.sheet.times.errors.items() if name in self.head.fields})
        for row in self.rows:
            row.show_words(self.sheet.words(row.tank, self._units, kept=self._kept(row.tank)))
        self.heading.progress.setText(self.sheet.progress())

    def _kept(self, tank: str) -> bool:
        return not self.sheet.doubts(tank) or self._asked.get(tank) == self.sheet.key(tank)

    def _ask(self, tank: str) -> None:
        self._asked[tank] = self.sheet.key(tank)
        self.words.say(f"{tank}: {' '.join(self.sheet.doubts(tank))} {AGAIN}", "doubt")

    def _say_saved(self, situation: Situation) -> None:
        """Once the books hold the round: what it made."""
        if self._saved is None:
            return
        said, whole = saved_words(situation, self._saved, self._units)
        if whole:
            self._saved = None
        if self.words.said != said:
            self.words.say(said, "done")
            self.saved.emit(said)

    # --- the draft -----------------------------------------------------------------------------------------------

    def _content(self) -> dict[str, Any]:
        return {"start": [self._start.text, self._start.t_ms], "last_ms": self._last_ms,
                "head": {name: line.text() for name, line in self.head.fields.items()},
                "columns": self.head.columns(), "remark": self.remark.text(),
                "rows": {row.tank: row.content() for row in self.rows if row.content()}}

    def _restore(self) -> None:
        """Bring back the round that was in progress when the program ended."""
        kept = self.drafts.get(DRAFT)
        words = [self.drafts.problem] if self.drafts.problem else []
        if kept is not None:
            try:
                gone = self._fill_with(kept)
            except (ValueError, TypeError, AttributeError):
                self._clear()
                words.append("The round in progress could not be read and was put away. The log is not affected.")
            else:
                began = clock(self._start.t_ms, self._situation.rig.zone, now_ms=self.desk.now_ms())
                words.append(f"Round begun {began} restored.")
                words += [f"No longer in the rig, left out: {listed(gone)}."] if gone else []
        self._show_columns()
        self._show_rows()
        self.restored.setText(" ".join(words))
        self.restored.setVisible(bool(words))

    def _fill_with(self, kept: dict[str, Any]) -> tuple[str, ...]:
        """Put a draft on the page. Returns the tanks in it that the rig no longer has."""
        text, t_ms = kept["start"] if "start" in kept else ("", self.desk.now_ms())
        contents = {str(tank): dict(content) for tank, content in dict(kept.get("rows", {})).items()}
        last_ms = kept.get("last_ms")
        with self._fill_in():
            self._start, self._last_ms = Exact(str(text), int(t_ms)), None if last_ms is None else int(last_ms)
            for name, typed in dict(kept.get("head", {})).items():
                if name in self.head.fields:
                    self.head.set_text(name, str(typed))
            for name, on in dict(kept.get("columns", {})).items():
                if name in self.head.switches:
                    self.head.switches[name].setChecked(bool(on))
            self.remark.setText(str(kept.get("remark", "")))
            for row in self.rows:
                row.restore(contents.pop(row.tank, {}))
        return tuple(contents)

    def _clear(self) -> None:
        with self._fill_in():
            for row in self.rows:
                row.restore({})
            self.remark.clear()
            self.head.set_text("to", "")
            self.head.set_text("observer", "")
        self._last_ms = None
        self._asked.clear()
        self._asked_blank = ()
        self._asked_discard = False
        self.restored.setVisible(False)
        self.drafts.drop(DRAFT)
        self._begin_at(self.desk.now_ms())
        self._show_rows()

    def _begin_at(self, t_ms: int) -> None:
        self._start = Exact(clock(t_ms, self._situation.rig.zone), t_ms)
        with self._fill_in():
            self.head.set_text("from", self._start.text)

    @contextmanager
    def _fill_in(self) -> Iterator[None]:
        """While the program fills fields in: that is not the person's typing."""
        outer, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = outer

    # --- making --------------------------------------------------------------------------------------------------

    def _build(self) -> None:
        self.restored = QLabel()
        self.restored.setProperty("part", "strong")
        self.restored.setVisible(False)
        self.head = RoundHead()
        self.head.fields["to"].setPlaceholderText("last dip typed")
        self.head.fields["observer"].setPlaceholderText("the same person")
        self.head.changed.connect(self._changed)
        self.head.entered.connect(self.focus_first)
        self.heading = DipHeading()
        body = QWidget()
        self._column = QVBoxLayout(body)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(2)
        self.area = QScrollArea()
        self.area.setWidget(body)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.foot = RoundFoot()
        self.foot.changed.connect(self._changed)
        self.foot.save.connect(self.save)
        self.foot.discard.connect(self.discard)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(9, 4, 9, 4)
        layout.setSpacing(4)
        for widget in (self.restored, self.head, self.heading):
            layout.addWidget(widget)
        layout.addWidget(self.area, 1)
        layout.addWidget(self.foot)

    def _build_rows(self) -> None:
        """Rows for the rig's tanks; what is typed for a tank that is still there stays."""
        kept = {row.tank: row.content() for row in self.rows}
        while (item := self._column.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows = [DipRow(tank.name, PERSONS_FLAGS) for tank in self._situation.rig.tanks]
        for row in self.rows:
            row.restore(kept.get(row.tank, {}))
            row.changed.connect(lambda row=row: self._row_changed(row))
            row.entered.connect(lambda row=row: self._entered(row))
            row.moved.connect(lambda step, row=row: self._go(row, step))
            row.focused.connect(lambda row=row: self._came_to(row))
            self._column.addWidget(row)
        self._column.addStretch(1)
        self._show_columns()

    def _show_columns(self) -> None:
        columns = self.head.columns()
        self.heading.show_columns(**columns)
        for row in self.rows:
            row.show_columns(**columns)
