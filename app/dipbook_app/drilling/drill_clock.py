"""The clock of a drill: it stands until it is set, and never steps."""

from __future__ import annotations

from dipbook_app.clock import Clock, Step


class DrillClock(Clock):
    """Now is what the drill says. t_ms: at first [UTC ms]."""

    def __init__(self, t_ms: int) -> None:
        self._now_ms = t_ms
        super().__init__(wall=lambda: self._now_ms / 1000.0, steady=lambda: self._now_ms / 1000.0)

    def set(self, t_ms: int) -> None:
        """Go on to a time [UTC ms]."""
        self._now_ms = t_ms

    def now_ms(self) -> int:
        """Now [UTC ms]."""
        return self._now_ms

    def begin(self, held_ms: int) -> None:
        """A drill begins where it stands. held_ms [UTC ms]."""

    def step(self, held_ms: int | None = None) -> Step | None:
        """Never: a computer that slept held the drill up."""
        return None
