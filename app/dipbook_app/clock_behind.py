"""A computer's clock that is behind what the log holds: what the desk's clock may not run back past, and the standing
notice of it, that sounds and can't be dismissed."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.books import Books
from dipbook.records import RIG, UNWATCHED, WARNING
from dipbook.situation import Situation, WarningView
from dipbook_app.standing_notice import StandingNotice
from dipbook_app.typed_times import clock, span_words

OCCURRENCE = KIND = "clock"
OF_THE_DESK = frozenset({RIG, UNWATCHED, WARNING})
"""Kinds that nobody can give another time: the clock isn't held by them."""


def held_ms(books: Books) -> int:
    """The latest time that the log holds of readings and entries that count [UTC ms]; 0 for none. books: of it."""
    entry = next((r.t_ms for r in reversed(books.eff.records) if r.kind not in OF_THE_DESK), 0)
    ends = books.readings.end_ms
    return max(int(ends[-1]) if len(ends) else 0, entry)


def words(ahead_ms: int, zone: str, now_ms: int) -> str:
    """What has happened, what Dipbook does, and what to do. ahead_ms: of the computer's clock [ms]. zone: the rig's.
    now_ms: the desk's clock [UTC ms]."""
    return (f"Set this computer's clock right: it says {clock(now_ms - ahead_ms, zone)}, the log "
            f"{clock(now_ms, zone)}. Dipbook goes on by its own count, so that rounds stay in order. If the clock is "
            "right, correct the times of what was logged too late. Until then go by the rig's procedure, and watch by "
            "hand too.")


@dataclass(slots=True)
class ClockBehind(StandingNotice):
    """The notice, while the desk's clock goes ahead of the computer's."""

    def views(self, s: Situation) -> tuple[WarningView, ...]:
        """The notice, while it stands. s: now."""
        failing = frozenset({KIND}) if s.clock_ahead_ms else frozenset[str]()
        text = words(s.clock_ahead_ms, s.rig.zone, s.now_ms) if s.clock_ahead_ms else ""
        return self.standing(failing, s.now_ms, OCCURRENCE, KIND, text,
                             said=f"by {span_words(s.clock_ahead_ms)}, ")
