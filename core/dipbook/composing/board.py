"""The line-up board: where everything stands, since when, and the entry that changes it."""

from __future__ import annotations

from collections.abc import Iterable

from dipbook.books import Books
from dipbook.entries.kinds import ACTIVE, BYPASSED, CLOSED, FLOW_LINE, NOWHERE, ON_SCREENS, OPEN
from dipbook.situation import BoardLine, RunningEntry
from dipbook.targets import shakers_bypassed
from dipbook.terms.equipment import equipment_at


def board(books: Books, now_ms: int, rates: Iterable[RunningEntry]) -> tuple[BoardLine, ...]:
    """The board at ``now_ms`` [UTC ms]. books: of the log. rates: in force."""
    return (_flow_line(books, now_ms), *_tanks(books, now_ms), *_valves(books, now_ms), *_equipment(books, now_ms),
            *_shakers(books, now_ms), *(_rate(r) for r in rates))


def _flow_line(books: Books, now_ms: int) -> BoardLine:
    route = books.line.route_at(now_ms)
    since = route.t_ms if any(r.t_ms <= now_ms for r in books.line.routes) else None
    state = {ACTIVE: "to the active system", NOWHERE: "to no tank"}.get(route.to, f"to {route.to}")
    note = "no returns are measured" if route.to == NOWHERE else ""
    return BoardLine(FLOW_LINE, "Flow line", state, since, route.to == ACTIVE, note, "line-up",
                     {"tank": FLOW_LINE} | ({} if route.to == ACTIVE else {"to": ACTIVE}))


def _tanks(books: Books, now_ms: int) -> list[BoardLine]:
    active = books.line.active_at(now_ms)
    found = []
    for tank in books.rig.tanks:
        on = tank.name in active
        since = max((c.t_ms for c in books.line.changes if c.tank == tank.name and c.t_ms <= now_ms), default=None)
        note = "" if tank.role != "suction" else "the pumps draw from it" if on else "suction"
        found.append(BoardLine("tank", tank.name, "in" if on else "out", since, on == tank.active, note, "line-up",
                               {"tank": tank.name, "state": "out" if on else "in"}))
    return found


def _valves(books: Books, now_ms: int) -> list[BoardLine]:
    found = []
    for valve in books.rig.valves:
        is_open, since = books.valves.at(valve.name, now_ms)
        if is_open is None:
            continue
        where = f"{valve.tank} – {valve.to}" if valve.to else valve.tank
        note = f"{valve.kind}, {where}" if valve.kind != "other" else where
        if valve.equalises and is_open:
            note += ": one level"
        found.append(BoardLine("valve", valve.name, OPEN if is_open else CLOSED, since, is_open == valve.open, note,
                               "valve", {"valve": valve.name, "state": CLOSED if is_open else OPEN}))
    return found


def _equipment(books: Books, now_ms: int) -> list[BoardLine]:
    made = {e.name: e for e in books.rig.equipment}
    return [BoardLine("equipment", e.name, "on" if e.on else "off", e.since_ms, e.on == made[e.name].on, "",
                      "equipment", {"equipment": e.name, "state": "off" if e.on else "on"})
            for e in equipment_at(books, now_ms) if e.name in made]


def _shakers(books: Books, now_ms: int) -> list[BoardLine]:
    last = next((r for r in reversed(books.eff.records) if r.kind == "shakers" and r.t_ms <= now_ms), None)
    if last is None and books.rig.hole is None:
        return []
    bypassed = shakers_bypassed(books, now_ms)
    return [BoardLine("shakers", "Shakers", BYPASSED if bypassed else ON_SCREENS, None if last is None else last.t_ms,
                      not bypassed, "no cuttings leave" if bypassed else "", "shakers",
                      {"state": ON_SCREENS if bypassed else BYPASSED})]


def _rate(rate: RunningEntry) -> BoardLine:
    fields = {k: rate.fields[k] for k in ("from", "to", "what", "remark") if rate.fields.get(k)}
    return BoardLine("rate", str(rate.fields.get("what") or "Rate"), "on", rate.since_ms, False, rate.label,
                     "rate in force", {**fields, "state": "off"})
