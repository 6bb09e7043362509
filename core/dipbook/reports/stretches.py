"""The trips and the hole sections of a log, as spans that a report can be of."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.books import Books
from dipbook.composing.trip_head import title
from dipbook.errors import QuantityError
from dipbook.exchange.times import dated
from dipbook.flowback.adopted import UNKNOWN_SECTION, section_at
from dipbook.reports.spans import Span

TRIP, SECTION = "trip", "section"


@dataclass(frozen=True, slots=True)
class Stretch:
    """kind: TRIP or SECTION. label: what it is called. span."""

    kind: str
    label: str
    span: Span


def stretches(books: Books, kind: str, now_ms: int) -> tuple[Stretch, ...]:
    """Those of a kind, by time; one under way lasts until now. books: of the log. kind: TRIP or SECTION. now_ms [UTC
    ms]."""
    found = _trips(books, now_ms) if kind == TRIP else _sections(books, now_ms)
    return tuple(x for x in found if x.span.to_ms > x.span.from_ms)


def numbered(books: Books, kind: str, number: int, now_ms: int) -> Span:
    """The span of one of them. number: from 1, by time. Raises QuantityError, with what there is, for one that isn't.
    books, kind, now_ms: as of ``stretches``."""
    found = stretches(books, kind, now_ms)
    if 1 <= number <= len(found):
        return found[number - 1].span
    zone = books.rig.zone
    known = "; ".join(f"{n}: {x.label}, from {dated(x.span.from_ms, zone)}" for n, x in enumerate(found, 1))
    there = f"It has {known}." if found else "It has none."
    raise QuantityError(f"The log has no {kind} {number}. {there}")


def _trips(books: Books, now_ms: int) -> list[Stretch]:
    """What was logged for the very time at which a trip began is its own: the span begins just before."""
    return [Stretch(TRIP, title(t, books.rig_at(t.begun_ms)),
                    Span(t.begun_ms - 1, now_ms if t.end_ms is None else t.end_ms)) for t in books.trips]


def _sections(books: Books, now_ms: int) -> list[Stretch]:
    """The stretches in which the bottom of the hole was in one section, by the depths logged and the rig file."""
    named: list[tuple[int, str]] = []
    for t, hole_m in zip(books.depths.t_ms.tolist(), books.depths.hole_m.tolist(), strict=True):
        name = section_at(books, t, hole_m)
        if not named or named[-1][1] != name:
            named.append((t - 1, name))
    ends = [*(t for t, _ in named), now_ms][1:]
    return [Stretch(SECTION, name, Span(a, b)) for (a, name), b in zip(named, ends, strict=True)
            if name not in ("", UNKNOWN_SECTION)]
