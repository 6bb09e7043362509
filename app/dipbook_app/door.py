"""The log's door: why a round or an entry can't be stored now, and what is said of a stored round."""

from __future__ import annotations

import math
from collections.abc import Sequence

from dipbook import quantities
from dipbook.books import Books
from dipbook.exchange.times import clock
from dipbook.findings import Finding
from dipbook.records import ROUND, Dip
from dipbook.situation import Situation
from dipbook_app.typed_times import span_words

FUTURE_MS = 90_000
"""How far ahead of the desk's clock a time may lie: clocks differ by a little."""
LONGEST_ROUND_MS = 3 * 3_600_000
"""A round that would have lasted longer has a slip in its times (our choice, no source)."""
NOT_SAVED = "Not saved; what was typed is kept."


def round_problem(books: Books, dips: Sequence[Dip], *, start_ms: int, end_ms: int, supersedes: str | None,
                  reason: str, now_ms: int) -> str:
    """What is wrong, "" if nothing. dips: of the round. start_ms, end_ms: of the gauging; no time may lie after
    now_ms [UTC ms]. supersedes: uid of the round that it corrects, or None; reason: why, then needed.
    """
    if not dips:
        return "Nothing was gauged: there is nothing to save."
    if max(start_ms, end_ms, *(d.t_ms for d in dips)) > now_ms + FUTURE_MS:
        return f"{NOT_SAVED} The round lies in the future: check the time, and this computer's clock."
    old = next((r for r in books.records if r.uid == supersedes), None) if supersedes else None
    as_it_was = old is not None and (old.payload.get("start_ms"), old.payload.get("end_ms")) == (start_ms, end_ms)
    if lasted := "" if as_it_was else too_long(start_ms, end_ms):
        return f"{NOT_SAVED} {lasted}"
    known = {t.name for t in books.rig.tanks} | {t.name for t in books.rig_at(start_ms).tanks}
    unknown = sorted({d.tank for d in dips} - known)
    if unknown:
        return f"{NOT_SAVED} The rig has no tank called {', '.join(unknown)}."
    if len({(d.tank, d.t_ms) for d in dips}) < len(dips):
        return f"{NOT_SAVED} One tank has two dips at one time: keep one."
    for dip in dips:
        given = [v for v in (dip.level_m, dip.volume_m3) if v is not None]
        if not given and dip.flag == "below stick":
            continue
        if not given or not all(math.isfinite(v) for v in given):
            return f"{NOT_SAVED} The dip of {dip.tank} is no number: {dip.as_typed!r}."
    if supersedes is None:
        return ""
    if old is None or old.kind != ROUND:
        return f"{NOT_SAVED} There is no such round to correct."
    if supersedes in books.eff.superseded:
        return f"{NOT_SAVED} This round was corrected or struck out meanwhile: look at the log."
    return "" if reason.strip() else f"{NOT_SAVED} Say why the round is corrected."


def too_long(start_ms: int, end_ms: int) -> str:
    """Words on a round that no crew gauges in one go, "" for one that is. start_ms, end_ms: of the gauging [UTC ms]."""
    if end_ms - start_ms <= LONGEST_ROUND_MS:
        return ""
    return f"The gauging would have lasted {span_words(end_ms - start_ms)}. Check the times."


def ahead(t_ms: int | None, column: str, now_ms: int) -> tuple[Finding, ...]:
    """The finding that ``t_ms`` of ``column`` ("time" or "end") lies in the future of ``now_ms`` [UTC ms], if so."""
    if t_ms is None or t_ms <= now_ms + FUTURE_MS:
        return ()
    what = "This time lies in the future." if column == "time" else \
        "This end lies in the future. Log it as running, and stop it when it has ended."
    return (Finding(what, code="future", severity="error", column=column, kept=False),)


def gone(books: Books, uid: str | None) -> tuple[Finding, ...]:
    """The finding that the record ``uid`` was replaced or struck out meanwhile, if so."""
    if uid is None or uid not in books.eff.superseded:
        return ()
    return (Finding("This was corrected or struck out meanwhile: look at the log.", code="gone", severity="error",
                    kept=False),)


def round_words(s: Situation, end_ms: int, unit: str) -> str:
    """What a saved round shows, for the status line. s: after it; end_ms: its end [UTC ms]; unit: for volumes."""
    words = f"Round saved {clock(end_ms, s.rig.zone)}."
    if s.actual_m3 is None:
        return f"{words} The active volume isn't known until every active tank is gauged."
    words += f" Active {quantities.write(s.actual_m3, unit, decimal=s.rig.decimal)}."
    nobody = any(finding.code == "no_zero" for finding in s.findings)
    if nobody and s.zero_ms is not None and s.zero_ms == s.reading_ms:
        words += " The difference counts from this round, until somebody zeroes it (Ctrl+0)."
    elif s.difference_m3 is not None:
        d = quantities.write_number(s.difference_m3, unit, decimal=s.rig.decimal, sign=True)
        u = "" if s.u_m3 is None else f" ± {quantities.write_number(2 * s.u_m3, unit, decimal=s.rig.decimal)}"
        words += f" Difference {d}{u} {unit}."
    return words + (" Partial: not every active tank was gauged." if s.partial else "")
