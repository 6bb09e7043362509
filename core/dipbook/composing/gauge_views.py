"""What is doubted of the gauges, on the tank and on the warnings that rest on it. Nothing is suppressed by it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from dipbook import gauges
from dipbook.books import Books
from dipbook.gauges import Doubt
from dipbook.limits import TRIP_KINDS
from dipbook.situation import BoardLine, GaugeView, TankView, WarningView

LATELY_MS = 10 * 60_000
"""How long after it ended a doubt is still shown on its tank."""
BEFORE_MS = 30 * 60_000
"""How long before a warning was raised a doubt still has to do with it."""
LOOKED_MS = 12 * 3_600_000
"""How far back doubts are kept for warnings that stand: a tour."""
OF_THE_DIFFERENCE = ("gain", "loss", "drift", "flow_back")

Volume = Callable[[float], str]


def on_tanks(tanks: Sequence[TankView], doubts: Sequence[Doubt], at_ms: int | None, volume: Volume,
             ) -> tuple[TankView, ...]:
    """Tanks with what is doubted of their gauges. at_ms: of the last reading [UTC ms], None without one. volume: writes
    one [m3] in the crew's unit."""
    if at_ms is None or not doubts:
        return tuple(tanks)
    now = [d for d in doubts if d.tank and (d.to_ms is None or d.to_ms >= at_ms - LATELY_MS)]
    return tuple(replace(t, doubts=tuple(_view(d, volume) for d in now if t.name in (d.tank, d.other)))
                 if any(t.name in (d.tank, d.other) for d in now) else t for t in tanks)


def on_warnings(books: Books, warnings: Sequence[WarningView], doubts: Sequence[Doubt], volume: Volume,
                ) -> tuple[WarningView, ...]:
    """Open warnings with what is doubted of the tanks that they rest on, and what may explain them. A warning stays as
    it is: value, state and sound. books: of the log. volume: as above."""
    if not doubts:
        return tuple(warnings)
    first = sorted(doubts, key=_rank)
    return tuple(replace(w, doubts=tuple(_view(d, volume, w) for d in first if _concerns(books, w, d)))
                 for w in warnings)


def of_all(doubts: Sequence[Doubt], at_ms: int | None, volume: Volume) -> tuple[GaugeView, ...]:
    """What is doubted now, those that a gain reads low by first, hints last. at_ms: of the last reading [UTC ms].
    volume: as above."""
    if at_ms is None:
        return ()
    now = [d for d in doubts if d.to_ms is None or d.to_ms >= at_ms - LATELY_MS]
    once = [d for d in now if d.kind != "tilted" or d.tank < d.other]
    return tuple(_view(d, volume) for d in sorted(once, key=_rank))


def on_board(lines: Sequence[BoardLine], tanks: Sequence[TankView]) -> tuple[BoardLine, ...]:
    """The line-up board with the doubts beside their tanks. lines: the board. tanks: with their doubts."""
    said = {t.name: ", ".join(f"? {d.brief}" for d in t.doubts) for t in tanks if t.doubts}
    return tuple(replace(x, note=", ".join(n for n in (said[x.name], x.note) if n))
                 if x.group == "tank" and x.name in said else x for x in lines)


def _rank(d: Doubt) -> tuple[int, int]:
    return (*gauges.KINDS, *gauges.HINTS).index(d.kind), -d.from_ms


def _view(doubt: Doubt, volume: Volume, warning: WarningView | None = None) -> GaugeView:
    text, would_be = gauges.words(doubt, volume, ended=doubt.to_ms is not None), None
    if warning is not None and warning.kind in OF_THE_DIFFERENCE and warning.value is not None and doubt.to_ms is None:
        more = gauges.rests_on(doubt, warning.value, volume)
        text = f"{text} {more[:1].upper()}{more[1:]}." if more else text
        low = doubt.kind in gauges.READS_LOW
        would_be = gauges.true_change(warning.value, doubt.share) if low else None
    return GaugeView(doubt.kind, doubt.tank, doubt.from_ms, doubt.to_ms, gauges.brief(doubt), text, doubt.share,
                     would_be)


def _concerns(books: Books, w: WarningView, d: Doubt) -> bool:
    if d.to_ms is not None and d.to_ms < w.raised_ms - BEFORE_MS:
        return False
    if w.tank:
        return w.tank in (d.tank, d.other)
    if not d.tank:
        return w.kind in OF_THE_DIFFERENCE
    if w.kind in TRIP_KINDS or w.system == "watched":
        return d.tank in _active(books, d) or any(t.name == d.tank and t.role == "trip" for t in books.rig.tanks)
    return w.system == "all surface" or d.tank in _active(books, d)


def _active(books: Books, d: Doubt) -> frozenset[str]:
    return books.line.active_at(d.known_ms)
