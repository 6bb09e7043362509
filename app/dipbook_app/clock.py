"""The desk's clock: a wall-clock anchor carried on by the monotonic clock, so that a step of the wall clock shows.

It never runs back past what the log holds: where the wall clock was set back and the log holds something later, it goes
on by its own count, ahead of the wall clock, so that rounds stay in order and elapsed time is right.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import NamedTuple

STEP_MS = 2_000
"""The wall clock has stepped when it is this far from where the monotonic clock says it should be."""
TOLERATED_MS = 90_000
"""Clocks are put right by seconds now and then: being so far ahead of the wall clock is worked off without a word."""
WORKED_OFF = 0.1
"""How much slower than the steady clock it runs until so little is worked off [s/s]."""


class Step(NamedTuple):
    """The wall clock stepped. before_ms, after_ms: this clock's time before and after [UTC ms], alike where it goes on
    by its own count; by_ms: how far the wall clock stepped [ms]."""

    before_ms: int
    after_ms: int
    by_ms: int


class Clock:
    """Now, in UTC ms.

    wall: the computer's clock [s since 1970]; steady: a clock that never steps [s]. Both can be given by a test.
    """

    def __init__(self, wall: Callable[[], float] = time.time, steady: Callable[[], float] = time.monotonic) -> None:
        self._wall = wall
        self._steady = steady
        self._ahead = 0.0
        self._anchor()

    def _anchor(self) -> None:
        self._at_wall = self._wall()
        self._at_steady = self._steady()

    def now_ms(self) -> int:
        """Now [UTC ms], carried on from the anchor: it doesn't follow a step until ``step`` has been asked."""
        return round((self._at_wall + self._ahead + self._steady() - self._at_steady) * 1000)

    @property
    def ahead_ms(self) -> int:
        """How far it goes ahead of the wall clock by its own count [ms]; 0 where it follows it, and for what is so
        little that it is worked off."""
        ahead = round(self._ahead * 1000)
        return ahead if ahead > TOLERATED_MS else 0

    def begin(self, held_ms: int) -> None:
        """A log is taken up: follow the wall clock, or where the log holds what is later, begin there and go on.
        held_ms: the latest time of it that the clock may not run back past [UTC ms]."""
        self._anchor()
        self._ahead = max(0.0, held_ms / 1000 - self._at_wall)

    def follow(self) -> None:
        """Follow the wall clock again, whatever was ahead of it."""
        self._anchor()
        self._ahead = 0.0

    def step(self, held_ms: int | None = None) -> Step | None:
        """The step, if the wall clock stepped (or the computer slept) since last asked, else None.

        Afterwards the clock goes on from the new time; by its own count where that is behind held_ms, the latest time
        that it may not run back past [UTC ms].
        """
        before = self.now_ms()
        was_wall, was_steady = self._at_wall, self._at_steady
        self._anchor()
        elapsed = self._at_steady - was_steady
        by = self._at_wall - was_wall - elapsed
        if abs(round(by * 1000)) < STEP_MS:
            if self._ahead * 1000 <= TOLERATED_MS:
                self._ahead = max(0.0, self._ahead - WORKED_OFF * elapsed)
            return None
        behind = held_ms is not None and held_ms > self._at_wall * 1000
        self._ahead = max(0.0, self._ahead - by) if behind else 0.0
        return Step(before, self.now_ms(), round(by * 1000))
