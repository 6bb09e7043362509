"""A row of a trip as it was logged: a stand, a fill, a refill, a flow check, or pipe that was filled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import nan

from dipbook.findings import Finding
from dipbook.mud.hanging import Hanging
from dipbook.trips.ways import Way

STAND, FILL, REFILL, PIPE_FILLED, FLOW_CHECK = "stand", "fill", "refill", "pipe filled", "flow check"
KINDS = (STAND, FILL, REFILL, PIPE_FILLED, FLOW_CHECK)


@dataclass(frozen=True, slots=True)
class Row:
    """One row as it was logged. t_ms: when [UTC ms]. kind: of KINDS. stand: its number, None if not given. bit_m: bit
    depth after it [m], NaN not given. levels_m: trip tank -> level above its bottom [m]. strokes: pumped into the hole
    since the row before, 0 pumped nothing and None not told. source: the tank that pipe was filled from, "" a trip
    tank. remark; line: in its file. way: how pipe is moved from this row on, None as before. volumes: trip tank ->
    (volume [m3], its variance [m6]) as a log has worked them out, None: by the levels. logged: trip tank -> all that
    was logged into it by then, cumulative [m3]: the hole didn't take that. slug: that hung in the pipe before its move,
    None where the log tells of none."""

    t_ms: int
    kind: str
    stand: int | None = None
    bit_m: float = nan
    levels_m: Mapping[str, float] = field(default_factory=dict)
    strokes: float | None = None
    source: str = ""
    remark: str = ""
    line: int | None = None
    way: Way | None = None
    volumes: Mapping[str, tuple[float, float]] | None = None
    logged: Mapping[str, float] = field(default_factory=dict)
    slug: Hanging | None = None


def finding(row: Row, what: str, code: str, *, severity: str = "warning") -> Finding:
    """A finding on a row. row: which. what: in words. code; severity: as of Finding."""
    return Finding(what, code=code, severity=severity, line=row.line, t_ms=row.t_ms)
