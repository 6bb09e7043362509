"""A debrief in the crew's words: the line of what happened, and what was done, shown and so. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dipbook import watch
from dipbook.debrief.told import Debrief, Seeable
from dipbook.drill.kinds import EVENTS
from dipbook.drill.record import Act, Sign
from dipbook.drill.score import Answer, Step, Target
from dipbook.drill.signal_detection import FEWEST, Rates
from dipbook.entries.words import LABELS, describe
from dipbook.limits import LOUD_KINDS
from dipbook.quantities.writing import DIGITS
from dipbook_app.display import MINUS, DisplayUnits, shown_words

DONE, WARNED, LOGGED, WAS_SO = "done", "warned", "logged", "was so"
KINDS = (DONE, WARNED, LOGGED, WAS_SO)
"""What stands on the line: what the trainee did, what the watch said, what the crew logged, what was so."""
ACTS = {"flow check": "Flow check", "shut-in": "Well shut in", "told driller": "Driller told",
        "space out": "Spaced out", "pumps off": "Pumps off", "logged": "Logged", "named": "Called it"}
SIGN_WORDS = {"gain": "a gain", "loss": "a loss", "look": "to be looked into"}
CUT = ("This drill was cut off: {why}. This is what was kept of it, up to {at}: what came after isn't in it, and "
       "nothing is counted as missed.")
NOBODY = "Nobody did anything in this drill: it ran without anybody at the watch."
NO_TARGET = "Nobody set a target for this drill, so none is met and none is missed."
NEVER_AGAINST = "A flow check never counts against anybody."
NO_SIGN = "The well did nothing in this drill: there was nothing to flow-check for."
OFTEN = frozenset(("depth", "stand filled"))
"""Kinds of which a drill has very many: none of them stands on the line."""


@dataclass(frozen=True, slots=True)
class LineOf:
    """One thing on the line. t_ms: when it became known, or was done, or was so [UTC ms]. kind: of KINDS. words. loud:
    a warning that sounded."""

    t_ms: int
    kind: str
    words: str
    loud: bool = False


def lines(told: Debrief, units: DisplayUnits) -> tuple[LineOf, ...]:
    """All that happened in a drill, by time. told: the drill. units: the crew's."""
    symbols = {d: (symbol, DIGITS.get(symbol, 1)) for d, symbol in _symbols(units).items()}
    found = [LineOf(a.t_ms, DONE, act_words(a)) for a in told.acts]
    found += [LineOf(w.learned, WARNED, shown_words(watch.words(w, symbols, units.decimal)),
                     w.kind in LOUD_KINDS and w.event == "ACT") for w in told.warned]
    for r in told.entries:
        if r.kind in OFTEN:
            continue
        said = describe(r, _symbols(units), units.rig.zone, units.decimal)
        late = f" (for {units.time(r.t_ms)})" if r.learned_ms - r.t_ms >= 60_000 else ""
        label = LABELS.get(r.kind, r.kind)
        whole = said if said.startswith(label) else f"{label}: {said}" if said else label
        found.append(LineOf(r.learned_ms if late else r.t_ms, LOGGED, shown_words(whole) + late))
    found += [LineOf(t, WAS_SO, words[:1].upper() + words[1:]) for t, words in told.truth.events
              if words not in ("start", *PROCEDURE_WORDS)]
    return tuple(sorted(found, key=lambda x: (x.t_ms, KINDS.index(x.kind))))


PROCEDURE_WORDS = ("flow check", "shut in")
"""What the truth says of what the trainee did: it stands among the acts."""


def _symbols(units: DisplayUnits) -> dict[str, str]:
    return {**units.rig.units, "volume": units.volume_unit, "level": units.level_unit, "length": units.length_unit,
            "flow": units.flow_unit, "rate": units.rate_unit}


def act_words(act: Act) -> str:
    """``Flow check: flowing``. act: of the trainee."""
    said = ACTS.get(act.kind, act.kind.capitalize())
    if act.kind == "named":
        return f"{said} “{act.text}”" if act.text else f"{said} nothing"
    return f"{said}: {act.text}" if act.text else said


def title(told: Debrief, units: DisplayUnits) -> str:
    """Which drill it was. told: the drill. units: the crew's."""
    a = told.about
    when = a.done_ms if a.done_ms is not None else a.began_ms
    who = ", ".join(x for x in (a.trainee, f"instructor {a.instructor}" if a.instructor else "") if x)
    seed = "" if a.seed is None else f", seed {a.seed}"
    cut = f". Cut off at {units.time(a.ended_ms)}" if a.cut else ""
    return f"{a.scenario}{seed}. {units.date(when)}" + (f". {who}" if who else "") + cut


