"""Spans of time [UTC ms]."""

from __future__ import annotations

from collections.abc import Iterable


def merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same times in spans that don't touch, by time. spans: (from, to), any order; none ends before it begins."""
    found: list[tuple[int, int]] = []
    for a, b in sorted(spans):
        if found and a <= found[-1][1]:
            found[-1] = (found[-1][0], max(b, found[-1][1]))
        else:
            found.append((a, b))
    return found
