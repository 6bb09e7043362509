"""What the Round page shows: its rows read, what they make, its words."""

from __future__ import annotations

from contextlib import contextmanager
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from dipbook.entries.dipping import Before, bare_unit, labelled
from dipbook.errors import DipbookError
from dipbook.situation import Situation
from dipbook.tanks.gauging import FLAGS
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.round_correction import Correction, logged_words
from dipbook_app.round_modes import DRAFTS, FULL, PAST, befores_at, tanks_of
from dipbook_app.round_sheet import (
    AGAIN,
    RoundSheet,
    RowText,
    Saved,
    gauge_words,
    last_words,
    saved_words,
    should_words,
)
from dipbook_app.round_times import Exact
from dipbook_app.typed_times import read_time
from dipbook_app.widgets.dip_heading import DipHeading
from dipbook_app.widgets.dip_row import DipRow, RowWords
from dipbook_app.widgets.name_offer import NameOffer
from dipbook_app.widgets.round_foot import RoundFoot
from dipbook_app.widgets.round_head import RoundHead
from dipbook_app.widgets.round_rows import RoundRows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dipbook_app.desk import Desk

PERSONS_FLAGS = FLAGS[:4]


class RoundFace(QWidget):
    """desk: for its situation and its clock. drafts: what was typed and not saved. Signals: saved(str): in words."""

    saved = Signal(str)
    head: RoundHead
    foot: RoundFoot

    def __init__(self, desk: Desk, drafts: Drafts, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.drafts = drafts
        self.correction: Correction | None = None
        self.mode = FULL
        self._situation: Situation = current(desk)
        self._units = DisplayUnits(self._situation.rig)
        self._unit_set = ""
        self._start = Exact("", 0)
        self._last_ms: int | None = None
        self._asked: dict[str, str] = {}
        self._answered: dict[str, str] = {}
        self._asked_blank: tuple[str, ...] = ()
        self._asked_discard = False
        self._asked_depth = ""
        self._wants_name = self._left_unsaved = False
        self._filling = False
        self._saved: Saved | None = None
        self._earlier: dict[str, Before] | None = None
        self._timed = True
        self._reach: dict[str, str] = {}
        self._build()
        self.words, self.remark, self.reason = self.foot.words, self.foot.remark, self.foot.reason
        self.keyer = self.head.fields["keyer"]
        self.sheet = self._read()
        self.show_situation(self._situation)

    # --- what is shown -------------------------------------------------------------------------------------------

    def show_situation(self, situation: Situation) -> None:
        """Bring the last levels up to date; what is typed stays."""
        self._situation = situation
        self._units = DisplayUnits(situation.rig, self._unit_set)
        self._show_tanks()
        self.heading.show_unit(bare_unit(self._units.dip_units))
        self.foot.show_unit(self._units.length_unit, {
            name: "" if depth is None else self._units.length(depth) for name, depth in (
                ("hole depth", situation.hole_depth_m), ("bit depth", situation.bit_depth_m))})
        self._show_before()
        if not self.keyer.text() and self.desk.on_watch:
            with self._fill_in():
                self.head.set_text("keyer", self.desk.on_watch)
        self._say_saved(situation)
        self._show_rows()

    def show_units(self, unit_set: str) -> None:
        """Show volumes and levels in a set of units instead of the rig's own. unit_set: a name of UNIT_SETS or ""."""
        if unit_set == self._unit_set:
            return
        before, self._unit_set = self._units, unit_set
        self._units = DisplayUnits(self._situation.rig, unit_set)
        self._keep_units(bare_unit(before.dip_units), before.length_unit)
        self.show_situation(self._situation)

    def _keep_units(self, dip: str, length: str) -> None:
        """What is typed as a bare number keeps the unit that was shown then, and shows it. dip, length: of a dip and a
        depth, their symbols.
        """
        lines = [line for row in self.rows for line in (row.stick, row.second)]
        with self._fill_in():
            for line, then, now in (*((line, dip, bare_unit(self._units.dip_units)) for line in lines),
                                    *((line, length, self._units.length_unit) for line in self.foot.depths.values())):
                if then != now:
                    line.setText(labelled(line.text(), then))
        if self.correction is None and self.in_progress:
            self.drafts.put(self._draft, self._content())

    def _show_tanks(self) -> None:
        """A row for each tank of the mode; a correction has all."""
        names = list(tanks_of(FULL if self.correction is not None else self.mode, self._situation.rig))
        if [row.tank for row in self.rows] != names:
            self.area.set_tanks(names)
            self._order_tabs()

    def _order_tabs(self) -> None:
        """Tab goes from the head through the rows to the foot, though rows are made later than either."""
        cells = [widget for row in self.rows for widget in (*row.lines, row.flag)]
        for one, next_one in pairwise((self.head.print_button, *cells, *self.foot.stops)):
            QWidget.setTabOrder(one, next_one)

    @property
    def _draft(self) -> str:
        """The name of the draft of the mode."""
        return DRAFTS[self.mode]

    @property
    def rows(self) -> list[DipRow]:
        """The rows, in gauging order."""
        return self.area.rows

    @property
    def in_progress(self) -> bool:
        """True if anything of a round is typed."""
        return (any(row.content() for row in self.rows) or bool(self.remark.text().strip())
                or bool(self.foot.depth_texts()))

    def focus_first(self) -> None:
        """Put the cursor into the first row with nothing typed, or the first of all; catching up, into the times first.
        """
        if self._to_past_time():
            return
        row = next((row for row in self.rows if not row.stick.text()), self.rows[0] if self.rows else None)
        if row is not None:
            row.focus()

    def _to_past_time(self) -> bool:
        """Put the cursor into the first time that a round of the past still wants. False if it wants none."""
        name = next((name for name in ("from", "to") if not self.head.text(name)), "")
        if self.mode != PAST or self.correction is not None or not name or self.head.columns()["time"]:
            return False
        self.head.fields[name].setFocus()
        self.area.to_top()
        return True

    def row(self, tank: str) -> DipRow:
        """The row of a tank. Raises KeyError if there is none."""
        for row in self.rows:
            if row.tank == tank:
                return row
        raise KeyError(tank)

    # --- reading and words ---------------------------------------------------------------------------------------

    def _read(self) -> RoundSheet:
        columns = self.head.columns()
        texts = [RowText(row.tank, row.stick.text(), row.second.text() if columns["second"] else "",
                         row.time.text().strip() if columns["time"] else "",
                         row.flag.currentText() if columns["flag"] else "") for row in self.rows]
        self._earlier = self._befores([text.time for text in texts])
        return RoundSheet(self._situation, texts, start=self.head.text("from"), end=self.head.text("to"),
                          exact=self._start, last_ms=self._last_ms, now_ms=self.desk.now_ms(),
                          correction=self.correction, units=self._units, earlier=self._earlier)

    def _befores(self, times: list[str]) -> dict[str, Before] | None:
        """What was known before a round of the past, by its start or else its first dip; None for a round of now."""
        self._timed = True
        if self.mode != PAST or self.correction is not None:
            return None
        t_ms = None
        for text in (self.head.text("from"), *times):
            try:
                t_ms = read_time(text, self._situation.rig.zone, self.desk.now_ms())
                break
            except DipbookError:
                continue
        self._timed = t_ms is not None
        return befores_at(self._situation, t_ms)

    def _show_rows(self) -> None:
        """Read every row again and show what it makes."""
        self.sheet = self._read()
        times = self.sheet.times
        wrong = {name: times.errors[name] for name in ("from", "to") if name in times.errors
                 and not (self.mode == PAST and not self.head.text(name))}  # still to be typed
        self.head.mark(wrong)
        self.head.show_taken(times.far, list(wrong.values()))
        if self.mode == PAST:
            self._show_before()
        self.foot.show_swap(self.sheet.swapped_with())
        for row in self.rows:
            words = self.sheet.words(row.tank, self._units, kept=self._is_answered(row.tank))
            row.show_words(words if words != RowWords() else RowWords(words=self._reach[row.tank]))
        self.heading.show_progress(self.sheet.progress())

    def _kept(self, tank: str) -> bool:
        if self.correction is not None and self.correction.kept(tank, self.row(tank).content()) is not None:
            return True
        return not self.sheet.doubts(tank) or self._asked.get(tank) == self.sheet.key(tank)

    def _is_answered(self, tank: str) -> bool:
        """True if a person has seen this row's doubts and kept it, not only been asked."""
        return self._kept(tank) and (tank not in self._asked or self._answered.get(tank) == self.sheet.key(tank))

    def _ask(self, tank: str) -> None:
        self._asked[tank] = self.sheet.key(tank)
        self._answered.pop(tank, None)
        self.words.say(f"{tank}: {' '.join(self.sheet.doubts(tank))} {AGAIN}", "doubt")

    def _complete(self) -> bool:
        """True if a round is typed that nothing is missing from, and it isn't saved."""
        return (self.correction is None and bool(self.sheet.gauged) and not self.sheet.blank
                and self.sheet.first_wrong() is None)

    def _say_unsaved(self) -> None:
        """Clear the words, or say what still has to be done to a round that looks finished."""
        if self._wants_name and not self.head.text("keyer"):
            self.words.say("Not saved yet. Who keys this round? Type the name at the top.", "error")
        elif self._wants_name:
            self.words.say("Not saved yet. Enter in the name, or Save, saves it.", "doubt")
        elif self._left_unsaved and self._complete():
            self.words.say("Not saved yet. All tanks are gauged; Save saves the round.", "doubt")
        else:
            self.words.say("")

    def _show_before(self) -> None:
        """On each row how the tank is gauged, and its dip before; of a correction the dip that is corrected."""
        self._reach = {}
        for row in self.rows:
            how, self._reach[row.tank] = gauge_words(self._situation, row.tank, self._units)
            row.show_gauge(how, self._reach[row.tank])
            if not self._timed:  # nobody knows yet which dip was before it
                row.show_last("", "")
                row.show_should("")
            elif self.correction is None:
                row.show_last(*last_words(self._situation, row.tank, self._units, self._earlier))
                row.show_should("" if self.mode == PAST else should_words(self._situation, row.tank, self._units))
            else:
                row.show_should("")
                row.show_last(*logged_words(self.correction, row.tank, self._situation, self._units))

        self._show_columns()

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

    def _content(self) -> dict[str, Any]:
        return {"start": [self._start.text, self._start.t_ms], "last_ms": self._last_ms,
                "unit": bare_unit(self._units.dip_units), "length_unit": self._units.length_unit,
                "depths": self.foot.depth_texts(),
                "head": {name: line.text() for name, line in self.head.fields.items()},
                "columns": self.head.columns(), "remark": self.remark.text(), "reason": self.reason.text(),
                "rows": {row.tank: row.content() for row in self.rows if row.content()}}

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
        self.mode_words = QLabel()
        self.mode_words.setWordWrap(True)
        self.mode_words.setProperty("part", "strong")
        self.mode_words.setVisible(False)
        self.head = RoundHead()
        self.head.fields["observer"].setPlaceholderText("same person")
        self.head.down.connect(self.focus_first)
        self.offers = {name: NameOffer(self.head.fields[name], lambda: self._situation.rig.crew)
                       for name in ("observer", "keyer")}
        self.heading = DipHeading()
        self.area = RoundRows(self.heading, PERSONS_FLAGS)
        self.foot = RoundFoot()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(9, 4, 9, 4)
        layout.setSpacing(4)
        for widget in (self.restored, self.mode_words, self.head, self.heading):
            layout.addWidget(widget)
        layout.addWidget(self.area, 1)
        layout.addWidget(self.foot)

    def _show_columns(self) -> None:
        """What the sticks should read gives way where the columns asked for leave it no room."""
        known = any(row.should.text() for row in self.rows)
        self.area.show_columns(**self.head.columns(), should=known)
        room = self.area.viewport().width()
        if known and any(row.minimumSizeHint().width() > room for row in self.rows):
            self.area.show_columns(**self.head.columns(), should=False)
