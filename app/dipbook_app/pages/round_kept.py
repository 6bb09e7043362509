"""How the Round page keeps what is typed: its drafts, its three ways to key a round, a correction beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QWidget

from dipbook.entries.dipping import bare_unit
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.pages.round_face import RoundFace
from dipbook_app.round_correction import Correction, correction_of
from dipbook_app.round_modes import DRAFTS, FULL, PAST, SHORT, mode_words, tanks_of
from dipbook_app.round_sheet import listed
from dipbook_app.round_times import Exact
from dipbook_app.typed_times import clock

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

CORRECTION_DRAFT = "round correction"


class RoundKept(RoundFace):
    """desk: for its situation and its clock. drafts: what was typed and not saved; it is brought back here."""

    def __init__(self, desk: Desk, drafts: Drafts, parent: QWidget | None = None) -> None:
        super().__init__(desk, drafts, parent)
        self._restore()

    # --- the draft -----------------------------------------------------------------------------------------------

    def _restore(self) -> None:
        """Bring back what was in progress when the program ended: a correction, else a round."""
        words = [self.drafts.problem] if self.drafts.problem else []
        kept = self.drafts.get(CORRECTION_DRAFT)
        uid = None if kept is None else kept.get("corrects")
        record = next((r for r in self._situation.records if r.uid == uid and uid not in self._situation.superseded),
                      None)
        if kept is not None and record is not None:
            self._take_correction(correction_of(record, self._situation.rig, self.desk.now_ms()))
        elif kept is not None:
            self.drafts.drop(CORRECTION_DRAFT)
        else:
            self.mode = next((mode for mode, name in DRAFTS.items() if self.drafts.get(name) is not None), FULL)
        self._show_mode()
        words += self._restore_draft(CORRECTION_DRAFT if self.correction is not None else self._draft)
        self._shown()
        if words:
            self.restored.setText(" ".join(words))
            self.restored.setVisible(True)

    def _restore_draft(self, name: str) -> list[str]:
        """Fill the page with a draft; words on what came of it."""
        kept = self.drafts.get(name)
        if kept is None:
            return []
        try:
            gone = self._fill_with(kept)
        except (ValueError, TypeError, AttributeError):
            self._take_correction(None)
            self._clear()
            return ["The round in progress could not be read and was put away. The log is not affected."]
        if self.mode == PAST and self.correction is None:
            return ["The round being caught up is as it was left.",
                    *([f"No longer in the rig, left out: {listed(gone)}."] if gone else [])]
        began = clock(self._start.t_ms, self._situation.rig.zone, now_ms=self.desk.now_ms())
        words = [f"Round begun {began} restored." if self.correction is None
                 else f"The correction of the round of {self.correction.end.text} restored."]
        return words + ([f"No longer in the rig, left out: {listed(gone)}."] if gone else [])

    def _take_correction(self, correction: Correction | None) -> None:
        """Show the page as one of a correction, or of a round."""
        self.correction = correction
        self._asked.clear()
        self._wants_name = self._left_unsaved = False
        self._saved = None
        self.foot.set_correcting(correction is not None)
        self._show_mode()
        with self._fill_in():
            self.reason.clear()
        if correction is None:
            self.restored.setVisible(False)
        else:
            self.restored.setText(f"Correcting the round of {correction.end.text}, keyed by "
                                  f"{correction.record.author}. It stays in the log, struck through.")
            self.restored.setVisible(True)
        self._show_before()

    def _leave_correction(self, words: str, tone: str = "quiet") -> None:
        """Back to the round in progress, or to a fresh one."""
        self.drafts.drop(CORRECTION_DRAFT)
        self._take_correction(None)
        self._clear(keep_draft=True)
        self._restore_draft(self._draft)
        self._shown()
        self.words.say(words, tone)

    # --- modes ---------------------------------------------------------------------------------------------------

    def take_mode(self, mode: str) -> None:
        """Key rounds another way: FULL, SHORT or PAST. What is typed is kept, each way its own; from the short round
        back to all tanks what was typed comes along where nothing is typed yet.
        """
        if mode == self.mode or self.correction is not None:
            return
        if mode == SHORT and not tanks_of(SHORT, self._situation.rig):
            self.words.say("No tank has the role suction or trip in the rig file, so a short round has no tanks.",
                           "doubt")
            return
        self.drafts.flush()
        come_along = self._content() if self.mode == SHORT and mode == FULL and self.in_progress else None
        self.mode = mode
        self._clear(keep_draft=True)
        self._show_mode()
        words = self._restore_draft(self._draft)
        if come_along is not None:
            self._take_along(come_along)
        self._shown()
        self.words.say(" ".join(words))

    def _take_along(self, content: dict[str, Any]) -> None:
        """Put what was typed in a short round among all tanks."""
        left = False
        if self.drafts.get(self._draft) is None:
            self._fill_with(content)
        else:
            with self._fill_in():
                for tank, typed in content["rows"].items():
                    row = self.row(tank)
                    left = left or (bool(row.content()) and row.content() != typed)
                    if not row.content():
                        row.restore(typed)
        self.drafts.put(self._draft, self._content())
        if not left:
            self.drafts.drop(DRAFTS[SHORT])

    def _show_mode(self) -> None:
        """The rows and the words of the mode."""
        self._show_tanks()
        self._show_before()
        correcting = self.correction is not None
        self.head.show_mode(self.mode, correcting=correcting)
        waiting = [mode for mode, name in DRAFTS.items() if self.drafts.get(name) is not None]
        self.mode_words.setText("" if correcting else mode_words(self.mode, self._situation.rig, waiting))
        self.mode_words.setVisible(bool(self.mode_words.text()))
        self.head.fields["to"].setPlaceholderText("its time" if self.mode == PAST and not correcting else "last dip")
        self.foot.save_as("Save correction" if correcting else
                          {SHORT: "Save short round", PAST: "Save and next"}.get(self.mode, "Save round"))

    def _shown(self) -> None:
        self._show_columns()
        self._show_rows()

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
            self.reason.setText(str(kept.get("reason", "")))
            for row in self.rows:
                row.restore(contents.pop(row.tank, {}))
            for name, line in self.foot.depths.items():
                line.setText(str(dict(kept.get("depths", {})).get(name, "")))
        own = DisplayUnits(self._situation.rig)
        self._keep_units(str(kept.get("unit", bare_unit(own.dip_units))), str(kept.get("length_unit", own.length_unit)))
        return tuple(contents)

    def _clear(self, *, keep_draft: bool = False) -> None:
        with self._fill_in():
            for row in self.rows:
                row.restore({})
            self.remark.clear()
            for line in self.foot.depths.values():
                line.clear()
            self.head.set_text("to", "")
            self.head.set_text("observer", "")
        self._last_ms = None
        self._asked.clear()
        self._asked_blank = ()
        self._asked_discard = False
        self._asked_depth = ""
        self._wants_name = self._left_unsaved = False
        self.restored.setVisible(False)
        if not keep_draft:
            self.drafts.drop(self._draft)
        self._begin_at(self.desk.now_ms())
        self._show_rows()

    def _begin_at(self, t_ms: int) -> None:
        if self.mode == PAST and self.correction is None:  # its time is on the paper
            self._start = Exact("", 0)
        else:
            self._start = Exact(clock(t_ms, self._situation.rig.zone), t_ms)
        with self._fill_in():
            self.head.set_text("from", self._start.text)
