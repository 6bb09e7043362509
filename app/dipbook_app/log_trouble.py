"""Warnings of the desk's own: the log can't be written, or this computer's clock is behind it. Each sounds, and can be
acknowledged here.

They can't come from the log's own journal, so they aren't among the limits' warnings, and stand beside them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dipbook.situation import Situation, WarningView
from dipbook.watch import SILENCE_MS, silent

KIND, CLOCK = "log", "clock"
KINDS = (KIND, CLOCK)
OCCURRENCES = {KIND: "log not kept", CLOCK: "clock behind the log"}


@dataclass(slots=True)
class _Trouble:
    """Remembers since when something stands, what of it somebody has acknowledged, and until when it is silent.

    since_ms, silent_until_ms [UTC ms]. what: stands now; seen: what stood when acknowledged. Another thing of it sounds
    anew: the note beside the log doesn't hide the log.
    """

    kind: str
    since_ms: int | None = None
    what: frozenset[str] = frozenset()
    seen: frozenset[str] = frozenset()
    silent_until_ms: int = 0

    def views(self, what: frozenset[str], text: str, now_ms: int) -> tuple[WarningView, ...]:
        if not what:
            self.since_ms, self.what, self.seen, self.silent_until_ms = None, frozenset(), frozenset(), 0
            return ()
        if not what <= self.what:
            self.silent_until_ms = 0
        self.seen &= what
        self.what = what
        if self.since_ms is None:
            self.since_ms = now_ms
        acknowledged = self.what <= self.seen
        return (WarningView(
            occurrence=OCCURRENCES[self.kind], name=self.kind, kind=self.kind, system="", tank="",
            state="acknowledged" if acknowledged else "raised",
            sounding=not acknowledged and not silent(self.silent_until_ms, now_ms),
            raised_ms=self.since_ms, learned_ms=self.since_ms, value=None, worst=None, limit=0.0, value_is="",
            text=text, actions=() if acknowledged else ("acknowledge",)),)


@dataclass(slots=True)
class LogTrouble:
    """The warnings of the desk's own, while they stand."""

    log: _Trouble = field(default_factory=lambda: _Trouble(KIND))
    clock: _Trouble = field(default_factory=lambda: _Trouble(CLOCK))

    def views(self, s: Situation) -> tuple[WarningView, ...]:
        """What stands now. s: now."""
        failing = frozenset() if s.store_ok else frozenset(s.failing or (KIND,))
        behind = frozenset((CLOCK,)) if s.clock_text else frozenset[str]()
        return (*self.log.views(failing, s.store_text, s.now_ms), *self.clock.views(behind, s.clock_text, s.now_ms))

    def acknowledge(self, occurrence: str) -> None:
        """Somebody has seen it; it stays open until it is over. occurrence: of OCCURRENCES."""
        for each in (self.log, self.clock):
            if OCCURRENCES[each.kind] == occurrence:
                each.seen = each.what

    def silence(self, now_ms: int) -> None:
        """Silent for a while from now_ms [UTC ms]."""
        self.log.silent_until_ms = self.clock.silent_until_ms = now_ms + SILENCE_MS
