"""The Watch page's sentences, from a Situation: short, in the words of the trade, and never surer than the numbers."""

from __future__ import annotations

from dataclasses import replace

from dipbook.drift import cost_said
from dipbook.drift.tuning import DIPS_S
from dipbook.entries.kinds import PIT_DRILL
from dipbook.findings import Finding
from dipbook.limits import Limit
from dipbook.quantities import from_unit
from dipbook.rig.model import Rig
from dipbook.situation import HintView, Situation, WarningView
from dipbook_app.display import DisplayUnits, shown_unit

NOT_WATCHED = "not watched"
EXAMPLE_RATE = {"bbl": (1.0, "bbl/min"), "m3": (0.1, "m3/min"), "L": (100.0, "L/min"),
                "gal[US]": (50.0, "gal[US]/min"), "ft3": (0.1, "m3/min")}
"""The kick in the sentence on what a round can miss: an example, not a limit."""
NAMES_SHOWN = 3


def rig_name(rig: Rig) -> str:
    """The rig's name; one that is invented says so, once."""
    return f"{rig.name} (invented)" if rig.invented and "invented" not in rig.name.casefold() else rig.name


def direction(difference_m3: float | None, units: DisplayUnits) -> str:
    """What the sign means. difference_m3: actual less expected [m3]."""
    if difference_m3 is None:
        return "no difference yet"
    if units.volume_number(difference_m3) == units.volume_number(0.0):
        return "as expected"
    return "more than expected" if difference_m3 > 0 else "less than expected"


def figure_words(s: Situation, units: DisplayUnits) -> str:
    """The words under the big figure: the direction, and whether anybody watches it."""
    if s.difference_m3 is None:
        return "nothing is compared" if s.zero_ms is None else "some tanks were gauged too long ago to count"
    return f"{direction(s.difference_m3, units)}{', not watched' if not_watched(s) else ''}"


def reading(s: Situation, units: DisplayUnits) -> str:
    """How old the reading is that the difference rests on."""
    if s.zero_ms is None:
        return "Gauge every active tank, then zero the difference."
    if s.reading_ms is None:
        return "No reading."
    age = units.span(max(0, s.now_ms - s.reading_ms))
    return f"At {units.time_near(s.reading_ms, s.now_ms)}, {age} old."


def zero(s: Situation, units: DisplayUnits) -> str:
    """Since when the difference counts, and who zeroed it, if anybody; "" before that."""
    if s.zero_ms is None:
        return ""
    if any(finding.code == "no_zero" for finding in s.findings):
        return f"Counts from {units.time_near(s.zero_ms, s.now_ms)}: nobody has zeroed it."
    by = f" by {s.zero_by}" if s.zero_by else ""
    return f"Zero {units.time_near(s.zero_ms, s.now_ms)}{by}."


def standing(s: Situation, kind: str) -> tuple[Limit | None, Limit | None]:
    """The limit that counts on the active system now, and a looser one that waits for a warning to be closed.

    kind: "gain" or "loss". A warning that is open stands on the tightest limit since it was raised.
    """
    in_force = s.limit_gain if kind == "gain" else s.limit_loss
    counts, waits = in_force, None
    for limit in s.rig.limits:
        for w in s.warnings:
            mine = (w.name, w.kind, w.system) == (limit.name, kind, limit.on) and limit.on in ("active", "watched")
            if mine and w.limit < limit.value and (counts is None or w.limit < counts.value):
                counts, waits = replace(limit, value=w.limit), limit
    return counts, waits


def near_limit(s: Situation, units: DisplayUnits) -> str:
    """How near the limit on the side where the difference is."""
    if s.difference_m3 is None:
        return ""
    word = "gain" if s.difference_m3 >= 0 else "loss"
    limit, waits = standing(s, word)
    if limit is None and any(w.kind == word and w.system in ("active", "watched") for w in s.warnings):
        return f"The {word} limit is withdrawn; the warning that stands on it stays until it is closed"
    if limit is None and any(x.kind == word and x.system in ("active", "watched") for x in s.aside):
        return f"The {word} limit is out of service: nobody is told of a {word}"
    if limit is None:
        return f"No {word} limit set: nobody is told of a {word}"
    left = limit.value - abs(s.difference_m3)
    where = f"{units.volume(left)} to the {word} limit" if left > 0 else (
        f"{units.volume(-left)} past the {word} limit" if left < 0 else f"at the {word} limit")
    where = f"{where} of {units.volume(limit.value)}"
    return f"{where}; {units.volume_number(waits.value)} waits until the warning is closed" if waits else where


def coarse(s: Situation, units: DisplayUnits) -> str:
    """Says so when a limit is finer than the dips can tell, else "". The screen shows 2u."""
    finer = [limit for limit, _ in (standing(s, "gain"), standing(s, "loss"))
             if limit is not None and s.u_m3 is not None and limit.value < 2 * s.u_m3]
    if not finer or s.u_m3 is None:
        return ""
    words = " and ".join(limit.kind for limit in finer)
    return f"The {words} limit is finer than the dips can tell ({units.plus_minus(s.u_m3)} {units.volume_word})."


