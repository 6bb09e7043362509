"""The desk's clock: the wall clock's anchor carried on by the steady clock, which nobody sets.

It never goes back to before what the log holds. A computer's clock that was set back would file what is gauged next before
what is there, and a gain would go unseen: then this clock goes on by its own count, ahead of the computer's, and says by
how much.
"""

from __future__ import annotations

import time
from collections.abc import Callable

STEP_MS = 2_000
"""A wall clock further than this from what the steady clock makes of it has been set, or the computer slept."""
TOLERATED_MS = 90_000
"""Clocks are put right by seconds now and then: so little ahead of the computer's clock nobody need be told."""
CAUGHT_UP_MS = 120_000
"""A clock that is set forward by what it was behind, give or take so much, has been set right; by another time the
computer slept."""


class Clock:
    """Now, by the wall clock last looked at and the steady clock since.

    wall: seconds since 1970 [s UTC], may step. steady: seconds that never step [s].
    """

    def __init__(self, wall: Callable[[], float] = time.time, steady: Callable[[], float] = time.monotonic) -> None:
        self._wall = wall
        self._steady = steady
        self._ahead_ms = 0
        self._anchor()

    def _anchor(self) -> None:
        self._at_wall = self._wall()
        self._at_steady = self._steady()

    @property
    def ahead_ms(self) -> int:
        """How far it is ahead of the computer's clock [ms], 0 while it follows that."""
        return self._ahead_ms

    def computers_ms(self) -> int:
        """Now by the computer's clock [UTC ms], carried on from the anchor as ``now_ms`` is."""
        return round((self._at_wall + self._steady() - self._at_steady) * 1000)

    def now_ms(self) -> int:
        """Now [UTC ms], carried on from the anchor: it doesn't follow a step until ``step`` has been asked."""
        return self.computers_ms() + self._ahead_ms

    def step(self, newest_ms: int | None = None) -> tuple[int, int] | None:
        """(before, after) [UTC ms] if the wall clock stepped (or the computer slept) since last asked, else None.

        Afterwards the clock goes on from the new time; where that would be before ``newest_ms``, the newest time in the
        log [UTC ms], it goes on by its own count: then before and after are the same.
        """
        before, computers = self.now_ms(), self.computers_ms()
        self._anchor()
        by = round(self._at_wall * 1000) - computers
        if abs(by) < STEP_MS:
            return None
        if self._ahead_ms and abs(by - self._ahead_ms) <= CAUGHT_UP_MS:
            self._ahead_ms = 0
            self.not_before(self.now_ms() if newest_ms is None else newest_ms)
        elif by < 0 and newest_ms is not None and newest_ms > self.now_ms():
            self._ahead_ms -= by
        return before, self.now_ms()

    def not_before(self, newest_ms: int) -> None:
        """Go on from a time [UTC ms] if that is later."""
        self._ahead_ms += max(newest_ms - self.now_ms(), 0)

    def follow(self) -> None:
        """Follow the computer's clock again."""
        self._ahead_ms = 0

    @property
    def told(self) -> bool:
        """True if it is so far ahead of the computer's clock that a person has to know."""
        return self._ahead_ms > TOLERATED_MS
