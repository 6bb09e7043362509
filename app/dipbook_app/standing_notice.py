"""A warning of what isn't well with the watch itself: it sounds, can be acknowledged and silenced, and stands until the
cause is gone. It can't come from the log's own journal, so it isn't one of the limits' warnings.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.situation import WarningView
from dipbook.watch import SILENCE_MS, silent

KINDS = ("log", "clock")
"""Kinds of such warnings: no limit, no figures, no story."""


@dataclass(slots=True)
class StandingNotice:
    """Remembers since when it stands, what of it somebody has acknowledged, and until when it is silent.

    since_ms, silent_until_ms [UTC ms]. failing: what isn't well now; seen: what wasn't when acknowledged. Another thing
    that fails sounds anew: a lesser trouble doesn't hide a greater.
    """

    since_ms: int | None = None
    failing: frozenset[str] = frozenset()
    seen: frozenset[str] = frozenset()
    silent_until_ms: int = 0

    @property
    def acknowledged(self) -> bool:
        """True if somebody has seen all that fails."""
        return bool(self.failing) and self.failing <= self.seen

    def standing(self, failing: frozenset[str], now_ms: int, occurrence: str, kind: str, text: str,
                 said: str = "") -> tuple[WarningView, ...]:
        """The warning, while anything fails. failing: names. now_ms [UTC ms]. occurrence, kind, text, said: of the
        view."""
        if not failing:
            self.since_ms, self.failing, self.seen, self.silent_until_ms = None, frozenset(), frozenset(), 0
            return ()
        if not failing <= self.failing:
            self.silent_until_ms = 0
        self.seen &= failing
        self.failing = failing
        if self.since_ms is None:
            self.since_ms = now_ms
        return (WarningView(
            occurrence=occurrence, name=kind, kind=kind, system="", tank="",
            state="acknowledged" if self.acknowledged else "raised",
            sounding=not self.acknowledged and not silent(self.silent_until_ms, now_ms),
            raised_ms=self.since_ms, learned_ms=self.since_ms, value=None, worst=None, limit=0.0, value_is="",
            text=text, said=said, actions=() if self.acknowledged else ("acknowledge",)),)

    def acknowledge(self) -> None:
        """Somebody has seen it; it stays open until the cause is gone."""
        self.seen = self.failing

    def silence(self, now_ms: int) -> None:
        """Silent for a while from now_ms [UTC ms]."""
        self.silent_until_ms = now_ms + SILENCE_MS
