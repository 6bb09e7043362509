"""What is said of a gauge, or of all of them: one doubt, from when to when."""

from __future__ import annotations

from dataclasses import dataclass

KINDS = ("stuck", "missing", "spiking", "clipped", "noisy", "tilted", "isolated", "stick", "readings", "flagged")
"""What makes a gauge suspect: a limit of kind ``suspect`` looks at these."""
READS_LOW = ("stuck", "missing")
"""While one of these stands, a gain or a loss reads low by the tank's share."""
HINTS = ("gap", "step", "transfer", "drift", "breathing")
"""What may explain a change, or may not; they are on no gauge alone."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """One doubt. It rides on the tank and on a warning; it suppresses nothing.

    kind: of KINDS or HINTS. tank: whose gauge, "" for all. from_ms: since when it is so; known_ms: the first time at
    which the readings told it; to_ms: until when, None while it stands at the last reading [UTC ms]. value: what the
    kind measures, NaN where nothing: volume [m3] that the others moved (stuck), of the largest spike, of the two
    tanks' sum (tilted, transfer), of a step, above what is explained (breathing), the sensor above the stick; how many
    times the noise of before (noisy); [m3/s] of a drift. moved_m3: what this tank moved, of a transfer. other: the
    other tank of a pair. count: of spikes. share: its area over the active tanks' areas, None where that isn't known.
    said: a word for what was seen ("foam", "at its top").
    """

    kind: str
    tank: str
    from_ms: int
    known_ms: int
    to_ms: int | None
    value: float = float("nan")
    moved_m3: float = float("nan")
    other: str = ""
    count: int = 0
    share: float | None = None
    said: str = ""

    def stands_at(self, t_ms: int) -> bool:
        """True if it was known and not over at a time. t_ms [UTC ms]."""
        return self.known_ms <= t_ms and (self.to_ms is None or t_ms <= self.to_ms)


def true_change(read_m3: float, share: float | None) -> float | None:
    """What a change that is read would be in truth while a gauge is stuck [m3]: G / (1 − share); None where that isn't
    known.

    read_m3: G, the change that the other gauges show [m3]. share: the stuck tank's area over all active tanks' [-].
    Assumed is that mud spreads over the active tanks by their areas, as it does through open gates; behind a weir it
    doesn't. From h = G_true / ΣA: the others show (ΣA − A) h. It is said, and no number is changed by it.
    """
    if share is None or not 0.0 <= share < 1.0:
        return None
    return read_m3 / (1.0 - share)
