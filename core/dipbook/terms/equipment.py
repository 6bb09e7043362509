"""Solids-control equipment: −ΔHeq. Starting it fills it once from the active tanks, stopping it drains it back.

Each piece fills and drains evenly, at the rate at which a whole one does: half filled, it is drained in half the time.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.books.lineup import ALWAYS
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.rig.model import Equipment
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System


@dataclass(slots=True)
class _Piece:
    """One piece on the way through the entries.

    made: as the rig describes it. on: running. since: of its last change of state [UTC ms], None as the file has it.
    full: what it holds when filled [m3]. t: when it began to fill or drain [UTC ms]; held: what was in it then; goal:
    what it comes to; lasts: how long that takes [ms].
    """

    made: Equipment
    on: bool
    full: float
    since: int | None = None
    t: int = 0
    held: float = 0.0
    goal: float = 0.0
    lasts: int = 0
    ramps: list[Ramp] = field(default_factory=list)

    def at(self, t: int) -> float:
        """What is in it at ``t`` [m3]."""
        if t >= self.t + self.lasts:
            return self.goal
        return self.held + (self.goal - self.held) * max(t - self.t, 0) / self.lasts

    def settle(self, t: int | None) -> None:
        """Book what it took or gave up to ``t`` [UTC ms]; None: to the end."""
        until = self.t + self.lasts if t is None else min(t, self.t + self.lasts)
        now = self.goal if t is None else self.at(t)
        if now != self.held:
            self.ramps.append(Ramp(self.t, until, self.held - now))

    def turn(self, t: int, on: bool, volume: float | None) -> float:
        """Started or stopped at ``t`` [UTC ms]. volume: what it holds, or gives back, where measured [m3]. What it held
        beyond that, and nobody knows where it is [m3].
        """
        lost = 0.0
        self.settle(t)
        held = self.at(t)
        if on:
            self.full = self.made.holds_m3 if volume is None else volume
        elif volume is not None:
            lost, held = max(held - volume, 0.0), volume            # measured on its way back
        self.on, self.since, self.t, self.held, self.goal = on, t, t, held, self.full if on else 0.0
        whole = self.made.fills_s if on else self.made.drains_s
        self.lasts = round(whole * 1000.0 * abs(self.goal - held) / self.full) if self.full > 0.0 else 0
        return lost


@dataclass(frozen=True, slots=True)
class Running:
    """One piece of equipment at a moment. on: running; since_ms: of the entry that put it so [UTC ms], None for as the
    rig file has it; held_m3: what is in it [m3]."""

    name: str
    on: bool
    since_ms: int | None
    held_m3: float


def equipment(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """−ΔHeq [m3], and findings (not in the rig file, started or stopped twice).

    What fills comes from the active tanks and goes back to them: of the active system and of all surface, of no single
    tank. What the rig file has on at the start counts as long full.
    books: of the log. system: which tanks.
    """
    _, findings = _followed(books, None)
    if system.name not in (ACTIVE_SYSTEM, ALL_SURFACE):
        return from_ramps(()), ()
    return from_ramps(ramp for _, ramp in filled_by(books, system)), tuple(findings)


def filled_by(books: Books, system: System) -> list[tuple[str, Ramp]]:
    """(name, what it took or gave back) of each piece that filled or drained. books: of the log. system: as of
    ``equipment``."""
    if system.name not in (ACTIVE_SYSTEM, ALL_SURFACE):
        return []
    return [(name, ramp) for name, piece in _followed(books, None)[0].items() for ramp in piece.ramps]


def equipment_at(books: Books, t_ms: int) -> tuple[Running, ...]:
    """Every piece of equipment that the rig has, in its order, and how it stands. books: of the log. t_ms: [UTC ms]."""
    pieces, _ = _followed(books, t_ms)
    return tuple(Running(e.name, p.on, p.since, p.at(t_ms)) for e in books.rig_at(t_ms).equipment
                 if (p := pieces.get(e.name)) is not None)


def _followed(books: Books, until: int | None) -> tuple[dict[str, _Piece], list[Finding]]:
    """The pieces after the entries up to ``until`` [UTC ms], None for all."""
    pieces: dict[str, _Piece] = {}
    findings: list[Finding] = []
    events: list[tuple[int, int, Record | None]] = [(start if i else ALWAYS, 0, None)
                                                    for i, (start, _) in enumerate(books.rigs)]
    events += [(r.t_ms, 1, r) for r in books.eff.records if r.kind == "equipment"]
    for t, _, r in sorted(events, key=lambda e: e[:2]):
        if until is not None and t > until:
            break
        if r is None:
            findings.extend(_described(pieces, books.rig_at(t).equipment, t))
        else:
            findings.extend(_entered(pieces, r))
    for piece in pieces.values():
        piece.settle(None)
    return pieces, findings


def _described(pieces: dict[str, _Piece], described: tuple[Equipment, ...], t: int) -> list[Finding]:
    """The rig in force from ``t`` on. What runs holds what it holds; a new size counts from its next start."""
    names = {e.name for e in described}
    gone = [n for n, p in pieces.items() if p.on and n not in names]
    for e in described:
        if e.name in pieces:
            pieces[e.name].made = e
        else:
            holds = e.holds_m3 if e.on else 0.0
            pieces[e.name] = _Piece(e, e.on, e.holds_m3, held=holds, goal=holds)
    return [Finding(f"{n} is running by the log and isn't in the rig file any more: what it holds isn't booked back "
                    "until an entry stops it.", code="equipment_gone", t_ms=t) for n in gone]


def _entered(pieces: dict[str, _Piece], r: Record) -> list[Finding]:
    name, on, volume = str(r.payload.get("equipment") or ""), r.payload.get("state") == "on", r.payload.get("volume_m3")
    piece = pieces.get(name)
    if piece is None:
        return [Finding(f"“{name}” was {'started' if on else 'stopped'} and isn't among the rig's equipment: what it "
                        "fills with isn't known and isn't booked.", code="unknown_equipment", t_ms=r.t_ms)]
    if piece.on == on:
        return [Finding(
            f"{name} was started and is on already: nothing is booked. If it had been stopped, what it took reads as a "
            "loss and can hide a gain." if on else
            f"{name} was stopped and isn't on by the log: nothing is booked. If it was running, what it gave back "
            "reads as a gain.", code="equipment_twice", t_ms=r.t_ms)]
    if piece.turn(r.t_ms, on, None if volume is None else float(volume)) <= DRAINED_M3:
        return []
    return [Finding(
        f"{name} gave back less than it held: of the rest the books don't know where it is. If it is still in it, its "
        "next start takes less than a whole fill, and the difference reads high by that, which can hide a loss. Log "
        "what it takes then.", code="equipment_rest", t_ms=r.t_ms)]


DRAINED_M3 = 1e-6
"""A rest below this is rounding [m3]."""
