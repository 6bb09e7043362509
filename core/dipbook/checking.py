"""Check files without a window: a rig, readings and entries in; the balance over time and every warning out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from dipbook import balance, flowback, gauges, hints, quantities, watch
from dipbook.books import Books, build
from dipbook.errors import ImportFileError
from dipbook.exchange import any_file
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.exchange.foreign import NOTHING_SAID
from dipbook.exchange.mapping import Mapping as ColumnMapping
from dipbook.exchange.times import dated, rfc3339, rfc3339_all, rig_time
from dipbook.findings import Finding
from dipbook.observations import observe
from dipbook.records import RIG, Draft, numbered
from dipbook.rig import document
from dipbook.rig.model import Rig
from dipbook.terms.system import ALL_SURFACE

NOTHING_RAISED, RAISED = 0, 1
"""Exit codes."""


@dataclass(frozen=True)
class Checked:
    """What a check found.

    books, rig. active, all_surface: balances at the readings. watched: name of the watched system at each. warnings:
    transitions in order. findings: on the files and the books.
    """

    books: Books
    rig: Rig
    active: balance.Balance
    all_surface: balance.Balance
    watched: tuple[str, ...]
    warnings: tuple[watch.Transition, ...]
    findings: tuple[Finding, ...]

    @property
    def raised(self) -> int:
        """How many times a warning was raised."""
        return sum(w.state == "raised" for w in self.warnings)

    @property
    def exit_code(self) -> int:
        """0 nothing raised, 1 raised."""
        return RAISED if self.raised else NOTHING_RAISED


def check(rig_path: Path, readings_path: Path, entries_path: Path | None = None, *, said: ColumnMapping = NOTHING_SAID,
          good_rows_only: bool = False) -> Checked:
    """Run the books and the watch over files. Each row counts as learned at its own time.

    rig_path, readings_path: the files; entries_path: what explains the changes, or None. said: of a readings file of
    another form. good_rows_only: True to leave out the rows of it that can't be read.

    Raises RigFileError or ImportFileError, whose text names file, line and column, for what can't be read or is
    ambiguous. Reads no clock: the same files give the same answer on any day, in any zone.
    """
    doc = document.read(rig_path)
    readings = any_file.take(_bytes(readings_path), readings_path.name, doc.rig, said,
                             good_rows_only=good_rows_only).file
    _must_be_good(readings.findings, readings_path.name)
    samples, logged = readings_file.to_draft(readings, 0)
    drafts = [samples, *logged]
    found = [*doc.findings, *readings.findings]
    if entries_path is not None:
        entries = entries_file.parse(_bytes(entries_path), entries_path.name, doc.rig)
        _must_be_good(entries.findings, entries_path.name)
        drafts += entries.drafts
        found += entries.findings
    start = min(d.t_ms for d in drafts)
    rig_draft = Draft(RIG, start, start, payload={"text": doc.text, "effective": "change"})
    books = build(numbered([rig_draft, *drafts]))
    if not len(books.readings):
        raise ImportFileError(f"{readings_path.name}: holds no reading of a tank. Nothing was checked.")
    t = books.readings.end_ms
    transitions = _watched_through(books, doc.rig)
    names, _ = balance.watched(books, t)
    active = balance.at(books, t)
    doubted = gauges.findings(books, lambda at: dated(at, doc.rig.zone), active)
    return Checked(books, doc.rig, active, balance.at(books, t, ALL_SURFACE), names, transitions,
                   _ordered((*found, *balance.findings(books), *hints.not_seen(books), *flowback.findings(books),
                             *flowback.not_compared(books), *doubted, *_unwatched(books))))


def _watched_through(books: Books, rig: Rig) -> tuple[watch.Transition, ...]:
    """Each reading, each "watch off" and "on", and each activity that a limit is for, taken at its own time."""
    evidence = observe(books)
    events: list[tuple[int, watch.Event]] = [(a, watch.Unwatched(a)) for a, _, _ in books.unwatched]
    events += [(b, watch.WatchedAgain(b)) for _, b, _ in books.unwatched if b is not None]
    if any(x.activity != "any" for x in rig.limits if x.watched):
        events += [(t, watch.Doing(0, t, name, t)) for t, name in
                   zip(books.activities.t_ms.tolist(), books.activities.names, strict=True)]
    events.sort(key=lambda e: e[0])
    memory, made, done = watch.start(rig.limits, 1), list[watch.Transition](), 0
    for until, event in [*events, (None, None)]:
        upto = len(evidence) if until is None else int(np.searchsorted(evidence.t_ms, until, side="right"))
        if upto > done:
            part = evidence.rows(done, upto)
            memory, out = watch.step(memory, watch.Learned(0, int(part.t_ms[-1]), part, replay=True))
            made += out
            done = upto
        if event is not None and done < len(evidence):
            memory, out = watch.step(memory, event)
            made += out
    return tuple(made)


def _unwatched(books: Books) -> tuple[Finding, ...]:
    """Findings on what could not be watched, so that "nothing raised" isn't read as "all well"."""
    found: list[Finding] = []
    if not any(x.watched for x in books.rig.limits):
        found.append(Finding("No limits are set: nothing is being watched.", code="no_limits"))
    if not any(z.t_ms is not None for z in books.zeros):
        active = sorted(books.line.active_at(int(books.readings.end_ms[-1])))
        never = [tank for tank in active if tank not in books.samples]
        why = f": {', '.join(never)} never gauged" if never else ""
        found.append(Finding(f"The active tanks were never all gauged{why}. The difference is unknown throughout, and "
                             "no gain or loss could be watched.", code="never_complete"))
    return tuple(found)


