"""What the leaving crew confirms at the end of a span: how everything stands then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from dipbook.books import Books
from dipbook.books.movements import Movement
from dipbook.composing import pit_drill_views
from dipbook.composing.board import board
from dipbook.composing.calls import notices, shut_in
from dipbook.composing.not_watched import applies, not_watched
from dipbook.entries.kinds import HANDOVER, HANDOVER_CONFIRMED
from dipbook.entries.words import describe
from dipbook.limits import kind_words
from dipbook.quantities import write
from dipbook.records import WARNING, Record
from dipbook.reports.spans import Span, tour_at
from dipbook.reports.warned import Warnings, warnings

GROUPS = ("Open warnings", "Limits in force", "Not watched", "Line-up", "Running", "Pending", "Rates in force",
          "Remarks", "Handed over")
NONE = {"Open warnings": "No warning is open.", "Limits in force": "No limit is in force.",
        "Running": "Nothing is running.", "Pending": "No move is announced.",
        "Rates in force": "No rate is in force.", "Remarks": "No remark was made.",
        "Handed over": "No handover was logged."}
WORST = ", worst so far "
SIGNED = "Handed over"
"""The group of what was confirmed and signed; it is no part of what is gone through."""
LONGEST_MS = 24 * 3_600_000
"""Remarks are gone through since the last handover, or since the tour began, at most so far back (our choice)."""
FRESH_MS = 60 * 60_000
"""What was confirmed longer ago is to be gone through anew before somebody signs for it (our choice, no source)."""
"""What stands in a group that is empty."""
AFTER_MS = 30 * 60_000
"""A handover logged this long after the span's end still is its own (our choice, no source)."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One line of what stands. group: of GROUPS. words. since_ms: since when, or when it was said [UTC ms], None where
    that isn't known. by: who said or set it. uid: of its record, "" for none."""

    group: str
    words: str
    since_ms: int | None
    by: str = ""
    uid: str = ""


def handover(books: Books, span: Span, warned: Warnings, units: Mapping[str, str]) -> tuple[Standing, ...]:
    """What stands at the end of a span, group by group; at least a line in each.

    books: of the log. span. warned: its warnings. units: dimension -> symbol, for words.
    """
    t = span.to_ms
    found = [Standing("Open warnings", f"{w.text}: {w.state.replace('_', ', ')}"
                      + (f"{WORST}{w.worst_words}" if w.worst_words else ""), w.learned_ms,
                      w.acknowledged_by if "acknowledged" in w.state else "")
             for w in warned.raised if w.state != "closed"]
    activity, since = books.activities.at(t)
    rig, aside = books.rig_at(t), dict(warned.stands_aside)
    found += [Standing("Limits in force", f"{x.name}: {kind_words(x.kind)} on {x.on}, {x.as_typed}", None, x.set_by)
              for x in rig.limits if applies(x, activity) and x.name not in aside]
    found += [Standing("Not watched", f"Limit {name} is {state}", None) for name, state in aside.items()]
    found += [Standing("Not watched", _sentence(words), None) for words in not_watched(rig, activity)]
    lined_up = books.line.active_at(t)
    names = ", ".join(x.name for x in sorted(rig.tanks, key=lambda x: x.order) if x.name in lined_up)
    found.append(Standing("Line-up", f"Activity: {activity}", since))
    found.append(Standing("Line-up", f"Active: {names or 'no tank'}", None))
    found += [Standing("Line-up", f"{x.name}: {x.state}" + (f" ({x.note})" if x.note else ""), x.since_ms)
              for x in board(books, t, ()) if x.group != "tank" or not x.normal]
    shut = shut_in(books, t)
    if shut is not None:
        found.append(Standing("Line-up", "The well is shut in", shut.t_ms, shut.by))
    found += _moves(books, t, units)
    found += [Standing("Pending", f"{n.text}, {n.state}" + (f", told {n.told}" if n.told else ""), n.t_ms, "", n.uid)
              for n in notices(books, t)]
    found += [Standing("Pending", v.text.rstrip("."), v.since_ms) for v in pit_drill_views.views(books, t)]
    for r in books.eff.records:
        if r.kind == "remark" and span.holds(r.t_ms):
            found.append(_of(books, "Remarks", r, units))
        elif r.kind in (HANDOVER, HANDOVER_CONFIRMED) and span.from_ms < r.t_ms <= t + AFTER_MS:
            found.append(_of(books, "Handed over", r, units))
    there = {x.group for x in found}
    found += [Standing(group, NONE[group], None) for group in GROUPS if group in NONE and group not in there]
    return tuple(sorted(found, key=lambda x: GROUPS.index(x.group)))


