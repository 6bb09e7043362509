"""When the log can't be written, that is a warning of its own: it sounds, and can be acknowledged here.

It can't come from the log's own journal, so it isn't one of the limits' warnings.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.situation import Situation, WarningView
from dipbook.watch import SILENCE_MS, silent

OCCURRENCE = "log not kept"
KIND = "log"


@dataclass(slots=True)
class LogTrouble:
    """Remembers since when the log isn't kept, what of that somebody has acknowledged, and until when it is silent.

    since_ms, silent_until_ms [UTC ms]. failing: what can't be written now; seen: what couldn't when acknowledged.
    Another thing that fails sounds anew: the note beside the log doesn't hide the log.
    """

    since_ms: int | None = None
    failing: frozenset[str] = frozenset()
    seen: frozenset[str] = frozenset()
    silent_until_ms: int = 0

    @property
    def acknowledged(self) -> bool:
        """True if somebody has seen all that fails."""
        return bool(self.failing) and self.failing <= self.seen

    def views(self, s: Situation) -> tuple[WarningView, ...]:
        """The warning, while the log isn't kept. s: now."""
        if s.store_ok:
            self.since_ms, self.failing, self.seen, self.silent_until_ms = None, frozenset(), frozenset(), 0
            return ()
        failing = frozenset(s.failing or ("log",))
        if not failing <= self.failing:
            self.silent_until_ms = 0
        self.seen &= failing
        self.failing = failing
        if self.since_ms is None:
            self.since_ms = s.now_ms
        return (WarningView(
            occurrence=OCCURRENCE, name="log", kind=KIND, system="", tank="",
            state="acknowledged" if self.acknowledged else "raised",
            sounding=not self.acknowledged and not silent(self.silent_until_ms, s.now_ms),
            raised_ms=self.since_ms, learned_ms=self.since_ms, value=None, worst=None, limit=0.0, value_is="",
            text=s.store_text, actions=() if self.acknowledged else ("acknowledge",)),)

    def acknowledge(self) -> None:
        """Somebody has seen it; it stays open until the log is kept again."""
        self.seen = self.failing

    def silence(self, now_ms: int) -> None:
        """Silent for a while from now_ms [UTC ms]."""
        self.silent_until_ms = now_ms + SILENCE_MS
