"""When the log can't be written, that is a warning of its own: it sounds, and can be acknowledged here.

It can't come from the log's own journal, so it isn't one of the limits' warnings.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.situation import Situation, WarningView

OCCURRENCE = "log not kept"
KIND = "log"
SILENCE_MS = 30_000


@dataclass(slots=True)
class LogTrouble:
    """Remembers since when the log isn't kept, whether somebody has acknowledged that, and until when it is silent.

    since_ms, silent_until_ms [UTC ms].
    """

    since_ms: int | None = None
    acknowledged: bool = False
    silent_until_ms: int = 0

    def views(self, s: Situation) -> tuple[WarningView, ...]:
        """The warning, while the log isn't kept. s: now."""
        if s.store_ok:
            self.since_ms, self.acknowledged, self.silent_until_ms = None, False, 0
            return ()
        if self.since_ms is None:
            self.since_ms = s.now_ms
        return (WarningView(
            occurrence=OCCURRENCE, name="log", kind=KIND, system="", tank="",
            state="acknowledged" if self.acknowledged else "raised",
            sounding=not self.acknowledged and s.now_ms >= self.silent_until_ms,
            raised_ms=self.since_ms, learned_ms=self.since_ms, value=None, worst=None, limit=0.0, value_is="",
            text=s.store_text, actions=() if self.acknowledged else ("acknowledge",)),)

    def acknowledge(self) -> None:
        """Somebody has seen it; it stays open until the log is kept again."""
        self.acknowledged = True

    def silence(self, now_ms: int) -> None:
        """Silent for a while from now_ms [UTC ms]."""
        self.silent_until_ms = now_ms + SILENCE_MS
