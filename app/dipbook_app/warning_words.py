"""What the Warnings page says: the lines of its list, and the sections of one warning's story."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from dipbook.cautions import CAUTION, RETURN_FLOW
from dipbook.limits import FALLING, LOUD_KINDS, RISING, TRIP_KINDS, Limit, kind_words, noise_words
from dipbook.situation import AsideView, Situation, WarningView
from dipbook.situation_of_warnings import Done, Doubt, OtherChannel, OtherWarning, Told, WarningStory
from dipbook.trips import LAST_N
from dipbook_app import aside_words
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.form import sentence
from dipbook_app.sentences import guess, warning_value
from dipbook_app.strip_words import NOTICES, drift_parts, turned_of, where, word
from dipbook_app.typed_times import span_words

NOTHING_OPEN = "No warning is open"
NOTHING_ASIDE = "Nothing is set aside."
ON = {"active": "active system", "all surface": "all surface tanks", "watched": "watched system"}
CHANNELS = {**ON, "flow_back": "flow-back at connections", TRIP_KINDS[0]: f"trip, last {LAST_N} stands",
            TRIP_KINDS[1]: "trip in all", RISING: "drift, rising", FALLING: "drift, falling"}
EVENTS = {"ACT": "Raised", "REA": "Grew, and sounded again", "ACK": "Acknowledged", "RTN": "Over", "RST": "Closed",
          "EDIT": "Limit tightened", "SHV": "Shelved", "UNS": "Off the shelf", "OOS+": "Out of service",
          "OOS-": "Back in service"}
"""What each event of a transition is called here."""
BY_A_PERSON = ("ACK", "RST", "SHV", "UNS", "OOS+", "OOS-")
LATE_MS = 60_000
"""What became known so much after it occurred is said to [ms]."""
FIRST_DONE, MOST_DONE = 2, 7
"""Of many transitions so many of the first, and so many in all, are told one by one."""
Section = tuple[str, str]
"""A heading, and what stands below it."""


def count_words(warnings: Sequence[WarningView], aside: Sequence[AsideView]) -> str:
    """How many are open, and what is set aside: ``2 open, 1 not acknowledged. Set aside: 1 shelved.``"""
    wait = sum(w.state in urgencies.UNACKNOWLEDGED for w in warnings)
    said = NOTHING_OPEN if not warnings else f"{len(warnings)} open" + (f", {wait} not acknowledged" if wait else "")
    put = aside_words.count_words(aside)
    return f"{said}. " + (f"Set aside: {put}." if put else NOTHING_ASIDE)


def quiet_words(aside: Sequence[AsideView]) -> str:
    """What stands where nothing is open: it promises nothing. aside: of them the strip speaks, and has the caution."""
    return RETURN_FLOW if aside else f"{CAUTION} {RETURN_FLOW}"


# --- lines of the list ------------------------------------------------------------------------------------------


def line_of(w: WarningView, units: DisplayUnits, now_ms: int) -> tuple[str, str]:
    """(what it is with its value, the rest) of one open warning."""
    if not w.in_log:
        head, rest = line_of(replace(w, in_log=True), units, now_ms)
        return f"NOT IN THE LOG: {head}", rest
    if w.kind in NOTICES:
        return word(w), f"Since {units.time_near(w.raised_ms, now_ms)}. {sentence(_state(w))} {w.text}"
    turned = turned_of(w)

    def amount(value: float | None) -> str:
        return warning_value(w, units, None if value is None else turned * value)

    part = " (partial)" if w.partial else ""
    limit = warning_value(w, units, w.limit)
    over = w.state.startswith("over")
    head = f"{word(w)} over" if over else f"{word(w)}  {amount(w.value)}{part}"
    if "of" in w.facts and not over:  # drift: the volume, and the part of the limit that it is held against
        head, limit, fast = drift_parts(w, units)
        rate = f", {fast}" if fast else ""
        return (f"{head}, limit {limit}", f"{_big(where(w))}, {w.said}{rate}, since "
                f"{units.time_near(w.raised_ms, now_ms)}. {'Came first. ' if w.first else ''}{sentence(_state(w))}")
    worst = "" if w.kind in ("drift", "overdue") or w.worst is None or (not over and w.worst == w.value) else \
        f", {'had been' if over else 'worst'} {amount(w.worst)}"
    first = "Came first. " if w.first else ""
    return (f"{head}, limit {limit}",
            f"{_big(where(w))}, since {units.time_near(w.raised_ms, now_ms)}{worst}. {first}{sentence(_state(w))}")


def aside_line(x: AsideView, units: DisplayUnits, now_ms: int) -> tuple[str, str]:
    """(which limit and how it is set aside, the rest)."""
    since = units.time_near(x.since_ms, now_ms)
    if x.until_ms is None:
        how = f"Out of service since {since}, {x.by}: {sentence(x.why)} Instead: {sentence(x.instead)}"
    else:
        once = ", or until it has come and gone" if x.once else ""
        how = (f"Shelved since {since} until {units.time_near(x.until_ms, now_ms)}{once}, {x.by}: {sentence(x.why)} "
               f"{span_words(x.until_ms - now_ms)} left.")
    on = x.tank or ON.get(x.system, x.system)
    return f"{x.name} ({kind_words(x.kind)}, {on}): {x.state}", f"{how} {aside_words.stands(x)}".strip()


def _state(w: WarningView) -> str:
    return urgencies.STATE_WORDS.get(w.state, w.state)


def _big(text: str) -> str:
    return text[:1].upper() + text[1:]


# --- the story --------------------------------------------------------------------------------------------------


def short_name(w: WarningView) -> str:
    """``GAIN, active system``."""
    return ", ".join(part for part in (word(w), where(w)) if part)


def plot_title(w: WarningView, units: DisplayUnits) -> str:
    """What is drawn, with its unit."""
    unit = {"duration": "min", "level": "ft" if units.level_unit == "ft in" else units.level_unit}.get(
        w.value_is, units.volume_word)
    what = {"overdue": "Time since the last round", "flow_back": "Flowed back more than is explained",
            "drift": ""}.get(w.kind)
    if what == "":
        return f"What counts of the {'fall' if w.system == FALLING else 'rise'}, % of its limit by then, {where(w)}"
    if what is None:
        what = f"Sum of the trip, {where(w)}" if w.kind in TRIP_KINDS else "Level" if w.value_is == "level" else \
            "Volume" if w.tank else "Unexplained"
    return f"{what}, {unit}, {where(w)}"


def sections(w: WarningView, story: WarningStory, s: Situation, units: DisplayUnits) -> tuple[Section, ...]:
    """The story in words, what it rests on first."""
    now = s.now_ms
    made = [("What it rests on", _rests(w, story, units, now)), ("Its limit", _limit(w, story, units, now)),
            ("What others say", _others(w, story, units, now))]
    if story.doubts or w.kind != "overdue":
        made.append(("Its gauges", _gauges(story.doubts, units, now)))
    if story.hints:
        made.append(("A guess, not applied", _guesses(story, s, units)))
    return tuple((head, text) for head, text in made if text)


def cautions(w: WarningView) -> tuple[str, ...]:
    """The caution, with what this log doesn't see where the warning may be a sign of the well's; then shorter, for
    where there is no room beside the strip, which has it whole."""
    return (f"{CAUTION} {RETURN_FLOW}", RETURN_FLOW) if w.kind in LOUD_KINDS else (CAUTION,)


def _value(w: WarningView, units: DisplayUnits, told: Told) -> str:
    """A reading with its uncertainty where that is known, its sign where it is a difference."""
    if w.value_is != "volume" or w.tank:
        return warning_value(w, units, told.value)
    if "of" in told.facts:
        return units.volume(told.facts["of"])
    said = units.signed_volume(told.value)
    return said if told.u is None else f"{said} {units.plus_minus(told.u)}"


def _rests(w: WarningView, story: WarningStory, units: DisplayUnits, now: int) -> str:
    lines: list[str] = []
    first, last = story.at_raise, story.now
    if first is not None:
        when = "" if first.t_ms is None else f"read at {units.time_near(first.t_ms, now)}"
        lines.append(f"Raised on {_value(w, units, first)}, {when}{_how(first)}.")
    if (late := w.learned_ms - w.raised_ms) > LATE_MS:
        lines.append(f"It became known at {units.time_near(w.learned_ms, now)}, {span_words(late)} after it occurred.")
    if last is not None and last.t_ms is None:
        lines.append(f"It is {warning_value(w, units, last.value)} since the last such round, or since the watch began "
                     "or went on.")
    elif last is not None and (first is None or last.t_ms != first.t_ms):
        lines.append(f"Last read {_value(w, units, last)} at {units.time_near(last.t_ms or 0, now)}{_how(last)}.")
    elif last is None:
        lines.append("Its value isn't known now.")
    if story.finer:
        lines.append("The limit is finer than this reading can tell.")
    return " ".join(lines)


def _how(told: Told) -> str:
    said = f", {told.said}" if told.said else ""
    return f"{said}, partial: it may warn, and ends nothing" if told.partial else said


def _limit(w: WarningView, story: WarningStory, units: DisplayUnits, now: int) -> str:
    limit = story.limit
    value = warning_value(w, units, limit.value)
    if limit.times_noise is not None:
        value = noise_words(limit.times_noise, value, units.decimal)
    lines = [f"“{limit.name}”, {value}{_deadband(w, limit, units)}. Set by "
             f"{limit.set_by}, {limit.since}: {sentence(limit.reason)}"]
    if story.limit_since_ms is not None:
        lines.append(f"It stands so since {units.time_near(story.limit_since_ms, now)}.")
    if story.withdrawn:
        lines.append("It is withdrawn since; the warning stays until somebody closes it.")
    elif story.waits is not None:
        lines.append(f"{warning_value(w, units, story.waits.value)}, as set by {story.waits.set_by}, waits until the "
                     "warning is closed.")
    return " ".join(lines)


def _deadband(w: WarningView, limit: Limit, units: DisplayUnits) -> str:
    if limit.value_is == "duration":
        return ""
    parts = [f"over when back by {warning_value(w, units, limit.deadband)}"] if limit.deadband else []
    if limit.growth is not None:
        parts.append(f"sounds again after {warning_value(w, units, limit.growth)} more")
    return f" ({'; '.join(parts)})" if parts else ""


def _others(w: WarningView, story: WarningStory, units: DisplayUnits, now: int) -> str:
    lines = [_channel(c, units, now) for c in story.channels] + [_other(x, units, now) for x in story.warnings]
    return "\n".join(lines) if lines else "Nothing else is read or open."


def _channel(c: OtherChannel, units: DisplayUnits, now: int) -> str:
    name = _big(CHANNELS.get(c.name, c.name))
    part = ", partial" if c.partial else ""
    sure = f" {units.plus_minus(c.u)}" if c.u is not None else ""
    since = f" {c.said}," if c.said else ""
    same = {True: "the same, as far as dips can tell", False: "not the same as this", None: ""}[c.same]
    return f"{name}: {units.signed_volume(c.value)}{sure}{since} at {units.time_near(c.t_ms, now)}{part}" + (
        f", {same}." if same else ".")


def _other(x: OtherWarning, units: DisplayUnits, now: int) -> str:
    on = ON.get(x.on, x.on)
    state = urgencies.BRIEF_WORDS.get(x.state, x.state.replace("_", " and "))
    joined = ", " if x.on in (RISING, FALLING) else " on "
    return f"{_big(kind_words(x.kind))}{joined}{on}: raised {units.time_near(x.raised_ms, now)}, {state}."


def _gauges(doubts: Iterable[Doubt], units: DisplayUnits, now: int) -> str:
    """What may be wrong with them, one a line; nothing of it quietens the warning."""
    lines = [(f"{d.on}: {d.text}" if d.on else _big(d.text)) + (
        f" ({units.time_near(d.t_ms, now)})." if d.t_ms is not None else ".") + _would_be(d, units) for d in doubts]
    return "\n".join(lines) if lines else "Nothing speaks against them as far as this log knows."


def _would_be(d: Doubt, units: DisplayUnits) -> str:
    """What is read, and what it would be in truth, of a warning that a doubt makes read low."""
    if d.read_m3 is None or d.would_be_m3 is None:
        return ""
    return (f" It may read low: {units.volume(abs(d.read_m3))} as read, about {units.volume(abs(d.would_be_m3))} if "
            "mud spreads over the active tanks by their areas.")


def _guesses(story: WarningStory, s: Situation, units: DisplayUnits) -> str:
    said = [guess(h, s, units).removeprefix("A guess, ").removeprefix("A guess: ") for h in story.hints]
    return "\n".join([*(_big(x) for x in said), "Ctrl+H opens the first as an entry, filled in. The warning stays."])


def done_words(w: WarningView, story: WarningStory, units: DisplayUnits, now: int) -> str:
    """What was done and what happened, one transition a line; of many the first ones and the newest."""
    lines: list[str] = []
    sounded: Done | None = None
    for d in story.done:
        sounded = d if d.event in ("ACT", "REA") else sounded
        lines.append(_one_done(w, d, units, now, sounded))
    if (more := len(lines) - MOST_DONE) > 0:
        lines[FIRST_DONE:FIRST_DONE + more] = [f"… {more} more between: all of them are on the Log page."]
    return "\n".join(lines)


def _one_done(w: WarningView, d: Done, units: DisplayUnits, now: int, sounded: Done | None) -> str:
    """sounded: the raise or the growth before it, which an acknowledgement answers."""
    when = units.time_near(d.learned_ms if d.event in BY_A_PERSON else d.t_ms, now)
    what = EVENTS.get(d.event, d.event)
    by = f" by {d.by}" if d.by else " by nobody named" if d.event in BY_A_PERSON else ""
    after = f", {span_words(d.after_ms)} after it was raised" if d.event == "ACK" else ""
    if after and sounded is not None and sounded.event == "REA":
        after = f", {span_words(d.learned_ms - sounded.learned_ms)} after it grew and sounded again"
    value = ""
    if d.event in ("ACT", "REA", "RTN") and d.value is not None and w.kind not in NOTICES:
        value = f" at {warning_value(w, units, turned_of(w) * d.value) if d.of is None else units.volume(d.of)}"
    cause = f" ({d.cause})" if d.cause else ""
    note = f": {sentence(d.note)}" if d.note else "."
    return f"{when}  {what}{by}{value}{after}{cause}{note}" + ("" if d.stored else " Not in the log yet.")
