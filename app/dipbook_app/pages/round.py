"""The Round page: one round of dips, in gauging order, by keyboard alone. Nothing typed is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QHideEvent, QKeyEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QPushButton, QWidget

from dipbook.entries.checks import make
from dipbook.entries.dipping import labelled
from dipbook.entries.plausible import far_depth
from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook_app.current import current
from dipbook_app.drafts import Drafts
from dipbook_app.forms.form import sentence
from dipbook_app.pages.round_kept import CORRECTION_DRAFT, RoundKept
from dipbook_app.printing.write_sheet import write_beside
from dipbook_app.round_correction import Correction, correction_content, correction_of
from dipbook_app.round_modes import FULL, PAST, SHORT
from dipbook_app.round_sheet import AGAIN, SWAP_KEY, RoundSheet, Saved, listed
from dipbook_app.widgets.dip_row import DipRow
from dipbook_app.widgets.round_foot import DEPTHS
from dipbook_app.widgets.round_head import COLUMN_KEYS

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

STALE_OPEN_MS = 15 * 60_000
"""A page that stood open longer than this before the first dip: the round begins with that dip."""


class RoundPage(RoundKept):
    """One row a tank; Enter goes down, past the last row to the depths, which may stay blank, and then saves; Up and
    Down move; Esc leaves and keeps the draft.

    A round that was saved is corrected here too, beside one in progress, which is kept meanwhile.
    desk: takes the round. drafts: keeps it while it is typed.
    Signals: left(): Esc. saved(str): what was saved, in words. corrected(): a correction was saved.
    """

    left = Signal()
    corrected = Signal()

    def __init__(self, desk: Desk, drafts: Drafts, parent: QWidget | None = None) -> None:
        super().__init__(desk, drafts, parent)
        self.head.changed.connect(self._head_changed)
        self.head.entered.connect(self._from_head)
        self.area.changed.connect(self._row_changed)
        self.area.entered.connect(self._entered)
        self.area.moved.connect(self._go)
        self.area.focused.connect(self._came_to)
        self.foot.changed.connect(self._changed)
        self.foot.save.connect(self.save)
        self.foot.entered.connect(lambda name: self._to_depth(DEPTHS[1]) if name == DEPTHS[0] else self.save())
        self.foot.back.connect(lambda: self.rows[-1].focus())
        self.foot.discard.connect(self.discard)
        self.foot.swap.connect(self.swap_rows)
        self.head.mode_wanted.connect(self._turn_mode)
        self.head.print_wanted.connect(self.print_sheet)
        # A button's own shortcut clicks it a tenth of a second later: what is typed meanwhile would go elsewhere.
        for key, act in (("Ctrl+B", lambda: self._turn_mode(SHORT)), ("Ctrl+L", lambda: self._turn_mode(PAST)),
                         (SWAP_KEY, self.swap_rows)):
            QShortcut(QKeySequence(key), self).activated.connect(act)
        for name, key in COLUMN_KEYS.items():
            QShortcut(QKeySequence(key), self).activated.connect(self.head.switches[name].toggle)

    def begin(self, short: bool = False) -> None:
        """Come to the page for a round: a fresh one begins now; one in progress goes on where it was left.

        short: of the suction and trip tanks only; a round of all tanks in progress is kept meanwhile.
        """
        if self.correction is not None:
            self._leave_correction("The correction was left; nothing of it was saved.")
        self.take_mode(SHORT if short else FULL)
        self._come()

    def _turn_mode(self, mode: str) -> None:
        """The key of a mode: into it, or out of it back to all tanks."""
        self.take_mode(FULL if mode == self.mode else mode)
        self.focus_first()

    def swap_rows(self) -> None:
        """Put right two rows whose dips were swapped: the pair of the row the cursor is in, else the first."""
        here = next((row for row in self.rows if row.isAncestorOf(self.focusWidget())), None) \
            if self.focusWidget() is not None else None
        pair = (self.sheet.swapped_with(here.tank) if here is not None else None) or self.sheet.swapped_with()
        if pair is None:
            return
        one, other = (self.row(tank) for tank in pair)
        texts = [(row.stick.text(), row.second.text()) for row in (one, other)]
        with self._fill_in():
            for row, (stick, second) in ((one, texts[1]), (other, texts[0])):
                row.stick.setText(stick)
                row.second.setText(second)
        for row in (one, other):
            self._asked.pop(row.tank, None)
        self._changed()
        self.words.say(f"Swapped: {one.tank} {one.stick.text()}, {other.tank} {other.stick.text()}.")

    def print_sheet(self) -> None:
        """Write a blank dip sheet beside the log and show it in the system's viewer, to print from there."""
        try:
            path = write_beside(self.desk.drafts_path.parent, self._situation, self._unit_set)
        except DipbookError as error:
            self.words.say(str(error), "error")
            return
        shown = QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))
        there = "Print it from the window that opens." if shown else f"It is {path}."
        self.words.say(f"Dip sheet written beside the log: {path.name}. {there}", "done")

    def _come(self) -> None:
        if not self.in_progress and self.correction is None and self.mode != PAST:
            self._begin_at(self.desk.now_ms())
            if self.words.tone == "done":  # of the round before
                self._say_unsaved()
        self.focus_first()

    def correct(self, record: Record) -> None:
        """Open a saved round to be corrected: its dips filled in, a reason wanted. What is being typed is kept."""
        self.drafts.flush()
        self._take_correction(correction_of(record, self._situation.rig, self.desk.now_ms()))
        self._fill_with(correction_content(self.correction))
        self._shown()
        self._say_unsaved()
        self.rows[0].focus()

    # --- saving --------------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the round; with an error, a doubt not yet seen or rows left blank, say so first and save nothing."""
        sheet = self.sheet = self._read()
        if not self._may_save(sheet):
            return
        if self.correction is not None:
            self._save_correction(self.correction, sheet)
            return
        keyer, times = self.head.text("keyer"), sheet.times
        depth = self._depth_typed()
        if not self._save_depth(depth, self._depth_ms(sheet), keyer):
            return
        ok = self.desk.save_round(sheet.dips(), start_ms=times.start_ms, end_ms=times.end_ms,
                                  observer=self.head.text("observer") or keyer, author=keyer,
                                  remark=self.remark.text().strip())
        if not ok:
            with_it = "The depth was saved, the round was not." if depth else "The round was not saved."
            self.words.say(f"{with_it} What you typed is kept; try again.", "error")
            return
        self._clear()
        self._saved = Saved(times.start_ms, times.end_ms, sheet.missing, depth=bool(depth), short=self.mode == SHORT,
                            past=self.mode == PAST)
        self._say_saved(current(self.desk))
        if self.isVisible():
            self.focus_first()

    def _depth_typed(self) -> dict[str, str]:
        """The fields of a depth entry, each with its unit."""
        return {name: labelled(text, self._units.length_unit) for name, text in self.foot.depth_texts().items()}

    def _depth_ms(self, sheet: RoundSheet) -> int:
        """When the depth counts from: with the round's last dip, so that the round is judged by it [UTC ms]."""
        return max([sheet.times.dips[tank][0] for tank in sheet.gauged], default=sheet.times.end_ms)

    def _save_depth(self, depth: dict[str, str], t_ms: int, keyer: str) -> bool:
        """Log the depth, before the round that is judged by it. False if it could not be stored."""
        if not depth:
            return True
        found = self.desk.log_entry("depth", depth, t_ms=t_ms, end_ms=None, author=keyer) or ()
        wrong = next((f for f in found if f.severity == "error"), None)
        if wrong is not None:
            self.words.say(f"Not saved. {self._depth_words(wrong)}", "error")
            return False
        with self._fill_in():
            for line in self.foot.depths.values():
                line.clear()
        return True

    def _depth_stands(self, sheet: RoundSheet) -> bool:
        """True if the depth that is typed can be logged; a doubt about it is asked once."""
        depth = self._depth_typed()
        if not depth or self.correction is not None:
            return True
        t_ms = self._depth_ms(sheet)
        draft, found = make("depth", depth, t_ms=t_ms, rig=self._situation.rig, learned_ms=t_ms)
        if draft is not None:
            found = (*found, *far_depth(draft.payload, self._situation.hole_depth_m, self._situation.rig))
        key = str(sorted(depth.items()))
        for finding in found:
            wrong = finding.severity == "error"
            if wrong or self._asked_depth != key:
                self._asked_depth = "" if wrong else key
                self._to_depth(finding.column if finding.column in DEPTHS else DEPTHS[0])
                self.words.say(f"Not saved. {self._depth_words(finding)}" if wrong else
                               f"{sentence(finding.what)} {AGAIN}", "error" if wrong else "doubt")
                return False
        return True

    def _depth_words(self, wrong: Finding) -> str:
        """What is wrong with a depth, with its name and what was typed. wrong: its column is the depth's name."""
        typed = self.foot.depth_texts().get(wrong.column, "")
        if wrong.column not in DEPTHS:
            return sentence(wrong.what)
        name = wrong.column.capitalize()
        if typed in wrong.what:
            return f"{name}: {sentence(wrong.what)}"
        return f"{name}: {typed} can't be read. Write a number, in {self._units.length_unit} or with its unit."

    def _to_depth(self, name: str) -> None:
        line = self.foot.depths[name]
        line.setFocus()
        line.selectAll()

    def _save_correction(self, correction: Correction, sheet: RoundSheet) -> None:
        if not self.reason.text().strip():
            self.reason.setFocus()
            self.words.say("Not saved. Why is the round corrected? A reason is needed; both stay in the log.", "error")
            return
        keyer, record = self.head.text("keyer"), correction.record
        ok = self.desk.save_round(sheet.dips(), start_ms=sheet.times.start_ms, end_ms=sheet.times.end_ms,
                                  observer=self.head.text("observer") or record.author, author=keyer,
                                  remark=self.remark.text().strip(), supersedes=record.uid,
                                  reason=self.reason.text().strip())
        if not ok:
            self.words.say("The correction was not saved. What you typed is kept.", "error")
            return
        words = f"Round of {correction.end.text} corrected. The old one stays in the log, struck through."
        self._leave_correction(words, "done")
        self.saved.emit(words)
        self.corrected.emit()

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
        blank = sheet.blank if self.correction is None else \
            tuple(tank for tank in sheet.blank if tank in self.correction.dips)
        if blank and blank != self._asked_blank:
            self._asked_blank = blank
            self.words.say(f"Nothing is typed for {listed(blank)}: not gauged, held at the last level. "
                           "Enter again saves.", "doubt")
            return False
        if not self._depth_stands(sheet):
            return False
        if not self.head.text("keyer"):
            self.keyer.setFocus()
            self._wants_name = True
            self.words.say("Not saved. Who keys this round? Type the name at the top.", "error")
            return False
        return True

    def discard(self) -> None:
        """Throw the round in progress away; asks once. Of a correction: leave it."""
        if self.correction is not None:
            self._leave_correction("The correction was left. The round stays as it was.")
        elif not self.in_progress:
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
        self._come()

    def hideEvent(self, event: QHideEvent) -> None:
        """The page is left or the window closed: the draft goes to the disk now."""
        super().hideEvent(event)
        self.drafts.flush()
        if self._complete():
            self._left_unsaved = True
            self._say_unsaved()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves without losing, Ctrl+Enter saves."""
        if event.key() == Qt.Key.Key_Escape:
            self.drafts.flush()
            self.left.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here = self.focusWidget()
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier or here in (self.remark, self.reason):
                self.save()
            elif isinstance(here, QPushButton):
                here.click()
        else:
            super().keyPressEvent(event)

    def _row_changed(self, row: DipRow) -> None:
        if self._filling:
            return
        now_ms = self.desk.now_ms()
        stale = now_ms - self._start.t_ms > STALE_OPEN_MS
        fresh = self._last_ms is None and self.correction is None and self.mode != PAST
        if fresh and stale and self.head.text("from") == self._start.text:
            self._begin_at(now_ms)
        self._last_ms = now_ms
        self._asked.pop(row.tank, None)
        self._changed()

    def _head_changed(self) -> None:
        """A name or a time says nothing of the rows left blank: what was seen of them stays seen."""
        seen = self._asked_blank
        self._changed()
        self._asked_blank = seen

    def _from_head(self) -> None:
        """Enter in the head: the name that was asked for saves the round, else on to the rows."""
        if self._wants_name and self.keyer.hasFocus() and self.head.text("keyer"):
            self.save()
        elif not (self.head.fields["from"].hasFocus() and self._to_past_time()):
            self.focus_first()

    def _changed(self) -> None:
        """Something was typed or switched."""
        if self._filling:
            return
        self._saved = None
        self._asked_blank = ()
        self._asked_discard = False
        self._show_columns()
        self._show_rows()
        self._say_unsaved()
        if self.correction is not None:
            self.drafts.put(CORRECTION_DRAFT, {**self._content(), "corrects": self.correction.record.uid})
        elif self.in_progress:
            self.drafts.put(self._draft, self._content())
        else:
            self.drafts.drop(self._draft)

    def _entered(self, row: DipRow) -> None:
        """Enter on a row: on, unless it can't be read or a doubt is to be seen first."""
        error = self.sheet.error(row.tank)
        if error:  # the text stays unselected: the next tank's dip, typed blind, must not take its place
            self.words.say(f"{row.tank}: {error}", "error")
        elif not self._kept(row.tank):
            self._ask(row.tank)
        else:
            self._answer(row)

    def _answer(self, row: DipRow) -> None:
        """Enter on a row that stands: what was asked about it is answered, and on."""
        if self.sheet.doubts(row.tank):
            self._answered[row.tank] = self.sheet.key(row.tank)
            self._show_rows()
        if row is self.rows[-1] and self.correction is not None:
            self.save()
        else:
            self._go(row, 1)

    def _came_to(self, row: DipRow) -> None:
        """The row's words whole, where there is room for them."""
        self.area.bring(row)
        if row.words.tone in ("doubt", "error") and row.words.said:
            self.words.say(f"{row.tank}: {row.words.said}", row.words.tone)
        elif self.words.tone != "done":
            self._say_unsaved()

    def _go(self, row: DipRow, step: int) -> None:
        place = self.rows.index(row) + step
        if place < 0:
            self.head.fields["from"].setFocus()
        elif place < len(self.rows):
            self.rows[place].focus()
        elif self.correction is None:
            self._to_depth(DEPTHS[0])
