"""The tanks' room and mud, and the sticks after the next stand, as the pages are given them."""

from __future__ import annotations

from collections.abc import Iterable
from math import isnan

from dipbook.books import Books
from dipbook.situation import StockView, TargetView
from dipbook.stock import Loss, held, taken
from dipbook.targets import next_stand


def stock_view(books: Books, lost: Loss | None, now_ms: int) -> StockView:
    """Room and mud at ``now_ms`` [UTC ms]. books: of the log. lost: what the readings say is being lost, None where
    they don't tell."""
    tanks = held(books, now_ms)
    active = [t for t in tanks if t.active]
    known = [t for t in active if not isnan(t.room_m3)]
    least = min(known, key=lambda t: t.room_m3, default=None)
    usable = _sum(t.usable_m3 for t in active)
    rate = None if lost is None else max(lost.rate_m3_s + taken(books, now_ms), 0.0)
    shows_well = any(t.shows_well for t in active)
    hours = None
    if lost is not None and usable is not None and rate and shows_well:
        gone = lost.rate_m3_s * max(now_ms - lost.until_ms, 0) / 1000.0    # lost since the last dips, if it goes on
        hours = max(usable - gone, 0.0) / rate / 3600.0
    return StockView(
        room_m3=_sum(t.room_m3 for t in active),
        tightest=(least.tank, least.room_m3) if least is not None and len(known) == len(active) else None,
        usable_active_m3=usable, usable_reserve_m3=_sum(t.usable_m3 for t in tanks if t.reserve),
        hole_m3=books.rig.hole.volume_m3 if books.rig.hole is not None else None, loss_rate_m3_s=rate,
        loss_span_ms=None if lost is None else lost.span_ms,
        hours_left=hours, shows_well=shows_well,
        unknown=tuple(t.tank for t in tanks if (t.active or t.reserve) and (isnan(t.usable_m3) or isnan(t.room_m3))))


def target_views(books: Books, now_ms: int) -> tuple[TargetView, ...]:
    """The stick after the next stand at ``now_ms`` [UTC ms], or nothing where it isn't known. books: of the log."""
    t = next_stand(books, now_ms)
    return () if t is None else (TargetView(t.tank, t.dip_m, t.volume_m3, t.change_m3, t.why),)


def _sum(volumes: Iterable[float]) -> float | None:
    """Sum [m3], None where one isn't known or there is none."""
    found = list(volumes)
    total = sum(found)
    return None if not found or isnan(total) else total
