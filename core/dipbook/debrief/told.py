"""A finished drill, told over again as plain data: what was done, what was shown when, what was so, and what could have
been seen when.

Procedure first, naming second and untimed; a flow check never counts against anybody; a target is one that somebody
set. What the watch showed is what it showed then, noise and all; the truth stands beside it, for whoever asks for it.
There is no ranking of people or crews, and no score by speed alone.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook import watch
from dipbook.debrief.shown import Beyond, Shown, shown
from dipbook.drill.kinds import EVENTS
from dipbook.drill.record import Act, Sign, Truth
from dipbook.drill.score import PROCEDURE, TOLD, WINDOW_MS, Answer, Score, Target, score
from dipbook.entries.kinds import BY_NAME
from dipbook.limits import LOUD_KINDS
from dipbook.records import WARNING, Record
from dipbook.watch import Transition

BEGINS = (": begins to flow", ": begins")
"""How the truth says that a sign of the well began."""
MOVED_M3 = 1e-6
"""So much more, and it still goes on [m3]."""


@dataclass(frozen=True, slots=True)
class About:
    """Which drill it was. ident: its id. scenario: name; file: of it. trains: in words. seed: None not known. trainee,
    instructor, mode: as written when it began, "" for not said. began_ms, ended_ms: by the drill's clock [UTC ms].
    done_ms: when it was done, by the computer's clock [UTC ms], None not known. rig: its name. sealed: what happens in
    it was kept from the trainee, None not known. ended_by: why it ended, in words, "" not known. cut: it was
    cut off, and ended_ms is up to when it was kept."""

    ident: str
    scenario: str
    file: str
    trains: str
    seed: int | None
    trainee: str
    instructor: str
    mode: str
    began_ms: int
    ended_ms: int
    done_ms: int | None
    rig: str
    sealed: bool | None = None
    ended_by: str = ""
    cut: bool = False


@dataclass(frozen=True)
class TruthCurve:
    """What was so, by time. t_ms: int64 [UTC ms]. influx_m3: come in, as it came in; loss_m3, returned_m3: taken by the
    ground and given back, never netted. surface_m3: what the well gave the tanks in all, + more: the room that what
    came in takes, with the liquid of it that came out, less what is lost, and what came back [m3]. events: (when [UTC
    ms], what began or ended)."""

    t_ms: Any
    influx_m3: Any
    loss_m3: Any
    returned_m3: Any
    surface_m3: Any
    events: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Seeable:
    """One sign of the well: what could have been seen when, beside what was done.

    sign. ended_ms: when it moved mud last [UTC ms]. answer: what was done about it. gauges_ms: the end of the first
    reading by when it had moved as much mud as that reading's ± (k = 2); moved_m3: so much, by the truth; u_m3: of that
    reading (k = 1). None: never. passed: of each limit that is for its side, the first reading at or beyond it since,
    as shown then. warned: of each such limit the first warning that sounded since. first_ms: when a person could have
    known at the earliest, by the readings: of the two the earlier; None never. acted_ms: the first procedure since,
    None none. behind_ms: from first_ms to acted_ms [ms], below nothing where somebody acted before.
    """

    sign: Sign
    ended_ms: int
    answer: Answer
    gauges_ms: int | None
    moved_m3: float | None
    u_m3: float | None
    passed: tuple[Beyond, ...]
    warned: tuple[Transition, ...]
    first_ms: int | None
    acted_ms: int | None
    behind_ms: int | None


@dataclass(frozen=True)
class Debrief:
    """A drill told over again. about. records: of its log, by seq. target: of the operator, with nothing in it where
    nobody set one. score: of what was done. shown: the readings as they were shown. warned: the journal of warnings, by
    when they became known. entries: the crew's own of the log, by when they were logged. acts: of the trainee, by time.
    truth. seeable: one a sign, as they began. window_ms: of a quiet window, fixed before [ms].
    """

    about: About
    records: tuple[Record, ...]
    target: Target
    score: Score
    shown: Shown
    warned: tuple[Transition, ...]
    entries: tuple[Record, ...]
    acts: tuple[Act, ...]
    truth: TruthCurve
    seeable: tuple[Seeable, ...]
    window_ms: int

    @property
    def missed(self) -> tuple[Sign, ...]:
        """Signs that asked for a procedure and got none. Of a drill that was cut off none: an answer may have been
        under way."""
        return () if self.about.cut else self.score.missed


def debrief(records: Sequence[Record], truths: Sequence[Truth], acts: Sequence[Act], about: About, *,
            target: Target | None = None, events: Sequence[str] = (),
            warned: Sequence[Transition] | None = None, in_time: bool = False,
            window_ms: int = WINDOW_MS) -> Debrief:
    """Tell a drill over again.

    records: of its log, any order. truths: as written down, by time. acts: of the trainee, any order. about: which it
    was. target: of the operator, None for none. events: kinds of all that happened, as of the scenario. warned: the
    journal, None for that among the records. in_time: as of ``shown``. window_ms: of a quiet window, fixed before the
    drill [ms]. Raises RigFileError where the records hold no rig, ValueError for a line of the journal that can't be
    read or a window that is no more than nothing.
    """
    curve = _curve(truths)
    signs = signs_of(truths)
    read = shown(records, in_time=in_time)
    told = _journal(records) if warned is None else tuple(sorted(warned, key=lambda w: w.learned))
    made = score(signs, truths, acts, (about.began_ms, about.ended_ms), target=target, events=events,
                 window_ms=window_ms)
    done = tuple(sorted(acts, key=lambda a: a.t_ms))
    logged = tuple(sorted((r for r in records if r.kind in BY_NAME), key=lambda r: (r.learned_ms, r.seq)))
    return Debrief(about, tuple(sorted(records, key=lambda r: r.seq)), target or Target(), made, read, told, logged,
                   done, curve, tuple(_seeable(a, curve, read, told, done) for a in made.answers), window_ms)


def signs_of(truths: Sequence[Truth]) -> tuple[Sign, ...]:
    """The signs of the well that a drill's truth tells of, as they began. truths: as written down.

    A kind of event that this version doesn't know is no sign.
    """
    found: list[Sign] = []
    for t in truths:
        name = next((t.event.removesuffix(end) for end in BEGINS if t.event.endswith(end)), "")
        kind = EVENTS.get(name.rstrip("0123456789 "))
        if kind is not None and kind.sign:
            found.append(Sign(kind.sign, name, t.t_ms))
    return tuple(sorted(found, key=lambda s: s.from_ms))


def _curve(truths: Sequence[Truth]) -> TruthCurve:
    by_time = sorted(truths, key=lambda t: t.t_ms)

    def column(name: str) -> Any:
        return np.array([getattr(t, name) for t in by_time], dtype=float)

    influx, loss, returned, room, out = (column(n) for n in (
        "influx_m3", "loss_m3", "returned_m3", "in_hole_m3", "came_out_m3"))
    return TruthCurve(np.array([t.t_ms for t in by_time], dtype=np.int64), influx, loss, returned,
                      room + out - loss + returned, tuple((t.t_ms, t.event) for t in by_time if t.event))


def _journal(records: Sequence[Record]) -> tuple[Transition, ...]:
    """The journal that the log itself kept."""
    kept = sorted((r for r in records if r.kind == WARNING), key=lambda r: r.seq)
    return tuple(replace(watch.from_payload(r.payload), seq=r.seq) for r in kept)


def at_surface(curve: TruthCurve, kind: str) -> Any:
    """What a sign of a kind moved in the tanks, by time, without a sign [m3]. curve: of the drill. kind: "gain", "loss"
    or "look".

    Of a gain the room that what came in takes now: gas that mud has dissolved takes less of it than it had before, and
    no gauge shows the rest.
    """
    if kind == "gain":
        return curve.surface_m3 + curve.loss_m3 - curve.returned_m3
    return curve.loss_m3 if kind == "loss" else curve.returned_m3


def _seeable(answer: Answer, curve: TruthCurve, read: Shown, told: Sequence[Transition],
             acts: Sequence[Act]) -> Seeable:
    sign = answer.sign
    volume = at_surface(curve, sign.kind)
    came = {"gain": curve.influx_m3, "loss": curve.loss_m3}.get(sign.kind, curve.returned_m3)
    base = volume[max(0, bisect_right(curve.t_ms.tolist(), sign.from_ms) - 1)]
    gauges_ms = moved = u = None
    for t, spread in zip(read.t_ms.tolist(), read.u_m3.tolist(), strict=True):
        if t < sign.from_ms or not np.isfinite(spread):
            continue
        by_then = float(volume[max(0, bisect_right(curve.t_ms.tolist(), t) - 1)] - base)
        if by_then >= 2.0 * spread:
            gauges_ms, moved, u = t, by_then, spread
            break
    passed = _first_of_each(b for b in read.beyond if b.t_ms >= sign.from_ms and b.limit.turned == _way(sign))
    warned = _first_sounds(told, sign)
    firsts = [t for t in (gauges_ms, *(b.t_ms for b in passed)) if t is not None]
    acted = next((a.t_ms for a in acts if a.kind in PROCEDURE and a.t_ms >= sign.from_ms), None)
    first = min(firsts, default=None)
    return Seeable(sign, _ended(curve, came, sign), answer, gauges_ms, moved, u, passed, warned, first, acted,
                   None if first is None or acted is None else acted - first)


def _way(sign: Sign) -> int:
    """+1 where it shows as more mud on surface, −1 where as less."""
    return -1 if sign.kind == "loss" else 1


def _ended(curve: TruthCurve, came: Any, sign: Sign) -> int:
    """When the sum that a sign feeds rose last."""
    rising = np.flatnonzero(np.diff(came) > MOVED_M3)
    after = rising[curve.t_ms[rising + 1] > sign.from_ms]
    return int(curve.t_ms[after[-1] + 1]) if len(after) else sign.from_ms


def _first_of_each(found: Any) -> tuple[Beyond, ...]:
    first: dict[tuple[str, str], Beyond] = {}
    for b in found:
        first.setdefault((b.limit.name, b.limit.on), b)
    return tuple(first.values())


def _first_sounds(told: Sequence[Transition], sign: Sign) -> tuple[Transition, ...]:
    """Of each limit for the sign's side the first warning that sounded after it began."""
    first: dict[tuple[str, str], Transition] = {}
    for w in told:
        turned = w.basis.turned if w.basis is not None else -1 if w.kind == "loss" else 1
        if w.kind in LOUD_KINDS and w.event == "ACT" and w.learned >= sign.from_ms and turned == _way(sign):
            first.setdefault((w.name, w.tank or w.system), w)
    return tuple(first.values())


def recognised(told_over: Debrief, sign: Sign) -> Act | None:
    """The first that anybody did or said about a sign: a procedure, or the driller told. told_over: the drill. sign: of
    it. None: nothing."""
    return next((a for a in told_over.acts if a.t_ms >= sign.from_ms and a.kind in (*PROCEDURE, TOLD)), None)
