"""The difference over the whole log in few points: what a person chooses a span on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import balance, watch
from dipbook.books import Books
from dipbook.composing import journal
from dipbook.series import envelope, joined

BLOCK = 200_000
"""So many readings are worked out at once, so that a log of months needs little memory."""
BUCKETS = 1_000


@dataclass(frozen=True)
class Overview:
    """t_ms int64 [UTC ms], difference_m3 [m3]: lows and highs of the active system, NaN unknown. from_ms, to_ms: of the
    log's first and last reading [UTC ms]. raised: when warnings occurred [UTC ms]."""

    t_ms: Any
    difference_m3: Any
    from_ms: int
    to_ms: int
    raised: tuple[int, ...]


def overview(books: Books, step: Callable[[str], object] = str, at_ms: Any = None) -> Overview | None:
    """The whole log; None without a reading. books: of it, as known now. step: called with a word on how far it is;
    what it raises ends the work. at_ms: times at which it is asked, rising [UTC ms]; None: at every reading."""
    ends = books.readings.end_ms if at_ms is None else np.asarray(at_ms, dtype=np.int64)
    if not len(ends) or not len(books.readings):
        return None
    parts = []
    for first in range(0, len(ends), BLOCK):
        step(f"the whole log, {100 * first // len(ends)} %")
        block = balance.at(books, ends[first:first + BLOCK])
        share = max(50, BUCKETS * len(block.t_ms) // len(ends))
        parts.append(envelope(block.t_ms, block.difference_m3, share))
    said = [watch.from_payload(payload) for payload in journal(books.records)[0]]
    raised = tuple(sorted({each.time for each in said if each.event == "ACT"}))
    return Overview(*joined(parts), int(ends[0]), int(ends[-1]), raised)