@dataclass(frozen=True, slots=True)
class HandoverView:
    """What is handed over now. since_ms: remarks are those since then [UTC ms]. lines: what stands, group by group.
    confirmed: the entry by which who leaves has gone through it, not signed yet and FRESH_MS old at most, None without
    one. added: lines that stand now and didn't when it was confirmed; gone: those that stood then and don't now."""

    since_ms: int
    lines: tuple[Standing, ...]
    confirmed: Record | None = None
    added: tuple[Standing, ...] = ()
    gone: tuple[Standing, ...] = ()

    def groups(self) -> tuple[tuple[str, tuple[Standing, ...]], ...]:
        """Each group of what is gone through, with its lines."""
        return tuple((g, tuple(x for x in self.lines if x.group == g)) for g in GROUPS
                     if any(x.group == g for x in self.lines))


def handover_view(books: Books, now_ms: int, units: Mapping[str, str], *, open_now: Mapping[str, str] | None = None,
                  ) -> HandoverView:
    """What is handed over at a time, and what was confirmed of it.

    books: of the log. now_ms: [UTC ms]. units: dimension -> symbol, for words. open_now: occurrence -> words of
    warnings that are open: one that the log doesn't hold yet, or can't, for a failing disk, stands there all the same.
    """
    entries = sorted((r for r in books.eff.records if r.kind in (HANDOVER, HANDOVER_CONFIRMED) and r.t_ms <= now_ms),
                     key=lambda r: (r.t_ms, r.seq))
    signed = [r.t_ms for r in entries if r.kind == HANDOVER]
    tour = tour_at(books.rig_at(now_ms), now_ms)
    begun = max([now_ms - LONGEST_MS, *signed[-1:], *([] if tour is None or signed else [tour.from_ms])])
    written = {r.payload.get("occurrence") for r in books.records if r.kind == WARNING}
    unwritten = tuple(Standing(GROUPS[0], words, None) for name, words in (open_now or {}).items()
                      if name not in written)
    lines = _standing(books, begun, now_ms, units)
    if unwritten:
        lines = (*unwritten, *(x for x in lines if x.words != NONE[GROUPS[0]]))
    last = entries[-1] if entries else None
    if last is None or last.kind != HANDOVER_CONFIRMED or now_ms - last.t_ms > FRESH_MS:
        return HandoverView(begun, lines)
    then = _standing(books, min(begun, last.t_ms - 1), last.t_ms, units)
    return HandoverView(begun, lines, last, _without(lines, then), _without(then, lines))


def _standing(books: Books, from_ms: int, to_ms: int, units: Mapping[str, str]) -> tuple[Standing, ...]:
    span = Span(from_ms, to_ms)
    return tuple(x for x in handover(books, span, warnings(books, span, units), units) if x.group != SIGNED)


def _without(lines: Sequence[Standing], others: Sequence[Standing]) -> tuple[Standing, ...]:
    """Lines that others don't have; how much has run so far is no change."""
    known = {_same(x) for x in others}
    return tuple(x for x in lines if _same(x) not in known and x.words != NONE.get(x.group))


def _same(x: Standing) -> tuple[str, str]:
    return x.group, x.uid if x.uid and x.group in ("Running", "Rates in force") else x.words.split(WORST)[0]


def _moves(books: Books, t: int, units: Mapping[str, str]) -> Iterator[Standing]:
    """What runs at a time: moves under way, rates in force, and starts whose volume nobody has said yet."""
    by_uid = {r.uid: r for r in books.eff.records}
    told: set[str] = set()
    for m in books.moves:
        r = by_uid.get(m.uid)
        if r is None or not m.ramp.t0 <= t < m.ramp.t1:
            continue
        told.add(m.uid)
        rate = m.term == "rates"
        yield Standing("Rates in force" if rate else "Running", _under_way(books, m, r, t, units), m.ramp.t0, r.author,
                       m.uid)
    for r in books.eff.records:
        if r.kind in ("transfer", "discard") and r.uid not in told and r.payload.get("state") == "running" \
                and r.payload.get("end_ms") is None and r.t_ms <= t:
            yield Standing("Running", f"{_said(books, r, units)}: not booked yet, its volume isn't known", r.t_ms,
                           r.author, r.uid)


def _under_way(books: Books, m: Movement, r: Record, t: int, units: Mapping[str, str]) -> str:
    so_far = m.ramp.volume * (t - m.ramp.t0) / (m.ramp.t1 - m.ramp.t0)
    volume = write(so_far, units.get("volume", "m3"), decimal=books.rig.decimal)
    return f"{_said(books, r, units)}: {volume} so far"


def _of(books: Books, group: str, r: Record, units: Mapping[str, str]) -> Standing:
    return Standing(group, _said(books, r, units), r.t_ms, r.author, r.uid)


def _said(books: Books, r: Record, units: Mapping[str, str]) -> str:
    return describe(r, units, books.rig.zone, books.rig.decimal)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
