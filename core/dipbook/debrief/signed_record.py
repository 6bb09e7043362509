"""The record of a drill that people sign: what was asked, when it began, and who did what when.

Its fields are ours, after what public rules ask of such a record: the date, the time, the type, the time to be ready to
close, the total time (30 CFR 250.711(b), from memory; its forerunner 250.462(c) of the 2015 edition was read). A time
that nobody noted is None, never guessed. Of a training drill and of a pit drill on the rig the same record is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dipbook.books import Books, build
from dipbook.debrief.told import Debrief, Seeable, recognised
from dipbook.drill.record import Act
from dipbook.drill.score import TOLD

TRAINING, PIT_DRILL = "training drill", "pit drill on the rig"
T0, T1, T2, T3, T4, T5 = "t0", "t1", "t2", "t3", "t4", "t5"
MOMENTS: tuple[tuple[str, str], ...] = (
    (T0, "Signal began"), (T1, "First recognised"), (T2, "Alarm raised: driller told"),
    (T3, "Flow check, or pumps off"), (T4, "Ready to close"), (T5, "Complete: shut in"))
"""Moments of a drill in their order: key, and the words for it."""
ACT_OF = {T2: (TOLD,), T3: ("flow check", "pumps off"), T4: ("space out",), T5: ("shut-in",)}
"""Moment → what the trainee does then. Spaced out is ready to close."""


NOT_BY_THE_CUT = "not answered by the time the drill was cut off"


@dataclass(frozen=True, slots=True)
class Moment:
    """One of MOMENTS. key. t_ms: when [UTC ms], None where nobody did or noted it. after_ms: since the signal began
    [ms], None likewise. who: did it, "" not said."""

    key: str
    t_ms: int | None
    after_ms: int | None
    who: str

    @property
    def words(self) -> str:
        """What it is."""
        return dict(MOMENTS)[self.key]


@dataclass(frozen=True, slots=True)
class Signal:
    """What was to be seen, and what came of it. what: in words. tank: whose level it shows in, "" for the well.
    volume_m3: that it came to; rate_m3_s: on the average; None not known. level_m: by which a float was raised [m],
    None for no float. moments: of MOMENTS, all of them. warned_ms: when a warning of the watch sounded for it [UTC ms],
    None none. in_time, in_volume: against the target, None where none is set. outcome: in words."""

    what: str
    tank: str
    volume_m3: float | None
    rate_m3_s: float | None
    level_m: float | None
    moments: tuple[Moment, ...]
    warned_ms: int | None
    in_time: bool | None
    in_volume: bool | None
    outcome: str

    def moment(self, key: str) -> Moment:
        """One of its moments. key: of MOMENTS."""
        return next(m for m in self.moments if m.key == key)


@dataclass(frozen=True, slots=True)
class DrillRecord:
    """One drill's record. ident: its id. what: TRAINING or PIT_DRILL. kind: of drill, in words. invented: no real rig.
    rig: its name. t_ms: when it was done, by the computer's or the log's clock [UTC ms]. began_ms, ended_ms: its span,
    by its own clock [UTC ms]. operation: what the rig did; hole_m, bit_m: depths [m], None not known. announced: to
    those on watch; of a training drill that they knew what happens in it; None for not said. initiator: who ran it.
    consent: who, in charge, consented, "" for none asked. crew: who stood the watch. seed: of a training drill, else
    None. within_ms, volume_m3: targets [ms], [m3], None for not set; target_by: who set them and why. signals: one
    each. false_calls: calls while there was nothing, None where nobody counts them. flow_checks: how many, none of
    which counts against anybody. deviations: told by the times, in words. proved: how the float was proved back, "" for
    nothing to prove. called_off: why, "" for not.
    """

    ident: str
    what: str
    kind: str
    invented: bool
    rig: str
    t_ms: int
    began_ms: int
    ended_ms: int | None
    operation: str
    hole_m: float | None
    bit_m: float | None
    announced: bool | None
    initiator: str
    consent: str
    crew: str
    seed: int | None
    within_ms: int | None
    volume_m3: float | None
    target_by: str
    signals: tuple[Signal, ...]
    false_calls: int | None
    flow_checks: int
    deviations: tuple[str, ...]
    proved: str = ""
    called_off: str = ""


def of_debrief(told: Debrief) -> DrillRecord:
    """The record of a training drill. told: it, told over again.

    What the rig did, and where the bit was, is as it was when the first sign began, or else when the drill did.
    """
    a, books = told.about, build(told.records)
    signals = tuple(_signal(s, told) for s in told.seeable)
    at = told.seeable[0].sign.from_ms if told.seeable else a.began_ms
    hole, bit = depths_at(books, at)
    by = ": ".join(x for x in (told.target.set_by, told.target.reason) if x)
    return DrillRecord(
        a.ident, TRAINING, a.scenario, True, a.rig, a.began_ms if a.done_ms is None else a.done_ms, a.began_ms,
        a.ended_ms, books.activities.at(at)[0], hole, bit, None if a.sealed is None else not a.sealed, a.instructor, "",
        a.trainee, a.seed, told.target.within_ms, told.target.volume_m3, by, signals, len(told.score.false_calls_ms),
        told.score.flow_checks, _deviations(told))


def depths_at(books: Books, t_ms: int) -> tuple[float | None, float | None]:
    """Measured depth of the hole and of the bit as logged by a time [m], None where they aren't known. books: of the
    log. t_ms: the time [UTC ms]."""
    i = int(np.searchsorted(books.depths.t_ms, t_ms, side="right")) - 1
    if i < 0:
        return None, None
    hole, bit = float(books.depths.hole_m[i]), float(books.depths.bit_m[i])
    return None if np.isnan(hole) else hole, None if np.isnan(bit) else bit


def moments(t0_ms: int, at: Sequence[tuple[str, int, str]]) -> tuple[Moment, ...]:
    """All of MOMENTS, those that nobody noted with None. t0_ms: when the signal began [UTC ms]. at: (key, when [UTC
    ms], who), the first of each counts."""
    found = {T0: Moment(T0, t0_ms, 0, "")}
    for key, t, who in sorted(at, key=lambda x: x[1]):
        found.setdefault(key, Moment(key, t, t - t0_ms, who))
    return tuple(found.get(key, Moment(key, None, None, "")) for key, _ in MOMENTS)


def _signal(seen: Seeable, told: Debrief) -> Signal:
    sign, answer, who = seen.sign, seen.answer, told.about.trainee
    since = [a for a in told.acts if a.t_ms >= sign.from_ms]
    at = [(key, a.t_ms, who) for key, kinds in ACT_OF.items() if (a := _first(since, kinds)) is not None]
    first = recognised(told, sign)
    if first is not None:
        at.append((T1, first.t_ms, who))
    curve = told.truth
    column = {"gain": curve.influx_m3, "loss": curve.loss_m3}.get(sign.kind, curve.returned_m3)
    begun = max(0, int(np.searchsorted(curve.t_ms, sign.from_ms, side="right")) - 1)
    volume = float(column[-1] - column[begun])
    lasted = (seen.ended_ms - sign.from_ms) / 1000.0
    outcome = answer.what or "to be looked into, and nobody did"
    if answer.missed:
        outcome = NOT_BY_THE_CUT if told.about.cut else "missed"
    return Signal(f"{sign.event} ({'a ' + sign.kind if sign.kind != 'look' else 'to be looked into'})", "", volume,
                  volume / lasted if lasted > 0 else None, None, moments(sign.from_ms, at),
                  min((w.learned for w in seen.warned), default=None), answer.in_time, answer.in_volume, outcome)


def _first(acts: Sequence[Act], kinds: tuple[str, ...]) -> Act | None:
    return next((a for a in acts if a.kind in kinds), None)


def _deviations(told: Debrief) -> tuple[str, ...]:
    """What of the procedure was left out, or came out of its turn. A flow check is never among it."""
    found: list[str] = ["The drill was cut off: what came after isn't in it."] if told.about.cut else []
    for seen in told.seeable:
        answer = seen.answer
        if answer.missed and told.about.cut:
            continue
        if answer.missed:
            found.append(f"{seen.sign.event}: neither flow check nor shut-in.")
            continue
        if seen.sign.kind == "look":
            continue
        left = [s.what for s in answer.steps if s.t_ms is None]
        turned = [s.what for s in answer.steps if s.t_ms is not None and not s.in_turn]
        if left:
            found.append(f"{seen.sign.event}: not done: {', '.join(left)}.")
        if turned:
            found.append(f"{seen.sign.event}: out of turn: {', '.join(turned)}.")
    return tuple(found)