def _ordered(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Those on the whole run first, then by time."""
    return tuple(sorted(findings, key=lambda f: (f.t_ms is not None, f.t_ms or 0)))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise ImportFileError(f"{path.name}: can't be opened ({error.strerror or error}): {path}") from None


def _must_be_good(findings: tuple[Finding, ...], name: str) -> None:
    errors = [f for f in findings if f.severity == "error"]
    if errors:
        raise ImportFileError("\n".join(f"{f.where}: {f.what}" if f.where else f"{name}: {f.what}" for f in errors))


def lines(checked: Checked) -> Iterator[dict[str, Any]]:
    """The contract's lines: findings, then balance and warning by time, connections, then the summary. SI, times RFC
    3339 UTC.

    checked: what was found.
    """
    for f in checked.findings:
        yield {"type": "finding", "time": None if f.t_ms is None else rfc3339(f.t_ms),
               "where": _where(f), "what": f.what, "kept": f.kept}
    waiting = list(checked.warnings)
    for i, line in enumerate(_balance_lines(checked)):
        t = int(checked.active.t_ms[i])
        while waiting and waiting[0].learned < t:
            yield warning_line(waiting.pop(0))
        yield line
        while waiting and waiting[0].learned == t:
            yield warning_line(waiting.pop(0))
    for w in waiting:
        yield warning_line(w)
    for c in flowback.find(checked.books):
        yield {"type": "connection", "time": rfc3339(c.off_ms), "until": None if c.on_ms is None else rfc3339(c.on_ms),
               "flow_m3_s": _plain([c.flow_m3_s])[0], "hole_depth_m": _plain([c.hole_m])[0],
               "lines_m3": _plain([c.lines_m3])[0],
               "back": [{"minute": m, "back_m3": _plain([back])[0]} for m, back in _back(c)], **_held(checked.books, c)}
    yield summary(checked)


def _back(c: flowback.Connection) -> list[tuple[float, float]]:
    """What had come back at the fixed minutes that a connection reached: (minute, [m3])."""
    return [(m, back) for m in flowback.MINUTES if not np.isnan(back := c.at(m * 60.0))]


def _held(books: Books, c: flowback.Connection) -> dict[str, Any]:
    """What a connection was held against, how far it lay above that at most, and whether it was accepted."""
    most, s, banded = flowback.worst(books, c)
    said = flowback.said_of(books).get(c.off_ms)
    return {"above_m3": _plain([most])[0], "above_s": None if np.isnan(s) else s, "banded": banded,
            "accepted": None if said is None else said.accepted}


def _where(f: Finding) -> Mapping[str, Any]:
    where = {"file": f.file, "line": f.line, "column": f.column, "tank": f.tank}
    return {k: v for k, v in where.items() if v}


def _balance_lines(checked: Checked) -> Iterator[dict[str, Any]]:
    b, surface = checked.active, checked.all_surface
    columns = [rfc3339_all(b.t_ms), _plain(b.actual_m3), _plain(b.expected_m3), _plain(b.difference_m3),
               _plain(b.u_m3), _plain(surface.difference_m3), checked.watched, b.partial.tolist(),
               balance.held_at(checked.books, b.t_ms)]
    with_it = {"transfers": "pills", "steel": "trip"}   # a pill is moved mud, a trip moves the steel: no keys of theirs
    terms = {k: _plain(v + b.terms[with_it[k]] if k in with_it else v) for k, v in b.terms.items()
             if k not in with_it.values()}
    for i, (time, actual, expected, difference, u, all_surface, name, partial, held) in enumerate(
            zip(*columns, strict=True)):
        yield {"type": "balance", "time": time, "actual_m3": actual, "expected_m3": expected,
               "difference_m3": difference, "u_m3": u, "all_surface_difference_m3": all_surface, "watched": name,
               "terms": {k: v[i] for k, v in terms.items()},
               "held": [{"tank": tank, "since": rfc3339(since)} for tank, since in held], "partial": partial}


def _plain(values: Any) -> list[float | None]:
    """Numbers rounded to a microlitre's worth of noise (1e-9 m3), None where unknown."""
    rounded = np.round(np.asarray(values, dtype=float), 9) + 0.0
    return [None if x != x else x for x in rounded.tolist()]


def warning_line(w: watch.Transition) -> dict[str, Any]:
    """One warning's line. w: the transition. A drift says besides how much of its value counts against the limit."""
    counts = (w.evidence.get("facts") or {}).get("counts")
    more = {} if w.kind != "drift" else {"counts": None if counts is None else _plain([counts])[0]}
    return {"type": "warning", "time": rfc3339(w.time), "learned": rfc3339(w.learned), "name": w.name, "kind": w.kind,
            "system": w.system, "tank": w.tank, "state": w.state,
            "value": None if w.value is None else _plain([w.value])[0], "limit": _plain([w.held_to])[0], "unit": w.unit,
            **more, "text": w.text}


def summary(checked: Checked) -> dict[str, Any]:
    """The last line: counts, spans, worst difference, warnings raised. checked: what was found."""
    d = checked.active.difference_m3
    known = np.flatnonzero(np.isfinite(d))
    worst = int(known[np.argmax(np.abs(d[known]))]) if len(known) else None
    t = checked.active.t_ms
    return {"type": "summary", "readings": len(t), "from": rfc3339(int(t[0])), "to": rfc3339(int(t[-1])),
            "worst_difference_m3": None if worst is None else _plain(d[worst:worst + 1])[0],
            "worst_at": None if worst is None else rfc3339(int(t[worst])),
            "partial": int(checked.active.partial.sum()), "findings": len(checked.findings),
            "warnings_raised": checked.raised, "limits": len([x for x in checked.rig.limits if x.watched])}


def text_lines(checked: Checked) -> Iterator[str]:
    """The same for people: crew units and rig time to the second; findings, the balance, connections, and the warnings
    last, by when they became known. checked: what was found."""
    rig = checked.rig
    volume = rig.units.get("volume", "m3")
    sets = units_of(rig)

    def v(x: float, sign: bool = False) -> str:
        return quantities.write_number(None if np.isnan(x) else float(x), volume, decimal=rig.decimal, sign=sign)

    for f in checked.findings:
        yield f"finding  {f.where + ': ' if f.where else ''}{f.what}"
    yield f"{'time':<20} {'actual':>9} {'expected':>9} {'difference':>10} {'± (2u)':>7}  [{volume}]"
    b = checked.active
    for i, t in enumerate(b.t_ms.tolist()):
        mark = " partial" if b.partial[i] else ""
        yield (f"{_clock(t, rig):<20} {v(b.actual_m3[i]):>9} {v(b.expected_m3[i]):>9} "
               f"{v(b.difference_m3[i], sign=True):>10} {v(2 * b.u_m3[i]):>7}{mark}")
    for c in flowback.find(checked.books):
        back = ", ".join(f"{v(x)} after {m:g} min" for m, x in _back(c))
        holds = "" if np.isnan(c.lines_m3) else f" (the lines hold {v(c.lines_m3)} by the rig file)"
        most, _, banded = flowback.worst(checked.books, c)
        above = f"; at most {v(most, sign=True)} above the accepted ones" if banded else ""
        yield f"{_clock(c.off_ms, rig)}  pumps off, came back [{volume}]: {back}{holds}{above}"
    for w in checked.warnings:
        yield f"{_clock(w.time, rig)}  {w.state.upper()}  {w.name}: {watch.words(w, sets, rig.decimal)}"
    readings, raised, found = len(b.t_ms), checked.raised, len(checked.findings)
    yield (f"{readings} {'reading' if readings == 1 else 'readings'}, "
           f"{raised} {'warning' if raised == 1 else 'warnings'} raised, "
           f"{found} {'finding' if found == 1 else 'findings'}")
    if not any(x.watched for x in rig.limits):
        yield "No limits are set: nothing is being watched."


def _clock(t_ms: int, rig: Rig) -> str:
    """``2026-03-01 02:15:00``: rig time without its offset."""
    return rig_time(t_ms, rig.zone, seconds=True)[:19]


def units_of(rig: Rig) -> dict[str, tuple[str, int]]:
    """The rig's units with their digits, for words. rig: the rig."""
    found: dict[str, tuple[str, int]] = {}
    for dimension in ("level", "volume", "length", "flow", "density"):
        symbol = rig.units.get(dimension)
        for unit_set in quantities.UNIT_SETS.values():
            known = unit_set.get(dimension)
            if known is not None and (symbol is None or known[0] == symbol) and dimension not in found:
                found[dimension] = known
        if dimension not in found and symbol is not None:
            found[dimension] = (symbol, 2)
    return found
