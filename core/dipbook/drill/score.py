"""What a trainee did in a drill, held against what the well did. Plain data: no marks, no ranking, nothing at once.

Procedure first: a flow check or a shut-in, in time and volume. What it was called comes second and is untimed. A flow
check never counts against anybody, nor does a shut-in on a flow that was seen. A target is one that an operator set;
none is built in.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.drill.record import Act, Sign, Truth
from dipbook.drill.scenario import Scenario
from dipbook.drill.session import Session
from dipbook.drill.signal_detection import Rates, rates

FLOW_CHECK, SHUT_IN, TOLD, NAMED = "flow check", "shut-in", "told driller", "named"
PROCEDURE = (FLOW_CHECK, SHUT_IN)
CALL = (TOLD, "space out", "pumps off", "logged")
"""The call is a sequence; each is shown with its time, and which came out of turn."""
FLOWING = "flowing"
STOPS = {"pumps off": (FLOW_CHECK, SHUT_IN)}
"""Step of the call → what does it too: the pumps are off in a flow check and once the well is shut in, in any turn."""
SEEN_FOR_MS = 30 * 60_000
"""A flow seen in a flow check stands so long for a shut-in that follows [ms]."""
WINDOW_MS = 120_000
"""Length of a window without a signal [ms], fixed beforehand."""


@dataclass(frozen=True, slots=True)
class Target:
    """As an operator set it. within_ms: from when it begins to a flow check or shut-in [ms]. volume_m3: come in or lost
    by then [m3]. None: not set. set_by, reason: who and why."""

    within_ms: int | None = None
    volume_m3: float | None = None
    set_by: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the call. what: of CALL. t_ms: when it was first done [UTC ms], None not done. in_turn: after those
    before it that were done."""

    what: str
    t_ms: int | None
    in_turn: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """How one sign of the well was answered.

    sign. what: the procedure that came first, "" none. after_ms: since it began; volume_m3: come in, or lost, by then.
    None: none. in_time, in_volume: against the target, None where none is set or the sign is only to be looked into.
    missed: no procedure, though the sign asks for one. called: the driller was told after it began. steps: of the call.
    """

    sign: Sign
    what: str
    after_ms: int | None
    volume_m3: float | None
    in_time: bool | None
    in_volume: bool | None
    missed: bool
    called: bool
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Name:
    """What the trainee called it, afterwards. right: it is one of what happened; None where nothing was to be named."""

    text: str
    right: bool | None


@dataclass(frozen=True, slots=True)
class Score:
    """answers: one a sign, in the order in which they began. flow_checks: how many, none of which counts against
    anybody. false_calls: acts that called without a sign. rates: of hits and false alarms. names: second."""

    answers: tuple[Answer, ...]
    flow_checks: int
    false_calls: tuple[Act, ...]
    rates: Rates
    names: tuple[Name, ...]

    @property
    def false_calls_ms(self) -> tuple[int, ...]:
        """When there was a call without a sign [UTC ms]."""
        return tuple(a.t_ms for a in self.false_calls)

    @property
    def missed(self) -> tuple[Sign, ...]:
        """Signs that asked for a procedure and got none."""
        return tuple(a.sign for a in self.answers if a.missed)


