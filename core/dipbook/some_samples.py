"""Records with some of their samples only: of a log with months of sensor readings, what is asked for.

A span of time brings the samples in it and the few on either side of it in each record, so that what a tank held at its
beginning is known, and when it was next gauged after its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from dipbook.records import ROWS, Block, Record

BESIDE = 3
"""So many samples of each channel of a record come with a span, before it and after it: a volume's rate of change is
told by its neighbours, and one of them may have been struck out."""
Spans = Sequence[tuple[int, int]]
"""(from, to) [UTC ms], both included; an instant where they are the same."""


def places(t_ms: Any, spans: Spans) -> Any:
    """True where a sample is in one of the spans, or among the BESIDE next to it.

    t_ms: int64, rising [UTC ms]. spans: any order.
    """
    if not len(spans):
        return np.zeros(len(t_ms), dtype=bool)
    begin, end = np.array(spans, dtype=np.int64).T
    return _runs(np.searchsorted(t_ms, begin, side="left") - BESIDE,
                 np.searchsorted(t_ms, end, side="right") + BESIDE, len(t_ms))


def pieces(t0: Any, t1: Any, n: Any, spans: Spans) -> Any:
    """True for the pieces of a channel that hold what ``places`` would choose in the whole.

    t0, t1: first and last time of each piece, in order [UTC ms]. n: samples in each [-]. spans: as of ``places``.
    """
    if not len(spans):
        return np.zeros(len(n), dtype=bool)
    begin, end = np.array(spans, dtype=np.int64).T
    before = np.concatenate(([0], np.cumsum(n)))
    first = before[np.searchsorted(t1, begin, side="left")] - BESIDE
    last = before[np.searchsorted(t0, end, side="right")] + BESIDE - 1
    return _runs(np.searchsorted(before, first, side="right") - 1, np.searchsorted(before, last, side="right"), len(n))


def _runs(first: Any, stop: Any, length: int) -> Any:
    """True in any of the runs ``first`` … ``stop``−1, as far as there are so many."""
    steps = np.zeros(length + 1, dtype=np.int64)
    np.add.at(steps, np.clip(first, 0, length), 1)
    np.add.at(steps, np.clip(stop, 0, length), -1)
    return np.cumsum(steps[:-1]) > 0


def only(record: Record, spans: Spans) -> Record:
    """A record with the samples that belong to the spans, and the rows that these are of.

    record: with all its samples, or with the pieces that hold them. spans: as of ``places``.
    """
    if not record.blocks:
        return record
    found: list[Block] = []
    for block in record.blocks:
        if block.channel != ROWS:
            here = places(block.t_ms, spans)
            if here.any():
                found.append(block if here.all() else Block(block.channel, block.t_ms[here], block.v[here]))
    rows = next((b for b in record.blocks if b.channel == ROWS), None)
    if rows is not None and found:
        of_row = np.searchsorted(rows.t_ms, times(found), side="left")
        kept = np.unique(of_row[of_row < len(rows.t_ms)])
        found.append(Block(ROWS, rows.t_ms[kept], rows.v[kept]))
    return replace(record, blocks=tuple(found))


def times(blocks: Sequence[Block]) -> Any:
    """Every time in some blocks, each once, rising [UTC ms]. blocks: at least one."""
    return np.unique(np.concatenate([b.t_ms for b in blocks]))
