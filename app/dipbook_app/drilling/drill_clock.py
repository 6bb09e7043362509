"""The clock of a drill: it stands until it is set, and never steps."""

from __future__ import annotations

from dipbook_app.clock import Clock


class DrillClock(Clock):
    """Now is what the drill says. t_ms: at first [UTC ms]."""

    def __init__(self, t_ms: int) -> None:
        self._now_ms = t_ms
        super().__init__(wall=lambda: self._now_ms / 1000.0, steady=lambda: self._now_ms / 1000.0)

    def set(self, t_ms: int) -> None:
        """Go on to a time [UTC ms]."""
        self._now_ms = t_ms

    def computers_ms(self) -> int:
        """The same [UTC ms]: this clock is nobody's but the drill's."""
        return self._now_ms

    def not_before(self, newest_ms: int) -> None:
        """Nothing: the drill says what time it is."""

    def now_ms(self) -> int:
        """Now [UTC ms]."""
        return self._now_ms

    def step(self, newest_ms: int | None = None) -> tuple[int, int] | None:
        """Never: a computer that slept held the drill up."""
        return None
