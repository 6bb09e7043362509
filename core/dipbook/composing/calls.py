"""Calls that wait or stand: mud about to be moved, the well shut in, the last flow check."""

from __future__ import annotations

from math import isfinite

from dipbook import balance
from dipbook.books import Books
from dipbook.entries.kinds import BYPASSED, GAS_KINDS, SHUT_IN
from dipbook.records import Record
from dipbook.situation import FlowCheckView, NoticeView, ShutInView

PENDING = ("announced", "answered")


def notices(books: Books, now_ms: int) -> tuple[NoticeView, ...]:
    """Mud about to be moved at ``now_ms`` [UTC ms], oldest first: announced or answered. books: of the log."""
    found = []
    for r in books.eff.records:
        state = str(r.payload.get("state") or PENDING[0])
        if r.kind != "about to move mud" or r.t_ms > now_ms or state not in PENDING:
            continue
        source, target = (str(r.payload.get(k) or "") for k in ("from", "to"))
        text = " ".join(w for w in (f"from {source}" if source else "", f"to {target}" if target else "") if w)
        found.append(NoticeView(r.uid, text, r.t_ms, str(r.payload.get("told") or ""),
                                str(r.payload.get("answer") or ""), state, r.payload))
    return tuple(found)


def shut_in(books: Books, now_ms: int) -> ShutInView | None:
    """The well's shutting in, while it stands at ``now_ms`` [UTC ms]; a later entry without an opening between adds the
    gain that the first one lacked. books: of the log. Their difference is that of the last reading before it: between
    readings the expected runs on, with the lines draining back, and the dips don't.
    """
    first, gain = None, None
    for r in books.eff.records:
        if r.kind != "shut-in" or r.t_ms > now_ms:
            continue
        if r.payload.get("state") != SHUT_IN:
            first, gain = None, None
            continue
        first = r if first is None else first
        gain = r.payload.get("gain_m3") if gain is None else gain
    if first is None:
        return None
    reading = int(books.readings.index_at(first.t_ms)) if len(books.readings) else -1
    if reading < 0:
        return ShutInView(first.t_ms, gain, None, None, first.author)
    read_ms = int(books.readings.end_ms[reading])
    b = balance.at(books, read_ms)
    difference, u = (float(x[0]) for x in (b.difference_m3, b.u_m3))
    return ShutInView(first.t_ms, gain, difference if isfinite(difference) else None, u if isfinite(u) else None,
                      first.author, read_ms)


SIGNS_MS = 60 * 60_000
"""How long a sign that was seen stays before the crew [ms]."""


def signs(books: Books, now_ms: int) -> tuple[Record, ...]:
    """What was logged that may be a sign of the well's, newest first: the last flow check unless it was static, shakers
    that are bypassed, and of the last hour gas (not background gas), drilling breaks, return flow that rises or falls,
    and mud that came out lighter. Nothing is judged: it is what the crew logged.

    books: of the log. now_ms: when [UTC ms].
    """
    last: dict[str, Record] = {}
    found: list[Record] = []
    for r in books.eff.records:
        if r.t_ms > now_ms:
            continue
        if r.kind in ("flow check", "shakers"):
            last[r.kind] = r
        elif r.t_ms > now_ms - SIGNS_MS and (r.kind == "drilling break" or _changed(r)):
            found.append(r)
    if "flow check" in last and last["flow check"].payload.get("result") != "static":
        found.append(last["flow check"])
    if "shakers" in last and last["shakers"].payload.get("state") == BYPASSED:
        found.append(last["shakers"])
    return tuple(sorted(found, key=lambda r: (-r.t_ms, -r.seq)))


def _changed(r: Record) -> bool:
    """True for gas that isn't background gas, return flow that isn't steady, and mud that came out lighter than it went
    in."""
    if r.kind == "gas":
        return r.payload.get("what") != GAS_KINDS[0]
    if r.kind == "return flow":
        return r.payload.get("trend") in ("rising", "falling")
    into, out = r.payload.get("density_in_kg_m3"), r.payload.get("density_out_kg_m3")
    return r.kind == "mud check" and into is not None and out is not None and out < into


def flow_check(books: Books, now_ms: int) -> FlowCheckView | None:
    """The last flow check at ``now_ms`` [UTC ms]. books: of the log."""
    r = next((r for r in reversed(books.eff.records) if r.kind == "flow check" and r.t_ms <= now_ms), None)
    if r is None:
        return None
    p = r.payload
    place, result, trend, seen_by = (str(p.get(k) or "") for k in ("place", "result", "trend", "seen_by"))
    return FlowCheckView(r.t_ms, p.get("end_ms"), place, result, trend, seen_by,
                         tuple(None if x is None else float(x) for x in p.get("readings_m3") or ()))
