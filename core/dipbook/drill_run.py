"""A drill under way beside a log: second by second, what becomes known of it, and what the trainee does to it.

Time goes on in whole seconds and acts fall on them, so that the same seed and the same acts give the same records, at
whatever speed it is run. Nothing here reads a clock or writes a log.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from dipbook import practising
from dipbook.drill import Act, Entry, Reading, Scenario, Session, TripRow, set_up
from dipbook.drill.flow_line import looks
from dipbook.drill.pace import Pace
from dipbook.drill.score import FLOW_CHECK, NAMED, SHUT_IN, TOLD
from dipbook.drill_folder import DIPS, MODES, FinishedDrill, marked
from dipbook.errors import DrillError
from dipbook.exchange import readings as readings_file
from dipbook.exchange.times import offset_min
from dipbook.records import RIG, Dip, Draft
from dipbook.rig import document
from dipbook.rig.document import RigDocument

SECOND_MS = 1000
RIG_BEFORE_MS = 120_000
"""So long before the start the rig file is in force [ms]."""
WALK_MS = 40_000
"""From tank to tank, where the scenario says nothing of it [ms] (our choice: 15 to 60 s a tank is common practice, no
source)."""
NEVER_MS = 10 ** 12
TRIP_END = "trip end"
"""Comes after the row of the trip's last stand, which is read at the same moment."""
SPACE_OUT, PUMPS_OFF, LOGGED = "space out", "pumps off", "logged"
SHORT_ROLES = ("suction", "trip")
"""Tanks of a short round."""
DONE = "the crew's work was done"
TRAINEE = "Trainee"
"""Who logs it, where nobody is named."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Which drill. scenario: id, as listed, or the path of a scenario file. seed: that draws it. sealed: kept from the
    trainee. trainee, instructor: names, "" for nobody named. mode: of drill_folder.MODES. rig: path of the rig file
    that it runs on where the scenario names none, "" for the demo rig."""

    scenario: str
    seed: int
    sealed: bool = False
    trainee: str = ""
    instructor: str = ""
    mode: str = MODES[0]
    rig: str = ""


@dataclass(frozen=True, slots=True)
class Round:
    """A round that was walked. start_ms, end_ms: of it [UTC ms]. dips: in order."""

    start_ms: int
    end_ms: int
    dips: tuple[Dip, ...]


@dataclass(frozen=True, slots=True)
class Learned:
    """What became known in a second of a drill. t_ms: its end [UTC ms]. drafts: entries and readings of sensors, in
    order. rounds: that were walked. trip_rows: of the trip's sheet, each with its level as it is read.
    after: entries that come after all of these."""

    t_ms: int
    drafts: tuple[Draft, ...] = ()
    rounds: tuple[Round, ...] = ()
    trip_rows: tuple[tuple[TripRow, str], ...] = ()
    after: tuple[Draft, ...] = ()

    @property
    def nothing(self) -> bool:
        """True if nothing became known."""
        return not (self.drafts or self.rounds or self.trip_rows or self.after)


