"""The desk of a drill's log: an ordinary one, to which the drill's readings come, and that takes nothing once it is
over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QObject, Signal

from dipbook import watch
from dipbook.drill_run import Learned
from dipbook.errors import StoreError
from dipbook.findings import Finding
from dipbook.practising import CREW, all_digits
from dipbook.records import Draft, Record
from dipbook.store import Store
from dipbook.store.schema import DRILL
from dipbook_app.desk import Desk
from dipbook_app.drilling.drill_clock import DrillClock

OVER = "This drill is over: its log takes nothing more."


class DrillDesk(Desk):
    """See ``Desk``. over: it takes nothing more. entered(kind, typed): the trainee's own entry was stored.

    Raises StoreError for a log that isn't a drill's.
    """

    entered = Signal(str, object)

    def __init__(self, store: Store, clock: DrillClock, parent: QObject | None = None, *, over: bool = False) -> None:
        """store: of role drill. clock: the drill's. over: the drill is finished, or was broken off."""
        if store.role != DRILL:
            raise StoreError(f"This isn't a drill's log: {store.path}. Nothing was changed.")
        super().__init__(store, clock, parent, ticking=False)
        self.over = over

    def feed(self, learned: Learned) -> None:
        """Take what became known in a second of the drill, as a log takes it from sensors and from a crew."""
        self._take(learned.drafts)
        for each in learned.rounds:
            self.save_round(each.dips, start_ms=each.start_ms, end_ms=each.end_ms, observer=CREW, author=CREW)
        for row, level in learned.trip_rows:
            bit = f"{all_digits(max(0.0, row.bit_m), self._books.rig.decimal)} m"    # as in the readings: no pipe moves
            typed = {"stand": str(row.stand), "bit depth": bit, "from": row.source}
            found = self.save_trip_row(row.kind, {k: v for k, v in typed.items() if v},
                                       {row.tank: level} if level else {}, t_ms=row.t_ms, author=CREW)
            for finding in found:
                if finding.severity == "error":
                    self.failed.emit(f"A row of the trip's sheet wasn't stored: {finding.what}")
        self._take(learned.after)

    def _take(self, drafts: Sequence[Draft]) -> None:
        if drafts and (records := self._append(drafts)) is not None:
            self._learned(records)

    def log_entry(self, kind: str, typed: Mapping[str, str], *, t_ms: int | None = None, end_ms: int | None = None,
                  author: str = "", supersedes: str | None = None, reason: str = "") -> tuple[Finding, ...]:
        """As of any desk; the drill hears of what was stored."""
        found = super().log_entry(kind, typed, t_ms=t_ms, end_ms=end_ms, author=author, supersedes=supersedes,
                                  reason=reason)
        if not any(f.severity == "error" for f in found):
            self.entered.emit(kind, dict(typed))
        return found

    def _append(self, drafts: Sequence[Draft]) -> tuple[Record, ...] | None:
        if self.over:
            self.failed.emit(OVER)
            return None
        return super()._append(drafts)

    def _not_stored(self) -> Finding:
        return Finding(OVER, code="over", severity="error", kept=False) if self.over else super()._not_stored()

    def _act(self, act: watch.Act) -> str:
        if self.over:
            self.failed.emit(OVER)
            return OVER
        return super()._act(act)

    def set_aside(self, act: watch.Act) -> str:
        """Refused once the drill is over."""
        return OVER if self.over else super().set_aside(act)
