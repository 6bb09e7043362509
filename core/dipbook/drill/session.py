"""A drill under way: the clock, the well, what is read and logged, and what a trainee does to it.

Times are whole milliseconds since the start, so that nothing drifts. At one moment the crew act first, then what
happens begins, then the gauges are read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from dipbook.drill.gauges import Gauges
from dipbook.drill.pits import ACTIVE, Pits
from dipbook.drill.record import Entry, Reading, Sign, TripRow, Truth, Values
from dipbook.drill.well import Well
from dipbook.rig.model import Rig

STEP_MS = 5000
"""Longest step in time [ms]."""
MOST_GAS = 0.5
"""Share of the hole around the pipe that what came in may fill: beyond it the well unloads, which isn't modelled."""
UNLOADED = "what came in fills half the hole: the well unloads, and what follows isn't modelled"
IDLE_MS = 24 * 3600 * 1000
FLOWED_M3 = 1e-6
"""So much has come in, or is lost, before a sign has begun [m3]."""


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch in which the crew change nothing. for_ms: how long. speed_m_s: of the bit, + down. drilling: on bottom.
    fill_m3_s: into the pipe from the active tanks. read: gauges are read as usual meanwhile."""

    for_ms: int
    speed_m_s: float = 0.0
    drilling: bool = False
    fill_m3_s: float = 0.0
    read: bool = True


@dataclass(frozen=True, slots=True)
class Work:
    """What the crew were at when somebody stopped them. program: the rest of it. spell: with left_ms of it to go [ms].
    flow_m3_s: of the pumps. doing: the activity."""

    program: Iterator[Spell]
    spell: Spell | None
    left_ms: int
    flow_m3_s: float
    doing: str


@dataclass(slots=True)
class Stream:
    """Mud on the move at a rate [m3/s] between two places, up to a time [ms]; None: to the end."""

    source: str
    target: str
    rate: float
    until_ms: int | None


@dataclass(slots=True)
class Happening:
    """Something that begins or ends. do: makes it so, and says it in words. at_ms: when; None: when the hole is as deep
    as drilled_m [m]."""

    do: Callable[[Session], str]
    at_ms: int | None
    drilled_m: float = 0.0


@dataclass(slots=True)
class Session:
    """rig; well; gauges; begin_ms: of the start [UTC ms]. every_ms: between readings; walk_ms: from tank to tank.
    step_ms: longest step. now_ms: since the start. ended: why it can't go on, "" while it can. kinds: of all that
    happens in it. over_ms: when the crew's work was done, None before. sticks: the tanks are dipped by hand, and no
    fault of a gauge shows."""

    rig: Rig
    well: Well
    gauges: Gauges
    begin_ms: int
    every_ms: int
    walk_ms: int = 0
    step_ms: int = STEP_MS
    now_ms: int = 0
    ended: str = ""
    readings: list[Reading] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    trip_rows: list[TripRow] = field(default_factory=list)
    truths: list[Truth] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)
    streams: list[Stream] = field(default_factory=list)
    waiting: list[Happening] = field(default_factory=list)
    to_dip: list[tuple[int, str, Reading]] = field(default_factory=list)
    program: Iterator[Spell] = field(default_factory=lambda: iter(()))
    held_up: Work | None = None
    spell: Spell | None = None
    spell_left_ms: int = 0
    next_reading_ms: int = 0
    shown: set[str] = field(default_factory=set)
    over_ms: int | None = None
    kinds: tuple[str, ...] = ()
    sticks: bool = False

    @property
    def pits(self) -> Pits:
        """The surface."""
        return self.well.pits

    @property
    def t_ms(self) -> int:
        """Now [UTC ms]."""
        return self.begin_ms + self.now_ms

    def log(self, kind: str, values: Values | None = None, *, back_ms: int = 0, for_ms: int | None = None,
            **more: float | str) -> None:
        """The crew log something. kind: of entry. back_ms: so long ago. for_ms: how long it goes on. values: its
        fields; more: of them, with "_" for a space."""
        t = self.t_ms - back_ms
        named = {k.rstrip("_").replace("_", " "): v for k, v in more.items()}
        self.entries.append(Entry(t, kind, {**(values or {}), **named}, None if for_ms is None else t + for_ms))

    def tell(self, event: str = "") -> None:
        """Write down what is so. event: what began or ended now."""
        w = self.well
        self.truths.append(Truth(self.t_ms, w.came_m3, w.lost_m3, w.returned_m3, w.column.influx_m3, event,
                                 w.liquid_out_m3))

    def read(self, only: Sequence[str] = (), *, walked: bool = True) -> Reading:
        """Read the gauges, each tank when the crew come to it. only: these tanks; all if none are named. walked: False
        where somebody stands beside each."""
        found = Reading(self.t_ms, self.well.bore.bit_m, self.well.hole_m)
        self.readings.append(found)
        for n, name in enumerate(t.name for t in self.rig.tanks if not only or t.name in only):
            at = self.now_ms + (n * self.walk_ms if walked else 0)
            if at == self.now_ms:
                self._dip(name, found)
            else:
                self.to_dip.append((at, name, found))
        self.tell()
        return found

    def _dip(self, name: str, into: Reading) -> None:
        into.dips[name] = self.gauges.dip(self.rig.tank(name), self.pits.volumes[name], self.now_ms / 1000.0,
                                         faults=not self.sticks)
        into.at_ms[name] = self.t_ms

    def pump(self, flow_m3_s: float) -> None:
        """Pumps to a flow [m3/s], 0 for off; logged if that changes anything."""
        if flow_m3_s != self.well.asked_m3_s:
            self.well.asked_m3_s = flow_m3_s
            if flow_m3_s > 0.0:
                self.log("pumps", state="on", flow=flow_m3_s)
            else:
                self.log("pumps", state="off")

    def advance(self, to_ms: int, *, to_the_end: bool = False) -> None:
        """Go on to a time since the start [ms], or to where it can't go on. to_the_end: no further than the crew's
        work."""
        while not self.ended:
            if self.spell_left_ms <= 0:
                self.spell = next(self.program, None)
                if self.spell is None:
                    self.over_ms = self.now_ms if self.held_up is None and self.over_ms is None else self.over_ms
                    self.spell = Spell(IDLE_MS)
                self.spell_left_ms = self.spell.for_ms
                continue
            for happening in [h for h in self.waiting if self._due(h)]:
                self.waiting.remove(happening)
                self.tell(happening.do(self))
            self._read_what_is_due()
            if self.now_ms >= to_ms or (to_the_end and self.over_ms is not None):
                return
            self._step(min(self.step_ms, to_ms - self.now_ms, self.spell_left_ms, *self._until_something()))

    def _due(self, h: Happening) -> bool:
        return self.now_ms >= h.at_ms if h.at_ms is not None else self.well.hole_m >= h.drilled_m - 1e-6

    def _read_what_is_due(self) -> None:
        for at, name, reading in [d for d in self.to_dip if d[0] <= self.now_ms]:
            self.to_dip.remove((at, name, reading))
            self._dip(name, reading)
        if self.now_ms >= self.next_reading_ms:
            self.next_reading_ms += self.every_ms
            if self.spell is not None and self.spell.read and not (
                    self.readings and self.readings[-1].t_ms == self.t_ms):
                self.read()

    def _until_something(self) -> list[int]:
        """How long until the next thing that has a time [ms], each above 0."""
        times = [self.next_reading_ms, *(h.at_ms for h in self.waiting if h.at_ms is not None),
                 *(s.until_ms for s in self.streams if s.until_ms is not None), *(d[0] for d in self.to_dip)]
        return [t - self.now_ms for t in times if t > self.now_ms]

    def _step(self, ms: int) -> None:
        dt = ms / 1000.0
        spell, w = self.spell, self.well
        assert spell is not None
        if w.unloads(dt, MOST_GAS):
            self.ended = UNLOADED
            self.tell(self.ended)
            return
        w.speed_m_s, w.drilling = spell.speed_m_s, spell.drilling
        for s in self.streams:
            self.pits.move(s.source, s.target, s.rate * dt)
        if spell.fill_m3_s:
            w.bore.add(self.pits.draw(ACTIVE, spell.fill_m3_s * dt), w.column.mud_kg_m3)
        w.step(dt)
        self.now_ms += ms
        self.spell_left_ms -= ms
        self.streams = [s for s in self.streams if s.until_ms is None or s.until_ms > self.now_ms]
        self._signs()
        self.ended = self.pits.empty or (UNLOADED if w.column.influx_m3 > MOST_GAS * w.room_m3 else "")
        if self.ended:
            self.tell(self.ended)

    def _signs(self) -> None:
        """Signs that have begun."""
        w = self.well
        found = [("gain", f.event, f.came_m3) for f in w.formations]
        found += [("loss", t.event, t.lost_m3) for t in w.thieves]
        found += [("look", b.event, b.returned_m3) for b in w.breathing]
        for kind, event, volume in found:
            if event not in self.shown and volume > FLOWED_M3:
                self.shown.add(event)
                self.signs.append(Sign(kind, event, self.t_ms))
                self.tell(f"{event}: begins to flow" if kind == "gain" else f"{event}: begins")

    def stop(self, why: str) -> None:
        """The trainee stops the work: pumps off. The influx goes on. why: as the crew log it."""
        if self.held_up is None:
            doing = next((str(e.values["activity"]) for e in reversed(self.entries) if e.kind == "activity"), "static")
            self.held_up = Work(self.program, self.spell, self.spell_left_ms, self.well.asked_m3_s, doing)
        self.program, self.spell_left_ms, self.over_ms = iter(()), 0, None
        self.pump(0.0)
        self.log("activity", activity="static", remark=why)
        self.tell(why)

    def flow_check(self) -> None:
        """The work is stopped, and what the well does then is watched."""
        self.stop("flow check")

    def shut_in(self) -> None:
        """The well is shut in: pumps off, nothing flows at surface any more."""
        self.stop("pumps off, to shut in")
        self.well.flow_m3_s = self.well.asked_m3_s = 0.0
        self.well.shut = True
        self.log("shut-in", state="shut in")
        self.tell("shut in")

    def go_on(self) -> None:
        """The crew go on with their work after a flow check; a well that is shut in stays so."""
        work = self.held_up
        if work is not None and not self.well.shut:
            self.program, self.spell, self.spell_left_ms, self.held_up = work.program, work.spell, work.left_ms, None
            self.pump(work.flow_m3_s)
            self.log("activity", activity=work.doing)