def score(signs: Sequence[Sign], truths: Sequence[Truth], acts: Sequence[Act], span_ms: tuple[int, int], *,
          target: Target | None = None, events: Sequence[str] = (), window_ms: int = WINDOW_MS) -> Score:
    """Hold what was done against what was so.

    signs, truths: of the drill. acts: of the trainee, any order. span_ms: from and to when it ran [UTC ms]. target:
    None for none. events: names of all that happened, for what was named. window_ms: length of a window without a sign
    [ms], fixed before the drill. Raises ValueError for a window that is no more than nothing.
    """
    if window_ms <= 0:
        raise ValueError("a window must be longer than nothing")
    acts = sorted(acts, key=lambda a: a.t_ms)
    begun = sorted(signs, key=lambda s: s.from_ms)
    answers = tuple(_answer(s, truths, acts, target or Target()) for s in begun)
    asking = [a for a in answers if a.sign.kind != "look"]
    false = tuple(a for a in acts if _calls(a, acts) and not any(s.from_ms <= a.t_ms for s in begun))
    quiet_ends = min([span_ms[1], *(s.from_ms for s in begun)])
    windows = max(0, (quiet_ends - span_ms[0]) // window_ms)
    with_call = len({(a.t_ms - span_ms[0]) // window_ms for a in false
                     if a.t_ms < span_ms[0] + windows * window_ms})
    hits = sum(not a.missed for a in asking)
    return Score(answers, sum(a.kind == FLOW_CHECK for a in acts), false,
                 rates(hits, len(asking) - hits, with_call, windows - with_call),
                 tuple(_name(a, events) for a in acts if a.kind == NAMED))


def of_session(session: Session, acts: Sequence[Act], scenario: Scenario, *, window_ms: int = WINDOW_MS) -> Score:
    """The score of a drill as far as it has run. session: of it. acts: of the trainee. scenario: for the operator's
    target, as drawn, or without a range in it. window_ms: as of ``score``."""
    return score(session.signs, session.truths, acts, (session.begin_ms, session.t_ms), target=target_of(scenario),
                 events=session.kinds, window_ms=window_ms)


def target_of(scenario: Scenario) -> Target:
    """The operator's target of a scenario, with nothing in it where none is set. scenario: as drawn, or without a range
    in it."""
    t = scenario.target
    within = round(t.number("within") * 1000.0) if "within" in t.values else None
    return Target(within, t.number("volume") if "volume" in t.values else None, t.word("set_by"), t.word("reason"))


def _answer(sign: Sign, truths: Sequence[Truth], acts: Sequence[Act], target: Target) -> Answer:
    first = next((a for a in acts if a.kind in PROCEDURE and a.t_ms >= sign.from_ms), None)
    told = any(a.kind == TOLD and a.t_ms >= sign.from_ms for a in acts)
    steps = _steps(sign, acts)
    if first is None:
        return Answer(sign, "", None, None, None, None, sign.kind != "look", told, steps)
    after = first.t_ms - sign.from_ms
    volume = _moved(sign, truths, first.t_ms)
    asks = sign.kind != "look"
    return Answer(sign, first.kind, after, volume,
                  after <= target.within_ms if asks and target.within_ms is not None else None,
                  volume <= target.volume_m3 if asks and target.volume_m3 is not None else None, False, told, steps)


def _steps(sign: Sign, acts: Sequence[Act]) -> tuple[Step, ...]:
    found: list[Step] = []
    last = sign.from_ms
    for what in CALL:
        too = STOPS.get(what, ())
        act = next((a for a in acts if (a.kind == what or a.kind in too) and a.t_ms >= sign.from_ms), None)
        t = None if act is None else act.t_ms
        found.append(Step(what, t, act is not None and (act.t_ms >= last or act.kind in too)))
        last = last if t is None else max(last, t)
    return tuple(found)


def _moved(sign: Sign, truths: Sequence[Truth], t_ms: int) -> float:
    """What had come in, or was lost, between a sign's beginning and a time, by what was written down at or before
    it."""
    times = [t.t_ms for t in truths]

    def at(when: int) -> float:
        i = bisect_right(times, when) - 1
        if i < 0:
            return 0.0
        return {"gain": truths[i].influx_m3, "loss": truths[i].loss_m3}.get(sign.kind, truths[i].returned_m3)

    return at(t_ms) - at(sign.from_ms)


def _calls(act: Act, acts: Sequence[Act]) -> bool:
    """True for an act that says that the well does something: the driller told, or a shut-in on no flow that was
    seen."""
    if act.kind == TOLD:
        return True
    seen = any(a.kind == FLOW_CHECK and a.text == FLOWING and 0 <= act.t_ms - a.t_ms <= SEEN_FOR_MS for a in acts)
    return act.kind == SHUT_IN and not seen


def _name(act: Act, events: Sequence[str]) -> Name:
    """An event's name with its number goes as its kind: "kick 2" is a kick."""
    kinds = {e.rstrip("0123456789 ").casefold() for e in events}
    said = act.text.strip().casefold()
    return Name(act.text, said in kinds if kinds else said in ("", "nothing"))
