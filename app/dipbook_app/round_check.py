"""A round at the log's door: why it can't be stored, and what is said once it is. The form judged the dips before."""

from __future__ import annotations

import math
from collections.abc import Sequence

from dipbook import quantities
from dipbook.books import Books
from dipbook.exchange.times import clock
from dipbook.records import ROUND, Dip
from dipbook.situation import Situation

NOT_SAVED = "Not saved; what was typed is kept."


def round_problem(books: Books, dips: Sequence[Dip], *, start_ms: int, end_ms: int, supersedes: str | None,
                  reason: str, latest_ms: int) -> str:
    """What is wrong, "" if nothing. dips: of the round. start_ms, end_ms: of the gauging; no time may lie after
    latest_ms [UTC ms]. supersedes: uid of the round that it corrects, or None; reason: why, then needed.
    """
    if not dips:
        return "Nothing was gauged: there is nothing to save."
    if max(start_ms, end_ms, *(d.t_ms for d in dips)) > latest_ms:
        return f"{NOT_SAVED} The round lies in the future: check the time, and this computer's clock."
    known = {t.name for t in books.rig.tanks} | {t.name for t in books.rig_at(start_ms).tanks}
    unknown = sorted({d.tank for d in dips} - known)
    if unknown:
        return f"{NOT_SAVED} The rig has no tank called {', '.join(unknown)}."
    if len({(d.tank, d.t_ms) for d in dips}) < len(dips):
        return f"{NOT_SAVED} One tank has two dips at one time: keep one."
    for dip in dips:
        given = [v for v in (dip.level_m, dip.volume_m3) if v is not None]
        if not given or not all(math.isfinite(v) for v in given):
            return f"{NOT_SAVED} The dip of {dip.tank} is no number: {dip.as_typed!r}."
    if supersedes is None:
        return ""
    old = next((r for r in books.records if r.uid == supersedes), None)
    if old is None or old.kind != ROUND:
        return f"{NOT_SAVED} There is no such round to correct."
    if supersedes in books.eff.superseded:
        return f"{NOT_SAVED} This round was corrected or struck out meanwhile: look at the log."
    return "" if reason.strip() else f"{NOT_SAVED} Say why the round is corrected."


def round_words(s: Situation, end_ms: int, unit: str) -> str:
    """What a saved round shows, for the status line. s: after it; end_ms: its end [UTC ms]; unit: for volumes."""
    words = f"Round saved {clock(end_ms, s.rig.zone)}."
    if s.actual_m3 is None:
        return f"{words} The active volume isn't known until every active tank is gauged."
    words += f" Active {quantities.write(s.actual_m3, unit, decimal=s.rig.decimal)}."
    if s.difference_m3 is not None:
        d = quantities.write_number(s.difference_m3, unit, decimal=s.rig.decimal, sign=True)
        u = "" if s.u_m3 is None else f" ± {quantities.write_number(2 * s.u_m3, unit, decimal=s.rig.decimal)}"
        words += f" Difference {d}{u} {unit}."
    return words + (" Partial: not every active tank was gauged." if s.partial else "")