@dataclass(slots=True)
class DrillRun:
    """Made by ``begin``. choice; scenario; scenario_text: its file; doc: the rig that it runs on, marked as a drill's.
    session; pace. acts: of the trainee, by time. mine: what the trainee logged by them. walking: the round that is
    being walked, None while nobody is. checking: a flow check was begun, and its result isn't logged yet.
    """

    choice: Choice
    scenario: Scenario
    scenario_text: str
    doc: RigDocument
    session: Session
    pace: Pace
    acts: list[Act] = field(default_factory=list)
    mine: list[Entry] = field(default_factory=list)
    walking: Reading | None = None
    asked: int = 0
    may_run: bool = False
    checking: bool = False
    read: int = 0
    logged: int = 0
    rows: int = 0

    @property
    def t_ms(self) -> int:
        """The drill's clock [UTC ms]."""
        return self.session.t_ms

    @property
    def over(self) -> str:
        """Why it can't go on, or that there is nothing more to come; "" while it goes on."""
        if self.session.ended:
            return self.session.ended
        return DONE if self.session.over_ms is not None else ""

    @property
    def stopped(self) -> bool:
        """True while the crew's work stands still because the trainee stopped it."""
        return self.session.held_up is not None

    @property
    def shut_in(self) -> bool:
        """True once the well is shut in."""
        return self.session.well.shut

    @property
    def watched(self) -> bool:
        """True while the trainee watches the well with the pumps off: a flow check takes its real minutes."""
        return self.stopped and not self.shut_in

    def begun(self) -> tuple[Draft, ...]:
        """The records that its log begins with: the rig, then what the crew logged beforehand."""
        at = self.t_ms - RIG_BEFORE_MS
        rig = Draft(RIG, at, self.t_ms, author=practising.CREW, reason="the drill's rig",
                    payload={"text": self.doc.text, "digest": self.doc.digest, "effective": "change"},
                    offset_min=offset_min(at, self.doc.rig.zone))
        return rig, *self._entries()

    def step(self) -> Learned:
        """Go on by a second; says what became known in it. Raises DrillError where the readings can't be used."""
        if self.session.ended:
            return Learned(self.t_ms)
        self.session.advance(self.session.now_ms + SECOND_MS)
        self.may_run = self.pace.may_run(self.session.now_ms, len(self.session.signs),
                                         self.session.well.asked_m3_s > 0.0)
        return self._learned()

    def _learned(self) -> Learned:
        drafts = [*self._entries()]
        rounds: list[Round] = []
        new = self.session.readings[self.read:]
        while new and len(new[0].dips) == self._size(new[0]):
            self.read += 1
            reading = new.pop(0)
            if self.choice.mode == DIPS:
                rounds.append(self._round(reading))
            else:
                drafts += self._sensors(reading)
        rows = self.session.trip_rows[self.rows:]
        self.rows += len(rows)
        unit = practising.level_unit(self.doc.rig)
        read = [(row, "" if row.dip_m is None else
                 f"{practising.as_read(row.dip_m, unit, self.session, self.doc.rig.decimal)} {unit}") for row in rows]
        first = tuple(d for d in drafts if d.kind != TRIP_END)
        return Learned(self.t_ms, first, tuple(rounds), tuple(read), tuple(d for d in drafts if d.kind == TRIP_END))

    def _size(self, reading: Reading) -> int:
        """How many tanks a reading has when it is done."""
        if reading is self.walking:
            return self.asked
        return len(reading.dips) if self.choice.mode == DIPS else len(self.doc.rig.tanks)

    def _entries(self) -> list[Draft]:
        new = self.session.entries[self.logged:]
        self.logged += len(new)
        zone = self.doc.rig.zone
        mine, self.mine = self.mine, []
        return [Draft(r.kind, r.t_ms, self.t_ms, author=author, payload=r.payload, reason=r.reason,
                      offset_min=offset_min(r.t_ms, zone))
                for author, entries in ((practising.CREW, new), (self.choice.trainee or TRAINEE, mine))
                for r in practising.records_of(entries)]

    def _log(self, kind: str, **values: str) -> None:
        self.mine.append(Entry(self.t_ms, kind, values))

    def _sensors(self, reading: Reading) -> list[Draft]:
        data = practising.readings_file(self.session, (reading,), self.doc.rig)
        file = readings_file.parse(data, "sensors", self.doc.rig)
        if not file.ok:
            raise DrillError(f"The drill's readings can't be used: {file.findings[0].what}")
        samples, states = readings_file.to_draft(file, self.t_ms, practising.CREW)
        return [samples, *states]

    def _round(self, reading: Reading) -> Round:
        if reading is self.walking:
            self.walking = None
        unit, decimal = practising.level_unit(self.doc.rig), self.doc.rig.decimal
        dips = tuple(Dip(tank, reading.at_ms[tank],
                         f"{practising.as_read(level, unit, self.session, decimal)} {unit}", level)
                     for tank, level in reading.dips.items() if level is not None)
        return Round(reading.t_ms, max(reading.at_ms.values()), dips)

    # --- what the trainee does --------------------------------------------------------------------------------------

    def walk(self, *, short: bool = False) -> str:
        """Somebody goes to dip the tanks; the readings come when they have been there. short: the suction and the trip
        tank alone. Returns why not, "" if they go."""
        if self.choice.mode != DIPS:
            return "The sensors read by themselves in this drill."
        if self.walking is not None:
            return "A round is being walked already."
        tanks = tuple(t.name for t in self.doc.rig.tanks if not short or t.role in SHORT_ROLES)
        self.asked = len(tanks)
        self.walking = self.session.read(tanks)
        well = self.session.well
        self.session.log("depth", hole_depth=well.hole_m, bit_depth=max(0.0, well.bore.bit_m))
        return ""

    def back_ms(self) -> int:
        """When whoever walks is back [UTC ms]; now where nobody walks."""
        last = max((at for at, _, reading in self.session.to_dip if reading is self.walking), default=None)
        return self.t_ms if last is None else self.session.begin_ms + last

    def tell_driller(self, what: str) -> None:
        """The driller is told. what: in words."""
        self.acts.append(Act(self.t_ms, TOLD, what))
        self._log("told driller", what=what, told="the driller")

    def flow_check(self) -> None:
        """The work is stopped and the well is watched; one that is under way goes on."""
        if self.checking:
            return
        self.checking = True
        self.acts.append(Act(self.t_ms, FLOW_CHECK))
        self.session.flow_check()

    def seen(self, result: str) -> None:
        """What the last flow check came to. result: of entries.kinds.FLOW_CHECK_RESULTS."""
        self.checking = False
        for n in range(len(self.acts) - 1, -1, -1):
            if self.acts[n].kind == FLOW_CHECK:
                self.acts[n] = replace(self.acts[n], text=result)
                return

    def space_out(self) -> None:
        """The pipe is spaced out, to be shut in."""
        self.acts.append(Act(self.t_ms, SPACE_OUT))
        self._log("remark", remark="spaced out")

    def pumps_off(self) -> None:
        """The pumps are stopped, and the work with them."""
        self.acts.append(Act(self.t_ms, PUMPS_OFF))
        self.session.stop("pumps off")

    def shut_the_well_in(self) -> None:
        """The well is shut in: it stays so to the end of the drill."""
        if not self.shut_in:
            self.acts.append(Act(self.t_ms, SHUT_IN))
            self.session.shut_in()

    def go_on(self) -> None:
        """The crew go on with their work."""
        self.checking = False
        self.session.go_on()

    def note(self, what: str) -> None:
        """Something is written down. what: in words."""
        self.acts.append(Act(self.t_ms, LOGGED, what))
        self._log("remark", remark=what)

    def logged_by_form(self, kind: str) -> None:
        """The trainee logged something by a form of the log. kind: of the entry."""
        self.acts.append(Act(self.t_ms, LOGGED, kind))

    def told_by_form(self, what: str) -> None:
        """The trainee logged that the driller was told. what: in words."""
        self.acts.append(Act(self.t_ms, TOLD, what))

    def name(self, what: str) -> None:
        """What the trainee takes it to be: untimed, and second to what was done. what: in words."""
        self.acts.append(Act(self.t_ms, NAMED, what))

    def at_the_flow_line(self) -> str:
        """What is seen at the flow line now, in words."""
        return looks(self.session.pits.runs_m3_s)

    def finished(self, ended_by: str, done_ms: int, *, cut: bool = False) -> FinishedDrill:
        """The drill as it is kept. ended_by: why it ended. done_ms: by the computer's clock [UTC ms]. cut: something
        else than the trainee ended it in the middle."""
        c, s = self.choice, self.session
        return FinishedDrill(
            c.scenario, self.scenario.name, self.scenario.trains, self.scenario_text, self.doc.text, c.seed, c.sealed,
            c.trainee, c.instructor, c.mode, s.begin_ms, s.t_ms, done_ms, 0 if c.mode == DIPS else s.every_ms,
            ended_by, s.kinds, tuple(s.truths), tuple(self.acts), cut)


def begin(choice: Choice, scenario: Scenario, scenario_text: str, doc: RigDocument) -> DrillRun:
    """A drill at its start. choice. scenario, scenario_text: as read, and its file. doc: the rig it runs on. Raises
    DrillError where the rig doesn't describe what a drill needs."""
    doc = document.parse(marked(doc.text), "rig")
    session = set_up(scenario, choice.seed, doc.rig, step_ms=SECOND_MS)
    happens = tuple(h.at_ms for h in session.waiting if h.at_ms is not None)
    if choice.mode == DIPS:
        session.sticks = True
        session.walk_ms = session.walk_ms or WALK_MS
        session.every_ms, session.next_reading_ms = NEVER_MS, NEVER_MS
        session.read(walked=False)          # the round before it began
    else:
        session.walk_ms = 0
    return DrillRun(choice, scenario, scenario_text, doc, session, Pace(choice.seed, happens))


def shuffled(ids: Sequence[str], seed: int) -> str:
    """One of the scenarios, drawn by the seed, for a trainee who isn't told which. ids: as listed. seed."""
    from random import Random

    return Random(f"{seed}/which").choice(sorted(ids))