def trend(s: Situation, units: DisplayUnits) -> str:
    """The trend of the difference in words."""
    if s.trend_words is None:
        return "No trend yet"
    change, span = s.trend_words
    if units.volume_number(change) == units.volume_number(0.0):
        return f"Steady over {units.span(span)}"
    word = "Rising" if change > 0 else "Falling"
    return f"{word} {units.volume(abs(change))} in {units.span(span)}"


def drift(s: Situation, units: DisplayUnits) -> str:
    """How far the difference has risen above its low, or fallen below its high, by the limit that its pace is held
    against, or ""."""
    of = s.drift
    if of is None or of.limit_m3 is None:
        return ""
    if of.rising is None or of.falling is None:
        return f"Drift not known yet, limit {units.volume(of.limit_m3)}."
    held = "" if not of.why else f", holds: {of.why.lower()}"
    up = of.rising.counts_m3 / of.rising.share >= of.falling.counts_m3 / of.falling.share
    side, where = (of.rising, "up") if up else (of.falling, "down")
    told, counts = units.volume_number(side.told_m3), units.volume_number(side.counts_m3)
    of_it = "" if counts == told else f", {counts} of it counts"
    return f"Drift {where} {told}{of_it}, limit {units.volume(of.limit_m3 * side.share)}{held}."


def _listed(names: list[str]) -> str:
    """The first names, and how many more."""
    more = f" and {len(names) - NAMES_SHOWN} more" if len(names) > NAMES_SHOWN else ""
    return ", ".join(names[:NAMES_SHOWN]) + more


def partial(s: Situation, units: DisplayUnits) -> str:
    """What of the active system wasn't gauged, or ""."""
    if not s.partial:
        return ""
    never = [t.name for t in s.tanks if t.active and t.t_ms is None]
    if never and len(never) < sum(t.active for t in s.tanks):
        waits = "Nothing is compared before it is." if s.zero_ms is None and len(never) == 1 else (
            "Nothing is compared before they are." if s.zero_ms is None else "It is compared without.")
        return f"Partial: {_listed(never)} {'was' if len(never) == 1 else 'were'} never gauged. {waits}"
    if not s.held:
        return "Partial: not every active tank was gauged."
    since_ms = min(t for _, t in s.held)
    names = [name for name, _ in s.held]
    words = (f"Partial: {units.volume(s.not_gauged_m3)} not gauged since {units.time_near(since_ms, s.now_ms)} "
             f"({_listed(names)})")
    booked = sum(t.booked_m3 for t in s.tanks if t.active and t.name in names)
    if units.volume_number(abs(booked)) == units.volume_number(0.0):
        return words
    return (f"{words}; {units.signed_volume(booked)} logged on {'it' if len(names) == 1 else 'them'} since, counted as "
            "logged")


def not_watched(s: Situation) -> str:
    """Why the difference isn't watched now, or ""."""
    if not s.watch_on:
        return "Not watched: the watch is off."
    if s.watched == NOT_WATCHED:
        return f"Not watched: {s.watched_note}" if s.watched_note else "Not watched."
    return ""


def activity(s: Situation, units: DisplayUnits) -> str:
    """What the rig is doing, since when, and the pumps."""
    strictest = ": the strictest limits apply" if s.rig.limits else ""
    text = s.activity.capitalize() if s.activity != "unknown" else f"Activity unknown{strictest}"
    if s.activity_since_ms is not None and s.activity != "unknown":
        text += f" since {units.time_near(s.activity_since_ms, s.now_ms)}"
    if s.pumps_on is None:
        return f"{text}, pumps unknown"
    if not s.pumps_on:
        return f"{text}, pumps off"
    return f"{text}, pumps on" + (f" {units.flow(s.flow_m3_s)}" if s.flow_m3_s is not None else "")


def example_rate(units: DisplayUnits) -> tuple[float, str]:
    """(a rate [m3/s], as the crew writes it): an example, not a limit."""
    q, symbol = EXAMPLE_RATE.get(units.volume_unit, (0.1, "m3/min"))
    return from_unit(q, symbol), f"{q:g} {shown_unit(symbol)}".replace(".", units.decimal)


def between_rounds(s: Situation, units: DisplayUnits) -> str:
    """What the time between rounds can miss: a kick of q shows at up to q·T (accounting: rounds by hand)."""
    if s.interval_ms is None:
        return "Fewer than two complete rounds and none due: how much a kick may grow unseen can't be said."
    q, rate = example_rate(units)
    grown = q * s.interval_ms / 1000
    if s.drift is not None and s.drift.limit_m3 is not None and s.drift.pace_s > DIPS_S:
        words = cost_said(s.interval_ms / 1000, q, s.drift.limit_m3, volume=units.volume, rate=lambda _: rate,
                          span=units.span)
        return f"{words}."
    return (f"Rounds up to {units.span(s.interval_ms)} apart: a kick of {rate} "
            f"can reach {units.volume(grown)} unseen.")


