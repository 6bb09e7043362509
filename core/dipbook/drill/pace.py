"""When a drill may run faster than the clock, so that a change of its speed says nothing of what the well does.

What counts runs at the clock's own speed: from a while before something happens, and from when the well begins to show
a sign. As many slow stretches again, of lengths drawn alike, come at times that the seed draws whatever the scenario
holds, and at some connections. So a drop to the clock's speed is as likely to be for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

MIN_MS = 60_000
APART_MS = (6 * MIN_MS, 20 * MIN_MS)
"""Between the end of a slow stretch and the next for nothing (our choice)."""
LONG_MS = (4 * MIN_MS, 16 * MIN_MS)
"""How long each lasts, for nothing or not (our choice)."""
BEFORE_MS = (MIN_MS, 6 * MIN_MS)
"""So long before something happens a slow stretch begins (our choice)."""
AT_CONNECTIONS = 0.4
"""Share of the stops of the pumps that are slow for nothing (our choice)."""


@dataclass(slots=True)
class Pace:
    """seed: of the drill. happens_ms: when things are to happen, since its start [ms]. slow_until_ms: end of the slow
    stretch that is on or was last [ms]."""

    seed: int
    happens_ms: Sequence[int] = ()
    slow_until_ms: int = 0
    next_ms: int = -1
    signs: int = 0
    pumping: bool = True
    leads_ms: list[int] = field(default_factory=list)
    stream: Random = field(default_factory=Random)
    stops: Random = field(default_factory=Random)
    own: Random = field(default_factory=Random)

    def __post_init__(self) -> None:
        self.stream, self.stops, self.own = (Random(f"{self.seed}/pace/{which}")
                                             for which in ("for nothing", "stops", "happens"))
        self.leads_ms = sorted(max(0, at - self._draw(self.own, BEFORE_MS)) for at in self.happens_ms)
        self.next_ms = self._draw(self.stream, APART_MS)

    def _draw(self, stream: Random, span_ms: tuple[int, int]) -> int:
        return round(stream.uniform(*span_ms))

    def may_run(self, now_ms: int, signs: int, pumping: bool) -> bool:
        """True if the drill may run faster now. To be asked as time goes on, each second of it.

        now_ms: since the start [ms]. signs: how many the well has begun to show. pumping: the pumps are on.
        """
        if now_ms >= self.next_ms:
            self._slow(now_ms, self.stream)
            self.next_ms = self.slow_until_ms + self._draw(self.stream, APART_MS)
        while self.leads_ms and self.leads_ms[0] <= now_ms:
            self.leads_ms.pop(0)
            self._slow(now_ms + BEFORE_MS[1], self.own)
        if signs > self.signs:
            self.signs = signs
            self._slow(now_ms, self.own)
        if self.pumping and not pumping and self.stops.random() < AT_CONNECTIONS:
            self._slow(now_ms, self.stops)
        self.pumping = pumping
        return now_ms >= self.slow_until_ms

    def _slow(self, now_ms: int, stream: Random) -> None:
        self.slow_until_ms = max(self.slow_until_ms, now_ms + self._draw(stream, LONG_MS))