def at_moment(told: Debrief, difference_m3: float | None, u_m3: float | None, t_ms: int, units: DisplayUnits) -> str:
    """What was on the screen at a moment: the last reading, and the warnings that stood. told: the drill.
    difference_m3, u_m3 (k = 1): as shown then [m3], None for none yet. t_ms: the moment [UTC ms]. units: the crew's."""
    if difference_m3 is None:
        shown = "No reading yet"
    else:
        shown = f"Shown {units.signed_volume(difference_m3)} {units.plus_minus(u_m3)}"
    stood: dict[str, str] = {}
    for w in told.warned:
        if w.learned <= t_ms and w.occurrence:
            stood[w.occurrence] = "" if w.state == "closed" else f"{w.name}: {w.state.replace('_', ', ')}"
    standing = [x for x in stood.values() if x]
    return f"{shown}. " + (f"Warnings: {'; '.join(standing)}." if standing else "No warning stood.")


def procedure(told: Debrief, units: DisplayUnits) -> tuple[str, ...]:
    """What was done about each sign of the well, in time and volume, a paragraph each: the first thing that is told.
    told: the drill. units: the crew's."""
    found = [CUT.format(why=told.about.ended_by, at=units.time(told.about.ended_ms))] if told.about.cut else []
    found += [NOBODY] if not told.acts else []
    if not told.score.answers:
        found.append(NO_SIGN)
    found += [_answered(s, told, units) for s in told.seeable]
    n = told.score.flow_checks
    if n:
        found.append(f"{n} flow {'check' if n == 1 else 'checks'} in all. {NEVER_AGAINST}")
    calls = told.score.false_calls
    if calls:
        when = ", ".join(f"{ACTS[a.kind].lower()} at {units.time(a.t_ms)}" for a in calls)
        found.append(f"Called while the well did nothing: {when}.")
    if told.score.answers and told.target.within_ms is None and told.target.volume_m3 is None:
        found.append(NO_TARGET)
    return tuple(found)


def _answered(seen: Seeable, told: Debrief, units: DisplayUnits) -> str:
    a, sign = seen.answer, seen.sign
    head = f"{sign_name(sign)}, from {units.time(sign.from_ms)}: "
    if a.missed and told.about.cut:
        said = f"{head}not answered by the time the drill was cut off; {moved_words(seen, told, units)} by then."
        return f"{said}{_call_at_least(a.steps, units)}"
    if a.missed:
        said = f"{head}missed. Nobody flow-checked or shut in; {moved_words(seen, told, units)} by the end."
        return f"{said}{_call_at_least(a.steps, units)}"
    if a.after_ms is None or a.volume_m3 is None:
        return f"{head}{SIGN_WORDS['look']}; nobody did. That is no miss."
    at = units.time(sign.from_ms + a.after_ms)
    verb = {"gain": "had come in", "loss": "was lost"}.get(sign.kind, "had come back")
    said = f"{head}{a.what} at {at}, {units.span(a.after_ms)} after it began; {units.volume(a.volume_m3)} {verb}."
    return " ".join(x for x in (said, target_words(a, told.target, units), _call(a.steps, units)) if x)


def sign_name(sign: Sign) -> str:
    """``Kick``. sign: of the well."""
    return sign.event[:1].upper() + sign.event[1:]


def moved_words(seen: Seeable, told: Debrief, units: DisplayUnits) -> str:
    """``4.2 bbl had come in``, all in all. seen: a sign of it. told: the drill. units: the crew's."""
    c = told.truth
    column = {"gain": c.influx_m3, "loss": c.loss_m3}.get(seen.sign.kind, c.returned_m3)
    verb = {"gain": "had come in", "loss": "was lost"}.get(seen.sign.kind, "had come back")
    at = int((c.t_ms <= seen.sign.from_ms).sum()) - 1
    return f"{units.volume(float(column[-1] - column[max(0, at)]))} {verb}"


def target_words(answer: Answer, target: Target, units: DisplayUnits) -> str:
    """How an answer stands to the operator's target; "" where nobody set one. answer; target: of the drill. units: the
    crew's."""
    said = []
    if answer.in_time is not None and target.within_ms is not None:
        said.append(f"within {units.span(target.within_ms)}: {'met' if answer.in_time else 'not met'}")
    if answer.in_volume is not None and target.volume_m3 is not None:
        said.append(f"at most {units.volume(target.volume_m3)}: {'met' if answer.in_volume else 'not met'}")
    if not said:
        return ""
    by = f" (set by {target.set_by}" + (f": {target.reason})" if target.reason else ")") if target.set_by else ""
    return f"Target{by} {'; '.join(said)}."


def _call(steps: Sequence[Step], units: DisplayUnits) -> str:
    """The call is a sequence: each of its steps with its time."""
    if all(s.t_ms is None for s in steps):
        return "The call: nothing of it was done."
    said = [f"{ACTS[s.what].casefold()} {'not done' if s.t_ms is None else units.time(s.t_ms)}"
            + (" (out of its turn)" if s.t_ms is not None and not s.in_turn else "") for s in steps]
    return f"The call: {', '.join(said)}."