def unwatched(s: Situation) -> str:
    """What nothing watches, in one sentence, or ""."""
    return f"Not watched: {'; '.join(text.rstrip('.') for text in s.unwatched)}." if s.unwatched else ""


def next_round(s: Situation, units: DisplayUnits) -> str:
    """When the next round is due, or ""."""
    if s.next_due_ms is None:
        return "No round is due: no overdue limit set"
    if s.now_ms >= s.next_due_ms:
        return f"Round overdue by {units.span(s.now_ms - s.next_due_ms)}"
    return f"Next round due {units.time_near(s.next_due_ms, s.now_ms)}"


def warning_value(w: WarningView, units: DisplayUnits, value: float | None) -> str:
    """A warning's value or limit in the crew's units. value: SI, as w.value_is says."""
    if w.value_is == "level":
        return units.level(value)
    if w.value_is == "count":
        return "unknown" if value is None else f"{value:.0f} {'gauge' if round(value) == 1 else 'gauges'}"
    if w.value_is == "duration":
        return units.span(None if value is None else round(value * 1000))
    return units.volume(value)


def limit_words(limit: Limit, units: DisplayUnits) -> str:
    """A limit on the plot and the scale: ``gain 5.0``."""
    return f"{limit.kind} {units.volume_number(limit.value)}"


def last_round(s: Situation, units: DisplayUnits) -> str:
    """How old the newest dip of any tank is: the age of the last round, as far as the log knows."""
    times = [t.t_ms for t in s.tanks if t.t_ms is not None]
    if not times:
        return "No round yet"
    return f"Last round {units.span(max(0, s.now_ms - max(times)))} ago"


def guess(hint: HintView, s: Situation, units: DisplayUnits) -> str:
    """What is offered, labelled a guess, with the readings between which it would have been."""
    from_ms, to_ms = hint.fields.get("t_ms"), hint.fields.get("end_ms")
    if from_ms is None or to_ms is None:
        return f"A guess: {hint.text}"
    return (f"A guess, between {units.time_near(from_ms, s.now_ms)} and {units.time_near(to_ms, s.now_ms)}: "
            f"{hint.text}")


def notice(s: Situation, units: DisplayUnits) -> str:
    """What is abnormal about the numbers themselves: not watched, partial; "" when nothing is."""
    return "  ".join(text for text in (not_watched(s), partial(s, units)) if text)


def doubts(s: Situation, units: DisplayUnits) -> str:
    """What the books lack or doubt, so that the numbers are worth less than they look; "" when nothing is.

    The newest of each kind; those on the whole log come last. All of them are in the log's findings.
    """
    newest: dict[str, Finding] = {}
    for f in sorted((f for f in s.findings if f.severity == "warning"), key=lambda f: f.t_ms or 0):
        newest[f.code] = f
    found = sorted(newest.values(), key=lambda f: -(f.t_ms or 0))
    if not found:
        return ""
    when = "" if found[0].t_ms is None else f"at {units.time_near(found[0].t_ms, s.now_ms)}: "
    more = f" And {len(found) - 1} more: {', '.join(_brief(f) for f in found[1:])}." if len(found) > 1 else ""
    return f"The books, {when}{found[0].what}{more}" if when else f"The books: {found[0].what}{more}"


def gauges(s: Situation, units: DisplayUnits) -> str:
    """What is doubted of the gauges now, the first whole and the rest in brief; "" when nothing is. Nothing is
    suppressed by it."""
    if not s.doubts:
        return ""
    first, rest = s.doubts[0], s.doubts[1:]
    since = f"since {units.time_near(first.since_ms, s.now_ms)}" if first.until_ms is None else (
        f"{units.time_near(first.since_ms, s.now_ms)} to {units.time_near(first.until_ms, s.now_ms)}")
    more = f" And: {', '.join(f'{d.tank} {d.brief}'.strip() for d in rest)}." if rest else ""
    return f"? Gauges, {since}: {first.text}{more}"


def pit_drill(s: Situation) -> str:
    """The newest pit drill that is under way, or whose float isn't proved back, in brief; "" for none."""
    view = next((d for d in s.doubts if d.kind == PIT_DRILL), None)
    return "" if view is None else f"{view.brief[:1].upper()}{view.brief[1:]}, {view.tank}"


def _brief(finding: Finding) -> str:
    """The first few words of a finding, to its first stop."""
    text = finding.what
    for stop in (":", ".", ",", " ("):
        text = text.partition(stop)[0]
    return text[:1].lower() + text[1:]


def all_surface(s: Situation, units: DisplayUnits) -> str:
    """The difference over all surface tanks: a transfer nobody logged doesn't move it."""
    if s.all_surface_difference_m3 is None:
        return "All surface tanks: no difference yet"
    text = (f"All surface tanks: {units.signed_volume(s.all_surface_difference_m3)} "
            f"{units.plus_minus(s.all_surface_u_m3)}")
    if units.volume_number(abs(s.written_off_m3)) != units.volume_number(0.0):
        text += f". Written off: {units.signed_volume(s.written_off_m3)}"
    return text
