"""How often in a row a tank was gauged "no change": a dip from the desk says the same, too."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dipbook.books.effective import StrikeOut
from dipbook.records import ROUND, Record


def same_in_a_row(records: Sequence[Record], strikes: Sequence[StrikeOut], tank: str) -> tuple[Any, Any]:
    """(times of a tank's dips in rounds, rising [UTC ms], how many up to each were in a row "gauged, no change").

    records: effective. strikes: readings struck out. tank: its name. A dip that was read ends the row; one that wasn't
    taken, and an imported reading, don't.
    """
    last: dict[int, tuple[int, bool]] = {}
    for r in records:
        for d in r.dips if r.kind == ROUND else ():
            struck = any(s.tank in ("", tank) and s.from_ms <= d.t_ms <= s.to_ms and r.seq < s.seq for s in strikes)
            if d.tank == tank and not struck and last.get(d.t_ms, (0, False))[0] <= r.seq:
                last[d.t_ms] = (r.seq, d.unchanged)
    times = sorted(last)
    counts: list[int] = []
    for t in times:
        counts.append((counts[-1] if counts else 0) + 1 if last[t][1] else 0)
    return np.array(times, dtype=np.int64), np.array(counts, dtype=np.int64)