def _call_at_least(steps: Sequence[Step], units: DisplayUnits) -> str:
    """What of the call was done although the procedure wasn't, "" for nothing."""
    return f" {_call(steps, units)}" if any(s.t_ms is not None for s in steps) else ""


def seeable(told: Debrief, units: DisplayUnits) -> tuple[str, ...]:
    """What could have been seen when, a paragraph a sign. told: the drill. units: the crew's."""
    return tuple(_seeable(s, told, units) for s in told.seeable)


def _seeable(s: Seeable, told: Debrief, units: DisplayUnits) -> str:
    said = [f"{sign_name(s.sign)} began at {units.time(s.sign.from_ms)} and went on until {units.time(s.ended_ms)}."]
    if s.gauges_ms is None:
        said.append("The gauges could never show it: it stayed within their ±.")
    else:
        said.append(f"The gauges could show it from {units.time(s.gauges_ms)}: it had moved {units.volume(s.moved_m3)} "
                    f"by then, and a reading was {units.plus_minus(s.u_m3)}.")
    sounded = {(w.name, w.tank or w.system): w.learned for w in s.warned}
    for b in s.passed:
        at = sounded.pop((b.limit.name, b.limit.on), None)
        then = "no warning sounded" if at is None else f"its warning sounded at {units.time(at)}"
        said.append(f"{limit_name(b.limit.name, b.limit.as_typed)} was passed at {units.time(b.t_ms)} "
                    f"({units.signed_volume(b.value)} shown); {then}.")
    said += [f"A warning of {name} sounded at {units.time(at)}." for (name, _), at in sounded.items()]
    if not s.passed:
        said.append("No limit for it was passed." if told.shown.t_ms.size else "Nothing was read.")
    if s.behind_ms is not None:
        far = units.span(abs(s.behind_ms))
        said.append(f"The {s.answer.what} came {far} after that could first be seen." if s.behind_ms > 0 else
                    f"The {s.answer.what} came {far} before the readings could show it." if s.behind_ms < 0 else
                    f"The {s.answer.what} came as soon as it could be seen.")
    elif s.first_ms is not None and s.answer.missed:
        said.append(f"It could be seen for {units.span(told.about.ended_ms - s.first_ms)} before the drill ended.")
    return " ".join(said)


def limit_name(name: str, as_typed: str) -> str:
    """``The limit “gain” (5 bbl)``. name: of the limit. as_typed: its value as written."""
    return f"The limit “{name}” ({shown_words(as_typed)})" if as_typed else f"The limit “{name}”"


def naming(told: Debrief) -> str:
    """What it was called: second, and untimed. told: the drill."""
    kinds = sorted({e.rstrip("0123456789 ") for e in _begun(told)})
    was = f"It was: {', '.join(kinds)}." if kinds else "Nothing happened in it."
    names = told.score.names
    if not names:
        return f"Nobody named it. {was}"
    said = [f"“{n.text or 'nothing'}”" + {True: ", which it was", False: ", which it was not"}.get(n.right, "")
            for n in names if n.right is not None] if names else []
    return f"Called {'; '.join(said)}. {was} What it is called is asked second, and isn't timed."


def _begun(told: Debrief) -> list[str]:
    """Events of the scenario that began, by their kinds."""
    found = []
    for _, words in told.truth.events:
        name = words.partition(":")[0].removesuffix(" begins")
        name = next((k for k in EVENTS if name.startswith(k)), "")
        if name:
            found.append(name)
    return found


def rates_words(r: Rates, window_ms: int, units: DisplayUnits) -> str:
    """Hits and false calls as counts, as rates, and d′ where there are enough of both. r: of a drill or of several.
    window_ms: of a quiet window [ms]. units: the crew's."""
    signals, windows = r.hits + r.misses, r.false_alarms + r.quiet
    if not r.hits and not r.false_alarms and min(signals, windows) >= FEWEST:
        few = "No d′ where nothing was ever called."
    else:
        few = f"Too few for d′: it takes {FEWEST} signs and {FEWEST} quiet windows, over several drills."
    said = [f"{r.hits} of {signals} {'sign' if signals == 1 else 'signs'} answered",
            f"{r.false_alarms} of {windows} quiet windows of {units.span(window_ms)} with a call"]
    text = "; ".join(said) + "."
    if r.d_prime is None or r.bias is None or r.hit_rate is None or r.false_rate is None:
        return f"{text} {few}"
    figures = ", ".join(f"{name} {_figure(value, units)}" for name, value in (
        ("hit rate", r.hit_rate), ("false-call rate", r.false_rate), ("d′", r.d_prime), ("c", r.bias)))
    return f"{text} With the log-linear correction: {figures}. Few trials mean wide intervals."


def _figure(value: float, units: DisplayUnits) -> str:
    return f"{value:.2f}".replace("-", MINUS).replace(".", units.decimal)
