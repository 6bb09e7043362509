"""The warnings of a span: raised, acknowledged by whom and after how long, over, closed; what was logged afterwards
that explains; limits changed and set aside. All of it from the journal, which is never altered afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dipbook import balance, watch
from dipbook.books import Books
from dipbook.composing.parts_of_balance import KINDS
from dipbook.entries.words import FIRST, describe, stopped
from dipbook.quantities import write, write_level
from dipbook.quantities.writing import DIGITS
from dipbook.records import RIG, WARNING, Record
from dipbook.reports.spans import Span
from dipbook.watch.transitions import ASIDE_EVENTS, SET_ASIDE_WORDS, Transition

EXPLAINING = frozenset(kind for kinds in KINDS.values() for kind in kinds)
"""Kinds of entry that the expected volume follows from."""


@dataclass(frozen=True, slots=True)
class Warned:
    """One warning, raised in the span or still open when it began. occurrence: its id. name, kind: of the limit; on:
    what it stands on. raised_ms: when it occurred; learned_ms: when it sounded first [UTC ms]. text: in words, as it
    was raised. value, worst, limit: SI, as ``value_is`` says; worst: of what is known of it, worst_words in the crew's
    unit. acknowledged_ms, acknowledged_by; answered_ms: from the first sound to that [ms], None where nobody has, or
    where the clock was set back meanwhile. sounded: how many times, the first with it. over_ms: when its condition
    ended last. closed_ms, closed_by, note. state: at the span's end. afterwards: uids of entries that were logged after
    it sounded, for a time before it, since the zero that it stands on, and that the expected follows from.
    """

    occurrence: str
    name: str
    kind: str
    on: str
    raised_ms: int
    learned_ms: int
    text: str
    value: float | None
    worst: float | None
    worst_words: str
    limit: float
    value_is: str
    acknowledged_ms: int | None
    acknowledged_by: str
    answered_ms: int | None
    sounded: int
    over_ms: int | None
    closed_ms: int | None
    closed_by: str
    note: str
    state: str
    afterwards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """One change of the rig's description or its limits, or a limit set aside or taken up again. t_ms: when it was
    made; from_ms: since when it holds [UTC ms]. words: what. by, why. uid: of the record."""

    t_ms: int
    from_ms: int
    words: str
    by: str
    why: str
    uid: str


@dataclass(frozen=True, slots=True)
class Warnings:
    """Of a span. raised: by when they sounded. changes: of the rig and its limits. aside: limits set aside, and taken
    up again. stands_aside: (limit's name, its state in words) of those that are set aside at the span's end.
    unreadable: lines of the journal that this version can't read."""

    raised: tuple[Warned, ...]
    changes: tuple[Changed, ...]
    aside: tuple[Changed, ...]
    stands_aside: tuple[tuple[str, str], ...] = ()
    unreadable: int = 0


def warnings(books: Books, span: Span, units: Mapping[str, str]) -> Warnings:
    """The warnings of a span. books: of the log. span: in it they sounded. units: dimension -> symbol, for words."""
    told: dict[str, list[tuple[Record, Transition]]] = {}
    aside: list[Changed] = []
    stands: dict[tuple[str, str], str] = {}
    unreadable = 0
    words = {k: (symbol, DIGITS.get(symbol, 1)) for k, symbol in units.items()}
    for r in books.records:
        if r.kind != WARNING:
            continue
        try:
            tr = watch.from_payload(r.payload)
        except ValueError:
            unreadable += 1
            continue
        if tr.learned <= span.to_ms:
            stands[tr.name, tr.tank or tr.system] = tr.state
        if tr.event in ASIDE_EVENTS and span.holds(tr.learned):
            aside.append(Changed(tr.learned, tr.time, watch.words(tr, words, books.rig.decimal), tr.by, tr.note, r.uid))
        if tr.occurrence:
            told.setdefault(tr.occurrence, []).append((r, tr))
    begun = [next((n for n, (_, tr) in enumerate(said) if tr.event == "ACT"), None) for said in told.values()]
    found = [_warned(books, span, said[n:], words) for n, said in zip(begun, told.values(), strict=True)
             if n is not None]
    shown = (w for w in found if w is not None)
    return Warnings(tuple(sorted(shown, key=lambda w: (w.learned_ms, w.raised_ms, w.name))),
                    _changes(books, span, units), tuple(aside),
                    tuple((name, state) for (name, _), state in stands.items() if state in SET_ASIDE_WORDS),
                    unreadable)


def _warned(books: Books, span: Span, said: Sequence[tuple[Record, Transition]],
            units: Mapping[str, tuple[str, int]]) -> Warned | None:
    """One occurrence; None where it isn't of the span."""
    record, first = said[0]
    before = [tr for _, tr in said if tr.learned <= span.from_ms]
    within = [tr for _, tr in said if tr.learned <= span.to_ms]
    if not within or (before and before[-1].state == "closed"):
        return None
    acked = next((tr for _, tr in said if tr.event == "ACK"), None)
    over = [tr for _, tr in said if tr.event == "RTN"]
    closed = next((tr for _, tr in reversed(said) if tr.state == "closed"), None)
    answered = None if acked is None or acked.learned < first.learned else acked.learned - first.learned
    worsts = [tr.worst for _, tr in said if tr.worst is not None]
    worst = worsts[-1] if worsts else first.value
    until = None if closed is None else closed.learned
    return Warned(
        first.occurrence, first.name, first.kind, first.tank or first.system, first.time, first.learned,
        watch.words(first, units, books.rig.decimal), first.value, worst, _amount(worst, first.value_is, units,
        books.rig.decimal), first.limit, first.value_is, None if acked is None else acked.learned, "" if acked is None
        else acked.by, answered, sum(1 for _, tr in said if tr.state == "raised" and tr.event in ("ACT", "REA")),
        over[-1].time if over else None, until, "" if closed is None else closed.by, "" if closed is None else
        closed.note, within[-1].state, _afterwards(books, record, first, until))


def _amount(value: float | None, value_is: str, units: Mapping[str, tuple[str, int]], decimal: str) -> str:
    """A warning's value in the crew's unit; a loss is as large as it is deep."""
    if value is None:
        return ""
    if value_is == "level":
        return write_level(value, units["level"][0], decimal)
    symbol = "min" if value_is == "duration" else units["volume"][0]
    return write(abs(value), symbol, decimal=decimal)


def _afterwards(books: Books, record: Record, raised: Transition, until: int | None) -> tuple[str, ...]:
    """Entries logged after a warning sounded and before it was closed, for a time before it."""
    zero = balance.start(books, raised.time)
    since = None if zero is None else zero.base_ms
    return tuple(
        r.uid for r in books.eff.records
        if r.kind in EXPLAINING and r.seq > record.seq and not stopped(r) and r.t_ms <= raised.time
        and (since is None or max(r.t_ms, r.payload.get("end_ms") or 0) > since)
        and (until is None or r.learned_ms <= until))


def _changes(books: Books, span: Span, units: Mapping[str, str]) -> tuple[Changed, ...]:
    found: list[Changed] = []
    for r in books.records:
        if r.kind != RIG or r.seq == FIRST or not span.holds(r.learned_ms):
            continue
        words = describe(r, units, books.rig.zone, books.rig.decimal)
        found.append(Changed(r.learned_ms, r.t_ms, words.removesuffix(f"Reason: {r.reason}").rstrip(" .") if r.reason
                             else words, r.author, r.reason, r.uid))
    return tuple(found)
