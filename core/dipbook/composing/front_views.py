"""Where pills, slugs and bottoms-up are, as the pages are given them."""

from __future__ import annotations

from math import isfinite

from dipbook.books import Books
from dipbook.fronts import Front, fronts
from dipbook.situation import FrontView


def front_views(books: Books, now_ms: int) -> tuple[FrontView, ...]:
    """The fronts at ``now_ms`` [UTC ms], oldest first. books: of the log."""
    return tuple(_view(f) for f in fronts(books, now_ms))


def _view(f: Front) -> FrontView:
    seconds = f.to_surface_m3 / f.flow_m3_s if f.flow_m3_s > 0.0 else float("nan")
    return FrontView(f.what, f.since_ms, f.where, _known(f.depth_m), _known(f.to_bit_m3), _known(f.to_surface_m3),
                     _known(f.to_bit_m3 / f.per_stroke_m3), _known(f.to_surface_m3 / f.per_stroke_m3),
                     round(seconds * 1000) if isfinite(seconds) else None)


def _known(value: float) -> float | None:
    return value if isfinite(value) else None
