"""The desk's clock: a wall-clock anchor carried on by the monotonic clock, so that a step of the wall clock shows."""

from __future__ import annotations

import time
from collections.abc import Callable

STEP_MS = 2_000
"""The wall clock has stepped when it is this far from where the monotonic clock says it should be."""


class Clock:
    """Now, in UTC ms.

    wall: the computer's clock [s since 1970]; steady: a clock that never steps [s]. Both can be given by a test.
    """

    def __init__(self, wall: Callable[[], float] = time.time, steady: Callable[[], float] = time.monotonic) -> None:
        self._wall = wall
        self._steady = steady
        self._anchor()

    def _anchor(self) -> None:
        self._at_wall = self._wall()
        self._at_steady = self._steady()

    def now_ms(self) -> int:
        """Now [UTC ms], carried on from the anchor: it doesn't follow a step until ``step`` has been asked."""
        return round((self._at_wall + self._steady() - self._at_steady) * 1000)

    def step(self) -> tuple[int, int] | None:
        """(before, after) [UTC ms] if the wall clock stepped (or the computer slept) since last asked, else None.

        Afterwards the clock goes on from the new time.
        """
        before, after = self.now_ms(), round(self._wall() * 1000)
        self._anchor()
        return None if abs(after - before) < STEP_MS else (before, after)
