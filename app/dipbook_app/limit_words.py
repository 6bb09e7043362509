"""What the limits in force watch, and what isn't as approved, in words."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.limit_record import Difference, LimitsRecord
from dipbook.limits import TRIP_KINDS, Limit, kind_words
from dipbook.situation import Situation
from dipbook.trips import LAST_N
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.form import sentence
from dipbook_app.sentences import not_watched

SHOWN = 3
"""Differences from the approved set that have a line each beside the table of limits."""


def head_words(situation: Situation) -> str:
    """What the limits in force watch, then what nothing watches. situation: with the rig."""
    limits = situation.rig.limits
    if not limits:
        return "Nothing is being watched: nobody has set a limit yet."
    parts = [not_watched(situation), watched_words([x for x in limits if x.name in situation.limits_in_force])]
    if situation.unwatched:
        parts.append("Not watched: " + " ".join(sentence(text) for text in situation.unwatched))
    return " ".join(part for part in parts if part)


def watched_words(limits: Sequence[Limit]) -> str:
    """What limits watch, in one line. limits: those in force."""
    kinds: dict[str, list[str]] = {}
    for limit in limits:
        if limit.watched and limit.kind in TRIP_KINDS:
            kinds.setdefault("trips", []).append(
                f"the last {LAST_N} stands" if limit.kind == TRIP_KINDS[0] else "the whole")
        elif limit.watched:
            kinds.setdefault(limit.on, []).append(kind_words(limit.kind))
    parts = [f"{' and '.join(dict.fromkeys(k for k in found if k != 'overdue'))} of {on}"
             for on, found in kinds.items() if set(found) != {"overdue"}]
    if any("overdue" in found for found in kinds.values()):
        parts.append("overdue rounds")
    return f"Watched: {', '.join(parts)}." if parts else ""


def approved_lines(s: Situation, units: DisplayUnits, most: int | None = None) -> tuple[str, ...]:
    """Who approved the limits and when, then what isn't as approved, a line each; () where there is no limit at all.

    s: now. units: the crew's. most: lines of differences, None for all.
    """
    record = s.limits_record
    then = record.approved
    if then is None:
        return ("Nobody has approved a set of limits.",) if s.rig.limits else ()
    count = len({x.name for x in record.differing})
    what = "All limits are as approved." if not count else f"{_limits(count)} as approved."
    head = f"{what} Approved by {then.by}, {units.time_near(then.t_ms, s.now_ms)}: {sentence(then.note)}"
    shown = record.differing if most is None or len(record.differing) <= most else record.differing[:most - 1]
    left = ", ".join(x.name for x in record.differing[len(shown):])
    more = [f"{len(record.differing) - len(shown)} more: {left}."] if left else []
    return (head, *(difference_line(x, units, s.now_ms) for x in shown), *more)


def difference_line(x: Difference, units: DisplayUnits, now_ms: int) -> str:
    """One limit that isn't as approved: what differs, by whom, when and why. now_ms [UTC ms]."""
    words = "; ".join((x.words[0], *(w.removeprefix(f"Limit {x.name}, ") for w in x.words[1:])))
    if x.at_ms is None:
        return sentence(words)
    who = f"{x.by}, " if x.by else ""
    why = f": {x.reason}" if x.reason else ""
    return sentence(f"{words} ({who}{units.time_near(x.at_ms, now_ms)}{why})")


def handed_over_words(record: LimitsRecord) -> str:
    """What isn't as approved since before the last handover, for the Watch page; "" where nothing is."""
    names = tuple(dict.fromkeys(x.name for x in record.told))
    if not names:
        return ""
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    return f"{_limits(len(names))} as approved: {', '.join(names[:SHOWN])}{more}. See Limits."


def _limits(count: int) -> str:
    return "1 limit isn't" if count == 1 else f"{count} limits aren't"


def drift_words(limit: Limit, situation: Situation) -> tuple[str, ...]:
    """What a limit on drift is by the noise now, and what it costs: one sentence, or none for another kind."""
    view = situation.drift
    if limit.kind != "drift" or view is None:
        return ()
    units = DisplayUnits(situation.rig)
    if view.scale_m3 is None:
        noise = "The noise isn't known: the value is the limit." if limit.times_noise is not None else ""
        return (noise,) if noise else ()
    held = view.held.get(limit.name)
    now = "" if held is None or limit.times_noise is None else f"It is {units.volume(held[0])} now. "
    costs = "" if held is None else f"{held[1]}."
    return (f"{now}The noise is {units.volume(view.scale_m3)}, learned in {units.span(round(view.learned_s * 1000))}. "
            f"{costs}".strip(),)
